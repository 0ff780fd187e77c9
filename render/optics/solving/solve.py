"""The inverse problem: tilt, swing and focus that lay the plane of sharp focus through points.

Exact where such a plane exists, in `best_plane`; otherwise the best position within the limits
and the reason in words. Checked against a root finder that only knows traced rays (tests/outside).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.errors import FrameError, SettingError
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import lens_axis
from render.optics.solving.movements import total_and_azimuth
from render.optics.solving.plane_fit import Goal, Points, axis_on_limit, gather, unlimited_axis
from render.optics.solving.targets import Freedom, Target
from render.words import focal_words, length_words, swing_words, tilt_words

__all__ = ["Solution", "best_plane", "one_ray", "straight_plane"]

Array = NDArray[np.float64]

#: A plane passes through points if at f/1 none of them would blur by more than this.
_EXACT_MM = 1e-3


@dataclass(frozen=True, slots=True)
class Solution:
    """A lens position and how well it serves the targets.

    Attributes
    ----------
    focal_mm, tilt_deg, swing_deg, extension_mm : float
    targets : tuple of Target
    defocus : tuple of float
        Signed defocus of each target.
    exact : bool
        Whether the plane of sharp focus passes through every target.
    shortfall : str
        Where it does not: why no plane within the limits does, and what would help.
    """

    focal_mm: float
    tilt_deg: float
    swing_deg: float
    extension_mm: float
    targets: tuple[Target, ...]
    defocus: tuple[float, ...]
    exact: bool
    shortfall: str = ""

    @property
    def total_tilt_deg(self) -> float:
        """Angle between lens axis and sensor normal."""
        return total_and_azimuth(self.tilt_deg, self.swing_deg)[0]

    @property
    def axis_inverse_depth(self) -> float:
        """1/z (1/m) that is sharp on the camera's axis; below 0 is beyond infinity."""
        nz = math.cos(math.radians(self.total_tilt_deg))
        return 1000.0 * (nz / self.focal_mm - 1.0 / self.extension_mm)

    @property
    def off_plane_m(self) -> tuple[float, ...]:
        """How far each target lies from the plane of sharp focus, in metres; ``inf`` for the sky.

        With f in metres the plane is ``x n_x + y n_y + z e = f``, so what is left over times z is
        the distance times ``|(n_x, n_y, e)|``. Derived here.
        """
        nx, ny, nz = lens_axis(self.tilt_deg, self.swing_deg)
        scale = self.focal_mm / self.extension_mm
        length = math.hypot(nx, ny, nz - scale)
        return tuple(
            abs(d) * scale * target.depth_m / length if d else 0.0
            for d, target in zip(self.defocus, self.targets, strict=True)
        )

    def f_number_needed(self, coc_mm: float) -> float:
        """F-number at which every target blurs by the circle of confusion or less."""
        if not coc_mm > 0:
            raise SettingError(f"the circle of confusion must be above 0 mm, not {coc_mm!r}")
        return self.focal_mm * max(map(abs, self.defocus)) / coc_mm

    def blur_mm(self, f_number: float) -> tuple[float, ...]:
        """Blur diameter of each target on the sensor, ``(f/N) |d|``, mm."""
        return tuple(self.focal_mm / f_number * abs(d) for d in self.defocus)

    def setting(self, f_number: float) -> LensSetting:
        """Return the lens setting of this position."""
        return LensSetting(
            focal_mm=self.focal_mm,
            f_number=f_number,
            focus=FocusExtension(self.extension_mm),
            tilt_deg=self.tilt_deg,
            swing_deg=self.swing_deg,
        )


