"""A picture unrolled along a stroke: rows follow it, columns cross it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Strip", "length_px", "places_along", "unrolled"]

Floats = NDArray[np.float64]

_TANGENT_CELLS = 4.0  # a stroke's direction is smoothed over so many cells


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """The surroundings of a stroke.

    Attributes
    ----------
    middle_px, across : ndarray, shape (S, 2)
        Points of the stroke a cell apart, and the unit vectors to their right.
    edges_px : ndarray, shape (T + 1,)
        Borders of the columns, px across the stroke, 0 on it.
    light : ndarray, shape (S, T, 3)
        Coded light of the cells.
    inside : ndarray of bool, shape (S, T)
        Whether a cell lies in the picture.
    """

    middle_px: Floats
    across: Floats
    edges_px: Floats
    light: Floats
    inside: NDArray[np.bool_]

    @property
    def cell_px(self) -> float:
        """Size of a cell."""
        return float(self.edges_px[1] - self.edges_px[0])

    def covered(self, region: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Cells (S, T) whose middles lie in a region of the picture."""
        offsets = (self.edges_px[1:] + self.edges_px[:-1]) / 2
        places = self.middle_px[:, None] + self.across[:, None] * offsets[:, None]
        x, y = np.moveaxis(places, 2, 0)
        inside = (x >= 0) & (x < region.shape[1]) & (y >= 0) & (y < region.shape[0])
        x, y = (np.where(inside, part, 0).astype(int) for part in (x, y))
        return np.asarray(inside & region[y, x])

    def painted(self, left: Floats, right: Floats, shape: tuple[int, int]) -> NDArray[np.bool_]:
        """Pixels whose centres lie between two borders (S,), px across the stroke."""
        from scipy.spatial import cKDTree

        height, width = shape
        reach = max(float(np.abs(left).max()), float(np.abs(right).max())) + 2 * self.cell_px
        low = np.floor(self.middle_px.min(axis=0) - reach).astype(int)
        high = np.ceil(self.middle_px.max(axis=0) + reach).astype(int)
        rows = np.arange(max(0, low[1]), min(height, high[1]))
        columns = np.arange(max(0, low[0]), min(width, high[0]))
        mask = np.zeros(shape, bool)
        if not (rows.size and columns.size):
            return mask
        x, y = (part.ravel() for part in np.meshgrid(columns + 0.5, rows + 0.5))
        apart, at = cKDTree(self.middle_px).query(
            np.stack([x, y], axis=1), distance_upper_bound=reach
        )
        near = np.flatnonzero(np.isfinite(apart))
        at = at[near]
        off = np.stack([x[near], y[near]], axis=1) - self.middle_px[at]
        sideways = np.einsum("ij,ij->i", off, self.across[at])
        along = np.abs(off[:, 0] * self.across[at, 1] - off[:, 1] * self.across[at, 0])
        ends = (at == 0) | (at == len(self.middle_px) - 1)
        taken = (left[at] <= sideways) & (sideways < right[at])
        taken &= ~ends | (along <= self.cell_px)
        mask[y[near][taken].astype(int), x[near][taken].astype(int)] = True
        return mask


def unrolled(coded: NDArray[np.float32], line_px: Floats, cell_px: float, cells: int) -> Strip:
    """Unroll coded light (H, W, 3) along a line (K, 2), `cells` cells to either side."""
    from scipy.ndimage import gaussian_filter1d, map_coordinates

    height, width = coded.shape[:2]
    middle = _resampled(line_px, cell_px)
    smooth = gaussian_filter1d(middle, _TANGENT_CELLS, axis=0, mode="nearest")
    along: Floats = np.gradient(smooth, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1])[:, None], 1e-9)
    across: Floats = np.stack([-along[:, 1], along[:, 0]], axis=1)
    edges = np.asarray((np.arange(2 * cells + 1) - cells) * cell_px, float)
    offsets = (edges[1:] + edges[:-1]) / 2
    x = middle[:, 0, None] + across[:, 0, None] * offsets
    y = middle[:, 1, None] + across[:, 1, None] * offsets
    light = np.stack(
        [
            map_coordinates(coded[..., c], [y - 0.5, x - 0.5], order=1, mode="nearest")
            for c in range(3)
        ],
        axis=-1,
    )
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    return Strip(middle, across, edges, light.astype(float), inside)


def length_px(line_px: Floats) -> float:
    """Length of a line (K, 2)."""
    return float(_run_px(line_px)[-1])


def places_along(line_px: Floats, at_px: Floats) -> Floats:
    """Places (n, 2) of a line (K, 2) at lengths (n,) from its beginning."""
    run = _run_px(line_px)
    return np.stack([np.interp(at_px, run, line_px[:, k]) for k in (0, 1)], axis=1)


def _run_px(line_px: Floats) -> Floats:
    """How far along the line each of its points lies."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line_px, axis=0).T))])


def _resampled(line_px: Floats, step_px: float) -> Floats:
    whole = length_px(line_px)
    return places_along(line_px, np.linspace(0.0, whole, max(2, round(whole / step_px) + 1)))
