"""Words in a side section stand in places of their own."""

import itertools

import numpy as np
import pytest

from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene
from render.sheets.section import section_panel
from render.sheets.slice import slice_scene

#: Width, height and letters of the section on a card, points.
_CARD_PT = 268.0, 78.0, 9.0


@pytest.mark.parametrize("height_m", [4.0, 8.0, 12.0, 40.0])
@pytest.mark.parametrize("pitch_deg", [10.0, 25.0])
@pytest.mark.parametrize("tilt_deg", [-8, -3, 5])
@pytest.mark.parametrize("focus_m", [15.0, 46.0])
def test_no_plate_lies_on_another_word(
    height_m: float, pitch_deg: float, tilt_deg: float, focus_m: float
) -> None:
    """Height, movement, plane and distances on a small card; a plate is 1.5 letters high."""
    camera = Camera.from_lens(90, 60, 45.0, Sensor())
    light = np.full((60, 90, 3), 0.2, np.float32)
    depth = np.full((60, 90), 45.0, np.float32)
    scene = Scene(light, depth, camera, vantage=Vantage(height_m, pitch_deg))
    setting = LensSetting(
        focal_mm=60, f_number=2.8, tilt_deg=tilt_deg, focus=FocusDistance(focus_m)
    )
    width, height, size = _CARD_PT
    cut = slice_scene(scene, setting, 0.03, "side")
    texts = section_panel(cut, setting, width, height, size=size).texts()

    words = {text.text for text in texts}
    turned = "down" if tilt_deg > 0 else "up"

    assert {"plane of sharp focus", f"lens {turned} {abs(tilt_deg)}°"} <= words
    for a, b in itertools.combinations(texts, 2):
        beside = a.x + a.width <= b.x or b.x + b.width <= a.x
        assert beside or abs(a.y - b.y) >= 1.45 * size, (a.text, b.text)
