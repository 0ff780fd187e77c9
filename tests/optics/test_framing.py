"""The planned frame inside a picture."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.camera import Camera, Sensor
from render.optics.framing import planned_window, widest_focal_mm

FULL = Sensor(36, 24)
PHONE = Camera(4000, 3000, 2900.0)


@given(st.floats(28, 400))
def test_the_frame_spans_the_planned_field_of_view(focal_mm: float) -> None:
    """Its edges look along sensor / 2f on either side, to half a pixel."""
    window = planned_window(PHONE, FULL, focal_mm)

    left = PHONE.slopes(window.left, 0)[0]
    right = PHONE.slopes(window.left + window.width, 0)[0]
    assert math.isclose(left, -18 / focal_mm, abs_tol=1.01 / PHONE.focal_px)
    assert math.isclose(right, 18 / focal_mm, abs_tol=1.01 / PHONE.focal_px)


def test_rise_moves_the_frame_up_and_lateral_shift_right() -> None:
    """6 mm of shift at 90 mm move the view by 6/90 of the focal length in pixels."""
    plain = planned_window(PHONE, FULL, 90)

    raised = planned_window(PHONE, FULL, 90, rise_mm=6)
    aside = planned_window(PHONE, FULL, 90, lateral_mm=6)

    assert plain.top - raised.top == pytest.approx(2900 * 6 / 90, abs=1)
    assert aside.left - plain.left == pytest.approx(2900 * 6 / 90, abs=1)


def test_a_lens_that_sees_too_much_is_told_what_would_fit() -> None:
    """The sentence holds the missing shares and the widest lens, and that lens is accepted."""
    with pytest.raises(SettingError, match=r"missing of the frame: 12% left, 12% right") as caught:
        planned_window(PHONE, FULL, 20)

    widest = math.ceil(10 * widest_focal_mm(PHONE, FULL)) / 10
    assert f"{widest:.1f} mm" in str(caught.value)
    assert planned_window(PHONE, FULL, widest).width <= 4000
    with pytest.raises(SettingError, match="under 1% left, under 1% right"):
        planned_window(PHONE, FULL, widest - 0.1)


def test_too_much_shift_is_told_how_much_fits() -> None:
    """What the sentence says fits is accepted, a tenth more is not."""
    with pytest.raises(SettingError, match="holds at most rise ") as caught:
        planned_window(PHONE, FULL, 28, rise_mm=30)

    (most,) = re.findall(r"at most rise ([\d.]+) mm", str(caught.value))
    planned_window(PHONE, FULL, 28, rise_mm=float(most))
    with pytest.raises(SettingError, match="at most"):
        planned_window(PHONE, FULL, 28, rise_mm=float(most) + 0.1)


@given(st.floats(1, 12))
def test_shift_beyond_the_picture_is_refused(rise_mm: float) -> None:
    """A frame that fills the picture cannot be shifted at all."""
    with pytest.raises(SettingError, match=r"% top"):
        planned_window(Camera(3000, 2000, 2000.0), Sensor(30, 20), 20.0, rise_mm=rise_mm)
