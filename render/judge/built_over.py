"""What a verdict over level ground takes for granted: that little stands on it.

Nothing of a photo tells what stands where nobody said it, but not everything can: what is built
lies on the same ground, seen from the same height. So the same setting is judged over ground that
is built over, block behind block, a few heights of blocks and widths of streets each; the lowest
score bounds what houses and trees that fill the frame can leave of it.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from render.errors import SettingError
from render.judge.case import Assessment, Case, assess
from render.judge.samples import Samples
from render.judge.viewpoint import height_above_ground
from render.optics.camera import Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.terrain import level_axes

__all__ = ["built_over_score"]

Floats = NDArray[np.float64]

#: Heights of blocks and what a street and a block behind it measure, as shares of the lens's
#: height: below the lens, as what rises above it would be no level ground with sky over it.
_HEIGHTS = (0.25, 0.5)
_ROWS = ((0.6, 1.2), (1.2, 1.2))
_TALLEST_M = 20.0  # of a block: six storeys
_HITS = (0.3, 0.6, 0.9)  # of its height: where the front that is focused on is hit
_SHIFTS = (0.0, 1 / 6, 1 / 3, 1 / 2, 2 / 3, 5 / 6)  # of a row: where fronts stand, if none is
_CELLS = 160  # along the longer side
_SAID = 0.1  # of the ground: more of it is covered by things that were said
_WITHIN_REACH = 0.5  # nearer than this share of the height no ground can be
_STANDS = 0.02  # over the ground, as a share of the height
_FALLS = 1e-9  # a ray that falls less meets no ground


def built_over_score(case: Case, setting: LensSetting, found: Assessment) -> float | None:
    """Lowest score of a setting over ground that is built over; None where it is known what stands.

    Parameters
    ----------
    found : Assessment
        Of this setting on the level ground.
    """
    vantage = case.over
    if not case.unsaid.standing or vantage is None or _said_share(case, vantage) > _SAID:
        return None
    lowest = found.score.value
    few = case.samples.thinned(_CELLS)
    for inverse in _places(few, vantage, setting):
        samples = replace(few, inverse=np.maximum(inverse, few.inverse))
        built = replace(case, samples=samples)
        try:
            lowest = min(lowest, assess(built, _focused(setting, samples)).score.value)
        except SettingError:  # it cannot be focused there
            continue
    return lowest


def _said_share(case: Case, vantage: Vantage) -> float:
    """Share of the ground in the frame that things cover which were said; no near things.

    Where marks were spread over the ground, what rises above it is not what was said.
    """
    if case.unsaid.named_share is not None:
        return case.unsaid.named_share
    samples = case.few
    ground = samples.seen & (samples.inverse * _WITHIN_REACH * vantage.height_m < 1.0)
    if not ground.any():
        return 0.0
    above = height_above_ground(samples, vantage)[ground]
    return float(np.mean(above > _STANDS * vantage.height_m))


def _focused(setting: LensSetting, samples: Samples) -> LensSetting:
    """The lens focused on the same spot of the frame, at what stands there."""
    focus = setting.focus
    if not isinstance(focus, FocusSpot):
        return setting
    depth_m = samples.depth_towards(focus.slope_x, focus.slope_y)
    return replace(setting, focus=replace(focus, depth_m=depth_m))


def _places(samples: Samples, vantage: Vantage, setting: LensSetting) -> Iterator[Floats]:
    """Inverse depth of built-over ground, a few times, shape (N,); 0 for the sky."""
    lens_m = vantage.height_m
    axes = level_axes(vantage)
    _, lower, ahead = (x * samples.slope_x + y * samples.slope_y + z for x, y, z in axes)
    for share, (street, block) in product(_HEIGHTS, _ROWS):
        roof_m = min(share * lens_m, _TALLEST_M)
        sizes = (lens_m, roof_m, street * lens_m, block * lens_m)
        for front_m in _fronts_m(setting, axes, sizes):
            yield _blocks(lower, ahead, sizes, front_m)


def _fronts_m(setting: LensSetting, axes: Floats, sizes: tuple[float, ...]) -> Iterator[float]:
    """How far ahead a front may stand, metres: where the lens is focused on it.

    A lens set to a distance is focused on no front, so rows stand anywhere under it: with one
    front at that distance the answer hung on which streets the sharp band happened to meet.
    """
    lens_m, roof_m, street_m, block_m = sizes
    focus = setting.focus
    if isinstance(focus, FocusSpot):
        _, lower, ahead = axes @ (focus.slope_x, focus.slope_y, 1.0)
        for hit in _HITS:
            below_m = lens_m - hit * roof_m
            yield float(below_m * ahead / lower) if lower > _FALLS else below_m
    else:
        for shift in _SHIFTS:
            yield shift * (street_m + block_m)


def _blocks(lower: Floats, ahead: Floats, sizes: tuple[float, ...], front_m: float) -> Floats:
    """First thing that each ray meets of flat-roofed blocks behind streets, as inverse depth.

    Rows run across the frame, one front of them `front_m` ahead or whole rows from there.
    """
    lens_m, roof_m, street_m, block_m = sizes
    falls, along = lower > _FALLS, np.maximum(ahead, _FALLS)
    drop = np.where(falls, lower, 1.0) / along  # metres down per metre ahead
    at_roof, at_ground = (lens_m - roof_m) / drop, lens_m / drop
    row_m = street_m + block_m
    into = (at_roof + street_m - front_m) % row_m  # the street first, then the block
    wall = at_roof + (street_m - into)
    hit = np.where(into >= street_m, at_roof, np.minimum(wall, at_ground))
    return np.where(falls, along / np.maximum(hit, _FALLS), 0.0)
