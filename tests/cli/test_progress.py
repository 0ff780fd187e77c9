"""Progress never mixes with what a program reads."""

import sys

import pytest

from render.cli import progress
from render.cli.progress import is_quiet, shown_progress
from render.load.compiled import say_compiling


def test_progress_stays_off_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """Where standard error is no terminal, nothing is printed of what is quickly done."""
    with shown_progress() as report:
        report("rendering", 0.5)

    assert capsys.readouterr() == ("", "")


def test_long_steps_are_told_off_a_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line a step on standard error, and none with --quiet."""
    monkeypatch.setattr(progress, "_WORTH_A_LINE_S", -1.0)
    for arguments in (["judge"], ["--quiet", "judge"]):
        monkeypatch.setattr(sys, "argv", ["hingeline", *arguments])
        with shown_progress() as report:
            for share in (0.1, 0.2, 0.3):
                report("rendering", share)
            report("writing", 0.9)
        wanted = "" if is_quiet() else "hingeline: rendering ...\nhingeline: writing ...\n"
        assert capsys.readouterr() == ("", wanted)


def test_a_step_that_counts_is_told_now_and_then(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thousand frames of a second each leave some dozens of lines, not a thousand."""
    clock = [0.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(sys, "argv", ["hingeline", "film"])
    with shown_progress() as report:
        for number in range(1000):
            clock[0] += 1.0
            report(f"frame {number} of 1000", number / 1000)
    lines = capsys.readouterr().err.splitlines()

    assert 20 < len(lines) < 120
    assert lines[0].startswith("hingeline: frame ")


def test_that_loops_are_compiled_is_told_at_once(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Off a terminal too, for every room's loops, and before the wait rather than after it."""
    monkeypatch.setattr("render.load.compiled.is_compiled", lambda room: False)
    monkeypatch.setattr(sys, "argv", ["hingeline", "render"])
    with shown_progress() as report:
        for room in ("engine", "trace"):
            say_compiling(report, room)
            report("building market", 0.1)
    said = capsys.readouterr()

    assert said.out == ""
    lines = said.err.splitlines()
    assert len(lines) == 2
    assert all(line.startswith("hingeline: compiling ") for line in lines)
