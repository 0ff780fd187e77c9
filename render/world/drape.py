"""Laying flat things on uneven ground: cut along the ground's own triangles, then lifted.

A large lawn on hills is a few triangles; lifted at its corners alone it would float over hollows
and dive into crests. Cut along every edge of the ground's mesh it runs parallel to it.
"""

import numpy as np
from numpy.typing import NDArray

from render.world.description import Ground
from render.world.ground import ground_lattice, ground_normal, is_flat, mesh_height
from render.world.mesh import Mesh

__all__ = ["cut_along", "draped"]

Floats = NDArray[np.float64]


def draped(mesh: Mesh, ground: Ground) -> Mesh:
    """The mesh, in the scene's frame and over height 0, laid on the ground's mesh.

    Level faces take the ground's normals.
    """
    if is_flat(ground) or not len(mesh.xyz):
        return mesh
    start, step, count = ground_lattice(ground)
    corners = np.concatenate([mesh.xyz, mesh.uv, mesh.normal], axis=2)
    slot = mesh.slot
    for direction, low in (((1.0, 0.0), 0), ((0.0, 1.0), 0), ((1.0, -1.0), -count)):
        xy = corners[:, :, :2]
        shaped = np.ones(len(xy), bool)
        if low < 0:  # beyond the shaped part nothing bends along the diagonals
            shaped = np.all((xy.max(axis=1) > start) & (xy.min(axis=1) < -start), axis=1)
        along = (xy[shaped] - start) @ np.array(direction) / step
        pieces, kept = cut_along(corners[shaped], along, low, count)
        corners = np.concatenate([corners[~shaped], pieces])
        slot = np.concatenate([slot[~shaped], slot[shaped][kept]])
    xyz, normal = corners[..., :3].copy(), corners[..., 5:8].copy()
    x, y = xyz[..., 0], xyz[..., 1]
    level = normal[..., 2] > 0.99
    normal[level] = ground_normal(ground, x[level], y[level])
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)  # cuts interpolate them
    xyz[..., 2] += mesh_height(ground, x, y)
    return Mesh(xyz, corners[..., 3:5], normal, slot, mesh.slots)


def cut_along(
    corners: Floats, along: Floats, low: int, high: int
) -> tuple[Floats, NDArray[np.intp]]:
    """Cut triangles at every whole number of a linear coordinate.

    Parameters
    ----------
    corners : ndarray, shape (n, 3, k)
        What each corner carries; it is interpolated.
    along : ndarray, shape (n, 3)
        The coordinate, linear over each triangle.
    low, high : int
        No cuts outside.

    Returns
    -------
    corners, source : ndarrays, shapes (m, 3, k) and (m,)
        Pieces in the sense of rotation of what they were cut from, and its index.
    """
    source = np.arange(len(corners))
    done_c: list[Floats] = []
    done_s: list[NDArray[np.intp]] = []
    tiny = 1e-7
    while len(corners):
        least, most = along.min(axis=1), along.max(axis=1)
        first = np.maximum(np.floor(least + tiny) + 1, low)
        last = np.minimum(np.ceil(most - tiny) - 1, high)
        whole = first > last
        done_c.append(corners[whole])
        done_s.append(source[whole])
        cut = ~whole
        at = np.floor((first[cut] + last[cut]) / 2)[:, None]
        corners, along, kept = _halved(corners[cut], along[cut] - at)
        along = along + at[kept]
        source = source[cut][kept]
    return np.concatenate(done_c), np.concatenate(done_s)


def _halved(corners: Floats, side: Floats) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Cut each triangle where `side` is 0: pieces, their sides, and which they are of.

    Every triangle has corners on both sides.  It is turned (keeping its sense) so that the
    corner alone on its side comes first; a corner on the cut itself counts as above.
    """
    above = side >= 0
    lone_above = above.sum(axis=1) == 1
    alone = np.where(
        lone_above, np.argmax(above, axis=1), np.argmin(above, axis=1)
    )  # the one that differs
    order = (alone[:, None] + np.arange(3)) % 3
    row = np.arange(len(side))[:, None]
    p, s = corners[row, order], side[row, order]
    data = np.concatenate([p, s[..., None]], axis=2)
    a, b, c = data[:, 0], data[:, 1], data[:, 2]
    ab = _between(a, b)
    ac = _between(a, c)
    pieces = np.stack(
        [np.stack([a, ab, ac], 1), np.stack([ab, b, c], 1), np.stack([ab, c, ac], 1)], 1
    )
    kept = np.repeat(np.arange(len(side)), 3)
    pieces = pieces.reshape(-1, 3, data.shape[-1])
    edge = pieces[:, 1:, :3] - pieces[:, :1, :3]
    full = np.square(np.cross(edge[:, 0], edge[:, 1])).sum(axis=1) > 1e-16
    pieces, kept = pieces[full], kept[full]
    return pieces[..., :-1], pieces[..., -1], kept


def _between(a: Floats, b: Floats) -> Floats:
    share = a[:, -1] / (a[:, -1] - b[:, -1])
    found = a + share[:, None] * (b - a)
    found[:, -1] = 0.0
    return np.asarray(found)
