"""Checking focus on site: the spots to look at magnified, and what is to be seen there."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.judge.case import Case
from render.judge.measures import Band
from render.judge.samples import Samples
from render.judge.sharpness import JUST_SHARP
from render.judge.verdict import Verdict
from render.optics.blur import blur_slope
from render.optics.lens import FocusSpot
from render.optics.plane import FocusedLens, focus_lens
from render.optics.solving.targets import ELSEWHERE, Target
from render.optics.terrain import ground_shows, over_ground_m
from render.words import blur_words, length_words

__all__ = [
    "CRISP",
    "FADING",
    "SOFT",
    "FocusCheck",
    "focus_checks",
    "nothing_sharp",
    "shows",
    "spot_in_focus",
]

#: What is to be seen at a spot that is looked at.
CRISP, FADING, SOFT = "crisp", "just fading", "soft"

#: Where aside of the centre edges are looked at, and how far from there, in frame heights (ours).
_ASIDE, _ASIDE_REACH, _LEAST_APART = (-0.3, 0.3, -0.55, 0.55, -0.8, 0.8), 0.1, 0.2
_EDGE_OFF = 0.2  # blur there may differ so much from one circle of confusion
_BORDER = 0.03  # of the frame: a spot nearer to its edge cannot be magnified (ours)
_CLEARLY = 3.0  # circles of confusion from which softness is seen (ours, as in solve)


@dataclass(frozen=True, slots=True)
class FocusCheck:
    """A spot to look at 10 times magnified.

    Attributes
    ----------
    name : str
        The name of a thing, "band, centre", "band, upper edge", "band, lower edge" or "must be
        soft".
    must : str
        What to see there: "crisp", "just crisp" (by rounding), "just fading", "soft", or "as crisp
        as it gets, 2.2 times what is sharp".
    x_px, y_px : float
        In pixels of the planned frame.
    depth_m : float
        Along the camera's axis.
    over_ground_m : float or None
        Where it is a spot of the ground: how far that is from the point below the lens.
    crisp : bool
        Whether it is sharp as planned, be it by rounding (`JUST_SHARP`).
    blur_px, blur_fraction : float
        Diameter to expect: pixels of the picture, and share of its height.
    """

    name: str
    must: str
    x_px: float
    y_px: float
    depth_m: float
    blur_px: float
    blur_fraction: float
    over_ground_m: float | None = None
    crisp: bool = False

    def sentence(self, width_px: int, height_px: int) -> str:
        """One line with the spot as shares of the frame."""
        where = f"{100 * self.x_px / width_px:.0f} % across, {100 * self.y_px / height_px:.0f} %"
        return (
            f"{self.name}: {where} down the frame, {length_words(self.depth_m)} along the "
            f"camera's axis: {self.must} (blur {blur_words(100 * self.blur_fraction)} of the "
            "height)"
        )


def focus_checks(
    case: Case,
    verdict: Verdict,
    named: Sequence[Target] = (),
    *,
    focused: str = "",
    blind: bool,
    rest_soft: bool = True,
) -> tuple[FocusCheck, ...]:
    """The things named, or else the band's centre and two edges; and one spot that must be soft.

    Where nothing in the frame is sharp, only what is named: there is no band to check.

    The edges are looked at on either side of the centre: apart they can be told from each other,
    and they show a lens that is not square, which one column cannot.

    Parameters
    ----------
    named : sequence of Target
        What must be sharp, by name.
    focused : str
        What the band's centre lies on, with its article; or empty.
    blind : bool
        Whether nothing in the frame is sharp: `nothing_sharp`.
    rest_soft : bool
        Whether the rest is to be soft, as it is for a model.
    """
    lens = focus_lens(verdict.setting)
    if blind:
        circle = verdict.measures.coc_fraction
        return tuple(_named_check(case, lens, thing, circle) for thing in named)
    softest = _check(case, lens, "must be soft", SOFT, *_softest(case, lens))
    circle = verdict.measures.coc_fraction
    soft = (softest,) if rest_soft and softest.blur_fraction > _CLEARLY * circle else ()
    if named:
        return (*(_named_check(case, lens, thing, circle) for thing in named), *soft)
    first, *others = _band_checks(case, verdict, lens)
    if focused and first.crisp:
        first = replace(first, name=f"{focused} ({first.name})")
    return (first, *others, *soft)


def _band_checks(case: Case, verdict: Verdict, lens: FocusedLens) -> tuple[FocusCheck, ...]:
    band = verdict.measures.band
    x, y = spot_in_focus(case, verdict)
    focus = verdict.setting.focus
    # what is focused on has the distance that it was given, not that of a sample beside it
    depth_m = None
    if isinstance(focus, FocusSpot) and (focus.slope_x, focus.slope_y) == (x, y):
        depth_m = focus.depth_m
    circle = verdict.measures.coc_fraction
    if band.height_fraction >= 1.0:
        return (_sharp_check(case, lens, "in focus", *_clipped(case, x, y), depth_m, circle),)
    centre = _sharp_check(case, lens, "band, centre", *_clipped(case, x, y), depth_m, circle)
    if centre.blur_fraction > JUST_SHARP * circle:  # the frame shows neither the band nor its edges
        return (replace(centre, name="sharpest spot"),)
    upper, lower = ("upper", "lower") if _lies(band) else ("left", "right")
    edges = _edges_apart(case, verdict, lens, (x, y)) or tuple(
        _clipped(case, x + side * band.edge_x, y + side * band.edge_y) for side in (-1.0, 1.0)
    )
    along = 1 if _lies(band) else 0  # by where they are in the picture, whatever the band's slant
    first, second = sorted(edges, key=lambda spot: spot[along])
    return (
        centre,
        _check(case, lens, f"band, {upper} edge", FADING, *first),
        _check(case, lens, f"band, {lower} edge", FADING, *second),
    )


def nothing_sharp(case: Case, verdict: Verdict) -> bool:
    """Whether nothing that the frame shows is in focus: the band lies outside it, or in the air.

    Rays that were looked at may lie on either side of a thin band, so they must be clearly soft.
    """
    lens, samples = focus_lens(verdict.setting), case.samples
    circle = verdict.measures.coc_fraction
    blur = _blur_slope(lens, samples)[samples.seen] / samples.slope_height
    if blur.size and float(blur.min()) <= _CLEARLY * circle:
        return False
    centre = _check(case, lens, "", "", *_clipped(case, *spot_in_focus(case, verdict)))
    return centre.blur_fraction > circle


def _lies(band: Band) -> bool:
    """Whether the band lies across the picture, rather than standing in it."""
    return abs(band.edge_y) >= abs(band.edge_x)


def _edges_apart(
    case: Case, verdict: Verdict, lens: FocusedLens, middle: tuple[float, float]
) -> tuple[tuple[float, float], ...] | None:
    """Rays at the band's two edges, one on each side of the middle, where blur is one circle.

    Only samples count whose own depth gives that blur: a thing that stands in the band has its
    edges elsewhere. None where a side has none.
    """
    samples, band = case.samples, verdict.measures.band
    size = math.hypot(band.edge_x, band.edge_y)
    if samples.scattered or not (0 < size < samples.slope_height):
        return None
    across = (band.edge_x / size, band.edge_y / size)
    dx, dy = samples.slope_x - middle[0], samples.slope_y - middle[1]
    beyond = (dx * across[0] + dy * across[1]) / size  # -1 and 1 at the two edges
    along = (dx * across[1] - dy * across[0]) / samples.slope_height
    circle = verdict.measures.coc_fraction * samples.slope_height
    off = np.abs(_blur_slope(lens, samples) / circle - 1.0)
    usable = (off < _EDGE_OFF) & samples.seen & _well_inside(samples)
    found: list[list[tuple[float, int]]] = []
    for side in (-1.0, 1.0):
        here = usable & (np.abs(beyond - side) < 0.5)
        cost = off + 0.5 * np.abs(beyond - side)
        places = []
        for aside in _ASIDE:  # the usual way round first: upper edge left, lower edge right
            near = here & (np.abs(along - aside) < _ASIDE_REACH)
            if near.any():
                best = int(np.argmin(np.where(near, cost + np.abs(along - aside), np.inf)))
                places.append((0.3 * abs(aside - 0.3 * side), best))
        found.append(places)
    pairs = [
        (first[0] + second[0], first[1], second[1])
        for first, second in itertools.product(*found)
        if abs(along[first[1]] - along[second[1]]) >= _LEAST_APART
        and _in_order(samples, band, first[1], second[1])
    ]
    if not pairs:
        return None
    _, *best_pair = min(pairs)
    return tuple((float(samples.slope_x[k]), float(samples.slope_y[k])) for k in best_pair)


def _in_order(samples: Samples, band: Band, first: int, second: int) -> bool:
    """Whether the far edge's spot also lies above (or left of) the near edge's in the picture."""
    places = samples.slope_y if _lies(band) else samples.slope_x
    edge = band.edge_y if _lies(band) else band.edge_x
    return bool((places[second] - places[first]) * edge > 0)


def _well_inside(samples: Samples) -> NDArray[np.bool_]:
    """Rays that are not at the very border of the frame, where nothing can be magnified."""
    camera = samples.camera
    places = camera.positions(np.stack([samples.slope_x, samples.slope_y], axis=-1))
    shares = places / (camera.width_px, camera.height_px)
    return np.asarray(((shares > _BORDER) & (shares < 1.0 - _BORDER)).all(axis=-1))


def _blur_slope(lens: FocusedLens, samples: Samples) -> NDArray[np.float64]:
    """Blur diameter of every sample, as a slope."""
    slopes = np.stack([samples.slope_x, samples.slope_y], axis=-1)
    return blur_slope(lens, slopes, samples.inverse)


def spot_in_focus(
    case: Case, verdict: Verdict, named: Sequence[Target] = ()
) -> tuple[float, float]:
    """The first thing named, or the spot focused on; else the band's middle; all in the frame.

    Where nothing in the frame is sharp at the band's middle, the sharpest place inside it.
    """
    if named:
        return named[0].slope_x, named[0].slope_y
    focus = verdict.setting.focus
    if isinstance(focus, FocusSpot) and case.samples.camera.shows(focus.slope_x, focus.slope_y):
        return focus.slope_x, focus.slope_y
    band, samples = verdict.measures.band, case.samples
    lens = focus_lens(verdict.setting)
    middle = _check(case, lens, "", "", *_clipped(case, band.centre_x, band.centre_y))
    usable = samples.seen & _well_inside(samples)
    in_band = middle.blur_fraction <= JUST_SHARP * verdict.measures.coc_fraction
    if (band.inside and in_band) or not usable.any():
        return _clipped(case, band.centre_x, band.centre_y)
    blur = _blur_slope(lens, samples)
    sharpest = int(np.argmin(np.where(usable, blur, np.inf)))
    return float(samples.slope_x[sharpest]), float(samples.slope_y[sharpest])


def _clipped(case: Case, x: float, y: float) -> tuple[float, float]:
    """Nearest ray inside the frame."""
    camera = case.samples.camera
    px, py = camera.positions((x, y))
    inside = (
        min(max(float(px), 0.5), camera.width_px - 0.5),
        min(max(float(py), 0.5), camera.height_px - 0.5),
    )
    slope_x, slope_y = camera.slopes(*inside)
    return float(slope_x), float(slope_y)


def _softest(case: Case, lens: FocusedLens) -> tuple[float, float]:
    """The most blurred sample that has detail to show it."""
    samples = case.samples
    worth = _blur_slope(lens, samples) * np.minimum(samples.detail, 1.0)
    worst = int(np.argmax(np.where(_well_inside(samples), worth, -1.0)))
    return float(samples.slope_x[worst]), float(samples.slope_y[worst])


def _named_check(case: Case, lens: FocusedLens, thing: Target, circle: float) -> FocusCheck:
    """A named thing, at its own depth; whoever named it wants it sharp."""
    found = _sharp_check(
        case, lens, thing.name, thing.slope_x, thing.slope_y, thing.depth_m, circle
    )
    must = found.must
    if not shows(case, thing):
        seen = length_words(case.samples.depth_towards(thing.slope_x, thing.slope_y))
        must += f", if it shows: what one sees there is {seen} away"
    return replace(found, must=must)


def _sharp_check(
    case: Case,
    lens: FocusedLens,
    name: str,
    x: float,
    y: float,
    depth_m: float | None,
    circle: float,
) -> FocusCheck:
    """A spot that is to be sharp, and whether it will be."""
    found = _check(case, lens, name, CRISP, x, y, depth_m)
    times = found.blur_fraction / circle
    if times <= JUST_SHARP:
        told = blur_words(100 * found.blur_fraction) != blur_words(100 * circle)
        return replace(found, crisp=True, must=f"just {CRISP}" if told and times > 1 else CRISP)
    return replace(found, must=f"as crisp as it gets, {times:.1f} times what is sharp")


def shows(case: Case, thing: Target) -> bool:
    """Whether the picture shows something where a thing is said to be, not what lies behind."""
    seen = 1.0 / case.samples.depth_towards(thing.slope_x, thing.slope_y)
    said = 1.0 / thing.depth_m
    return abs(seen - said) <= ELSEWHERE * max(seen, said)


def _check(
    case: Case,
    lens: FocusedLens,
    name: str,
    must: str,
    x: float,
    y: float,
    depth_m: float | None = None,
) -> FocusCheck:
    camera = case.samples.camera
    depth = case.samples.depth_towards(x, y) if depth_m is None else depth_m
    inverse = 0.0 if math.isinf(depth) else 1.0 / depth
    px, py = camera.positions((x, y))
    blur_px = float(blur_slope(lens, (x, y), inverse)) * camera.focal_px
    return FocusCheck(
        name,
        must,
        float(px),
        float(py),
        depth,
        blur_px,
        blur_px / camera.height_px,
        _over_ground_m(case, (x, y), inverse),
    )


def _over_ground_m(case: Case, slopes: tuple[float, float], inverse: float) -> float | None:
    """Distance along the ground to a spot that lies on it; else None."""
    if case.vantage is None or not ground_shows(case.vantage, [slopes], [inverse])[0]:
        return None
    return float(over_ground_m(case.vantage, slopes, inverse))
