"""What to look out for, chosen by the place: general cautions; local rules come first."""

import enum
import math
from collections.abc import Sequence

from render.errors import SettingError

__all__ = ["Place", "cautions", "place_for"]

_ALWAYS = (
    "Local rules, the owner of the place and the people on site come first; for work at height, "
    "in the air or on roads ask those licensed for it. Nothing here says that a place is allowed "
    "or safe.",
)
_RAISED = (
    "Get permission in writing; tell someone where you are and when you will be down.",
    "Stay behind parapet, railing or edge protection; never lean out, climb on it or use a "
    "ladder alone; work with someone else. Without a barrier stay farther back than arm and "
    "tripod reach.",
    "Tether camera, lens, filters and bag; nothing loose on a ledge; keep people from below.",
    "An eyepiece hides the edge: set up by the screen, and stand still while composing.",
)
_OUTDOORS = (
    "Wind, ice, rain, lightning: leave; also before you no longer see the edge and the way down. "
    "Keep the tripod low, weighted, its legs away from the edge.",
)
_DARK = (
    "Planned, in whole or part, between sunset and sunrise: only where that is allowed, never "
    "alone, and with somebody who knows when you will be back; learn edge, stairs and way back by "
    "daylight and see that they are lit before dark; a head torch each, and a spare one.",
)
_ROOF = ("Ask about alarms, what the roof may bear, vents and aerials.",)
_TOWER = (
    "Stairs are narrow with a tripod, and gusts are stronger than below; bells, clocks and alarms "
    "start unannounced; ask when it closes.",
)
_BRIDGE = (
    "Nothing may fall on road, track or water below; a tripod needs room on a footway, and often "
    "permission; keep well away from overhead wires; what passes shakes the camera.",
)
_BALCONY = ("Ask whose it is and what it bears; keep pots and chairs from the railing.",)
_WINDOW = (
    "Shoot from inside, camera and arms behind the sill; make sure the window cannot swing and "
    "nothing can fall out of it.",
)
_DRONE = (
    "A flight here only stands in for finding height and pitch: a tilting lens is rarely lifted.",
    "Registration, licence, height, distance from people, crowds, roads and airports, night and "
    "privacy: check today's rules; keep it in sight with a spotter; never over people.",
)
_GROUND = (
    "Mind who walks by and what can be tripped over: bag, cable, tripod legs. Outdoors keep off "
    "roads and tracks; a tripod on a pavement needs room, and often permission.",
)
_SUN = (
    "Never look at the sun through the lens; with the sun in the frame a tilted lens can burn "
    "shutter and sensor: cover it between takes.",
)
_LONG = ("Hat, water and shade for long intervals; cover the lens between takes.",)
_LONG_COOL = ("Warm clothes for long intervals; cover the lens between takes.",)
_PEOPLE = ("Faces, windows, number plates: ask, or blur them as local rules demand.",)


_NEAR_M = 6.0
#: A lower sun asks for no hat (common practice, no source).
_HIGH_DEG = 10.0
_ON_FOOT_M = 2.5  # the lens of somebody who stands on the ground is no higher (ours)


class Place(enum.StrEnum):
    """Where the camera stands."""

    GROUND = "ground"
    WINDOW = "window"
    BALCONY = "balcony"
    BRIDGE = "bridge"
    TOWER = "tower"
    ROOF = "roof"
    DRONE = "drone"


def place_for(name: str | None, height_m: float | None, subject_m: float = math.inf) -> Place:
    """Read a place, or take the one that needs most care at this height.

    Parameters
    ----------
    height_m : float or None
        Where nobody knows it, something at arm's length is taken to be looked at from the ground.
    subject_m : float
        How far away what is sharp lies.

    Raises
    ------
    SettingError
        If the name is not a place.
    """
    if name is None:
        if height_m is None:
            return Place.GROUND if subject_m < _NEAR_M else Place.ROOF
        return Place.ROOF if height_m > _ON_FOOT_M else Place.GROUND
    try:
        return Place(name.strip().lower())
    except ValueError:
        known = ", ".join(Place)
        raise SettingError(
            f'--place "{name}" is not known: take what comes nearest of {known}'
        ) from None


def cautions(
    place: Place,
    *,
    sun_in_frame: bool = False,
    on_site_s: float = 0.0,
    sun_heights_deg: Sequence[float] = (),
) -> tuple[str, ...]:
    """Cautions for a place, the most important first; general, never a permission.

    Parameters
    ----------
    sun_heights_deg : sequence of float
        Of the sun from the first frame to the last; empty where the hour is not planned.
    """
    by_place = {
        Place.GROUND: _GROUND,
        Place.WINDOW: _RAISED + _WINDOW,
        Place.BALCONY: _RAISED + _BALCONY + _OUTDOORS,
        Place.BRIDGE: _RAISED + _BRIDGE + _OUTDOORS,
        Place.TOWER: _RAISED + _TOWER + _OUTDOORS,
        Place.ROOF: _RAISED + _ROOF + _OUTDOORS,
        Place.DRONE: _DRONE,
    }
    found = by_place[place]
    if min(sun_heights_deg, default=_HIGH_DEG) <= 0:
        found += _DARK
    sun = _SUN if sun_in_frame else ()
    high = max(sun_heights_deg, default=_HIGH_DEG) >= _HIGH_DEG
    long = () if on_site_s <= 300 else _LONG if high else _LONG_COOL
    return _ALWAYS + found + sun + long + _PEOPLE
