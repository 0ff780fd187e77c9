"""The compiled walk against testing every triangle."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from render.trace.rays import first_hit, ray_rooms
from render.trace.tree.bvh import World, aligned, build_tree, triangle_blocks, widened
from render.trace.walk import any_hit, walkable


def _world(corners: NDArray[np.float32]) -> World:
    low, high = corners.min(axis=1), corners.max(axis=1)
    box, kid, order = build_tree(low, high)
    nodes, leaves = widened(box, kid)
    p = corners[order]
    tri = np.concatenate([p[:, 0], p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]], axis=1)
    top, _leaf = widened(*build_tree(low.min(axis=0)[None], high.max(axis=0)[None], leaf=1)[:2])
    inverse = np.eye(3, 4, dtype=np.float32).reshape(1, 12)
    blocks = triangle_blocks(tri, leaves)
    root = np.zeros(1, np.int32)
    return World(aligned(top), inverse, root, aligned(nodes), aligned(blocks), tri.copy())


def _slow(corners: NDArray[np.float32], o: NDArray[np.float64], d: NDArray[np.float64]) -> float:
    """Distance to the nearest triangle by solving for each; inf for a miss."""
    best = np.inf
    for a, b, c in corners.astype(float):
        m = np.stack([b - a, c - a, -d], axis=1)
        if abs(np.linalg.det(m)) < 1e-12:
            continue
        u, v, t = np.linalg.solve(m, o - a)
        if u >= 0 and v >= 0 and u + v <= 1 and 1e-4 < t < best:
            best = t
    return float(best)


@given(st.integers(0, 10**6), st.sampled_from([1, 2, 3, 7, 40, 300]))
def test_the_walk_finds_what_testing_every_triangle_finds(seed: int, count: int) -> None:
    """For random triangles and rays, odd counts and a single one included."""
    rng = np.random.default_rng(seed)
    corners = (rng.uniform(-3, 3, (count, 1, 3)) + rng.normal(0, 1, (count, 3, 3))).astype(
        np.float32
    )
    world, room = _world(corners), ray_rooms(1)
    for o, d in zip(rng.uniform(-4, 4, (6, 3)), rng.normal(size=(6, 3)), strict=True):
        t, placement, _triangle = first_hit(world, o, d)
        slow = _slow(corners, o, d)

        blocked = any_hit(walkable(world), room.ctypes.data, *o, *d, 1e-4, 1e6)
        assert blocked == (placement >= 0)
        if abs(slow - t) > 1e-3 * t:  # both sides of an edge may differ by rounding: look again
            nudged = {np.isfinite(_slow(corners, o, d + e)) for e in 1e-5 * np.eye(3)}
            assert (placement >= 0) == np.isfinite(slow) or len(nudged) == 2
