"""How much work a photograph is worth."""

import pytest

from render.engine.quality import FINAL, PREVIEW, Quality
from render.errors import SettingError


def test_preview_is_coarser_than_final():
    """PREVIEW gathers and draws in cells from smaller blur on than FINAL does."""
    assert PREVIEW.gather_px <= FINAL.gather_px
    assert PREVIEW.spread_px < FINAL.spread_px


@pytest.mark.parametrize("border", [0.0, 5.0, float("nan")])
def test_a_border_between_bins_is_asked_for(border):
    """Only borders that bins have are taken, and the sentence says which."""
    with pytest.raises(SettingError, match="4, 8 or 16"):
        Quality(gather_px=border, spread_px=8.0)
