"""Light on surfaces: sun and shadow, sky, lamps, mirrors; in the tracer's own pictures."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from render.trace.build import light_numbers, lit_at
from render.trace.columns import HIT, NORMAL, OTHER, PLACE
from render.trace.light import _lamp
from render.trace.trace import trace_scene
from render.world.description import Lamp, LightWords
from tests.steps import opened
from tests.world.worlds import described, eye_level

DARK = {"sky_level": 0.0, "visual_range_km": 1e6}


def _ground(things: list[dict[str, Any]], light: dict[str, Any], **view: Any) -> np.ndarray:
    d = described(things, light=light, ground={"material": "white"}, materials={"white": "#808080"})
    return trace_scene(d, eye_level(pitch_deg=89.0, **view)).picture


def test_the_sun_lights_level_ground_by_the_cosine_law() -> None:
    """Albedo 0.2159 (code 128) times the sun times the sine of its height."""
    seen = _ground([], {**DARK, "sun_height_deg": 30.0})[33, 50]

    sun = light_numbers(LightWords(sun_height_deg=30.0)).sun
    np.testing.assert_allclose(seen, 0.2158605 * sun * 0.5, rtol=2e-2)


def test_a_shadow_lies_away_from_the_sun() -> None:
    """A sun in the south at 45 degrees casts a 1 m post's shadow 1 m to the north."""
    post = {"kind": "box", "at_m": [0, 0], "size_m": [0.2, 0.2, 1.0]}
    light = {**DARK, "sun_heading_deg": 180.0, "sun_height_deg": 45.0}
    seen = _ground([post], light, at_m=(0.0, 0.02, 9.0), height_m=9.0)[..., 1]

    north, south = seen[33 - 7, 50], seen[33 + 7, 50]  # 0.63 m on the ground
    assert north < 0.1 * south


@pytest.mark.parametrize(("softness", "widest"), [(0.53, 3), (20.0, 12)])
def test_a_larger_sun_casts_softer_shadows(softness: float, widest: int) -> None:
    """Columns in which the edge of a shadow is neither lit nor dark."""
    roof = {"kind": "box", "at_m": [-6, 0, 5], "size_m": [12, 30, 0.2]}
    light = {**DARK, "sun_height_deg": 90.0, "sun_softness_deg": softness}
    row = _ground([roof], light, at_m=(0.0, 0.0, 4.9), height_m=4.9)[33, :, 1]

    part = (row > 0.08 * row.max()) & (row < 0.92 * row.max())
    assert (part.sum() <= widest) if softness < 1 else (part.sum() >= widest)


def test_the_sky_alone_leaves_corners_dark() -> None:
    """1.8 m from a high black wall, ground is lit by (1 + cos(87 deg)) / 2 of an even sky."""
    wall = {"kind": "box", "at_m": [-8, 0], "size_m": [10, 60, 30], "side": "#000000"}
    light = {"sun_level": 0.0, "visual_range_km": 1e6}
    beside = _ground([wall], light, at_m=(0.0, 0.0, 9.0), height_m=9.0)
    alone = _ground([], light, at_m=(0.0, 0.0, 9.0), height_m=9.0)

    near = (slice(20, 46), slice(34, 40), 1)  # 1.5 to 2.1 m from its foot
    assert beside[near].mean() / alone[near].mean() == pytest.approx(0.53, abs=0.04)


def test_a_lamp_falls_off_with_the_square_of_its_distance() -> None:
    """Straight below a lamp 2 m up, strength 8 lights as 8 / (2^2 + r^2) suns."""
    lamp = {"at_m": [0, 0, 2], "strength": 8.0, "colour": "#ffffff", "radius_m": 0.1}
    seen = _ground([], {**DARK, "sun_level": 0.0, "lamps": [lamp]}, at_m=(0.0, -0.03, 1.8))

    assert seen[33, 50, 1] == pytest.approx(0.2158605 * 8 / (4 + 0.01), rel=0.02)


def test_a_dipped_lamp_leaves_what_is_above_it_dark() -> None:
    """Straight ahead a wall is lit below the lamp's level and not above; a car takes it along."""
    beam = Lamp((0.0, 0.0, 1.0), strength=9.0, toward_m=(0.0, -1.0, 1.0), soft=1.0, dipped=True)
    numbers = light_numbers(LightWords(lamps=(beam,)))
    seen = []
    for height in (0.5, 0.9, 1.2):
        h = np.zeros(OTHER - HIT)
        h[PLACE : PLACE + 3], h[NORMAL : NORMAL + 3] = (0.0, -8.0, height), (0.0, 1.0, 0.0)
        seen.append(opened(_lamp)(numbers.lamp.ctypes.data, h))

    assert seen[2] == 0 < seen[0] < seen[1] < 9.0 / 64
    car = {"kind": "car", "moves": {"path_m": [[0, 0], [90, 0]], "speed_m_s": 9.0}}
    d = described([car])
    d = replace(d, things=(replace(d.things[0], lamps=(beam,)),))
    there = [lit_at(d, time_s).lamps[0] for time_s in (1.0, 3.0)]
    np.testing.assert_allclose(np.subtract(there[1].at_m, there[0].at_m), (18, 0, 0), atol=1e-9)
    np.testing.assert_allclose(np.subtract(there[1].toward_m, there[1].at_m), (1, 0, 0), atol=1e-9)


def test_water_mirrors_the_sky_more_the_flatter_it_is_seen() -> None:
    """Fresnel's law: grazing water is as bright as the sky, water seen from above is not."""
    ground = {"material": "lake"}
    lake = {"lake": {"rule": "water", "colour": "#000000", "relief": 0.0}}
    light = {"sun_level": 0.0, "visual_range_km": 1e6}
    d = described([], ground=ground, materials=lake, light=light)
    flat = trace_scene(d, eye_level(pitch_deg=3.0)).picture[40, 50, 2]
    steep = trace_scene(d, eye_level(pitch_deg=80.0)).picture[40, 50, 2]

    assert steep < 0.12 * flat
