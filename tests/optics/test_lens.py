"""What a lens setting takes and what it refuses."""

import math
from dataclasses import FrozenInstanceError, replace

import pytest

from render.errors import SettingError
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, Iris, LensSetting

SETTING = LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(math.inf), tilt_deg=-8)


def test_a_setting_is_varied_by_replacing_one_value() -> None:
    """A stop sheet is the same setting with another f-number; the first is left alone."""
    wider = replace(SETTING, f_number=8)

    assert (wider.f_number, wider.tilt_deg, SETTING.f_number) == (8, -8, 2.8)
    with pytest.raises(FrozenInstanceError):
        SETTING.f_number = 4  # type: ignore[misc]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("focal_mm", 0),
        ("focal_mm", math.inf),
        ("f_number", 0),
        ("f_number", math.nan),
        ("tilt_deg", 95),
        ("swing_deg", -90),
        ("tilt_deg", math.nan),
        ("rise_mm", math.inf),
        ("lateral_mm", math.nan),
    ],
)
def test_impossible_values_are_refused_by_name(name: str, value: float) -> None:
    """A tilt of 95°, f/0 or a value that is no number is refused, naming the field."""
    with pytest.raises(SettingError, match=name):
        replace(SETTING, **{name: value})


@pytest.mark.parametrize(
    "make",
    [
        lambda: FocusSpot(0, 0, 0),
        lambda: FocusSpot(math.inf, 0, 5),
        lambda: FocusSpot(0, 0, math.nan),
        lambda: FocusDistance(-1),
        lambda: FocusDistance(math.nan),
        lambda: FocusExtension(0),
        lambda: FocusExtension(math.inf),
        lambda: Iris(blades=2),
        lambda: Iris(blades=33),
        lambda: Iris(rotation_deg=math.nan),
        lambda: Iris(blades=7, roundness=1.5),
    ],
)
def test_impossible_focus_and_iris_are_refused(make: object) -> None:
    """Focus behind the lens and irises of two blades do not exist."""
    with pytest.raises(SettingError):
        make()  # type: ignore[operator]
