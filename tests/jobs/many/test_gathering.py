"""Folders, patterns and names become the same shots, whoever expanded them."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.files.depths import write_depth
from render.files.shots import read_shot
from render.jobs.many.gathering import Gathered, gathered, stands_for_many
from render.jobs.many.journal import journal_in
from render.shot.shot import merged


def _picture(path: Path, shade: int = 90) -> Path:
    path.parent.mkdir(exist_ok=True)
    Image.new("RGB", (12, 8), (shade, 120, 60)).save(path)
    return path


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """A folder as a camera and its owner leave it."""
    for shade, name in enumerate(("IMG_10.jpg", "IMG_9.jpg", "広場.png", "roof.jpg")):
        _picture(tmp_path / "day" / name, 20 * shade)
    (tmp_path / "day" / ".hidden.jpg").write_bytes(b"x")
    (tmp_path / "day" / "notes.txt").write_text("to look at")
    (tmp_path / "day" / "lens.toml").write_text('format = 1\nname = "mine"\nfocal-mm = 90\n')
    return tmp_path / "day"


def _names(found: Gathered) -> list[str]:
    return [Path(piece.name).name for piece in found.pieces]


def test_a_folder_is_its_pictures_in_the_order_of_their_numbers(day: Path) -> None:
    """Hidden files, texts and lens files are none of them."""
    found = gathered([str(day)])

    assert _names(found) == ["IMG_9.jpg", "IMG_10.jpg", "roof.jpg", "広場.png"]
    assert found.many


def test_a_pattern_is_what_a_shell_makes_of_it(day: Path) -> None:
    """As from a shell that leaves patterns to the program, folders within folders too."""
    expanded = gathered([str(path) for path in sorted(day.glob("[!.]*.jpg"))])
    as_typed = gathered([f"{day}/*.jpg"])
    deep = gathered([f"{day.parent}/**/*.jpg"])

    assert {*_names(expanded)} == {*_names(as_typed)} == {*_names(deep)} > {"roof.jpg"}
    assert gathered([f"{day}/roof*.jpg"]).many
    assert not stands_for_many(str(_picture(day / "a[1].jpg")))
    inside = day / "day [2]"
    _picture(inside / "x.jpg")
    assert _names(gathered([f"{inside}/*.jpg"])) == ["x.jpg"]
    assert _names(gathered([f"{day}/[rq]oof.jpg"])) == ["roof.jpg"]


def test_a_demo_scene_is_one_beside_a_folder_of_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder is written with its slash."""
    _picture(tmp_path / "street" / "a.jpg")
    monkeypatch.chdir(tmp_path)

    assert not stands_for_many("street")
    assert gathered(["street"]).one.scene == "street"
    assert _names(gathered(["street/"])) == ["a.jpg"]


def test_a_folder_of_the_general_shot_alone_holds_nothing(tmp_path: Path) -> None:
    """Rather than a batch of none."""
    general = tmp_path / "roof.toml"
    general.write_text('format = 1\npicture = "roof.jpg"\n')

    with pytest.raises(InputError, match=r"nothing is left besides .*roof\.toml"):
        gathered([str(tmp_path)], read_shot(general), str(general))


@pytest.mark.parametrize("word", ["{day}/*.gif", "{day}/empty"])
def test_nothing_to_gather_is_one_sentence(day: Path, word: str) -> None:
    """A pattern without a match, and a folder without a picture."""
    (day / "empty").mkdir()
    with pytest.raises(InputError, match=r"nothing that is there|holds no picture"):
        gathered([word.format(day=day)])


def test_a_picture_is_taken_once(day: Path) -> None:
    """Named twice, by whatever name; a copy of other name is kept and said to be one."""
    (day / "link.jpg").symlink_to(day / "roof.jpg")
    (day / "copy.jpg").write_bytes((day / "roof.jpg").read_bytes())

    found = gathered([str(day / name) for name in ("roof.jpg", "roof.jpg", "link.jpg", "copy.jpg")])

    assert _names(found) == ["roof.jpg", "copy.jpg"]
    assert [remark.rpartition("/")[2] for remark in found.remarks] == [
        "roof.jpg was named before",
        "roof.jpg",
        "roof.jpg",
    ]
    assert "was named before, as" in found.remarks[1]
    assert "is a copy of" in found.remarks[2]


