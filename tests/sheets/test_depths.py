"""Depth as a picture."""

import numpy as np
from PIL import Image

from render.sheets.depths import depth_sheet
from render.sheets.drawing.raster import paint

PICTURE = Image.new("RGB", (200, 120), (128, 128, 128))


def _depth() -> np.ndarray:
    depth = np.geomspace(5, 100, 120, dtype=np.float32)[::-1, None] * np.ones((1, 200), np.float32)
    depth[:20] = np.inf
    depth[60:70, 50:60] = np.nan
    return depth


def test_near_is_lighter_than_far_and_sky_and_holes_stand_out():
    """Brightness falls with distance; sky and holes have colours of their own."""
    code = np.asarray(paint(depth_sheet(PICTURE, _depth())), float)

    bright = code[:120].mean(axis=2)
    assert bright[115, 100] > bright[80, 100] > bright[40, 100]
    assert np.ptp(code[5, 100]) < 25
    assert code[65, 55, 0] > code[65, 55, 1] + 60


def test_marks_and_round_distances_are_written():
    """Each mark is labelled, and the legend names round distances inside the range."""
    drawn = depth_sheet(PICTURE, _depth(), [((30.0, 90.0), "18.0 m")], heading="Depth: x")

    words = {letters.text for letters in drawn.texts()}
    assert {"18.0 m", "Depth: x", "20.0 m", "50.0 m"} <= words
    assert "200 m" not in words


def test_a_short_range_has_its_distances_written_too():
    """Between 2.2 and 4.8 m at least two distances are named."""
    depth = np.geomspace(2.2, 4.8, 120, dtype=np.float32)[::-1, None] * np.ones(
        (1, 200), np.float32
    )

    written = [letters.text for letters in depth_sheet(PICTURE, depth).texts()]

    assert len([words for words in written if words.endswith(" m")]) >= 2
