"""The page reads only what lies on its desk."""

import asyncio
from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from render.errors import HingelineError, InputError
from render.files.sequences import stills_in
from render.files.shots import read_shot, write_shot
from render.page.desk import Desk, Paper
from render.shot.shot import Shot, merged


@pytest.fixture
def desk() -> Iterator[Desk]:
    made = Desk()
    yield made
    made.clear()


def _drop(desk: Desk, name: str, content: bytes) -> Paper:
    async def chunks() -> AsyncIterator[bytes]:
        for at in range(0, len(content), 7):
            yield content[at : at + 7]

    return asyncio.run(desk.receive(name, chunks()))


def _run(desk: Desk, run: str, *names: str) -> Paper:
    async def chunks(name: str) -> AsyncIterator[bytes]:
        yield name.encode()

    for name in names:
        asyncio.run(desk.receive_still(run, name, chunks(name)))
    return desk.lay_run(run)


def test_numbered_stills_lie_on_the_desk_as_one(desk: Desk) -> None:
    """By the pattern of their names; the same ones again are the same paper."""
    paper = _run(desk, "one", "IMG_0009.jpg", "IMG_0010.jpg", "IMG_0011.jpg")

    assert paper.name == "IMG_%04d.jpg"
    assert [path.name for path in stills_in(str(paper.path))] == [
        "IMG_0009.jpg", "IMG_0010.jpg", "IMG_0011.jpg",
    ]  # fmt: skip
    assert desk.shot({"picture": paper.id, "values": {}}).picture == str(paper.path)
    assert desk.shot({"picture": paper.id, "values": {}}).stem == "IMG"
    assert _run(desk, "two", "IMG_0009.jpg", "IMG_0010.jpg", "IMG_0011.jpg") == paper
    assert len(list(desk.folder.iterdir())) == 1
    desk.remove(paper)
    assert not list(desk.folder.iterdir())


def test_stills_that_are_no_run_leave_nothing(desk: Desk) -> None:
    """Names that differ in more than a number, and a run that nobody began."""
    with pytest.raises(InputError, match="not numbered alike"):
        _run(desk, "one", "a1.jpg", "b2.jpg")
    with pytest.raises(InputError, match="not numbered alike"):
        desk.lay_run("two")
    with pytest.raises(InputError, match="load it again"):
        _run(desk, "../two", "a1.jpg")

    assert not list(desk.folder.iterdir())


def test_a_dropped_file_is_kept_under_its_own_plain_name(desk: Desk) -> None:
    """Folders in a name, and marks a disk may not take, lead nowhere."""
    paper = _drop(desk, "../../etc/pass\x00wd <1>.jpg", b"picture")

    assert paper.path.read_bytes() == b"picture"
    assert desk.folder in paper.path.parents
    assert paper.name == "pass_wd _1_.jpg"


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("con.jpg", "_con.jpg"),
        ("LPT1", "_LPT1"),
        ("console.jpg", "console.jpg"),
        ("\U00020000" * 90 + ".jpg", "\U00020000" * 49 + ".jpg"),
        (" .. ", "picture"),
        ("Grandma's roof, 2 & 3.jpg", "Grandma's roof, 2 & 3.jpg"),
        ("50% <b>*?.jpg", "50_ _b___.jpg"),
    ],
)
def test_names_that_some_disk_refuses_are_changed(desk: Desk, name: str, kept: str) -> None:
    """Devices of Windows, and more bytes than a name may have."""
    assert _drop(desk, name, b"picture").name == kept


def test_the_same_bytes_are_the_same_paper(desk: Desk) -> None:
    """A reload, or the same file dropped again, finds its settings by the same id."""
    first, again = _drop(desk, "a.jpg", b"one"), _drop(desk, "a.jpg", b"one")

    assert first == again
    assert _drop(desk, "a.jpg", b"two").id != first.id


def test_one_file_of_a_packed_shot_goes_alone(desk: Desk) -> None:
    """The others stay in the folder that they share."""
    folder = desk.folder / "shot"
    folder.mkdir()
    for name in ("a.toml", "a.jpg"):
        (folder / name).write_bytes(b"x")
    desk.remove(desk.lay(folder / "a.toml"))

    assert [path.name for path in folder.iterdir()] == ["a.jpg"]
    desk.remove(desk.lay(folder / "a.jpg"))
    assert not folder.exists()


def test_the_folder_goes_when_the_desk_is_cleared(desk: Desk) -> None:
    """Nothing that was dropped is left on the disk."""
    paper = _drop(desk, "a.jpg", b"one")
    folder = desk.folder
    desk.clear()

    assert not folder.exists()
    assert not paper.path.exists()


def test_an_empty_file_is_refused_and_leaves_nothing(desk: Desk) -> None:
    """One sentence, and no file."""
    with pytest.raises(InputError, match="is empty"):
        _drop(desk, "a.jpg", b"")

    assert list(desk.folder.iterdir()) == []


def test_a_shot_comes_and_goes_in_words(desk: Desk, tmp_path: Path) -> None:
    """What the page sends is what it gets back."""
    (tmp_path / "roof.jpg").write_bytes(b"x")
    paper = desk.lay(tmp_path / "roof.jpg")
    moves = [{"at": "0 s", "given": {"tilt": "0"}}, {"at": "2.5 s", "given": {"tilt": "up 8"}}]
    values = {"tilt": "up 8", "f": "2.8"}
    sent = {"picture": paper.id, "scene": None, "values": values, "moves": moves, "lasts": "4 s"}
    shot = desk.shot(sent)

    assert shot.film_s == 4.0
    assert shot.lens.tilt_deg == -8
    assert [frame.at_s for frame in shot.key_frames] == [0.0, 2.5]
    assert shot.picture == str(tmp_path / "roof.jpg")
    assert desk.sheet(shot) == sent


