"""Frames, shutter and smear."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.camera import Camera, Sensor
from render.optics.timelapse import plan_interval, smear_px


def test_half_a_minute_of_people_takes_minutes_on_site() -> None:
    """One frame a second for five to ten minutes is 12 to 24 s at 25 a second (trade practice)."""
    short, long = plan_interval(1, 25, 12), plan_interval(1, 25, 24)

    assert (short.frames, long.frames) == (300, 600)
    assert short.on_site_s == 299
    assert 4.9 * 60 < short.on_site_s < long.on_site_s < 10 * 60
    assert short.shutter_s == 0.5
    assert short.speed_up == 25


@given(st.floats(0.1, 30.0), st.floats(1e-3, 1.0), st.floats(2.0, 300.0))
def test_smear_is_the_distance_covered_seen_by_the_camera(
    speed: float, time: float, depth: float
) -> None:
    """A thing that moves sideways smears over the pixels between its first and last place."""
    camera = Camera.from_lens(6000, 4000, 45, Sensor())
    first, last = (camera.positions([x / depth, 0.0])[0] for x in (0.0, speed * time))

    assert smear_px(-speed, time, depth, camera.focal_px) == pytest.approx(last - first, abs=1e-6)


@pytest.mark.parametrize(
    ("interval", "rate", "clip", "angle"),
    [(-1, 25, 10, 180), (1, 0, 10, 180), (1, 25, math.nan, 180), (1, 25, 10, 0), (1, 25, 10, 400)],
)
def test_impossible_plans_are_refused(
    interval: float, rate: float, clip: float, angle: float
) -> None:
    """A negative interval, no rate, no length, or a shutter angle off the circle is refused."""
    with pytest.raises(SettingError):
        plan_interval(interval, rate, clip, angle)


def test_smear_behind_the_camera_is_refused() -> None:
    """Smear needs a thing in front of the camera."""
    with pytest.raises(SettingError):
        smear_px(1, 1, 0, 1000)
