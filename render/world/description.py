"""A scene as its words say it, frozen: things, ground, light, vantage, suggested setting.

The words are documented in README ("Write a scene of your own") and listed by
``hingeline scenes words``; every mistake names the file, the key and what is allowed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh
from render.world.surfaces.material import Material
from render.world.things.kind import Kind, Values

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
    loose : float
        By what share of `spread_m` copies are nearer or farther than that from each other.
    pause_s : float
        How long it rests at either end before it returns; 0 only to turn round.
    waits : tuple of (distance, time)
        Where along the path it stops until so many seconds after its start, as at a red light.
    every_s : float
        How often it starts anew, at least; 0 as soon as it has arrived.
    """

    path_m: tuple[Point, ...]
    speed_m_s: float
    start_s: float = 0.0
    spread_m: float = 0.0
    returns: bool = False
    loose: float = 0.0
    pause_s: float = 0.0
    waits: tuple[Point, ...] = ()
    every_s: float = 0.0

    @property
    def aside_m(self) -> float:
        """How far walkers keep to the right who would meet each other on their way back."""
        return 0.4 if self.returns and self.spread_m else 0.0


@dataclass(frozen=True, slots=True)
class Lamp:
    """A lamp: position, colour, strength (1 lights a white card 1 m away like the sun), radius.

    Within `cone_deg` of the way `toward_m`; `soft` is the share of the cone, counted from its rim
    by the cosine, over which it falls to nothing: 1 with 180 degrees shines as a flat pane does.
    A dipped one is a car's: nothing above the level of the lamp, less the steeper down.
    """

    at_m: Point
    colour: str = "#ffd2a0"
    strength: float = 1.0
    radius_m: float = 0.1
    toward_m: Point = ()
    cone_deg: float = 180.0
    soft: float = 0.35
    dipped: bool = False
    name: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """One entry of a scene file, before it is copied and placed.

    `places` are (x, y, height above ground, turn in degrees, scale) of every copy; `strolls`, where
    there are any, the way of every copy, None for one that stands.  `lamps` are those that every
    copy carries, in its own frame.
    """

    kind: Kind
    values: Values
    stuff: Mapping[str, str]
    colours: Mapping[str, tuple[str, ...]]
    places: tuple[tuple[float, float, float, float, float], ...]
    name: str = ""
    seed: int = 1
    motion: Motion | None = None
    strolls: tuple[Motion | None, ...] = ()
    lamps: tuple[Lamp, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether it, or a part of it, moves with time."""
        kind = self.kind
        return bool(self.motion or any(self.strolls) or kind.parts or kind.sways)

    def way(self, copy: int) -> Motion | None:
        """How a copy moves from its place; None if it stays."""
        return self.strolls[copy] if self.strolls else self.motion


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
    land : Mesh or None
        Its own faces, where waters lie lower; not a word of scene files.
    """

    material: str = "grass"
    level_m: float = 0.0
    profile_deg: float = 0.0
    profile_m: tuple[Point, ...] = ()
    hills_m: tuple[Point, ...] = ()
    rolling_m: float = 0.0
    extent_m: float = 250.0
    relief: Relief | None = None
    land: Mesh | None = None


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
    street_lux : float or None
        Light of street lamps that are lit, on the ground; not a word of scene files.
    when : str or None
        The date by which the sun stands where it does; files say `date`.
    at_deg : (latitude, longitude) or None
        The place by which it does, where a scene file says one; files say `place_deg`.
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
    street_lux: float | None = None
    when: str | None = None
    at_deg: tuple[float, float] | None = None


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
    """The setting the scene is shown with first, in words; `focus_on` names a thing or a point.

    `for_sharpness` says that it lays the plane of sharp focus and is not meant to make a model.
    """

    f_number: float = 2.8
    tilt: str = "up 8"
    swing: str = "0"
    rise: str = "0"
    lateral: str = "0"
    focus_on: str = ""
    focus_at_m: Point = ()
    for_sharpness: bool = False


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
