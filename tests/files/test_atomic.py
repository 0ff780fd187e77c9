"""Writing beside and renaming."""

import os
from pathlib import Path

import pytest

from render.errors import OutputError
from render.files.atomic import check_destination, written_beside


def test_the_file_appears_whole(tmp_path: Path) -> None:
    """What is written beside stands under its name afterwards, and nothing else is left."""
    target = tmp_path / "a.png"
    with written_beside(target) as beside:
        beside.write_bytes(b"whole")
        assert not target.exists()
        assert beside.suffix == ".png"

    assert target.read_bytes() == b"whole"
    assert list(tmp_path.iterdir()) == [target]


def test_a_failure_leaves_nothing_and_keeps_the_old(tmp_path: Path) -> None:
    """If writing fails, the old file stands unchanged and the unfinished one is gone."""
    target = tmp_path / "a.png"
    target.write_bytes(b"old")

    def fail() -> None:
        with written_beside(target, overwrite=True) as beside:
            beside.write_bytes(b"half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()

    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_full_disk_is_said_in_words(tmp_path: Path) -> None:
    """An error of the system becomes one sentence with its reason."""
    with (
        pytest.raises(OutputError, match=r"No space left.*nothing was kept"),
        written_beside(tmp_path / "a.png"),
    ):
        raise OSError(28, "No space left on device")


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    """A file that is there stays, unless overwriting is allowed."""
    target = tmp_path / "a.png"
    target.write_bytes(b"old")

    with pytest.raises(OutputError, match="there already"):
        check_destination(target)
    check_destination(target, overwrite=True)


def test_inputs_are_never_overwritten(tmp_path: Path) -> None:
    """Not even when told to, and not through another name of the same file."""
    source = tmp_path / "in.png"
    source.write_bytes(b"in")
    link, hard = tmp_path / "link.png", tmp_path / "hard.png"
    link.symlink_to(source)
    os.link(source, hard)
    for target in (source, link, hard, tmp_path / ".." / tmp_path.name / "in.png"):
        with pytest.raises(OutputError, match="was read"):
            check_destination(target, overwrite=True, inputs=[None, source])


def test_places_that_cannot_be_written_to(tmp_path: Path) -> None:
    """A missing folder and the name of a folder are refused before any work."""
    with pytest.raises(OutputError, match="does not exist"):
        check_destination(tmp_path / "none" / "a.png")
    with pytest.raises(OutputError, match="is a folder"):
        check_destination(tmp_path)