def test_a_focus_found_for_another_lean_is_set_anew_and_said(desk: Desk) -> None:
    """The same as an option that turns a shot's lens; turned back, the ring holds."""
    values = {"tilt": "up 3", "focus": "extension 46 mm", "check": ["gate=40%,50%"]}
    sent = {"scene": "market", "values": values}

    turned = desk.shot({**sent, "ring": {"tilt": "up 2"}})
    back = desk.shot({**sent, "ring": {"tilt": "up 3", "swing": "0"}})

    assert dict(turned.written)["focus"] == "40%,50%"
    assert turned.lens.tilt_deg == -3
    assert turned.ring.endswith("was set for another tilt or swing: set anew on gate")
    assert (dict(back.written)["focus"], back.ring) == ("extension 46 mm", "")


@pytest.mark.parametrize(
    "wish",
    [
        None,
        [],
        {"picture": "/etc/passwd", "values": {}},
        {"picture": 7, "values": {}},
        {"picture": None, "scene": "../market", "values": {}},
        {"scene": "market", "values": {"depth": "/etc/passwd"}},
        {"scene": "market", "values": {"colour": "red"}},
        {"scene": "market", "values": {"tilt": 8}},
        {"scene": "market", "values": {"tilt": ["up 8"]}},
        {"scene": "market", "values": {"tilt": "sideways 8"}},
        {"scene": "market", "values": "tilt"},
        {"scene": "market", "ring": "up 8"},
        {"scene": "market", "ring": {"tilt": 8}},
        {"scene": "market", "moves": {"at": "0 s"}},
        {"scene": "market", "moves": [None]},
        {"scene": "market", "lasts": 4},
        {"scene": "market", "moves": [{"at": 3, "given": {"tilt": "0"}}]},
        {"scene": "market", "moves": [{"at": "3 s", "given": {"tilt": 8}}]},
        {"scene": "market", "moves": [{"at": "3 s", "given": {"lens": "90"}}]},
        {"scene": "market", "moves": [{"at": "3 s", "given": {}}]},
        {"scene": "market", "moves": [{"at": "0 s", "given": {"tilt": "0"}}] * 101},
    ],
)
def test_what_is_no_shot_is_refused_in_a_sentence(desk: Desk, wish: object) -> None:
    """Paths, unknown names, wrong kinds and values that cannot be read."""
    with pytest.raises(HingelineError):
        desk.shot(wish)


def test_a_dropped_shot_reaches_only_what_was_dropped(desk: Desk, tmp_path: Path) -> None:
    """A picture it names is looked for on the desk by name, never by its path."""
    (tmp_path / "roof.jpg").write_bytes(b"secret")
    text = f'format = 1\npicture = "{tmp_path / "roof.jpg"}"\ntilt = "up 8"\n'
    with pytest.raises(InputError, match=r"needs roof\.jpg"):
        desk.dropped_shot(_drop(desk, "plan.toml", text.encode()))

    picture = _drop(desk, "roof.jpg", b"dropped")

    assert desk.dropped_shot(_drop(desk, "plan.toml", text.encode())) == {
        "picture": picture.id,
        "scene": None,
        "values": {"tilt": "up 8"},
    }


def test_a_written_shot_reads_back_the_same(desk: Desk, tmp_path: Path) -> None:
    """Everything the page turns can be written as a shot file."""
    (tmp_path / "roof.jpg").write_bytes(b"x")
    start = merged(Shot(picture=str(tmp_path / "roof.jpg")), {"tilt": "up 8"}, "{name}")
    write_shot(tmp_path / "roof.toml", desk.shot(desk.sheet(start)))

    assert read_shot(tmp_path / "roof.toml") == start


def test_a_shot_begins_with_its_owners_defaults(desk: Desk, tmp_path: Path) -> None:
    """Where it says nothing itself; the page is told which values they are, and tells it back."""
    desk.own = {"lens-file": "long 90", "format": "44x33", "by": "Mara"}
    sheet = desk.begun(merged(Shot(scene="market"), {"format": "36x24"}, "{name}"))
    shot = desk.shot(sheet)

    assert sheet["values"] == {"format": "36x24", "lens-file": "long 90"}
    assert sheet["own"] == ["lens-file"]
    assert shot.own == (("lens-file", "long 90"),)
    assert "own" not in desk.sheet(Shot(scene="market"))
    with pytest.raises(InputError, match="no shot"):
        desk.shot({**sheet, "own": "lens-file"})


def test_a_shot_that_was_saved_is_not_changed_by_the_reader(desk: Desk, tmp_path: Path) -> None:
    """One written by hand is filled up; one that was handed on holds all it needs."""
    desk.own = {"lens": "90"}
    written, saved = tmp_path / "written.toml", tmp_path / "saved.toml"
    written.write_text('format = 1\nscene = "market"\n', encoding="utf-8")
    write_shot(saved, Shot(scene="market"))

    assert desk.dropped_shot(desk.lay(written))["values"] == {"lens": "90"}
    assert desk.dropped_shot(desk.lay(saved))["values"] == {}
