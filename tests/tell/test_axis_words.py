"""What is varied, as people read it."""

from render.optics.camera import Vantage
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.tell.axis_words import axis_words

SETTING = LensSetting(
    focal_mm=45, f_number=5.6, tilt_deg=-8, swing_deg=3, rise_mm=6, focus=FocusDistance(20)
)


def test_values_are_said_in_words() -> None:
    """Each axis in the trade's words with its unit."""
    spot = LensSetting(focal_mm=45, f_number=4, focus=FocusSpot(0, 0, 29.0))

    assert [axis_words(n, "x", SETTING) for n in ("f", "lens", "tilt", "swing", "rise")] == [
        "f/5.6",
        "45 mm",
        "lens up 8°",
        "lens right 3°",
        "rise 6 mm",
    ]
    assert axis_words("focus", "50%,60%", spot) == "focus at 29.0 m (50%, 60%)"
    assert axis_words("focus", "20 m", SETTING) == "focus 20 m"
    assert axis_words("height", "4 storeys", SETTING) == "from 4 storeys"
    assert axis_words("blades", "7", SETTING) == "blades 7"


def test_a_height_carries_pitch_and_distance() -> None:
    """How the camera is held, and how far the level ground on its axis is."""
    setting = LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(30))

    assert axis_words("height", "2 storeys", setting, Vantage(6.0, 20.0)) == (
        "from 2 storeys, 20° down, 16.5 m off"
    )
    assert axis_words("height", "2 storeys", setting, Vantage(6.0, 0.0)).endswith(", level")
    assert axis_words("height", "2 storeys", setting) == "from 2 storeys"
