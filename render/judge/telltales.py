"""Telltales: the things whose blur a real model's would not have.

What the eye sees of a misfit is the difference of two blur diameters, ``| |A delta| - |a q + b| |``
as a fraction of picture height: a sign is not seen. Cells above the threshold are joined into
things, never across a jump in depth, and ranked by area times difference. The ground is not named.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.judge.measures import Measures
from render.judge.samples import Samples
from render.judge.viewpoint import stands
from render.judge.weights import RULES
from render.optics.blur import blur_slope
from render.optics.camera import Vantage, Window
from render.optics.plane import FocusedLens
from render.words import length_words, percent

__all__ = ["Telltale", "TelltaleMap", "find_telltales", "place_words"]

Floats = NDArray[np.float64]

_DEPTH_JUMP = 0.08  # neighbours whose 1/z differ by more than this share are two things
_SEEN = 2.0  # a difference of this many times the blur just seen is one that shows
_THING = 0.5  # share of the cells that stand, from which it is a thing and not the ground
_MOST = 20


@dataclass(frozen=True, slots=True)
class Telltale:
    """One thing that betrays the trick.

    Attributes
    ----------
    number : int
        Its number in the list and in the map, from 1.
    place : str
        Where it is: "left, upper third".
    box : Window
        Its bounding box in pixels of the planned frame.
    area_share : float
        Share of the picture it fills.
    depth_m : float
        Its median distance.
    height_m : float
        Height of its box at that distance.
    blur, model_blur : float
        Largest blur (95th percentile), and what a model's would be there, fractions of the
        picture's height.
    residual : float
        Mean difference of the two, fraction of picture height.
    """

    number: int
    place: str
    box: Window
    area_share: float
    depth_m: float
    height_m: float
    blur: float
    model_blur: float
    residual: float

    @property
    def sentence(self) -> str:
        """One line for a person."""
        return (
            f"{self.place}: the thing {length_words(self.depth_m)} away "
            f"({percent(self.area_share)} of the frame, {length_words(self.height_m)} of its "
            f"height) is blurred by {percent(self.blur)} of the picture height where a "
            f"model's would be {percent(self.model_blur)}"
        )


@dataclass(frozen=True, slots=True, eq=False)
class TelltaleMap:
    """Which telltale each cell of the grid belongs to, for drawing outlines.

    Attributes
    ----------
    numbers : ndarray, shape (rows, columns), uint8
        0 for none, else `Telltale.number`.
    step_px : int
        Pixels of the frame per cell; cell (r, c) covers from ``step_px * (c, r)``.
    """

    numbers: NDArray[np.uint8]
    step_px: int


def find_telltales(
    samples: Samples,
    lens: FocusedLens,
    measures: Measures,
    just_seen: float,
    vantage: Vantage | None = None,
) -> tuple[tuple[Telltale, ...], TelltaleMap]:
    """List the telltales, worst first, and map them.

    Things on blank surfaces count as much as textured ones: their outlines show blur. With the
    vantage known, the ground is told from what stands on it.

    Parameters
    ----------
    just_seen : float
        Blur diameter that is just seen at the viewing size, fraction of picture height.
    """
    slopes = np.stack([samples.slope_x, samples.slope_y], axis=-1)
    blur = blur_slope(lens, slopes, samples.inverse) / samples.slope_height
    model = np.abs(measures.slope * samples.inverse + measures.intercept) / samples.slope_height
    residual = blur - model
    standing = stands(samples, vantage) if vantage else np.ones(samples.inverse.size, bool)
    least = max(RULES.telltale_residual, _SEEN * just_seen)
    numbers = np.zeros(samples.shape, np.uint8)
    groups = [
        cells for cells in _groups(samples, residual, least) if standing[cells].mean() > _THING
    ]
    ranked = sorted(groups, key=lambda cells: -float(np.abs(residual[cells]).sum()))[:_MOST]
    found = []
    for number, cells in enumerate(ranked, start=1):
        numbers.ravel()[cells] = number
        found.append(_describe(number, cells, samples, blur, model, np.abs(residual)))
    return tuple(found), TelltaleMap(numbers, samples.step_px)


def _groups(samples: Samples, residual: Floats, least: float) -> list[NDArray[np.intp]]:
    """Connected cells of one sign above the threshold, without jumps in depth."""
    telling = (np.abs(residual) > least) & samples.seen
    cells = np.flatnonzero(telling)
    if cells.size == 0:
        return []
    name = np.full(telling.size, -1)
    name[cells] = np.arange(cells.size)
    rows, columns = np.divmod(cells, samples.shape[1])
    starts, ends = [], []
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        inside = (rows + down < samples.shape[0]) & (columns + across < samples.shape[1])
        inside &= columns + across >= 0
        a = cells[inside]
        b = a + down * samples.shape[1] + across
        joined = telling[b]
        a, b = a[joined], b[joined]
        nearer = np.maximum(samples.inverse[a], samples.inverse[b])
        same = (np.abs(samples.inverse[a] - samples.inverse[b]) <= _DEPTH_JUMP * nearer) & (
            residual[a] * residual[b] > 0
        )
        starts.append(name[a[same]])
        ends.append(name[b[same]])
    from scipy.sparse import coo_array  # every command reads what may be asked of the verdict
    from scipy.sparse.csgraph import connected_components

    start, end = np.concatenate(starts), np.concatenate(ends)
    graph = coo_array((np.ones(start.size, np.int8), (start, end)), (cells.size, cells.size))
    _, labels = connected_components(graph, directed=False)
    smallest = max(2.0, RULES.telltale_least_area * telling.size)
    order = np.argsort(labels, kind="stable")
    cuts = np.flatnonzero(np.diff(labels[order])) + 1
    return [cells[part] for part in np.split(order, cuts) if part.size >= smallest]


def _describe(
    number: int,
    cells: NDArray[np.intp],
    samples: Samples,
    blur: Floats,
    model: Floats,
    residual: Floats,
) -> Telltale:
    rows, columns = np.divmod(cells, samples.shape[1])
    step = samples.step_px
    box = Window(
        left=int(columns.min()) * step,
        top=int(rows.min()) * step,
        width=int(np.ptp(columns) + 1) * step,
        height=int(np.ptp(rows) + 1) * step,
    )
    depth = 1.0 / float(np.median(samples.inverse[cells]))
    worst = cells[np.argsort(residual[cells])[int(0.95 * (cells.size - 1))]]
    return Telltale(
        number=number,
        place=place_words(
            float(columns.mean() + 0.5) / samples.shape[1],
            float(rows.mean() + 0.5) / samples.shape[0],
        ),
        box=box,
        area_share=cells.size / blur.size,
        depth_m=depth,
        height_m=box.height / samples.camera.focal_px * depth,
        blur=float(blur[worst]),
        model_blur=float(model[worst]),
        residual=float(residual[cells].mean()),
    )


def place_words(across: float, down: float) -> str:
    """Where in the picture, from fractions of its width and height.

    >>> place_words(0.2, 0.1), place_words(0.5, 0.5)
    ('left, upper third', 'centre, middle third')
    """
    sideways = ("left", "centre", "right")[min(2, int(3 * across))]
    return f"{sideways}, {('upper', 'middle', 'lower')[min(2, int(3 * down))]} third"
