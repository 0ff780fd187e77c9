"""How many times faster than life."""

import pytest

from render.errors import SettingError
from render.shot.pace import Pace, read_pace


def test_paces_are_factors_or_models() -> None:
    """A number, or how a model of some scale moves."""
    assert read_pace("12") == read_pace("x12") == Pace(factor=12.0)
    assert read_pace("model") == Pace()
    assert read_pace("model 1:87") == Pace(scale=87.0)


@pytest.mark.parametrize("text", ["-3", "0", "model of a train", "model 1:0.5", "fast", ""])
def test_nonsense_is_refused(text: str) -> None:
    """One sentence with an example."""
    with pytest.raises(SettingError, match=r"write|smaller"):
        read_pace(text)
