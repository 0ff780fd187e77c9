"""How much work a photograph is worth."""

import pytest

from render.engine.quality import FINAL, PREVIEW, Quality
from render.errors import SettingError


def test_preview_works_in_coarser_cells() -> None:
    """What is for looking gathers and spreads big blur sooner than what is for keeps."""
    assert PREVIEW.gather_px < FINAL.gather_px
    assert PREVIEW.spread_px < FINAL.spread_px


@pytest.mark.parametrize("value", [0.0, 5.0, 32.0, float("nan")])
def test_other_sizes_are_refused(value: float) -> None:
    """The cells are powers of two that the buffers are made for."""
    with pytest.raises(SettingError, match="gather_px must be 2, 4, 8 or 16"):
        Quality(gather_px=value, spread_px=8.0)