def test_a_shot_file_speaks_for_its_picture(day: Path) -> None:
    """In a folder the picture is not taken a second time; the general shot lies beneath both."""
    (day / "roof.toml").write_text('format = 1\npicture = "roof.jpg"\nheight = "30"\n')
    general = day / "general.toml"
    general.write_text('format = 1\npicture = "IMG_9.jpg"\nheight = "12"\nlens = "60"\n')

    found = gathered(
        [str(day)], read_shot(general), str(general), lambda s: merged(s, {"f": "4"}, "{name}")
    )

    assert _names(found) == ["IMG_9.jpg", "IMG_10.jpg", "roof.jpg", "広場.png"]
    shots = {Path(p.name).name: p.shot for p in found.pieces}
    own, other = shots["roof.jpg"], shots["広場.png"]
    assert own is not None
    assert other is not None
    assert (own.vantage.height_m, own.lens.focal_mm, own.lens.f_number) == (30, 60, 4)
    assert (other.vantage.height_m, other.picture) == (12, str(day / "広場.png"))
    said = " ".join(found.remarks)
    assert f"roof.jpg is taken as its shot file says, {day / 'roof.toml'}" in said
    assert "lens.toml is no shot file with a picture, and was left out" in said
    over = gathered([str(day)], finish=lambda s: merged(s, {"height": "9"}, "{name}"))
    (remark,) = (each for each in over.remarks if "--height" in each and "roof.toml" in each)
    assert remark.startswith("--height of ")
    (day / "roof.toml").write_text('format = 1\npicture = "roof.jpg"\nhorizon = "40%"\n')
    by_another_name = gathered(
        [str(day)], finish=lambda s: merged(s, {"pitch": "down 9"}, "{name}")
    )
    assert any(each.startswith("--horizon of ") for each in by_another_name.remarks)


def test_a_pattern_finds_the_shot_files_beside_its_pictures(day: Path) -> None:
    """As typed or as a shell expands it; a single picture is itself."""
    (day / "roof.toml").write_text('format = 1\npicture = "roof.jpg"\nheight = "30"\n')
    names = [str(path) for path in sorted(day.glob("[!.]*.jpg"))]

    for words in ([f"{day}/*.jpg"], names):
        found = gathered(words)
        assert _names(found).count("roof.jpg") == 1
        shots = [piece.shot for piece in found.pieces if piece.name == str(day / "roof.jpg")]
        assert [shot.vantage.height_m for shot in shots if shot] == [30]
    assert _names(gathered([str(day / "roof.jpg")])) == ["roof.jpg"]


def test_what_was_said_of_one_picture_is_named_when_it_holds_for_all(day: Path) -> None:
    """Marks and things of a general shot are right only from the same spot; a height is no mark."""
    general = day / "general.toml"
    general.write_text('format = 1\nheight = "12"\nmark = ["50%,90% 18 m"]\nnear = ["none"]\n')

    found = gathered([str(day)], read_shot(general), str(general))

    (remark,) = (each for each in found.remarks if "stood still" in each)
    assert remark.startswith(f"--mark of {general} was said of its own picture")


def test_what_is_no_shot_is_kept_with_its_sentence(day: Path) -> None:
    """A shot file that cannot be read; a clip among pictures stands for a frame of it."""
    (day / "bad.toml").write_text("format = 9")

    found = gathered([str(day / "bad.toml"), "walk.mp4", str(day / "roof.jpg")])

    assert [bool(piece.shot) for piece in found.pieces] == [False, True, True]
    assert "format = 9 is not known" in found.pieces[0].refused


def test_results_beside_the_pictures_are_none_of_them(day: Path) -> None:
    """What was made there before is left out, and said; unless nothing else is named."""
    result = day / "roof_tilted.jpg"
    journal_in(day).begin({result: "mark"})
    _picture(result)

    found = gathered([str(day)])

    assert "roof_tilted.jpg" not in _names(found)
    assert "left out: 1 that was made here before" in found.remarks
    assert _names(gathered([f"{day}/roof_*.jpg"])) == ["roof_tilted.jpg"]


def test_results_of_single_commands_are_known_by_their_names(day: Path) -> None:
    """Beside what they were made of; a picture that is only called like one is taken."""
    for name in ("roof_tilted.png", "roof_tilted_blur.png", "IMG_9_telltales.png", "q_tilted.jpg"):
        _picture(day / name)
    write_depth(day / "far.png", np.full((4, 6), 9.0, np.float32))
    _picture(day / "far_shown.png")

    found = gathered([str(day)])

    assert set(_names(found)) == {"IMG_9.jpg", "IMG_10.jpg", "roof.jpg", "広場.png", "q_tilted.jpg"}
    assert "left out: 5 that were made here before" in found.remarks
