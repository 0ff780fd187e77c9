"""A scene file's words, checked and frozen: things, ground, light, vantage, suggested setting.

The words are documented in README ("Write a scene of your own") and listed by
``hingeline scenes words``; every mistake names the file, the key and what is allowed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.scene.material import Material
from render.scene.palette import PALETTE
from render.scene.read import Table
from render.scene.things.kind import Kind, Values

__all__ = [
    "Description",
    "Ground",
    "Lamp",
    "LightWords",
    "Motion",
    "Relief",
    "Suggested",
    "Thing",
    "VantageWords",
    "read_description",
]

Point = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Motion:
    """How a thing moves: along a path at a speed, there and back or round.

    Attributes
    ----------
    path_m : tuple of points
        World (x, y); a closed path repeats its first point.
    speed_m_s : float
    start_s : float
        Time by which copies are ahead; each further copy is `spread_m` ahead.
    returns : bool
        Turns round at the end instead of starting again.
    """

    path_m: tuple[Point, ...]
    speed_m_s: float
    start_s: float = 0.0
    spread_m: float = 0.0
    returns: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """One entry of a scene file, before it is copied and placed.

    `places` are (x, y, height above ground, turn in degrees, scale) of every copy.
    """

    kind: Kind
    values: Values
    stuff: Mapping[str, str]
    colours: Mapping[str, tuple[str, ...]]
    places: tuple[tuple[float, float, float, float, float], ...]
    name: str = ""
    seed: int = 1
    motion: Motion | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Relief:
    """Measured heights on a square lattice that fills the shaped part of the ground.

    Attributes
    ----------
    heights_m : ndarray, shape (n, n)
        First axis east, second north, from the south-west corner.
    """

    heights_m: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground: its material, its rise, its hills.

    Attributes
    ----------
    material : str
    level_m : float
        Height of flat ground.
    profile_m : tuple of (distance, height)
        Heights along `profile_deg` (a compass heading); level across it.
    hills_m : tuple of (x, y, radius, height)
    rolling_m : float
        Height of gentle unevenness, about 60 m long.
    extent_m : float
        Half the width of the part that is shaped; flat beyond.
    relief : Relief or None
        Measured heights, added to `level_m`; not a word of scene files.
    """

    material: str = "grass"
    level_m: float = 0.0
    profile_deg: float = 0.0
    profile_m: tuple[Point, ...] = ()
    hills_m: tuple[Point, ...] = ()
    rolling_m: float = 0.0
    extent_m: float = 250.0
    relief: Relief | None = None


@dataclass(frozen=True, slots=True)
class Lamp:
    """A lamp: position, colour, strength (1 lights a white card 1 m away like the sun), radius."""

    at_m: Point
    colour: str = "#ffd2a0"
    strength: float = 1.0
    radius_m: float = 0.1
    toward_m: Point = ()
    cone_deg: float = 180.0
    name: str = ""


@dataclass(frozen=True, slots=True)
class LightWords:
    """Sun, sky, haze and lamps.

    Attributes
    ----------
    sun_heading_deg, sun_height_deg : float
        Where the sun stands: compass heading and height above the horizon.
    sun_level, sky_level : float
        Strength; 1 is a clear day.
    sun_softness_deg : float
        Diameter of the sun's disc: 0.53 is the real one, 15 a veiled sun.
    visual_range_km : float
        Distance at which haze leaves 2 % of contrast.
    cloud : float
        Share of clouds, 0 to 1.
    fill : float
        Light that arrives after several reflections, inside rooms.
    exposure_ev : float
        Stops added to the whole picture.
    """

    sun_heading_deg: float = 215.0
    sun_height_deg: float = 42.0
    sun_colour: str = ""
    sun_level: float = 1.0
    sun_softness_deg: float = 0.53
    sky_colour: str = "#6f9fd8"
    horizon_colour: str = "#cfdbe6"
    sky_level: float = 1.0
    visual_range_km: float = 25.0
    haze_colour: str = ""
    cloud: float = 0.0
    fill: float = 0.0
    exposure_ev: float = 0.0
    lamps: tuple[Lamp, ...] = ()


@dataclass(frozen=True, slots=True)
class VantageWords:
    """Where the camera stands unless somebody says otherwise.

    The camera stands at `stand_m`, `height_m` above the ground there, and looks at `look_at_m`
    (x, y, height above level 0).
    """

    stand_m: Point = (0.0, -40.0)
    height_m: float = 12.0
    look_at_m: Point = (0.0, 0.0, 0.0)
    focal_mm: float = 90.0
    sensor_mm: Point = (36.0, 24.0)
    portrait: bool = False
    rise_mm: float = 0.0
    level: bool = False


@dataclass(frozen=True, slots=True)
class Suggested:
    """The setting the scene is shown with first, in words; `focus_on` names a thing or a point."""

    f_number: float = 2.8
    tilt: str = "up 8"
    swing: str = "0"
    rise: str = "0"
    lateral: str = "0"
    focus_on: str = ""
    focus_at_m: Point = ()


@dataclass(frozen=True, slots=True, eq=False)
class Description:
    """A whole scene in words. Frozen; checked where it is made.

    `marks` are places to focus on by name; `credit` says whose data the scene is made of.
    """

    name: str
    line: str
    things: tuple[Thing, ...]
    materials: Mapping[str, Material]
    ground: Ground | None
    light: LightWords
    vantage: VantageWords
    suggested: Suggested
    marks: Mapping[str, Point] = field(default_factory=dict)
    credit: str = ""


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
    from render.scene.placing import read_things

    things = read_things(t.tables("things"), materials)
    result = Description(
        name=name.removesuffix(".toml"),
        line=line,
        things=tuple(things),
        materials=materials,
        ground=_ground(t, materials),
        light=_light(t),
        vantage=_fill(t.table("vantage"), VantageWords),
        suggested=_fill(t.table("setting"), Suggested),
        marks={k: t.table("marks").numbers(k, size=3) for k in t.table("marks").keys_found()},
    )
    t.finish()
    return result


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
        raise words.error("material", f"no material of that name; known: {', '.join(materials)}")
    return ground


def _light(t: Table) -> LightWords:
    from dataclasses import replace

    from render.scene.sun import sun_position

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
        light = replace(light, sun_heading_deg=heading, sun_height_deg=height)
    return light


def _fill(t: Table, cls: type, **known: Any) -> Any:
    """A dataclass from a table, every key checked against the type of its default."""
    from dataclasses import MISSING, fields

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
