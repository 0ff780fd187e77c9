"""A shot and its files together as one file."""

import os
import zipfile
from pathlib import Path

import pytest

from render.errors import InputError
from render.files.shots import read_shot
from render.page.bundle import beside, pack, shot_name, unpack
from render.page.desk import Desk
from render.shot.shot import Shot, merged


@pytest.fixture
def shot(tmp_path: Path) -> Shot:
    """A picture with a depth file, of one folder."""
    folder = tmp_path / "there"
    folder.mkdir()
    (folder / "roof.jpg").write_bytes(b"picture")
    (folder / "roof.npy").write_bytes(b"depth")
    given = {"depth": str(folder / "roof.npy"), "tilt": "up 8", "lens-file": "long 90"}
    return merged(Shot(picture=str(folder / "roof.jpg")), dict(given), "{name}")


def test_packed_it_opens_elsewhere(shot: Shot, tmp_path: Path) -> None:
    """The shot names its files as they lie beside it, and they hold the same bytes."""
    pack(shot, tmp_path / "roof.zip")
    here = tmp_path / "here"
    here.mkdir()
    names = sorted(path.name for path in unpack(tmp_path / "roof.zip", here))
    again = read_shot(here / "roof.toml")

    assert names == ["roof.jpg", "roof.npy", "roof.toml"]
    assert again.picture == str(here / "roof.jpg")
    assert again.depth.file == str(here / "roof.npy")
    assert again.lens == shot.lens
    assert (here / "roof.npy").read_bytes() == b"depth"
    assert not (tmp_path / "roof.toml").exists()


def test_a_shot_is_called_as_none_of_its_files(tmp_path: Path) -> None:
    """One of an own scene would lie over it: both come out of the bundle, and on the desk again."""
    (tmp_path / "bottles.toml").write_text('line = "A yard."\n[ground]\nmaterial = "asphalt"\n')
    shot = merged(Shot(scene=str(tmp_path / "bottles.toml")), {"f": "4"}, "{name}")
    made = tmp_path / f"{shot_name(shot)}.zip"
    pack(shot, made)
    desk = Desk()
    try:
        first = desk.unpacked(desk.lay(made))
        again = desk.dropped_shot(first)
    finally:
        desk.clear()

    assert first.name == "bottles_shot.toml"
    assert again["values"]["f"] == "4"
    assert desk.papers[again["scene"]].name == "bottles.toml"


def test_only_what_goes_with_the_page_is_called_by_its_bare_name(
    shot: Shot, tmp_path: Path
) -> None:
    """A file that stays where it is keeps its place."""
    moved = beside(shot, tmp_path / "new", only_in=tmp_path / "there")
    kept = beside(shot, tmp_path / "new", only_in=tmp_path / "elsewhere")

    assert moved.picture == str(tmp_path / "new" / "roof.jpg")
    assert dict(moved.written)["depth"] == str(tmp_path / "new" / "roof.npy")
    assert kept == shot


def test_what_is_no_packed_shot_is_refused(tmp_path: Path) -> None:
    """Damaged, too many files; and nothing is written outside the folder."""
    (tmp_path / "bad.zip").write_bytes(b"PK\x03\x04 no")
    with pytest.raises(InputError, match="damaged"):
        unpack(tmp_path / "bad.zip", tmp_path)
    with zipfile.ZipFile(tmp_path / "many.zip", "w") as packed:
        for number in range(30):
            packed.writestr(f"{number}.txt", "x")
    with pytest.raises(InputError, match=r"many.zip holds 30 files, more than the 20 files"):
        unpack(tmp_path / "many.zip", tmp_path)
    with zipfile.ZipFile(tmp_path / "out.zip", "w") as packed:
        packed.writestr("../../evil.toml", "x")
    inside = tmp_path / "inside"
    inside.mkdir()
    assert unpack(tmp_path / "out.zip", inside) == [inside / "evil.toml"]


def test_a_bomb_and_damaged_pieces_are_refused(tmp_path: Path) -> None:
    """What unfolds to more than is taken is not unfolded; no packer's error gets out."""
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        packed.writestr("a.toml", bytes(1000))
    data = bytearray(bomb.read_bytes())
    entry = data.index(b"PK\x01\x02")
    data[entry + 24 : entry + 28] = (500_000_000).to_bytes(4, "little")
    bomb.write_bytes(data)
    with pytest.raises(InputError, match=r"unfolds to 500,000,000 bytes, more than the 400 mill"):
        unpack(bomb, tmp_path)
    data[entry + 24 : entry + 28] = (1000).to_bytes(4, "little")
    for at, value in ((34, 0xFF), (entry + 10, 12), (entry + 10, 14), (entry + 8, 1)):
        hurt = bytearray(data)
        hurt[at if at > 40 else 30 + len("a.toml")] = value
        bomb.write_bytes(hurt)
        with pytest.raises(InputError, match=r"bomb\.zip is damaged"):
            unpack(bomb, tmp_path)


def test_a_file_from_before_zip_is_packed(shot: Shot, tmp_path: Path) -> None:
    """A camera's clock that was never set dates its files 1970."""
    assert shot.picture is not None
    os.utime(shot.picture, (0, 0))

    pack(shot, tmp_path / "roof.zip")

    with zipfile.ZipFile(tmp_path / "roof.zip") as packed:
        assert packed.testzip() is None


def test_two_files_of_one_name_are_refused(tmp_path: Path) -> None:
    """One would replace the other."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "roof.npy").write_bytes(b"x")
    shot = merged(
        Shot(picture=str(tmp_path / "a" / "roof.npy")),
        {"depth": str(tmp_path / "b" / "roof.npy")},
        "{name}",
    )
    with pytest.raises(InputError, match="same name"):
        pack(shot, tmp_path / "roof.zip")
