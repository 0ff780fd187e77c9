"""How far apart places of a picture are along the picture, where a way over an edge is long.

A step costs its length and its change of colour (geodesic distance; shortest ways by E. W.
Dijkstra, 1959, in SciPy).
"""

import numpy as np
from numpy.typing import NDArray

from render.depth.sampling import coded

__all__ = ["ways_from"]

_COLOUR_COST = 5.0  # of a full change of one channel, in long sides of the picture


def ways_from(
    light: NDArray[np.float32],
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    *,
    nearest: bool = False,
) -> NDArray[np.float64]:
    """Lengths of the shortest ways over the 8-neighbour grid, in long sides of the picture.

    Parameters
    ----------
    light : ndarray, shape (h, w, 3), float32
        Linear light; small, some tens of thousands of pixels.
    rows, columns : ndarray, shape (K,)
        Where the ways start.
    nearest : bool
        Only the way from the nearest start.

    Returns
    -------
    ndarray, float64
        Shape (K, h, w), or (h, w) for the nearest.
    """
    from scipy.sparse import csr_array  # most commands look for no ways
    from scipy.sparse.csgraph import dijkstra

    colours = coded(light)
    height, width = colours.shape[:2]
    index = np.arange(height * width).reshape(height, width)
    start, stop, cost = [], [], []
    for down, right in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = (slice(0, height - down), slice(max(0, -right), width - max(0, right)))
        there = (slice(down, height), slice(max(0, right), width - max(0, -right)))
        change = np.linalg.norm(colours[here] - colours[there], axis=2)
        length = np.hypot(down, right) / max(height, width)
        start.append(index[here].ravel())
        stop.append(index[there].ravel())
        cost.append((length + _COLOUR_COST * change.astype(float)).ravel())
    size = height * width
    graph = csr_array(
        (np.concatenate(cost), (np.concatenate(start), np.concatenate(stop))), shape=(size, size)
    )
    starts = rows * width + columns
    if nearest:
        shortest = dijkstra(graph, directed=False, indices=starts, min_only=True)
        return np.asarray(shortest.reshape(height, width))
    ways = dijkstra(graph, directed=False, indices=starts)
    return np.asarray(ways.reshape(len(rows), height, width))