def best_plane(
    targets: Sequence[Target],
    focal_mm: float,
    freedom: Freedom | None = None,
    goal: Goal = "smallest f-number",
    pixel_slope: float = 5e-5,
    directions: int = 2,
) -> Solution:
    """Lens position that serves the targets best, exact where a plane through all exists.

    One target is focused on without moving the lens; two points, or points in a row, get the
    least movement; three define the plane; more are served in the sense of `goal`. With a tilt
    limit in the way the best position on the limit is found.

    Parameters
    ----------
    targets : sequence of Target
        1 to 400.
    focal_mm : float
    freedom : Freedom or None
        None: tilt and swing free.
    goal : {"smallest f-number", "least squares"}
        Make the largest weighted blur, or the sum of weighted squares, smallest.
    pixel_slope : float
        Rays closer together than this count as one: half a pixel's slope, 0.5 / `focal_px`.
    directions : int
        With 1 the lens leans only along the line on which the points lie farthest apart, as if
        they were in a row: the least lean that serves such a row. With 0 it stays straight.

    Raises
    ------
    SettingError
        If there is no target or too many, or no extension in front of the sensor serves them.

    Examples
    --------
    >>> from render.optics.solving.targets import Freedom, Target
    >>> near, far = Target.at(0, 1.5, 3.0), Target.at(0, 1.0, 60.0)
    >>> found = best_plane([near, far], 90, Freedom(swing=False))
    >>> round(found.tilt_deg, 3), found.exact
    (3.38, True)
    """
    freedom = freedom or Freedom()
    points = gather(targets, focal_mm)
    wanted = unlimited_axis(points, freedom, goal, pixel_slope, directions)
    limit = math.sin(math.radians(freedom.limit_deg))
    limited = float(np.hypot(*wanted)) > limit + 1e-12
    axis_xy = axis_on_limit(points, freedom, goal) if limited else wanted
    try:
        solution = _position(points, axis_xy, points.best_offset(axis_xy, goal)[0])
    except SettingError:
        if not limited:
            raise
        raise FrameError(_too_steep(points, freedom, wanted)) from None
    if focal_mm * max(map(abs, solution.defocus)) <= _EXACT_MM:
        return solution
    reason = _why_not(points, freedom, wanted if limited else None, pixel_slope)
    return replace(solution, exact=False, shortfall=reason)


def straight_plane(
    targets: Sequence[Target], focal_mm: float, goal: Goal = "smallest f-number"
) -> Solution:
    """Best focus without any tilt or swing: what a straight lens can do for the targets."""
    return best_plane(targets, focal_mm, Freedom(tilt=False, swing=False), goal)


def _position(points: Points, axis_xy: Array, offset: float) -> Solution:
    """Lens position of an axis and an offset e: ``v = f / (n_z - e)``."""
    nx, ny = map(float, axis_xy)
    nz = math.sqrt(1.0 - nx * nx - ny * ny)
    if not nz - offset > 1e-9 or not np.all(points.q @ axis_xy + nz > 0):
        near = min(points.targets, key=lambda target: target.depth_m)
        raise FrameError(
            f"a {focal_words(points.focal_mm)} lens cannot focus these points: the nearest, at "
            f"{length_words(near.depth_m)}, lies within its focal length or behind "
            "the tilted lens; "
            "choose points farther away or a shorter lens"
        )
    extension = points.focal_mm / (nz - offset)
    left = points.g - points.q @ axis_xy - offset
    return Solution(
        focal_mm=points.focal_mm,
        tilt_deg=math.degrees(math.asin(ny)),
        swing_deg=math.degrees(math.atan2(nx, nz)),
        extension_mm=extension,
        targets=points.targets,
        defocus=tuple(float(d) for d in left * extension / points.focal_mm),
        exact=True,
    )


