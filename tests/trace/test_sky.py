"""What a ray finds where nothing stands: haze before it."""

import numpy as np
import pytest

from render.trace.trace import trace_scene
from tests.world.worlds import described, eye_level


def test_haze_veils_with_distance() -> None:
    """A black wall at half the visual range shows 1 - sqrt(0.02) of the veil."""
    wall = {"kind": "box", "at_m": [0, 500.5], "size_m": [900, 1, 300], "side": "#000000"}
    light = {"visual_range_km": 1.0, "haze_colour": "#ffffff"}
    scene = trace_scene(described([wall], light=light), eye_level())

    assert scene.picture[20, 50, 1] == pytest.approx(1 - np.sqrt(0.02), abs=0.01)
