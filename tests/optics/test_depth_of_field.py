"""Circle of confusion, hyperfocal distance, depth of field without tilt."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.blur import defocus
from render.optics.camera import Sensor
from render.optics.depth_of_field import (
    circle_of_confusion_mm,
    depth_of_field_m,
    hyperfocal_m,
)
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from tests.strategies import coc_mm, f_number, focal_mm


@given(focal_mm, f_number, coc_mm, st.floats(0.5, 500.0))
def test_limits_blur_by_the_circle_of_confusion(
    focal: float, stop: float, coc: float, focus: float
) -> None:
    """At the near and the far limit the blur is c; a far limit of infinity blurs by c at most."""
    lens = focus_lens(LensSetting(focal_mm=focal, f_number=stop, focus=FocusDistance(focus)))
    near, far = depth_of_field_m(focal, stop, coc, focus)

    assert near <= focus <= far
    assert focal / stop * float(defocus(lens, [0, 0], 1 / near)) == pytest.approx(coc, rel=1e-6)
    blur_far = -focal / stop * float(defocus(lens, [0, 0], 1 / far))
    if math.isinf(far):
        assert blur_far <= coc * (1 + 1e-9)
    else:
        assert blur_far == pytest.approx(coc, rel=1e-6)


@given(focal_mm, f_number, coc_mm)
def test_hyperfocal_reaches_from_half_of_itself_to_infinity(
    focal: float, stop: float, coc: float
) -> None:
    """Focused at the hyperfocal distance, sharpness reaches from half of it to infinity."""
    hyperfocal = hyperfocal_m(focal, stop, coc)
    near, far = depth_of_field_m(focal, stop, coc, hyperfocal)

    assert near == pytest.approx(hyperfocal / 2, rel=1e-9)
    assert far == math.inf
    at_infinity, _ = depth_of_field_m(focal, stop, coc, math.inf)
    assert at_infinity == pytest.approx(hyperfocal - focal / 1000, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("traditional", 0.030),
        ("cinema", 0.0254),
        ("diagonal/1500", 0.02884),
        ("Diagonal / 1730", 0.02501),
        ("2 px", 0.012),
        ("0.025 mm", 0.025),
        ("0.02", 0.02),
    ],
)
def test_conventions_on_36_by_24(text: str, expected: float) -> None:
    """The customary circles for 36 x 24 mm (from memory), and pixels of a 6000 px picture."""
    assert circle_of_confusion_mm(text, Sensor(), 6000) == pytest.approx(expected, rel=1e-3)


def test_traditional_circle_shrinks_with_the_sensor() -> None:
    """A sensor half as large has half the traditional circle."""
    assert circle_of_confusion_mm("traditional", Sensor(18, 12)) == pytest.approx(0.015)


@pytest.mark.parametrize("text", ["", "0", "0 mm", "diagonal/0", "sharp", "-1 mm", "nan", "1e-2"])
def test_unknown_convention_is_refused(text: str) -> None:
    """Anything else is answered with what can be written."""
    with pytest.raises(SettingError, match="not understood"):
        circle_of_confusion_mm(text, Sensor(), 100)


def test_pixels_need_a_picture() -> None:
    """Pixels without a picture to count them in are refused."""
    with pytest.raises(SettingError, match="no picture"):
        circle_of_confusion_mm("2 px", Sensor())


def test_impossible_distances_are_refused() -> None:
    """Focus inside the focal length, an f-number of 0 or no circle at all are refused."""
    with pytest.raises(SettingError, match="more than the focal length"):
        depth_of_field_m(90, 4, 0.03, 0.09)
    with pytest.raises(SettingError, match="f_number"):
        hyperfocal_m(90, 0, 0.03)
    with pytest.raises(SettingError, match="coc_mm"):
        hyperfocal_m(90, 4, math.nan)
