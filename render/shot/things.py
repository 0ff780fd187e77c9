"""Things by name: what is focused on, and what is looked at on site."""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.shot.declaring import PictureSpot, read_spot
from render.typed import length_m

__all__ = ["CheckWish", "ThingName", "read_check", "read_thing"]


@dataclass(frozen=True, slots=True)
class ThingName:
    """The name of a thing of a scene or a map."""

    name: str


@dataclass(frozen=True, slots=True)
class CheckWish:
    """A thing that must be sharp, to look at on site.

    Attributes
    ----------
    name : str
        What it is called on cards and boards.
    where : PictureSpot or ThingName
    depth_m : float or None
        Its distance along the camera's axis where the picture shows something else at its spot.
    """

    name: str
    where: PictureSpot | ThingName
    depth_m: float | None = None


def read_thing(text: str) -> ThingName:
    """Read the name of a thing; letters, digits, blanks and dashes."""
    plain = text.strip()
    if not plain[:1].isalpha():
        raise SettingError(f'"{text}" is no name of a thing: it begins with a letter')
    return ThingName(plain)


def read_check(text: str) -> CheckWish:
    """Read "left face=42%,38%", or the name of a thing of a scene: "crossing".

    Behind a spot may stand its distance along the camera's axis: "pot=42%,38%, 2.4 m".

    Raises
    ------
    SettingError
        If it is neither.
    """
    name, equals, rest = text.partition("=")
    name, place = name.strip(), (rest if equals else text).strip()
    if not name or not place:
        raise SettingError(
            f"\"{text}\": write a name and a spot, such as 'door=50%,62%', or a thing of a scene"
        )
    if place[:1].isalpha():
        return CheckWish(name, read_thing(place))
    if not equals:
        raise SettingError(f"\"{text}\" has no name: write it in front, such as 'door={place}'")
    spot, _, far = place.rpartition(",")
    depth_m = length_m(far) if "," in spot else None
    if depth_m is None:
        return CheckWish(name, read_spot(place))
    if not 0 < depth_m < math.inf:
        raise SettingError(f'"{text}": a distance is above 0, such as 2.4 m')
    return CheckWish(name, read_spot(spot), depth_m)
