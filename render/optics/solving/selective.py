"""Only this sharp: which way to lean the lens to keep one thing sharp and another soft.

The candidates are a straight lens and one leaning up, down, left and right, each by several angles
and focused at several depths of what must be sharp. Each is given marks between 0 and 1 for
how much of the one region is sharp and how much of the other is soft; their product decides.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import FrameError, SettingError
from render.optics.plane import lens_axis
from render.optics.solving.dialling import HALF_A_MARK

__all__ = ["NEARLY", "SOFT_CIRCLES", "Leaning", "Region", "compare_leanings", "evenly"]

Array = NDArray[np.floating]

#: Soft is what blurs by this many circles of confusion or more: a judgement call of ours.
SOFT_CIRCLES = 3.0
#: Share of the best one's marks from which a way to lean is nearly as good (ours).
NEARLY = 0.95
#: Of what is sharp, or soft: a gain that nobody tilts a lens for (ours).
_NEXT_TO_NOTHING = 0.03
_MOST_POINTS = 20_000
_ANGLES = 5
#: Shares of what must be sharp that lie beyond the plane: where it is focused; or half-way between
#: the nearest and the farthest thing.
_FOCUS_SHARES = (0.1, 0.3, 0.5, 0.7, 0.9)
_WAYS = {"up": (-1, 0), "down": (1, 0), "left": (0, -1), "right": (0, 1)}


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """Points of the scene as rays and inverse depths.

    Attributes
    ----------
    slopes : ndarray, shape (N, 2)
    inverse_depth : ndarray, shape (N,)
        1/z in 1/m, 0 for the sky.
    """

    slopes: Array
    inverse_depth: Array

    def __post_init__(self) -> None:
        if not (len(self.inverse_depth) and self.slopes.shape == (len(self.inverse_depth), 2)):
            raise SettingError("a region needs at least one point, each with a ray and a depth")
        if not (np.all(self.inverse_depth >= 0) and np.all(np.isfinite(self.slopes))):
            raise SettingError("the points of a region must lie in front of the camera")

    def thinned(self) -> "Region":
        """At most 20 000 of the points, evenly taken."""
        taken = evenly(len(self.inverse_depth))
        return Region(self.slopes[taken], self.inverse_depth[taken])


def evenly(count: int) -> NDArray[np.int64]:
    """At most 20 000 of `count` indices, evenly spread without the beat of a fixed step.

    Multiples of the golden ratio, modulo 1, fill an interval evenly (H. Weyl's theorem).
    """
    if count <= _MOST_POINTS:
        return np.arange(count)
    places = np.arange(_MOST_POINTS) * ((math.sqrt(5.0) - 1.0) / 2.0) % 1.0
    return np.asarray(np.unique((places * count).astype(np.int64)))


@dataclass(frozen=True, slots=True)
class Leaning:
    """A lens position and what it does to the two regions.

    Attributes
    ----------
    way : str
        "straight", "up", "down", "left" or "right".
    tilt_deg, swing_deg, extension_mm : float
    held : int
        Of how many things at least half blurs by the circle of confusion or less.
    sharp_share : float
        Share of what must be sharp that blurs so little: the mean of the things.
    sharp_blur_mm : float
        Median blur of what must be sharp, of the thing that blurs most.
    soft_share : float
        Share of what must be soft that blurs by three circles or more.
    soft_blur_mm : float
        Median blur of what must be soft.
    marks : float
        What decides, 0 to 1.
    """

    way: str
    tilt_deg: float
    swing_deg: float
    extension_mm: float
    held: int
    sharp_share: float
    sharp_blur_mm: float
    soft_share: float
    soft_blur_mm: float
    marks: float

    @property
    def merit(self) -> tuple[int, float]:
        """What is to be sharp comes first: the more, the better."""
        return self.held, self.marks

    def as_good_as(self, best: "Leaning") -> bool:
        """Whether what the best one gains is next to nothing, in marks and in what is seen."""
        return (
            self.held >= best.held
            and self.marks >= NEARLY * best.marks
            and all(
                own >= other - _NEXT_TO_NOTHING
                for own, other in (
                    (self.sharp_share, best.sharp_share),
                    (self.soft_share, best.soft_share),
                )
            )
        )


def compare_leanings(
    sharp: Sequence[Region],
    soft: Region,
    *,
    focal_mm: float,
    f_number: float,
    coc_mm: float,
    limit_deg: float,
    axis_turns: bool = True,
    marks_per_degree: float = 1.0,
) -> tuple[Leaning, ...]:
    """Return the best position of each way to lean the lens, the one to choose first.

    That is the straight one where leaning gains next to nothing (`Leaning.as_good_as`); the others
    stand by what they hold, then by their marks.

    Some 300 positions are tried: five angles up to the limit each way with six focus depths,
    then every half mark around each way's best.

    Parameters
    ----------
    sharp : sequence of Region
        The things that must be sharp, each by itself: none is given up for the others' marks.
    soft : Region
    limit_deg : float
        Largest tilt.
    axis_turns : bool
        False leaves out left and right.
    marks_per_degree : float
        Of the tilt scale: angles are whole and half marks, which hands can set.

    Raises
    ------
    SettingError
        If a value is not above 0, or no position can be focused on what must be sharp.
    """
    for name, value in (("focal_mm", focal_mm), ("f_number", f_number), ("coc_mm", coc_mm)):
        if not (math.isfinite(value) and value > 0):
            raise SettingError(f"{name} must be a number above 0, not {value!r}")
    things = tuple(region.thinned() for region in sharp)
    trial = _Trial(things, soft.thinned(), focal_mm, focal_mm / f_number, coc_mm)
    half_deg = min(HALF_A_MARK / marks_per_degree, limit_deg) if limit_deg > 0 else 1.0

    def dialled(angles_deg: Array) -> Array:
        """The nearest whole or half marks inside the limit, each once."""
        halves = np.rint(angles_deg / half_deg) * half_deg
        return np.unique(np.clip(halves, half_deg, limit_deg))

    best = {"straight": trial.best("straight", np.zeros(1), (0, 0))}
    ways = {way: sign for way, sign in _WAYS.items() if axis_turns or sign[0]}
    if limit_deg > 0:
        step = limit_deg / _ANGLES
        for way, sign in ways.items():
            coarse = trial.best(way, dialled(step * np.arange(1.0, _ANGLES + 1.0)), sign)
            middle = abs(coarse.tilt_deg) + abs(coarse.swing_deg)
            around = middle + np.arange(-step, step + half_deg, half_deg)
            fine = trial.best(way, dialled(around), sign)
            best[way] = max(coarse, fine, key=lambda leaning: leaning.merit)
    ordered = sorted(best.values(), key=lambda leaning: leaning.merit, reverse=True)
    if best["straight"].as_good_as(ordered[0]):  # the sort is stable: the others keep their order
        ordered.sort(key=lambda leaning: leaning.way != "straight")
    return tuple(ordered)


@dataclass(frozen=True, slots=True, eq=False)
class _Trial:
    sharp: tuple[Region, ...]
    soft: Region
    focal_mm: float
    aperture_mm: float
    coc_mm: float

    def best(self, way: str, angles_deg: Array, sign: tuple[int, int]) -> Leaning:
        found = [
            self.judged(way, sign[0] * float(angle), sign[1] * float(angle), share)
            for angle in angles_deg
            for share in (*_FOCUS_SHARES, None)
        ]
        return max(found, key=lambda leaning: leaning.merit)

    def judged(self, way: str, tilt_deg: float, swing_deg: float, share: float | None) -> Leaning:
        axis = lens_axis(tilt_deg, swing_deg)
        wanted = [self.residual(region, axis, 0.0) for region in self.sharp]
        if share is None:
            middles = [float(np.median(each)) for each in wanted]
            offset = (min(middles) + max(middles)) / 2
        else:
            offset = float(np.quantile(np.concatenate(wanted), share))
        reach = float(axis[2]) - offset
        if not reach > 1e-9:
            raise FrameError("what must be sharp lies nearer than the lens can focus")
        extension = self.focal_mm / reach
        scale = self.aperture_mm * extension / self.focal_mm
        kept = [scale * np.abs(each - offset) for each in wanted]
        lost = scale * np.abs(self.residual(self.soft, axis, offset))
        soft_at = SOFT_CIRCLES * self.coc_mm
        least_kept = min(float(np.mean(1.0 / (1.0 + (each / self.coc_mm) ** 2))) for each in kept)
        medians = [float(np.median(each)) for each in kept]
        return Leaning(
            way=way,
            tilt_deg=tilt_deg,
            swing_deg=swing_deg,
            extension_mm=extension,
            held=sum(median <= self.coc_mm for median in medians),
            sharp_share=float(np.mean([np.mean(each <= self.coc_mm) for each in kept])),
            sharp_blur_mm=max(medians),
            soft_share=float(np.mean(lost >= soft_at)),
            soft_blur_mm=float(np.median(lost)),
            marks=least_kept * float(np.mean(1.0 - 1.0 / (1.0 + (lost / soft_at) ** 2))),
        )

    def residual(self, region: Region, axis: Array, offset: float) -> Array:
        """``f/z - q . n_xy - e``: a point's defocus times f / v."""
        g = self.focal_mm / 1000.0 * region.inverse_depth
        return np.asarray(g - region.slopes @ axis[:2] - offset)
