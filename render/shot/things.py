"""Things by name: what is focused on, and what is looked at on site."""

from dataclasses import dataclass

from render.errors import SettingError
from render.shot.declaring import PictureSpot, read_spot

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
    """

    name: str
    where: PictureSpot | ThingName


def read_thing(text: str) -> ThingName:
    """Read the name of a thing; letters, digits, blanks and dashes."""
    plain = text.strip()
    if not plain[:1].isalpha():
        raise SettingError(f'"{text}" is no name of a thing: it begins with a letter')
    return ThingName(plain)


def read_check(text: str) -> CheckWish:
    """Read "left face=42%,38%", or the name of a thing of a scene: "crossing".

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
    return CheckWish(name, read_spot(place))
