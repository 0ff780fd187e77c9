"""Which stop survives at the size it is shown."""

import pytest

from render.optics.camera import Camera
from render.optics.solving.limits import LensLimits
from render.plan.shown import shown_at

LENS = LensLimits(
    name="long 90",
    focal_mm=90,
    widest_f_number=2.8,
    smallest_f_number=32,
    tilt_limit_deg=8,
    closest_focus_m=0.5,
)
CAMERA = Camera(600, 400, 1500.0)


def test_a_larger_showing_keeps_the_blur_for_more_stops() -> None:
    """At f/4 blur of 1 % of the height; seen on paper for longer than on a telephone, by 1/N."""
    phone, screen, paper = shown_at(CAMERA, 4.0, 0.01)

    assert phone.soft_to < screen.soft_to < paper.soft_to
    assert screen.soft_to == pytest.approx(4 * 0.01 / screen.viewing.just_seen(600, 400))
    assert screen.sharp_from is None
    assert "the blur is seen up to f/" in screen.sentence(LENS)


def test_what_is_named_looks_sharp_from_a_stop() -> None:
    """Named things blurred by twice what is seen look sharp one stop and more farther down."""
    seen = shown_at(CAMERA, 4.0, 0.01)[1].viewing.just_seen(600, 400)
    screen = shown_at(CAMERA, 4.0, 0.01, [0.2 * seen, 2 * seen])[1]

    assert screen.sharp_from == pytest.approx(8)
    assert screen.sentence(LENS).endswith("looks sharp from f/8")


def test_what_no_stop_shows_is_said() -> None:
    """Blur too small to be seen wide open, and things too soft for the last stop."""
    seen = shown_at(CAMERA, 2.8, 0.01)[1].viewing.just_seen(600, 400)
    none = shown_at(CAMERA, 2.8, 0.5 * seen, [20 * seen])[1].sentence(LENS)

    assert "no blur is seen, even wide open" in none
    assert "not look so at any stop" in none
    assert "at every stop" in shown_at(CAMERA, 2.8, 0.01, [0.5 * seen])[1].sentence(LENS)
