"""Relative depth made metric: scale and shift in inverse depth, from known distances or the ground.

Depth networks, stereo programs and phones often give a number r that grows with nearness but
has no unit; ``1/z = a r + b`` makes it metric (scale and shift in inverse depth: R. Ranftl et
al., "Towards robust monocular depth estimation", 2020).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import DepthMap
from render.depth.mark import Mark, marked_depths
from render.errors import InputError
from render.optics.camera import Camera, Vantage

__all__ = [
    "ScaleShift",
    "by_distances",
    "by_ground",
    "made_metric",
    "nearness_of",
    "refuse_swapped",
]

_SWAPPED = "near and far look swapped: if the numbers grow with distance, say that the depth is "
_UNCHECKED = 0.1  # two distances leave nothing to check the fit with
_WINDOW = 2  # px around a mark whose median is read
#: Rank correlation with the ground below which near and far are swapped; unordered depth has 0, its
#: sampling error with 50 places 0.14 (derived here: 1 / sqrt(n)).
_SWAPPED_BELOW = -0.2
_BEARS_OUT = 0.05  # of 1/z: a place so near to a line bears it out
_LEAST_GROUND = 0.1  # of the places: fewer on one line are no ground (ours)


@dataclass(frozen=True, slots=True)
class ScaleShift:
    """``1/z = scale * nearness + shift``.

    Attributes
    ----------
    scale, shift : float
        In 1/m; the scale is above 0.
    uncertainty : float
        Relative, of inverse depth: the middle misfit of what it was fitted to.
    how : str
    remarks : tuple of str
    """

    scale: float
    shift: float
    uncertainty: float
    how: str
    remarks: tuple[str, ...] = ()


def nearness_of(values: NDArray[np.float32], kind: str) -> NDArray[np.float32]:
    """Numbers that grow with nearness, from a relative file's values.

    Parameters
    ----------
    kind : {"relative", "relative inverse"}
        Whether the values grow with distance or with nearness.
    """
    if kind == "relative inverse":
        return values
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / values, np.float32)


def by_distances(
    nearness: NDArray[np.float32],
    camera: Camera,
    marks: Sequence[Mark],
    vantage: Vantage | None = None,
) -> ScaleShift:
    """Scale and shift from two or more known distances; one wrong among many does no harm.

    The line through the marks is the one with the least median misfit among those through two
    of them (least median of squares: P. J. Rousseeuw, 1984), then fitted to those that agree.

    Raises
    ------
    InputError
        If there are fewer than two marks, they lie at one nearness, or near and far are swapped.
    """
    places = tuple(marks)
    if len(places) < 2:
        raise InputError("relative depth needs two known distances or the ground to be metric")
    inverse = 1.0 / marked_depths(camera, places, vantage)
    seen = np.array([_read(nearness, mark) for mark in places])
    known = np.isfinite(seen)
    if np.count_nonzero(known) < 2:
        raise InputError("fewer than two marks lie where the relative depth is known")
    first, second = np.triu_indices(len(places), 1)
    apart = seen[second] - seen[first]
    usable = np.isfinite(apart) & (np.abs(apart) > 1e-9 * np.nanmax(np.abs(seen)))
    if not usable.any():
        raise InputError("the marks lie equally near in the relative depth: mark near and far")
    scales = (inverse[second] - inverse[first])[usable] / apart[usable]
    shifts = inverse[first][usable] - scales * seen[first][usable]
    misfit = np.abs(scales[:, None] * seen[known] + shifts[:, None] - inverse[known])
    best = int(np.argmin(np.median(misfit / inverse[known], axis=1)))
    off = misfit[best] / inverse[known]
    agreeing = off <= max(0.02, 3.0 * float(np.median(off)))
    design = np.stack([seen[known], np.ones(len(off))], axis=1)[agreeing]
    weight = 1.0 / inverse[known][agreeing]
    scale, shift = np.linalg.lstsq(design * weight[:, None], np.ones(len(weight)), rcond=None)[0]
    if not scale > 0:
        raise InputError(_SWAPPED + '"relative", not "relative inverse" (or the other way round)')
    named = [mark for mark, there in zip(places, known, strict=True) if there]
    remarks = [
        f"the {mark} does not fit the others and was left out"
        for mark, good in zip(named, agreeing, strict=True)
        if not good
    ]
    left = np.abs(scale * seen[known] + shift - inverse[known]) / inverse[known]
    unsure = _UNCHECKED if len(left) < 3 else max(0.02, 1.48 * float(np.median(left)))
    how = f"{int(agreeing.sum())} known distances"
    return ScaleShift(float(scale), float(shift), unsure, how, tuple(remarks))


def by_ground(nearness: NDArray[np.float32], ground_m: NDArray[np.float32]) -> ScaleShift:
    """Scale and shift from the ground: the line that most of what may be ground agrees on.

    Things that stand on the ground are nearer than it and only ever miss to one side, so pairs
    of places are tried and the one that most places bear out within 5 % is taken (RANSAC: M. A.
    Fischler and R. C. Bolles, 1981; fixed seed).

    Raises
    ------
    InputError
        If near and far are swapped, or no ground shows in the relative depth.
    """
    step = max(1, int(np.sqrt(nearness.size / 40000)))
    seen = nearness[::step, ::step].ravel().astype(float)
    with np.errstate(divide="ignore"):
        inverse = 1.0 / ground_m[::step, ::step].ravel().astype(float)
    usable = np.isfinite(seen) & (inverse > 0.02 * inverse.max())
    if np.count_nonzero(usable) < 50:
        raise InputError("too little ground is in view to make the relative depth metric")
    seen, inverse = seen[usable], inverse[usable]
    if np.corrcoef(_ranks(seen), _ranks(inverse))[0, 1] < _SWAPPED_BELOW:
        raise InputError(_SWAPPED + '"relative", not "relative inverse" (or the other way round)')
    rng = np.random.default_rng(1)
    first, second = rng.integers(0, len(seen), (2, 600))
    apart = seen[second] - seen[first]
    fine = np.abs(apart) > 0.02 * np.ptp(seen)
    scales = (inverse[second] - inverse[first])[fine] / apart[fine]
    shifts = inverse[first][fine] - scales * seen[first][fine]
    shifts, scales = shifts[scales > 0], scales[scales > 0]
    if scales.size == 0:
        raise InputError("the ground does not show in the relative depth: give known distances")
    some = rng.integers(0, len(seen), min(len(seen), 3000))
    off = np.abs(scales[:, None] * seen[some] + shifts[:, None] - inverse[some]) / inverse[some]
    best = int(np.argmax(np.count_nonzero(off < _BEARS_OUT, axis=1)))
    scale, shift = float(scales[best]), float(shifts[best])
    for _ in range(5):
        agreeing = np.abs(scale * seen + shift - inverse) < _BEARS_OUT * inverse
        if np.count_nonzero(agreeing) < _LEAST_GROUND * len(seen):
            raise InputError(
                "the ground does not show in the relative depth: check height and pitch, or give "
                "known distances"
            )
        design = np.stack([seen[agreeing], np.ones(int(agreeing.sum()))], axis=1)
        design /= inverse[agreeing, None]
        scale, shift = np.linalg.lstsq(design, np.ones(len(design)), rcond=None)[0]
    share = float(agreeing.mean())
    remark = f"{100 * share:.0f} % of what lies below the horizon agrees with the ground"
    return ScaleShift(float(scale), float(shift), 0.05, "the ground", (remark,))


def refuse_swapped(depth_m: NDArray[np.float32], ground_m: NDArray[np.float32]) -> None:
    """Refuse metric depth that falls where the ground below the horizon goes away.

    Raises
    ------
    InputError
        If nearness and the ground's run against each other (rank correlation below -0.2).
    """
    step = max(1, int(np.sqrt(depth_m.size / 40000)))
    with np.errstate(divide="ignore"):
        seen = 1.0 / depth_m[::step, ::step].ravel().astype(float)
        inverse = 1.0 / ground_m[::step, ::step].ravel().astype(float)
    usable = np.isfinite(seen) & (inverse > 0)
    if np.count_nonzero(usable) < 50 or np.ptp(seen[usable]) == 0:
        return
    if np.corrcoef(_ranks(seen[usable]), _ranks(inverse[usable]))[0, 1] < _SWAPPED_BELOW:
        raise InputError(
            "near and far look swapped: the depth falls where the ground goes away from the "
            "camera; say what the file holds with --depth-kind"
        )


def made_metric(nearness: NDArray[np.float32], fit: ScaleShift, source: str) -> DepthMap:
    """Metric depth of a relative one; what falls behind infinity is taken as infinitely far."""
    inverse = np.float32(fit.scale) * nearness + np.float32(fit.shift)
    behind = inverse <= 0
    with np.errstate(divide="ignore"):
        depth_m = np.where(behind, np.float32(np.inf), 1.0 / inverse).astype(np.float32)
    share = float(behind.mean())
    remarks = fit.remarks
    if share > 0:
        remarks += (f"{max(100 * share, 0.1):.1f} % came out behind infinity and is taken as sky",)
    how = f"{source} made metric by {fit.how}"
    return DepthMap(depth_m, how, fit.uncertainty, remarks)


def _read(nearness: NDArray[np.float32], mark: Mark) -> float:
    """Median around a mark; NaN where nothing is known."""
    height, width = nearness.shape
    row, column = min(int(mark.y_px), height - 1), min(int(mark.x_px), width - 1)
    reach = min(_WINDOW, row, column, height - 1 - row, width - 1 - column)  # even on all sides
    part = nearness[row - reach : row + reach + 1, column - reach : column + reach + 1]
    part = part[np.isfinite(part)]
    return float(np.median(part)) if part.size else float("nan")


def _ranks(values: NDArray[np.float64]) -> NDArray[np.float64]:
    order = np.empty(len(values))
    order[np.argsort(values, kind="stable")] = np.arange(len(values))
    return order
