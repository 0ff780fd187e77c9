"""Near things in a scene of exact depth, and the strokes that a person would draw along them."""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from render.depth.ground import ground_depth
from render.scene.scene import Scene

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]

_NEARER = 3.0  # than the ground there
_ONE_THING = 0.15  # neighbours whose inverse depth differs by more belong to two things
_LEAST_SHARE = 0.0004
_WOBBLE = 0.003  # of the width
_MOST_STROKES = 6


def near_things(scene: Scene) -> list[tuple[Mask, float]]:
    """Regions over three times nearer than the ground there, each with its middle depth (m)."""
    assert scene.vantage is not None
    inverse = 1.0 / scene.depth_m.astype(float)
    ground = 1.0 / ground_depth(scene.camera, scene.vantage).astype(float)
    usual = float(np.median(inverse[inverse > 0]))
    near = inverse > np.maximum(_NEARER * ground, 2.0 * usual)
    starts, ends, _ = _neighbours(near, inverse)
    graph = coo_array((np.ones(len(starts), np.int8), (starts, ends)), (near.size, near.size))
    labels = connected_components(graph, directed=False)[1].reshape(near.shape)
    sizes = np.bincount(labels[near].ravel(), minlength=int(labels.max()) + 1)
    least = max(12, _LEAST_SHARE * near.size)
    masks = [labels == k for k in np.flatnonzero(sizes >= least)]
    return [(mask, float(np.median(scene.depth_m[mask]))) for mask in masks]


def _neighbours(mask: Mask, inverse: Floats | None) -> tuple[NDArray, NDArray, Floats]:
    """Pairs of touching pixels of a region (of like depth, where given), and their distance."""
    height, width = mask.shape
    index = np.arange(mask.size).reshape(mask.shape)
    starts, ends, apart = [], [], []
    for down, right in ((0, 1), (1, 0), (1, 1), (1, -1)):
        a = (slice(0, height - down), slice(max(0, -right), width - max(0, right)))
        b = (slice(down, height), slice(max(0, right), width - max(0, -right)))
        both = mask[a] & mask[b]
        if inverse is not None:
            both &= np.abs(inverse[a] - inverse[b]) < _ONE_THING * np.maximum(
                inverse[a], inverse[b]
            )
        starts.append(index[a][both])
        ends.append(index[b][both])
        apart.append(np.full(int(both.sum()), np.hypot(down, right)))
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(apart)


def strokes_along(mask: Mask, rng: np.random.Generator, most: int = _MOST_STROKES) -> list[Floats]:
    """Strokes from end to end along the middle of a region, then along what they left out."""
    rows, columns = np.nonzero(mask)
    width = mask.shape[1]
    deep = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
    number = np.full(mask.size, -1)
    number[rows * width + columns] = np.arange(len(rows))
    starts, ends, apart = _neighbours(mask, None)
    shallow = np.minimum(deep.ravel()[starts], deep.ravel()[ends])
    cost = apart * (1.0 + 4.0 / shallow)
    size = len(rows)
    graph = csr_array((cost, (number[starts], number[ends])), (size, size))
    points = np.stack([columns, rows], axis=1) + 0.5
    on_path, covered = np.zeros(size, bool), np.zeros(size, bool)
    strokes: list[Floats] = []
    for turn in range(most):
        begin = np.flatnonzero(on_path) if turn else np.array([_farthest(graph, 0)])
        ways, before, _ = dijkstra(
            graph, directed=False, indices=begin, return_predecessors=True, min_only=True
        )
        ways = np.where(np.isfinite(ways) & ~covered, ways, -1.0)
        end = int(np.argmax(ways))
        path = [end]
        while before[path[-1]] >= 0:
            path.append(int(before[path[-1]]))
        length = float(np.hypot(*np.diff(points[path], axis=0).T).sum())
        if ways[end] <= 0 or (turn and length < 0.06 * width):
            break
        on_path[path] = True
        far = np.ones(mask.shape, bool)
        far[rows[path], columns[path]] = False
        reach = 1.8 * float(np.median(deep[rows[path], columns[path]])) + 0.03 * width
        covered |= ndimage.distance_transform_edt(far)[rows, columns] < reach
        bends = int(np.clip(round(length / (0.15 * width)), 1, 8))
        kept = points[path][np.unique(np.linspace(0, len(path) - 1, bends + 1).astype(int))]
        strokes.append(kept + rng.normal(0, _WOBBLE * width, kept.shape))
    return strokes


def _farthest(graph: csr_array, start: int) -> int:
    ways = dijkstra(graph, directed=False, indices=start)
    return int(np.argmax(np.where(np.isfinite(ways), ways, -1.0)))
