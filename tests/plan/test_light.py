"""The light of the day."""

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.errors import InputError
from render.plan.light import in_view, plan_light
from render.world.sun import sun_position

DAY, PLACE = "2026-06-21T12:00+02:00", (48.0, 11.0)


def test_the_window_is_sun_on_the_subject_and_none_in_the_lens() -> None:
    """A wall that is lit from the west only: from when the sun comes round until it is ahead."""
    plan = plan_light(
        DAY,
        *PLACE,
        heading_deg=300.0,
        half_view_deg=(22.0, 15.0),
        subject_shadow=lambda heading, height: "" if heading > 180 else "the tower",
    )
    ((begins, ends),) = plan.window
    noon = sun_position(begins.isoformat(), *PLACE)[0]

    assert noon == pytest.approx(180, abs=1)
    assert plan.in_frame
    assert ends <= plan.in_frame[0][0] or abs((ends - plan.in_frame[0][0]).seconds) < 60
    assert plan.hours[0].on_subject == "the tower"
    assert "in the shadow of the tower" in plan.hours[0].sentence
    assert any("never look" in line for line in plan.lines)
    assert any(line.startswith("good light ") for line in plan.lines)


def test_without_a_heading_nothing_is_said_of_the_frame() -> None:
    """Place and day alone give rise, set and the six moments, but no side and no frame."""
    plan = plan_light(DAY, *PLACE)

    assert plan.in_frame == ()
    assert len(plan.hours) == 6
    assert all(hour.side == "" and hour.on_subject is None for hour in plan.hours)
    assert plan.hours[0].lights in ("east", "north-east")
    assert plan.day.rise is not None
    assert plan.lines[1].startswith(f"sun from {plan.day.rise:%H:%M} to ")


@pytest.mark.parametrize(
    ("when", "said"),
    [
        (DAY, "planned for 12:00 on 21 June 2026: sun at"),
        ("2026-06-21T23:30+02:00", "° below the horizon"),
    ],
)
def test_the_hour_that_is_planned_is_said_first(when: str, said: str) -> None:
    """Whoever holds the card must know when to be there."""
    shade = plan_light(when, *PLACE, subject_shadow=lambda heading, height: "the tower")

    assert said in shade.lines[0]
    plain = plan_light(when, *PLACE)
    assert ("the plan lies outside" in plain.window_words) == ("below" in said)
    assert plain.hour is None
    dusk = plan_light("2026-06-21T21:45+02:00", *PLACE)
    assert dusk.hour is not None
    assert f"; in the {dusk.hour[0]}, " in dusk.lines[0]
    assert ("the tower" in shade.lines[0]) == ("below" not in said)


def test_the_sun_stands_on_the_side_it_says() -> None:
    """Looking north at midday in Europe the sun is behind; looking east it is on the right."""
    by_heading = {}
    for heading in (0.0, 90.0, 180.0, 270.0):
        hours = plan_light(DAY, *PLACE, heading_deg=heading).hours
        noon = min(hours, key=lambda hour: abs(hour.heading_deg - 180))
        by_heading[heading] = noon.side

    assert by_heading[0.0].startswith("behind")
    assert "right" in by_heading[90.0]
    assert by_heading[180.0].startswith("ahead")
    assert "left" in by_heading[270.0]


@given(st.floats(0, 360), st.floats(-20, 60), st.floats(1, 40))
def test_the_middle_of_the_frame_shows_a_sun_that_is_there(
    heading: float, pitch_up: float, half: float
) -> None:
    """Looking straight at the sun it is in view; turned round, or below the horizon, never."""
    assert in_view(heading, pitch_up, heading, -pitch_up, (half, half)) == (pitch_up >= -0.5)
    assert not in_view(heading + 180, 10.0, heading, 0.0, (half, half))
    assert not in_view(heading + half + 5.5, 0.0, heading, 0.0, (half, half))


def test_a_moment_without_offset_is_refused() -> None:
    """One sentence, as everywhere."""
    with pytest.raises(InputError, match="offset"):
        plan_light("2026-06-21T12:00", *PLACE)
    assert datetime.fromisoformat(DAY).tzinfo is not None
