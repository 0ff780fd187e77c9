"""Trees over boxes: nothing gets lost, nothing lies deeper than a ray can go."""

import numpy as np
import pytest
from numpy.typing import NDArray

from render.trace.tree.bvh import aligned, build_tree, triangle_blocks, widened


def _scattered(count: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    rng = np.random.default_rng(count)
    low = rng.uniform(-9, 9, (count, 3)).astype(np.float32)
    return low, low + rng.uniform(0, 1, (count, 3)).astype(np.float32)


def test_every_box_is_in_one_leaf() -> None:
    """The order is a permutation, and leaves share it out without gaps, however boxes coincide."""
    low = np.zeros((33, 3), np.float32)
    _box, kid, order = build_tree(low, low + 1)

    assert sorted(order.tolist()) == list(range(33))
    leaves = [(r, c) for pair in kid.reshape(-1, 2, 2) for r, c in pair if c > 0]
    assert sorted(i for r, c in leaves for i in range(r, r + c)) == list(range(33))


@pytest.mark.parametrize("count", [1, 2, 5, 300])
def test_a_wide_tree_holds_the_same_leaves(count: int) -> None:
    """Every box lies in one leaf, inside the box of that leaf and of all nodes above it."""
    low, high = _scattered(count)
    box, kid, order = build_tree(low, high)
    nodes, leaves = widened(box, kid)
    links = nodes.view(np.int32)[:, 48:56]
    seen: list[int] = []
    waiting = [(0, np.full(3, -np.inf), np.full(3, np.inf))]
    while waiting:
        at, outer_low, outer_high = waiting.pop()
        for lane in range(8):
            inner_low, inner_high = nodes[at, lane:48:16], nodes[at, lane + 8 : 48 : 16]
            if inner_low[0] > inner_high[0]:
                continue
            assert np.all(inner_low >= outer_low)
            assert np.all(inner_high <= outer_high)
            if links[at, lane] >= 0:
                waiting.append((int(links[at, lane]), inner_low, inner_high))
                continue
            first, held = leaves[-1 - links[at, lane]]
            for i in order[first : first + held]:
                assert np.all(low[i] >= inner_low)
                assert np.all(high[i] <= inner_high)
                seen.append(int(i))

    assert sorted(seen) == list(range(count))


def test_boxes_that_shrink_without_end_make_no_endless_tree() -> None:
    """Boxes that split off one by one are halved by count from a depth on."""
    far = 14.0 ** np.arange(-6.0, 30.0)
    low = np.concatenate([far[:, None] * axis for axis in np.eye(3)]).astype(np.float32)
    _box, kid, _order = build_tree(low, low, leaf=1)
    depth, deepest = {0: 0}, 0
    for node in range(len(kid)):
        for side in (0, 2):
            if kid[node, side + 1] == 0 and kid[node, side] > 0:
                depth[int(kid[node, side])] = depth[node] + 1
        deepest = max(deepest, depth[node])

    assert 48 < deepest <= 48 + 7  # 2^7 > 108 - 48


def test_a_block_holds_the_triangles_of_its_leaf() -> None:
    """Number by number, with the first one's place in the world."""
    corner = np.arange(45, dtype=np.float32).reshape(5, 9)
    blocks = triangle_blocks(corner, np.array([[0, 4], [4, 1]], np.int32), first=100)

    np.testing.assert_array_equal(blocks[0, :36].reshape(9, 4).T, corner[:4])
    np.testing.assert_array_equal(blocks[1, :36:4], corner[4])
    assert not blocks[1, 1:36:4].any()
    assert blocks.view(np.int32)[:, 36].tolist() == [100, 104]


def test_tables_start_at_a_cache_line() -> None:
    """So that no box straddles two."""
    table = np.ones((3, 64), np.float32)

    assert aligned(table).ctypes.data % 64 == 0
    np.testing.assert_array_equal(aligned(table), table)