def _why_not(points: Points, freedom: Freedom, wanted: Array | None, pixel_slope: float) -> str:
    """Why no plane within the limits holds every target, and what would help."""
    if not (freedom.tilt or freedom.swing):
        return "the lens is not moved, so only things at one depth can be sharp together"
    if conflict := _one_ray(points, pixel_slope):
        return conflict
    if wanted is not None:
        return _too_steep(points, freedom, wanted)
    if not freedom.swing and (pair := _pair(points, pixel_slope, (False, True))):
        return (
            f"{pair} lie at the same height of the picture: no tilt can tell them apart; "
            "a swing can"
        )
    if not freedom.tilt and (pair := _pair(points, pixel_slope, (True, False))):
        return (
            f"{pair} lie above one another in the picture: no swing can tell them apart; a tilt can"
        )
    spread = np.linalg.svd(points.q - points.q.mean(0), full_matrices=False)[1]
    if freedom.tilt and freedom.swing:
        if len(points.g) >= 3 and spread[1] <= pixel_slope:
            return (
                "the points lie on one line of the picture but not of the scene, so their plane "
                "would pass through the lens; leave one out, or move the camera off that line"
            )
        return "the points do not lie on one plane"
    missing = "swing" if freedom.tilt else "tilt"
    both = replace(freedom, tilt=True, swing=True)
    axis_xy = unlimited_axis(points, both, "least squares", pixel_slope)
    left = math.sqrt(points.best_offset(axis_xy, "least squares")[1])
    if left * points.focal_mm <= _EXACT_MM and np.hypot(*axis_xy) <= math.sin(
        math.radians(freedom.limit_deg)
    ):
        angle = math.degrees(math.asin(float(axis_xy[0 if freedom.tilt else 1])))
        words = swing_words(angle) if freedom.tilt else tilt_words(angle)
        return f"the plane through the points also needs a {missing} (about {words})"
    return f"the points do not lie on one plane that a lens without {missing} can reach"


def one_ray(targets: Sequence[Target], focal_mm: float, pixel_slope: float) -> str:
    """Say which two targets lie behind one another on one ray; empty if none do.

    No lens position holds both: its plane would have to contain the ray and so the lens.
    """
    return _one_ray(gather(targets, focal_mm), pixel_slope)


def _one_ray(points: Points, pixel_slope: float) -> str:
    pair = _pair(points, pixel_slope, (True, True))
    return pair and (
        f"{pair} lie on one ray of the camera: no plane of sharp focus can hold both; "
        "choose one of them, or move the camera sideways"
    )


def _too_steep(points: Points, freedom: Freedom, wanted: Array) -> str:
    """How near the lens the wanted plane passes, and how near this lens can have it."""
    sine, limit = float(np.hypot(*wanted)), math.sin(math.radians(freedom.limit_deg))
    needed_m = points.focal_mm / sine / 1000.0
    if freedom.limit_deg == 0:
        return (
            f"this needs a hinge {length_words(needed_m)} from the lens, and this "
            "lens does not tilt"
        )
    shorter = points.focal_mm * limit / sine
    angle = f"{math.degrees(math.asin(sine)):.1f}°" if sine < 1 else "more than any lens can tilt"
    return (
        f"the plane wanted has its hinge {length_words(needed_m)} from the lens "
        f"(tilt {angle}), and with the {freedom.limit_deg:g}° that this "
        f"{focal_words(points.focal_mm)} lens has, the hinge stays "
        f"{length_words(points.focal_mm / limit / 1000.0)} away: move the "
        "camera off that plane, or "
        f"take a lens of {shorter:.3g} mm or shorter"
    )


def _pair(points: Points, pixel_slope: float, axes: tuple[bool, bool]) -> str:
    """Name two targets at different depths that the free movements see in one direction."""
    q = points.q[:, list(axes)]
    apart = np.abs(q[:, None] - q[None]).max(-1)
    differ = points.focal_mm * np.abs(points.g[:, None] - points.g[None]) > 2 * _EXACT_MM
    found = np.argwhere((apart <= pixel_slope) & differ)
    if not len(found):
        return ""
    i, j = map(int, found[0])
    return " and ".join(
        f"{points.targets[k].name or f'point {k + 1}'} ({length_words(points.targets[k].depth_m)})"
        for k in (i, j)
    )
