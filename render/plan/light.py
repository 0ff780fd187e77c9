"""The sun on the day: where it stands, what it lights, and the good light to work in."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from render.world.day import Span, SunDay, moments, spans_where, sun_day
from render.world.sky import sun_height_words
from render.world.sun import ITSELF, sun_position

__all__ = ["LightPlan", "SunHour", "in_view", "moment_words", "plan_light", "span_words"]

_HOURS = 6
#: The sun this far outside the frame still shines into the lens (common practice).
_NEAR_FRAME_DEG = 5.0
_SIDES = ("ahead", "ahead on the right", "on the right", "behind on the right")
_COMPASS = ("north", "north-east", "east", "south-east")

#: Whose shadow falls on a place when the sun stands at (heading, height): "" in the sun.
Shadow = Callable[[float, float], str]


@dataclass(frozen=True, slots=True)
class SunHour:
    """The sun at one moment.

    Attributes
    ----------
    moment : datetime
    heading_deg, height_deg : float
    side : str
        Where it stands seen from the camera: "behind on the left"; empty without a heading.
    lights : str
        Which fronts it lights: those that face "south-west".
    on_subject, on_camera : str or None
        What shades the subject, and the camera: a name, or empty in the sun; None where nobody
        knows what stands there.
    """

    moment: datetime
    heading_deg: float
    height_deg: float
    side: str
    lights: str
    on_subject: str | None
    on_camera: str | None

    @property
    def sentence(self) -> str:
        """One line for a person, with the hour."""
        return f"{self.moment:%H:%M}: {self.words}"

    @property
    def words(self) -> str:
        """Where the sun stands then, and what it lights."""
        where = f", {self.side}" if self.side else ""
        at = f"sun at {self.heading_deg:.0f}°, "
        stands = f"{at}{sun_height_words(self.height_deg)}{where}"
        if self.height_deg <= 0:
            return stands
        parts = [
            stands,
            f"fronts that face {self.lights} are lit",
        ]
        if self.on_subject is not None:
            shade = f"in the shadow of {self.on_subject}" if self.on_subject else "in the sun"
            shade = "on its own shaded side" if self.on_subject == ITSELF else shade
            parts.append(f"what is sharp lies {shade}")
        if self.on_camera:
            parts.append(f"you stand in the shadow of {self.on_camera}")
        return "; ".join(parts)


def moment_words(moment: datetime) -> str:
    """Hour and day as people read them: "18:30 on 21 June 2026"."""
    return f"{moment:%H:%M} on {moment.day} {moment:%B %Y}"


@dataclass(frozen=True, slots=True)
class LightPlan:
    """The light of one day at one place.

    Attributes
    ----------
    day : SunDay
    planned : SunHour
        The moment that the shot is planned for.
    hours : tuple of SunHour
        Six, evenly through the light day.
    in_frame : tuple of (datetime, datetime)
        When the sun stands in or near the frame.
    window : tuple of (datetime, datetime)
        When what is sharp lies in the sun, as far as that is known, and the sun is not in the
        frame.
    latitude_deg, longitude_deg : float
    """

    day: SunDay
    planned: SunHour
    hours: tuple[SunHour, ...]
    in_frame: tuple[Span, ...]
    window: tuple[Span, ...]
    latitude_deg: float
    longitude_deg: float

    def sun_height_deg(self, moment: datetime) -> float:
        """How high the sun stands at another moment."""
        return sun_position(moment.isoformat(), self.latitude_deg, self.longitude_deg)[1]

    def heights_until_deg(self, on_site_s: float) -> tuple[float, ...]:
        """How high the sun stands from the planned moment on, at least once an hour."""
        hours = math.ceil(on_site_s / 3600)
        later = (timedelta(seconds=on_site_s * k / hours) for k in range(1, hours + 1))
        start = self.planned.moment
        return (self.planned.height_deg, *(self.sun_height_deg(start + by) for by in later))

    @property
    def planned_words(self) -> str:
        """Hour and day that the shot is planned for: "18:30 on 21 June 2026"."""
        return moment_words(self.planned.moment)

    @property
    def hour(self) -> tuple[str, Span] | None:
        """The golden or blue hour that the planned moment lies in, if it does."""
        named = (("golden hour", self.day.golden), ("blue hour", self.day.blue))
        held = ((name, span) for name, spans in named for span in spans if self._holds(span))
        return next(held, None)

    @property
    def window_words(self) -> str:
        """The window, two stretches of it, the planned one first; and whether it lies outside."""
        if not self.window:
            return ""
        first = sorted(self.window, key=lambda span: not self._holds(span))
        outside = "" if self._holds(first[0]) else "; the plan lies outside"
        return f"{', '.join(map(span_words, first[:2]))}{outside}"

    def _holds(self, span: Span) -> bool:
        return span[0] <= self.planned.moment <= span[1]

    @property
    def lines(self) -> tuple[str, ...]:
        """For people: the moment, its day, the window, what to look out for, and six moments."""
        day = self.day
        found = []
        if day.rise and day.set:
            found.append(f"sun from {day.rise:%H:%M} to {day.set:%H:%M}")
        found += [f"golden hour {span_words(span)}" for span in day.golden]
        found += [f"blue hour {span_words(span)}" for span in day.blue]
        hour = f"; in the {self.hour[0]}, {span_words(self.hour[1])}" if self.hour else ""
        lines = [
            f"planned for {self.planned_words}: {self.planned.words}{hour}",
            f"{', '.join(found)} (golden: sun 4° below to 6° above the horizon)",
        ]
        if self.window:
            outside = "" if any(map(self._holds, self.window)) else "; the plan lies outside"
            known = any(hour.on_subject is not None for hour in self.hours)
            lit = (
                "while what is sharp lies in the sun, which" if known else "while the sun is up and"
            )
            lines.append(
                f"good light {', '.join(map(span_words, self.window))}{outside} ({lit} "
                "is not in or near the frame)"
            )
        if self.in_frame:
            times = ", ".join(map(span_words, self.in_frame))
            lines.append(f"sun in or near the frame: {times}: never look at it through the lens")
        return (*lines, *(hour.sentence for hour in self.hours))


def plan_light(
    when: str,
    latitude_deg: float,
    longitude_deg: float,
    *,
    heading_deg: float | None = None,
    pitch_deg: float = 0.0,
    half_view_deg: tuple[float, float] = (0.0, 0.0),
    subject_shadow: Shadow | None = None,
    camera_shadow: Shadow | None = None,
) -> LightPlan:
    """Plan the light of the day that `when` lies on.

    Parameters
    ----------
    heading_deg : float or None
        Compass heading of the look, where it is known.
    half_view_deg : (across, up)
        Half the frame's angles.
    subject_shadow, camera_shadow : callable or None
        What shades what is sharp, and the camera; None where nobody knows what stands there.

    Raises
    ------
    InputError
        If the date cannot be read, or the sun does not rise that day.
    """

    def sun(moment: datetime) -> tuple[float, float]:
        return sun_position(moment.isoformat(), latitude_deg, longitude_deg)

    def shows(moment: datetime) -> bool:
        return heading_deg is not None and in_view(
            *sun(moment), heading_deg, pitch_deg, half_view_deg
        )

    def good(moment: datetime) -> bool:
        heading, height = sun(moment)
        lit = subject_shadow is None or not subject_shadow(heading, height)
        return height > 0 and lit and not shows(moment)

    def at(moment: datetime) -> SunHour:
        heading, height = sun(moment)
        up = height > 0
        return SunHour(
            moment=moment,
            heading_deg=heading,
            height_deg=height,
            side="" if heading_deg is None else _side(heading - heading_deg),
            lights=_compass(heading),
            on_subject=subject_shadow(heading, height) if subject_shadow and up else None,
            on_camera=camera_shadow(heading, height) if camera_shadow and up else None,
        )

    hours = tuple(map(at, moments(when, latitude_deg, longitude_deg, _HOURS)))
    return LightPlan(
        day=sun_day(when, latitude_deg, longitude_deg),
        planned=at(datetime.fromisoformat(when)),
        hours=hours,
        in_frame=spans_where(when, shows),
        window=spans_where(when, good),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
    )


def in_view(
    sun_heading_deg: float,
    sun_height_deg: float,
    heading_deg: float,
    pitch_deg: float,
    half_view_deg: tuple[float, float],
) -> bool:
    """Whether the sun is up and stands in the frame or within 5 degrees of it."""
    if sun_height_deg < -0.5:
        return False
    turn = math.radians(sun_heading_deg - heading_deg)
    up, pitch = math.radians(sun_height_deg), math.radians(pitch_deg)
    east, north, high = (
        math.sin(turn) * math.cos(up),
        math.cos(turn) * math.cos(up),
        math.sin(up),
    )
    forward = north * math.cos(pitch) - high * math.sin(pitch)
    above = north * math.sin(pitch) + high * math.cos(pitch)
    if forward <= 0:
        return False
    across = math.degrees(math.atan2(abs(east), forward))
    raised = math.degrees(math.atan2(abs(above), forward))
    return across <= half_view_deg[0] + _NEAR_FRAME_DEG and raised <= (
        half_view_deg[1] + _NEAR_FRAME_DEG
    )


def span_words(span: Span) -> str:
    """A stretch of the day: "10:15 to 13:40"."""
    return f"{span[0]:%H:%M} to {span[1]:%H:%M}"


def _side(turn_deg: float) -> str:
    """Where something stands that is so far clockwise of the look."""
    turn = (turn_deg + 180.0) % 360.0 - 180.0
    eighth = round(abs(turn) / 45.0)
    if eighth == 4:
        return "behind you"
    words = _SIDES[eighth]
    return words if turn >= 0 else words.replace("right", "left")


def _compass(heading_deg: float) -> str:
    """The nearest of eight directions."""
    eighth = round(heading_deg / 45.0) % 8
    if eighth < 4:
        return _COMPASS[eighth]
    return {"north": "south", "north-east": "south-west", "east": "west"}.get(
        _COMPASS[eighth - 4], "north-west"
    )
