"""Lens axis, extension, and the plane of sharp focus with its hinge line.

Formulas are derived in short in each docstring; all are checked against rays traced without
them (tests/optics) and against an independent optics library (tests/outside).
The hinge rule is H. M. Merklinger's, "View Camera Focus and Depth of Field", 1996.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import FrameError, SettingError
from render.optics.lens import Focus, FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.rim import Rim, rim_for
from render.words import focal_words, length_words

__all__ = [
    "FocusedLens",
    "SharpPlane",
    "carried_extension_mm",
    "extension_for",
    "focus_lens",
    "hinge_distance_mm",
    "lens_axis",
    "sharp_plane",
]


def lens_axis(tilt_deg: float, swing_deg: float) -> NDArray[np.float64]:
    """Unit vector of the lens axis: tilted about x first, then swung about the fixed y axis.

    Returns
    -------
    ndarray, shape (3,)
        ``(sin s cos t, sin t, cos s cos t)``: down for tilt > 0, right for swing > 0.
    """
    t, s = math.radians(tilt_deg), math.radians(swing_deg)
    return np.array([math.sin(s) * math.cos(t), math.sin(t), math.cos(s) * math.cos(t)])


@dataclass(frozen=True, slots=True)
class FocusedLens:
    """A setting with its focus worked out: the numbers that all blur follows from.

    Attributes
    ----------
    focal_mm, aperture_radius_mm, extension_mm : float
        f, R = f / 2N, and v, the distance from lens centre to sensor along z.
    axis : tuple of 3 floats
        Unit lens axis.
    rim : Rim or None
        The circle before the iris that cuts slanting light.
    """

    focal_mm: float
    aperture_radius_mm: float
    extension_mm: float
    axis: tuple[float, float, float]
    rim: Rim | None = None

    @property
    def total_tilt_rad(self) -> float:
        """Angle between lens axis and sensor normal, radians."""
        return math.atan2(math.hypot(self.axis[0], self.axis[1]), self.axis[2])

    def sharp_inverse_depth(self, slopes: ArrayLike) -> NDArray[np.float64]:
        """Inverse depth (1/m) that is sharp along rays.

        ``1/lambda = n.D/f - 1/v`` with ``D = (slopes, 1)``: 0 is infinity, below 0 is "beyond
        infinity" (nothing on that ray is sharp; the sky is the least blurred).

        Parameters
        ----------
        slopes : array_like, shape (..., 2)

        Returns
        -------
        ndarray, shape (...), float64
        """
        q = np.asarray(slopes, float)
        along = q[..., 0] * self.axis[0] + q[..., 1] * self.axis[1] + self.axis[2]
        return np.asarray(1000.0 * (along / self.focal_mm - 1.0 / self.extension_mm))


def extension_for(focal_mm: float, axis: NDArray[np.float64], focus: Focus) -> float:
    """Extension (mm) that makes `focus` sharp: ``v = f / (n.D - f/z)``.

    Raises
    ------
    SettingError
        If no extension in front of the sensor does it.
    """
    match focus:
        case FocusExtension(extension_mm):
            return extension_mm
        case FocusDistance(depth_m):
            along, where = float(axis[2]), "on the axis"
        case FocusSpot(slope_x, slope_y, depth_m):
            along = float(axis[0] * slope_x + axis[1] * slope_y + axis[2])
            where = "at this spot"
    reach = along - focal_mm / (1000.0 * depth_m)
    if not reach > 1e-9:
        raise FrameError(
            f"the lens cannot focus at {length_words(depth_m)} {where}: nearer than "
            f"its focal length of {focal_words(focal_mm)}, "
            "or behind the tilted lens; choose a spot farther away or less tilt"
        )
    return focal_mm / reach


def carried_extension_mm(
    extension_mm: float, of_mm: float, focal_mm: float, axis: NDArray[np.float64]
) -> float:
    """Extension (mm) of a lens that is as sharp on the camera's axis as another one was.

    On the axis ``1/z = n_z/f - 1/v`` (`sharp_plane`), also behind the lens, where z is below 0.

    Raises
    ------
    SettingError
        If no extension in front of the sensor does it.

    Examples
    --------
    >>> straight = lens_axis(0, 0)
    >>> at_2_m = extension_for(28, straight, FocusDistance(2))
    >>> carried = carried_extension_mm(at_2_m, 28, 90, straight)
    >>> round(carried, 6) == round(extension_for(90, straight, FocusDistance(2)), 6)
    True
    """
    reach = float(axis[2]) * (1 / focal_mm - 1 / of_mm) + 1 / extension_mm  # 1/mm
    if not reach > 1e-9:
        raise FrameError(
            f"a lens of {focal_words(focal_mm)} cannot be focused as near as one of "
            f"{focal_words(of_mm)} with {extension_mm:.4g} mm to the sensor"
        )
    return 1 / reach


def focus_lens(setting: LensSetting) -> FocusedLens:
    """Work out the extension of a setting and gather what blur depends on.

    Raises
    ------
    SettingError
        If it is no setting, or cannot be focused so.
    """
    if not isinstance(setting, LensSetting):
        raise SettingError(
            f"a lens is set by a LensSetting, not by {type(setting).__name__}: such as "
            "LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(18))"
        )
    axis = lens_axis(setting.tilt_deg, setting.swing_deg)
    return FocusedLens(
        focal_mm=setting.focal_mm,
        aperture_radius_mm=setting.focal_mm / (2.0 * setting.f_number),
        extension_mm=extension_for(setting.focal_mm, axis, setting.focus),
        axis=(float(axis[0]), float(axis[1]), float(axis[2])),
        rim=rim_for(setting.focal_mm, setting.cats_eye) if setting.cats_eye else None,
    )


@dataclass(frozen=True, slots=True)
class SharpPlane:
    """The plane of sharp focus, ``normal_per_m . P = 1`` with P in metres, and what it meets.

    Attributes
    ----------
    normal_per_m : tuple of 3 floats
        m = n/f - z/v.
    hinge_m : tuple of 3 floats
        Foot point of the hinge line (z = 0); infinite components where there is no tilt.
    hinge_distance_m : float
        J = f / sin(total tilt); ``inf`` without tilt.
    scheimpflug_distance_mm : float
        From the sensor's centre to the line where lens, sensor and sharp plane meet.
    angle_deg : float
        Between the plane of sharp focus and the sensor, 0 (parallel) to 90.
    """

    normal_per_m: tuple[float, float, float]
    hinge_m: tuple[float, float, float]
    hinge_distance_m: float
    scheimpflug_distance_mm: float
    angle_deg: float


def sharp_plane(lens: FocusedLens) -> SharpPlane:
    """Plane of sharp focus of a focused lens.

    A point P images at ``Q = -P f / (P.n - f)``; ``Q_z = -v`` gives ``P.(n/f - z/v) = 1``.
    The line ``n_xy . P_xy = f`` in z = 0 satisfies that for every v: the hinge line.
    Lens plane and sensor plane meet at ``v / tan(tilt)``, where the equation holds too.
    """
    f, v = lens.focal_mm, lens.extension_mm
    nx, ny, nz = lens.axis
    normal = 1000.0 * np.array([nx / f, ny / f, nz / f - 1.0 / v])
    sine = math.hypot(nx, ny)
    tilted = sine > 1e-9
    away_m = math.inf
    if tilted:
        away_m = float(hinge_distance_mm(f, math.degrees(lens.total_tilt_rad))) / 1000.0
    hinge = (away_m * nx / sine, away_m * ny / sine, 0.0) if tilted else (math.inf, math.inf, 0.0)
    return SharpPlane(
        normal_per_m=(float(normal[0]), float(normal[1]), float(normal[2])),
        hinge_m=hinge,
        hinge_distance_m=away_m,
        scheimpflug_distance_mm=v * nz / sine if tilted else math.inf,
        angle_deg=math.degrees(math.atan2(math.hypot(normal[0], normal[1]), abs(normal[2]))),
    )


def hinge_distance_mm(focal_mm: float, tilt_deg: ArrayLike) -> NDArray[np.float64]:
    """Distance from the lens centre to the hinge line of the plane of sharp focus.

    Measured in the plane through the lens centre parallel to the sensor;
    positive = below the lens (+y), so a lens tilted down has its hinge below.

    Parameters
    ----------
    focal_mm : float
        Focal length, mm.
    tilt_deg : array_like, shape (...)
        Angle between lens axis and sensor normal, degrees, |tilt| < 90.

    Returns
    -------
    ndarray, shape (...), float64
        Hinge distance, mm; ``inf`` where the tilt is 0 (the planes are parallel).

    Raises
    ------
    SettingError
        If any |tilt| is 90 degrees or more, or is not a number.

    References
    ----------
    H. M. Merklinger, *Focusing the View Camera*, 1993 (the "hinge rule").

    Examples
    --------
    >>> round(float(hinge_distance_mm(90.0, 8.0)), 1)
    646.7
    """
    tilt = np.asarray(tilt_deg, float)
    if not np.all(np.abs(tilt) < 90):
        raise SettingError("a tilt must lie between -90 and 90 degrees")
    sine = np.sin(np.radians(tilt))
    distance = np.full(sine.shape, np.inf)
    np.divide(focal_mm, sine, out=distance, where=sine != 0)
    return distance
