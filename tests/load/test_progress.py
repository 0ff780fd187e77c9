"""Progress is a plain callable."""

from render.load.progress import silent


def test_silence_is_a_progress_too() -> None:
    """Nothing comes back and nothing is raised."""
    assert silent("reading", 0.5) is None  # type: ignore[func-returns-value]
