"""Progress never mixes with what a program reads."""

import pytest

from render.cli.progress import shown_progress


def test_progress_stays_off_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    """Where standard error is no terminal, nothing at all is printed."""
    with shown_progress() as progress:
        progress("rendering", 0.5)

    assert capsys.readouterr() == ("", "")
