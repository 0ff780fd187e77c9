"""Pictures for looking at."""

import numpy as np

from render.scene.colour import DISPLAY_P3, SRGB
from render.sheets.drawing.screen import screen_picture


def test_wide_primaries_are_shown_in_srgb() -> None:
    """Display P3 (200, 100, 50) is sRGB (215, 93, 31) on a screen (littleCMS, relative)."""
    codes = np.full((2, 2, 3), (200, 100, 50), np.uint8)

    shown = np.asarray(screen_picture(DISPLAY_P3.light(codes), DISPLAY_P3))

    assert np.abs(shown[0, 0].astype(int) - (215, 93, 31)).max() <= 1


def test_srgb_comes_back_as_it_was() -> None:
    """Decoding and coding again changes no value."""
    codes = np.arange(48, dtype=np.uint8).reshape(4, 4, 3)

    np.testing.assert_array_equal(np.asarray(screen_picture(SRGB.light(codes), SRGB)), codes)
