"""A scene file read: every key checked, every mistake named with its place and what is allowed."""

from collections.abc import Mapping
from dataclasses import MISSING, fields, replace
from typing import Any

from render.errors import InputError
from render.words import choices
from render.world.description import (
    Description,
    Ground,
    Lamp,
    LightWords,
    Suggested,
    VantageWords,
)
from render.world.night import under_the_sun
from render.world.placing import read_things
from render.world.sun import sun_position
from render.world.surfaces.material import Material
from render.world.surfaces.palette import PALETTE
from render.world.table import Table

__all__ = ["read_description"]

#: What a file may say of the sky although its date would.
_SKY = ("sky_colour", "horizon_colour", "sky_level")


def read_description(name: str, table: Mapping[str, Any]) -> Description:
    """Read a scene from the table of its TOML file.

    Parameters
    ----------
    name : str
        How errors call it: the file's name.

    Raises
    ------
    InputError
        Naming file, key, and what is allowed.
    """
    t = Table(name, table)
    line = t.text("line", "")
    if not line:
        raise t.error("line", 'say in one sentence what the scene shows, line = "A market square"')
    materials = _materials(t)
    things = read_things(t.tables("things"), materials)
    light, when = _light(t)
    result = Description(
        name=name.removesuffix(".toml"),
        line=line,
        things=tuple(things),
        materials=materials,
        ground=_ground(t, materials),
        light=light,
        vantage=_fill(t.table("vantage"), VantageWords),
        suggested=_fill(t.table("setting"), Suggested),
        marks={k: t.table("marks").numbers(k, size=3) for k in t.table("marks").keys_found()},
    )
    t.finish()
    return _under(t.table("light"), result, when) if when else result


def _materials(t: Table) -> dict[str, Material]:
    named = {name: Material.of(dict(words)) for name, words in PALETTE.items()}
    own = t.table("materials")
    for name in own.keys_found():
        words = own.raw(name)
        try:
            base = (
                dict(PALETTE.get(name, {}))
                if isinstance(words, dict) and "rule" not in words
                else {}
            )
            named[name] = Material.of(
                {**base, **words} if isinstance(words, dict) else {"colour": words}
            )
        except InputError as error:
            raise InputError(f'{t.where}, [materials] "{name}": {error}') from None
    return named


def _ground(t: Table, materials: Mapping[str, Material]) -> Ground | None:
    words = t.table("ground")
    if words.flag("none", False):
        return None
    ground: Ground = _fill(words, Ground)
    if ground.material not in materials:
        raise words.error(
            "material", f"no material of that name: {choices(materials, ground.material)}"
        )
    return ground


def _light(t: Table) -> tuple[LightWords, str]:
    """The light's words, with the sun where it stands at the date; and the date, or nothing."""
    words = t.table("light")
    lamps = tuple(_fill(lamp, Lamp) for lamp in words.tables("lamps"))
    when = words.text("date", "")
    place = words.numbers("place_deg", size=2, start=())
    light: LightWords = _fill(words, LightWords, lamps=lamps)
    if bool(when) != bool(place):
        raise words.error("date", 'give both date = "2026-06-21T15:30Z" and place_deg = [lat, lon]')
    if when:
        try:
            heading, height = sun_position(when, place[0], place[1])
        except InputError as error:
            raise words.error("date", str(error)) from None
        at_deg = float(place[0]), float(place[1])
        light = replace(light, sun_heading_deg=heading, sun_height_deg=height, at_deg=at_deg)
    return light, when


def _under(words: Table, description: Description, when: str) -> Description:
    """Sky and lights of the date, but for what the file says of the sky."""
    light = description.light
    said = {key: getattr(light, key) for key in _SKY if key in words.keys_found()}
    try:
        return under_the_sun(description, light.sun_heading_deg, light.sun_height_deg, when, said)
    except InputError as error:
        raise words.error("date", str(error)) from None


def _fill(t: Table, cls: type, **known: Any) -> Any:
    """A dataclass from a table, every key checked against the type of its default."""
    values = dict(known)
    words = [f for f in fields(cls) if f.default is not None]
    for f in words:
        if f.name in known or f.name not in t.keys_found():
            continue
        start = f.default if f.default is not MISSING else ()
        if isinstance(start, bool):
            values[f.name] = t.flag(f.name, start)
        elif isinstance(start, float):
            values[f.name] = t.number(f.name, start)
        elif isinstance(start, str):
            values[f.name] = t.text(f.name, start)
        else:
            values[f.name] = t.points(f.name)
    missing = [
        f.name
        for f in fields(cls)
        if f.default is MISSING and f.default_factory is MISSING and f.name not in values
    ]
    if missing:
        raise t.error(missing[0], "is needed here")
    t.finish([f.name for f in words])
    return cls(**values)
