"""A lens setting: everything a person turns on the lens before the shutter.

The signs of tilt, swing and shift are those of `render.optics.camera`.
"""

import math
from dataclasses import dataclass, field
from numbers import Integral

from render.errors import LensError, SettingError
from render.optics.checked import finite

__all__ = [
    "CatsEye",
    "Focus",
    "FocusDistance",
    "FocusExtension",
    "FocusSpot",
    "Iris",
    "LensSetting",
]


@dataclass(frozen=True, slots=True)
class FocusSpot:
    """Focus on the thing at `depth_m` along the ray with slopes (`slope_x`, `slope_y`).

    A spot is kept as a ray, not as a pixel, so it holds for every size and crop of a picture:
    make one from a pixel with `Camera.slopes`. ``depth_m = inf`` focuses on the sky there.
    """

    slope_x: float
    slope_y: float
    depth_m: float

    def __post_init__(self) -> None:
        if not (finite(self.slope_x) and finite(self.slope_y)):
            raise SettingError("a focus spot needs a finite direction")
        if not _ahead(self.depth_m):
            raise SettingError(
                f"the focus spot must lie in front of the lens, not {self.depth_m!r} m"
            )


@dataclass(frozen=True, slots=True)
class FocusDistance:
    """Focus at `depth_m` along the camera's z axis (``inf`` allowed)."""

    depth_m: float

    def __post_init__(self) -> None:
        if not _ahead(self.depth_m):
            raise SettingError(f"the focus distance must be above 0 m, not {self.depth_m!r}")


@dataclass(frozen=True, slots=True)
class FocusExtension:
    """Focus by the distance from lens centre to sensor, along z."""

    extension_mm: float

    def __post_init__(self) -> None:
        if not (finite(self.extension_mm) and self.extension_mm > 0):
            raise SettingError(f"the extension must be above 0 mm, not {self.extension_mm!r}")


Focus = FocusSpot | FocusDistance | FocusExtension


def _ahead(depth_m: float) -> bool:
    """Whether a depth is a number above 0; infinity is."""
    return (finite(depth_m) and depth_m > 0) or depth_m == math.inf


@dataclass(frozen=True, slots=True)
class Iris:
    """The aperture's outline in the lens plane.

    Attributes
    ----------
    blades : int
        0 is a disc; 3 to 32 a regular polygon with its corners on the circle of f/N.
    rotation_deg : float
        Turns the first corner from the lens plane's own right towards its own down.
    roundness : float
        0 straight blades, 1 blades so rounded that the outline is the circle.
    """

    blades: int = 0
    rotation_deg: float = 0.0
    roundness: float = 0.0

    def __post_init__(self) -> None:
        if not isinstance(self.blades, Integral) or (
            self.blades != 0 and not 3 <= self.blades <= 32
        ):
            raise SettingError(f"iris blades must be 0 (a disc) or 3 to 32, not {self.blades!r}")
        if not finite(self.rotation_deg):
            raise SettingError(f"iris rotation must be a number, not {self.rotation_deg!r}")
        if not (finite(self.roundness) and 0 <= self.roundness <= 1):
            raise SettingError(f"iris roundness must lie between 0 and 1, not {self.roundness!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class CatsEye:
    """How the lens' front rim cuts slanting light, as a photographer can see and state it.

    The rim is a circle before the iris, as wide as the widest aperture; how far before it
    follows from the light that it leaves (`render.optics.rim`).

    Attributes
    ----------
    light_left : float
        Share of the light that passes the rim at `corner_mm`, wide open; 0.2 to below 1.
        Light lost to the cosine law is not meant.
    corner_mm : float
        Distance on the sensor from the foot of the straight lens' axis: half the frame's
        diagonal, usually.
    widest_f_number : float
        The lens' widest aperture.
    """

    light_left: float
    corner_mm: float
    widest_f_number: float

    def __post_init__(self) -> None:
        if not (finite(self.light_left) and 0.2 <= self.light_left < 1):
            raise SettingError(
                f"the light left in the corners must be a share from 0.2 to below 1, "
                f"not {self.light_left!r}"
            )
        for name in ("corner_mm", "widest_f_number"):
            if not (finite(getattr(self, name)) and getattr(self, name) > 0):
                raise SettingError(f"{name} must be a number above 0, not {getattr(self, name)!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class LensSetting:
    """One setting of a tilting, shifting lens. Immutable; checked when made.

    Attributes
    ----------
    focal_mm : float
        Focal length, > 0.
    f_number : float
        Focal length over the aperture's diameter, > 0.
    focus : Focus
        What is sharp: a spot, a distance along the camera axis, or an extension.
    tilt_deg, swing_deg : float
        Lens axis turned down (tilt > 0) and right (swing > 0); each inside (-90, 90).
    rise_mm, lateral_mm : float
        Shift that moves the view up and right. It chooses which part of the world the
        sensor sees; blur at a given ray does not depend on it.
    iris : Iris
        The aperture's outline.
    cats_eye : CatsEye or None
        How the rim cuts slanting light; None: not at all.

    Raises
    ------
    SettingError
        If a value is not finite or lies outside its range.
    """

    focal_mm: float
    f_number: float
    focus: Focus
    tilt_deg: float = 0.0
    swing_deg: float = 0.0
    rise_mm: float = 0.0
    lateral_mm: float = 0.0
    iris: Iris = field(default_factory=Iris)
    cats_eye: CatsEye | None = None

    def __post_init__(self) -> None:
        for name in ("focal_mm", "f_number"):
            value = getattr(self, name)
            if not (finite(value) and value > 0):
                raise SettingError(f"{name} must be a number above 0, not {value!r}")
        for name in ("tilt_deg", "swing_deg"):
            value = getattr(self, name)
            if not (finite(value) and abs(value) < 90):
                raise SettingError(f"{name} must lie between -90 and 90, not {value!r}")
        for name in ("rise_mm", "lateral_mm"):
            if not finite(getattr(self, name)):
                raise SettingError(f"{name} must be a number, not {getattr(self, name)!r}")
        if not isinstance(self.focus, Focus):
            raise SettingError(
                f"focus must say what kind it is, such as FocusDistance(5.0), not {self.focus!r}"
            )
        if not isinstance(self.iris, Iris):
            raise SettingError(f"iris must be an Iris, such as Iris(blades=9), not {self.iris!r}")
        if not isinstance(self.cats_eye, CatsEye | None):
            raise SettingError(f"cats_eye must be a CatsEye or None, not {self.cats_eye!r}")
        if self.cats_eye and self.f_number < 0.999 * self.cats_eye.widest_f_number:
            raise LensError(
                f"the lens does not open to f/{self.f_number:g}: its cat's-eye was stated for "
                f"f/{self.cats_eye.widest_f_number:g} as the widest"
            )
