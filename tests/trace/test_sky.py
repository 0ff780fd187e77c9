"""What a ray finds where nothing stands: haze before it."""

import numpy as np
import pytest

from render.trace.build import light_numbers
from render.trace.trace import trace_scene
from render.world.description import LightWords
from render.world.surfaces.material import linear_rgb
from tests.world.worlds import described, eye_level


def test_haze_veils_with_distance() -> None:
    """A black wall at half the visual range shows 1 - sqrt(0.02) of the veil."""
    wall = {"kind": "box", "at_m": [0, 500.5], "size_m": [900, 1, 300], "side": "#000000"}
    light = {"visual_range_km": 1.0, "haze_colour": "#ffffff"}
    scene = trace_scene(described([wall], light=light), eye_level())

    assert scene.picture[20, 50, 1] == pytest.approx(1 - np.sqrt(0.02), abs=0.01)


def test_haze_has_its_colour_by_day_and_dims_with_the_sun() -> None:
    """A pale haze is as bright as said in daylight, and below half of the horizon after sunset."""
    by_day = light_numbers(LightWords(haze_colour="#cdd3d6", sun_height_deg=30.0))
    dusk = light_numbers(LightWords(haze_colour="#cdd3d6", sun_height_deg=-4.0))

    np.testing.assert_allclose(by_day.haze, np.array(linear_rgb("#cdd3d6")), rtol=1e-6)
    assert dusk.haze.max() < 0.5 * dusk.horizon.max()
    np.testing.assert_allclose(dusk.haze / dusk.haze[1], by_day.haze / by_day.haze[1], rtol=1e-6)
