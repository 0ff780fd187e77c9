"""Painting to pixels: places, smooth edges, no seams."""

import numpy as np
import pytest
from PIL import Image

from render.sheets.drawing.canvas import Drawing
from render.sheets.drawing.raster import paint


def test_a_picture_at_scale_one_keeps_its_pixels() -> None:
    """A picture as large as its place is pasted, not resampled."""
    pixels = np.random.default_rng(1).integers(0, 256, (40, 60, 3), np.uint8)
    drawing = Drawing(80, 60)
    drawing.picture(Image.fromarray(pixels), 10, 15, 60, 40)

    np.testing.assert_array_equal(np.asarray(paint(drawing))[15:55, 10:70], pixels)


@pytest.mark.parametrize("scale", [1.0, 2.0, 3.5])
def test_text_sits_where_its_width_says(scale: float) -> None:
    """Ink lies between the left end and the right end of the line, on the baseline."""
    drawing = Drawing(300, 40)
    item = drawing.letters(20, 30, "Hinge line 0123", 16)
    dark = np.argwhere(np.asarray(paint(drawing, scale).convert("L")) < 128) / scale

    assert dark[:, 1].min() == pytest.approx(20, abs=2.5)
    assert dark[:, 1].max() == pytest.approx(20 + item.width, abs=2.5)
    assert dark[:, 0].max() == pytest.approx(30 + 3.5, abs=1.5)  # the g reaches below


def test_a_slanted_line_is_smooth_and_has_its_width() -> None:
    """The ink of a slanted line equals width times length; its edge has greys."""
    drawing = Drawing(1200, 700, ground=(255, 255, 255))
    drawing.path([(10, 10), (1190, 690)], colour=(0, 0, 0), width=5)
    ink = 1 - np.asarray(paint(drawing).convert("L")) / 255.0

    assert ink.sum() == pytest.approx(5 * np.hypot(1180, 680), rel=0.06)
    assert np.mean(ink[ink > 0] < 0.95) > 0.1


def test_tiles_leave_no_seams() -> None:
    """A large half-clear area is one even tone, across the tiles that it is painted in."""
    drawing = Drawing(1300, 1300)
    drawing.area([(100, 100), (1200, 101), (1200, 1200), (101, 1200)], opacity=0.5)
    inside = np.asarray(paint(drawing))[120:1180, 120:1180]

    assert np.ptp(inside.reshape(-1, 3), axis=0).max() == 0


def test_dashes_have_gaps() -> None:
    """A dashed line shows its pattern: about half of a 6-on, 6-off line is ink."""
    drawing = Drawing(500, 20)
    drawing.path([(0, 10), (500, 10)], width=2, dash=(6, 6))
    row = np.asarray(paint(drawing).convert("L"))[10] < 128

    assert np.mean(row) == pytest.approx(0.5, abs=0.06)
    assert np.count_nonzero(np.diff(row.astype(int))) == pytest.approx(500 / 6, abs=3)
