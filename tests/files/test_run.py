"""One run: everything it writes together, nothing it reads replaced, nothing left behind."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from render.errors import OutputError
from render.files.atomic import check_destinations, written_beside
from render.files.inputs import input_file
from render.files.run import note_read, one_run, part_beside, put_in_place, sweep, unbounded


def _write(path: Path, text: str, *, overwrite: bool = False) -> None:
    with written_beside(path, overwrite=overwrite) as beside:
        beside.write_text(text)


def _in_one_run(*steps: Callable[[], object]) -> None:
    with one_run():
        for step in steps:
            step()


def test_several_outputs_appear_together(tmp_path: Path) -> None:
    """Inside a run nothing stands under its name until the run ends; then all of it does."""
    with one_run():
        _write(tmp_path / "a.txt", "a")
        _write(tmp_path / "b.txt", "b")
        assert not (tmp_path / "a.txt").exists()

    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]
    assert put_in_place()[-2:] == (tmp_path / "a.txt", tmp_path / "b.txt")


def test_a_run_that_fails_leaves_nothing(tmp_path: Path) -> None:
    """Also of the outputs that were whole already."""
    with pytest.raises(KeyboardInterrupt):
        _in_one_run(lambda: _write(tmp_path / "a.txt", "a"), _interrupt)

    assert list(tmp_path.iterdir()) == []


def test_a_name_taken_meanwhile_is_left_as_it_is(tmp_path: Path) -> None:
    """The last step refuses, what was new is taken back, and what was replaced is named."""
    (tmp_path / "old.txt").write_text("old")
    with pytest.raises(OutputError, match=r"b\.txt appeared while.*written already: .*old\.txt"):
        _appearing(tmp_path)

    assert (tmp_path / "b.txt").read_text() == "another's"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.txt", "old.txt"]


def _appearing(folder: Path) -> None:
    with one_run():
        _write(folder / "old.txt", "new", overwrite=True)
        _write(folder / "a.txt", "a")
        _write(folder / "b.txt", "b")
        (folder / "b.txt").write_text("another's")


@pytest.mark.parametrize("links", [True, False])
def test_two_who_want_one_name(
    tmp_path: Path, links: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two that both saw the name free one gets it, with hard links or without."""
    target = tmp_path / "a.txt"
    if not links:
        monkeypatch.setattr(Path, "hardlink_to", _no_links)
    with pytest.raises(OutputError, match="appeared while"):
        _in_one_run(lambda: _write(target, "second"), lambda: target.write_text("first"))
    assert target.read_text() == "first"

    target.unlink()
    _write(target, "alone")
    assert [p.read_text() for p in tmp_path.iterdir()] == ["alone"]


def _no_links(*_: object) -> None:
    raise OSError(95, "Operation not supported")


def test_what_was_read_is_never_replaced(tmp_path: Path) -> None:
    """Not even under another name of it, and though no one declared it as an input."""
    source, link = tmp_path / "lens.toml", tmp_path / "link.toml"
    source.write_text("read")
    link.symlink_to(source)
    for target in (source, link):
        steps = [partial(input_file, source), partial(_write, target, "new", overwrite=True)]
        for order in (steps, steps[::-1]):
            with pytest.raises(OutputError, match="was read"):
                _in_one_run(*order)
    note_read(source)  # outside a run nothing is noted

    _write(source, "new", overwrite=True)


def test_outputs_of_one_run_differ(tmp_path: Path) -> None:
    """Two of one name are refused before any work, and by the run itself."""
    a = tmp_path / "a.jpg"
    with pytest.raises(OutputError, match="written twice"):
        check_destinations([a, tmp_path / ".." / tmp_path.name / "a.jpg"])
    with pytest.raises(OutputError, match="written twice"):
        _in_one_run(lambda: _write(a, "1"), lambda: _write(a, "2"))

    assert list(tmp_path.iterdir()) == []


def test_what_the_dead_left_is_swept(tmp_path: Path) -> None:
    """Parts of a process that is no more go at the next writing; those of living ones stay."""
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    own = part_beside(tmp_path / "a.png")
    left = own.with_name(own.name.replace(f"-{os.getpid()}-", f"-{dead.pid}-"))
    own.touch()
    left.touch()
    (tmp_path / ".hingeline-elsewhere-1-1-0.part.png").touch()
    sweep(tmp_path)

    assert not left.exists()
    assert own.exists()
    assert len(list(tmp_path.iterdir())) == 2


def test_ctrl_c_waits_for_the_last_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While files get their names an interruption is held, and comes right after."""
    real = os.unlink
    monkeypatch.setattr(os, "unlink", lambda *a, **k: (_interrupt(), real(*a, **k)))

    with pytest.raises(KeyboardInterrupt):
        _in_one_run(*(partial(_write, tmp_path / name, name) for name in ("a.txt", "b.txt")))

    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.txt", "b.txt"]


def _interrupt() -> None:
    signal.raise_signal(signal.SIGINT)


def test_names_that_no_disk_takes(tmp_path: Path) -> None:
    """Too long in letters or in bytes, a zero byte, a device: one sentence before any work."""
    for name, words in (
        ("a" * 252 + ".jpg", "has 256 bytes"),
        ("é" * 126 + ".jpg", "has 256 bytes"),
        ("a\0.jpg", "no name can hold"),
        ("b" * 200 + "/" + "c/" * 2000 + "a.jpg", "shorter name|does not exist"),
    ):
        with pytest.raises(OutputError, match=words):
            check_destinations([tmp_path / name])
    with pytest.raises(OutputError, match="device"):
        check_destinations([Path(os.devnull)], overwrite=True)

    _write(tmp_path / ("a" * 251 + ".jpg"), "the longest there is")


def test_parts_with_long_names_can_be_reached_on_windows() -> None:
    """A name that fits gets a part that may not: it is marked as long, on a disk and on a share."""
    short, long = "C:\\rooftops\\o.jpg", "\\" + "a" * 250 + "\\o.part.jpg"

    assert unbounded(short) == short
    assert unbounded("C:" + long) == "\\\\?\\C:" + long
    assert unbounded("\\\\host\\share" + long) == "\\\\?\\UNC\\host\\share" + long
    assert unbounded("\\\\?\\C:" + long) == "\\\\?\\C:" + long
