"""Only this sharp: which way to lean the lens to keep one thing sharp and another soft.

The candidates are a straight lens and one leaning up, down, left and right, each by several angles
and focused on what must be sharp. Of those that hold that within the circle of confusion the one
that leaves the rest softest is chosen. Which of two does so is the same at every f-number, as the
aperture is a factor of all blur: opening up chooses the gentler lean only where the stronger one no
longer holds what must be sharp.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import FrameError, SettingError
from render.optics.plane import lens_axis
from render.optics.solving.dialling import HALF_A_MARK

__all__ = ["ALL_SHARP", "SOFT_CIRCLES", "Leaning", "Region", "compare_leanings", "evenly"]

Array = NDArray[np.floating]

#: Soft is what blurs by this many circles of confusion or more: a judgement call of ours.
SOFT_CIRCLES = 3.0
#: A thing is held where this share of it is sharp (ours).
ALL_SHARP = 0.95
#: What must be sharp is held as well where it is so to this share of the best; and the rest is as
#: soft where it blurs by this share of the most: a quarter more of blur is hardly seen (ours).
_AS_SHARP, _AS_SOFT = 0.95, 0.8
#: The rest's blur counts by a power mean in which the least blurred counts most, as that is what
#: the eye goes to beside what must be sharp; blur below this many circles is none (ours).
_LEAST_COUNTS, _NO_BLUR = -0.5, 0.01
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
    most_blur_mm : float
        Blur that nearly all of it (`ALL_SHARP`) stays within, of the thing that blurs most.
    soft_share : float
        Share of what must be soft that blurs by three circles or more.
    soft_blur_mm : float
        Median blur of what must be soft.
    kept : float
        Of what must be sharp, of the thing that is so least, 0 to 1: 1 within the circle.
    rest_mm : float
        Blur of what must be soft, as a power mean in which the least blurred counts most.
    soft_mm : float
        Blur from which on it counts as soft.
    """

    way: str
    tilt_deg: float
    swing_deg: float
    extension_mm: float
    held: int
    sharp_share: float
    sharp_blur_mm: float
    most_blur_mm: float
    soft_share: float
    soft_blur_mm: float
    kept: float
    rest_mm: float
    soft_mm: float

    @property
    def marks(self) -> float:
        """How much of the one is sharp and of the other soft in one number, 0 to 1."""
        return self.kept * (1.0 - 1.0 / (1.0 + (self.rest_mm / self.soft_mm) ** 2))

    def as_good_as(self, best: "Leaning") -> bool:
        """Whether what the best one gains is next to nothing, whatever the f-number."""
        return (
            self.held >= best.held
            and self.kept >= _AS_SHARP * best.kept
            and self.rest_mm >= _AS_SOFT * best.rest_mm
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
    stand by what they hold, then by how soft they leave the rest.

    Some 50 leans are tried, each focused at the best of six depths: five angles up to the limit
    each way, then every half mark around each way's best.

    Parameters
    ----------
    sharp : sequence of Region
        The things that must be sharp, each by itself: none is given up for a softer rest.
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

    tried = [trial.focused("straight", 0.0, (0, 0))]
    ways = {way: sign for way, sign in _WAYS.items() if axis_turns or sign[0]}
    if limit_deg > 0:
        step = limit_deg / _ANGLES
        coarse = dialled(step * np.arange(1.0, _ANGLES + 1.0))
        tried += [trial.focused(way, angle, ways[way]) for way in ways for angle in coarse]
        for best in _best_of_ways(tried):
            if best.way in ways:
                middle = abs(best.tilt_deg) + abs(best.swing_deg)
                around = dialled(middle + np.arange(-step, step + half_deg, half_deg))
                tried += [trial.focused(best.way, angle, ways[best.way]) for angle in around]
    ordered = _best_of_ways(tried)
    if next(each for each in ordered if each.way == "straight").as_good_as(ordered[0]):
        ordered.sort(key=lambda leaning: leaning.way != "straight")  # stable: the others stay
    return tuple(ordered)


def _best_of_ways(tried: list[Leaning]) -> list[Leaning]:
    """The best of each way to lean, the best of all first.

    What must be sharp comes first: the more things are held, and the better. Of all that hold it
    nearly as well as any does, the one that leaves the rest softest.
    """
    held = max(leaning.held for leaning in tried)
    kept = max(leaning.kept for leaning in tried if leaning.held == held)

    def order(leaning: Leaning) -> tuple[int, float, float]:
        holds = leaning.held == held and leaning.kept >= _AS_SHARP * kept
        return leaning.held, 1.0 if holds else leaning.kept - 1.0, leaning.rest_mm

    best: dict[str, Leaning] = {}
    for leaning in sorted(tried, key=order, reverse=True):
        best.setdefault(leaning.way, leaning)
    return list(best.values())


@dataclass(frozen=True, slots=True, eq=False)
class _Trial:
    sharp: tuple[Region, ...]
    soft: Region
    focal_mm: float
    aperture_mm: float
    coc_mm: float

    def focused(self, way: str, angle_deg: float, sign: tuple[int, int]) -> Leaning:
        """Leant so far and focused on what must be sharp, whatever that makes of the rest."""
        tilt_deg, swing_deg = sign[0] * float(angle_deg), sign[1] * float(angle_deg)
        axis = lens_axis(tilt_deg, swing_deg)
        wanted = [self.residual(region, axis) for region in self.sharp]
        middles = [float(np.median(each)) for each in wanted]
        offsets = [*np.quantile(np.concatenate(wanted), _FOCUS_SHARES)]
        offsets.append((min(middles) + max(middles)) / 2)
        offset = max(offsets, key=lambda offset: self.held_and_clear(wanted, axis, offset))
        scale = self.scale(axis, offset)
        kept = [scale * np.abs(each - offset) for each in wanted]
        lost = scale * np.abs(self.residual(self.soft, axis) - offset)
        medians = [float(np.median(each)) for each in kept]
        rest = float(np.mean(np.maximum(lost, _NO_BLUR * self.coc_mm) ** _LEAST_COUNTS))
        return Leaning(
            way=way,
            tilt_deg=tilt_deg,
            swing_deg=swing_deg,
            extension_mm=scale * self.focal_mm / self.aperture_mm,
            held=sum(median <= self.coc_mm for median in medians),
            kept=min(float(np.mean(_sharpness(each, self.coc_mm))) for each in kept),
            sharp_share=float(np.mean([np.mean(each <= self.coc_mm) for each in kept])),
            sharp_blur_mm=max(medians),
            most_blur_mm=max(float(np.quantile(each, ALL_SHARP, method="higher")) for each in kept),
            soft_share=float(np.mean(lost >= SOFT_CIRCLES * self.coc_mm)),
            soft_blur_mm=float(np.median(lost)),
            rest_mm=rest ** (1 / _LEAST_COUNTS),
            soft_mm=SOFT_CIRCLES * self.coc_mm,
        )

    def held_and_clear(self, wanted: list[Array], axis: Array, offset: float) -> tuple[int, float]:
        """How many things a focus holds, and how near to no blur the worst of them comes."""
        blurs = [self.scale(axis, offset) * np.abs(each - offset) / self.coc_mm for each in wanted]
        clear = min(float(np.mean(1.0 / (1.0 + blur**2))) for blur in blurs)
        return sum(float(np.median(blur)) <= 1.0 for blur in blurs), clear

    def scale(self, axis: Array, offset: float) -> float:
        """Blur in mm of a residual of 1: aperture times extension over focal length."""
        reach = float(axis[2]) - offset
        if not reach > 1e-9:
            raise FrameError("what must be sharp lies nearer than the lens can focus")
        return self.aperture_mm / reach

    def residual(self, region: Region, axis: Array) -> Array:
        """``f/z - q . n_xy``: less the offset ``e`` of a focus a point's defocus times f / v."""
        g = self.focal_mm / 1000.0 * region.inverse_depth
        return np.asarray(g - region.slopes @ axis[:2])


def _sharpness(blur_mm: Array, coc_mm: float) -> Array:
    """1 within the circle of confusion, and less by the area of what is larger."""
    return np.asarray((coc_mm / np.maximum(blur_mm, coc_mm)) ** 2)
