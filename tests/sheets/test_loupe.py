"""The loupe: a tenth of the frame, honest pixels, circles to scale."""

import numpy as np
import pytest
from PIL import Image

from render.optics.camera import Window
from render.sheets.loupe import LoupeSpot, loupe_cell, loupe_marks, loupe_window


def _spot(x_px: float = 300, y_px: float = 200, blur_px: float = 40.0) -> LoupeSpot:
    return LoupeSpot("focus spot", x_px, y_px, 29.0, blur_px, 5.0)


@pytest.mark.parametrize("place", [(0, 0), (599, 399), (300, 200), (600, 0)])
def test_the_window_is_a_tenth_and_stays_inside(place: tuple[float, float]) -> None:
    """Near an edge the window moves in, and still holds the spot."""
    window = loupe_window(_spot(*place), 600, 400)

    assert (window.width, window.height) == (60, 40)
    assert window.left <= place[0] <= window.left + 60
    assert window.top <= place[1] <= window.top + 40
    assert window.left + 60 <= 600
    assert window.top + 40 <= 400


def test_missing_pixels_are_shown_as_blocks() -> None:
    """At ten times the pixels, no colour appears that was not there, apart from the drawing."""
    pixels = np.random.default_rng(1).integers(0, 256, (40, 60, 3), np.uint8)
    cell = loupe_cell(
        _spot(), 1, Image.fromarray(pixels), Window(270, 180, 60, 40), (600, 400), 6000
    )
    shown = np.asarray(cell.picture)

    assert cell.picture.size == (600, 400)
    np.testing.assert_array_equal(
        shown[:100, :100], np.kron(pixels[:10, :10], np.ones((10, 10, 1)))
    )


def test_circles_are_drawn_to_scale() -> None:
    """The blur's ring is 40 sensor px wide around the spot, the circle of confusion 5."""
    part = Image.new("RGB", (60, 40), (128, 128, 128))
    cell = loupe_cell(_spot(), 1, part, Window(270, 180, 60, 40), (600, 400), 6000)
    row = np.asarray(cell.picture).astype(int)[200]
    drawn = np.flatnonzero(np.abs(row - 128).sum(axis=1) > 60)

    assert drawn.min() == pytest.approx(300 - 20 - 2, abs=2)
    assert drawn.max() == pytest.approx(300 + 20 + 2, abs=2)
    assert "blur 40 px = 8 c" in cell.figures
    assert cell.verdict == "soft"


def test_a_sharp_spot_says_so() -> None:
    """Blur under c is sharp, and nought is written as nought."""
    part = Image.new("RGB", (60, 40))
    cell = loupe_cell(_spot(blur_px=1e-7), 2, part, Window(270, 180, 60, 40), (600, 400), 600)

    assert cell.verdict == "sharp"
    assert "blur 0 px" in cell.figures
    little = loupe_cell(_spot(blur_px=0.13), 2, part, Window(270, 180, 60, 40), (600, 400), 600)
    assert "blur 0.13 px = 0.026 c" in little.figures
    assert loupe_marks([_spot()], 0.5).telltales == ((150, 100),)


@pytest.mark.parametrize(("multiple", "word"), [(0.8, "sharp"), (1.02, "just about to go soft")])
def test_the_edge_of_the_band_is_said_as_on_the_card(multiple: float, word: str) -> None:
    """Within a tenth of the circle of confusion a spot is on the edge."""
    part = Image.new("RGB", (60, 40))
    spot = _spot(blur_px=multiple * _spot(blur_px=1.0).coc_px)

    assert loupe_cell(spot, 2, part, Window(270, 180, 60, 40), (600, 400), 600).verdict == word
