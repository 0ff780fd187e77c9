"""What is varied, as people read it."""

from render.optics.camera import Vantage
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.tell.axis_words import axis_words, days_words

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


def test_moments_say_their_day_and_zone() -> None:
    """Once for all of them where they share one; every day where they don't."""
    june, december = "2026-06-21T12:00+02:00", "2026-12-21T12:00+01:00"

    assert days_words([june, june]) == "on 21 June 2026, clock at UTC+02:00"
    assert days_words([june, december]) == (
        "on 21 June 2026 and 21 December 2026, clock at UTC+02:00 and UTC+01:00"
    )


def test_a_height_carries_pitch_and_distance() -> None:
    """How the camera is held, and how far the level ground on its axis is."""
    setting = LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(30))

    assert axis_words("height", "2 storeys", setting, Vantage(6.0, 20.0)) == (
        "from 2 storeys, 20° down, 16.5 m off"
    )
    assert axis_words("height", "2 storeys", setting, Vantage(6.0, 0.0)).endswith(", level")
    assert axis_words("height", "2 storeys", setting) == "from 2 storeys"
    assert axis_words("height", "10", setting) == "from 10 m"
    assert axis_words("focus", "12.5", setting) == "focus 12.5 m"
    assert axis_words("focus", "infinity", setting) == "focus infinity"
