"""Bounding-volume hierarchies, as rays walk through them (`render.trace.walk`).

Two levels: a tree over *placements*, each a moved copy of a *shape*, and one tree per shape.
Built with the binned surface-area heuristic (Wald 2007, "On fast construction of SAH-based
bounding volume hierarchies"), then opened to eight children a node, the largest first (Wald,
Benthin, Boulos 2008, "Getting rid of packets"; both from memory).
"""

from collections import namedtuple

import numpy as np
from numpy.typing import NDArray

from render.compiled import loop, step

__all__ = ["World", "aligned", "build_tree", "triangle_blocks", "widened"]

#: What rays walk through; all arrays C-contiguous.
#: top (n, 64) f32: tree over placements (`widened`; leaf i is placement i);
#: inverse (p, 12) f32: world to shape; root (p,) i32: first node of the shape's tree;
#: node (m, 64) f32: trees of all shapes (leaf i is block i); block (l, 40) f32: `triangle_blocks`;
#: tri (t, 9) f32: first corner and two edges of every triangle.
World = namedtuple("World", "top inverse root node block tri")

#: Below this depth nodes are halved by count, which bounds the stack that a ray needs.
_DEEP = 48


def build_tree(
    low: NDArray[np.float32], high: NDArray[np.float32], leaf: int = 4
) -> tuple[NDArray[np.float32], NDArray[np.int32], NDArray[np.int32]]:
    """Tree over boxes.

    Parameters
    ----------
    low, high : ndarray, shape (n, 3), float32
        Corners of the boxes, n >= 1.
    leaf : int
        Most boxes in a leaf.

    Returns
    -------
    box : ndarray, shape (m, 12), float32
        Low and high corner of the left child, then of the right child.
    kid : ndarray, shape (m, 4), int32
        (reference, count) of the left child, then of the right: count 0 is a node, else a leaf.
    order : ndarray, shape (n,), int32
        Boxes in the order in which leaves refer to them.
    """
    n = len(low)
    box = np.empty((max(2 * n, 2), 12), np.float32)
    kid = np.zeros((max(2 * n, 2), 4), np.int32)
    order = np.arange(n, dtype=np.int32)
    used = _build(np.ascontiguousarray(low), np.ascontiguousarray(high), order, box, kid, leaf)
    return box[:used].copy(), kid[:used].copy(), order


def widened(
    box: NDArray[np.float32], kid: NDArray[np.int32]
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """The same tree with up to eight children a node.

    Returns
    -------
    nodes : ndarray, shape (m, 64), float32
        Low and high x of the eight children, then y, then z; columns 48-55 hold their references
        as i32: a node, or -1 - i for the i-th leaf.
    leaves : ndarray, shape (l, 2), int32
        Reference and count of each leaf, as in `build_tree`.
    """
    nodes = np.zeros((len(box) + 1, 64), np.float32)
    leaves = np.zeros((len(box) + 1, 2), np.int32)
    used, ends = _widen(box, kid, nodes, nodes.view(np.int32), leaves)
    return nodes[:used].copy(), leaves[:ends].copy()


def triangle_blocks(
    corner: NDArray[np.float32], leaves: NDArray[np.int32], first: int = 0
) -> NDArray[np.float32]:
    """Four triangles a leaf side by side, as `walk` tests them.

    Parameters
    ----------
    corner : ndarray, shape (t, 9), float32
        First corner and the two edges from it, in the order of the leaves.
    leaves : ndarray, shape (l, 2), int32
        At most four triangles each.
    first : int
        Number of triangle 0 in the whole world.

    Returns
    -------
    ndarray, shape (l, 40), float32
        Each of the nine numbers for four triangles; column 36 holds the first one's number, i32.
    """
    blocks = np.zeros((len(leaves), 40), np.float32)
    for lane in range(4):
        has = leaves[:, 1] > lane
        blocks[has, lane:36:4] = corner[leaves[has, 0] + lane]
    blocks.view(np.int32)[:, 36] = leaves[:, 0] + first
    return blocks


def aligned(table: NDArray[np.float32]) -> NDArray[np.float32]:
    """A copy that starts at a cache line."""
    room = np.empty(table.size + 16, np.float32)
    skip = (-room.ctypes.data % 64) // 4
    out = room[skip : skip + table.size].reshape(table.shape)
    out[:] = table
    return out


@step()
def _bounds(low, high, order, begin, end, out):
    for a in range(3):
        out[a] = np.inf
        out[a + 3] = -np.inf
    for i in range(begin, end):
        k = order[i]
        for a in range(3):
            out[a] = min(out[a], low[k, a])
            out[a + 3] = max(out[a + 3], high[k, a])


@step()
def _area(b):
    x, y, z = b[3] - b[0], b[4] - b[1], b[5] - b[2]
    if x < 0:
        return 0.0
    return x * y + y * z + z * x


@step()
def _split(low, high, order, begin, end, bins, count, grown, right):
    """Best binned split of order[begin:end]: partitions in place, returns the middle."""
    best = np.inf
    best_axis, best_bin = -1, 0
    best_low, best_scale = 0.0, 0.0
    for axis in range(3):
        cl, ch = np.inf, -np.inf
        for i in range(begin, end):
            k = order[i]
            c = 0.5 * (low[k, axis] + high[k, axis])
            cl = min(cl, c)
            ch = max(ch, c)
        if not ch - cl > 1e-9:
            continue
        scale = 12 * (1.0 - 1e-6) / (ch - cl)
        for b in range(12):
            count[b] = 0
            for a in range(3):
                bins[b, a] = np.inf
                bins[b, a + 3] = -np.inf
        for i in range(begin, end):
            k = order[i]
            b = int((0.5 * (low[k, axis] + high[k, axis]) - cl) * scale)
            count[b] += 1
            for a in range(3):
                bins[b, a] = min(bins[b, a], low[k, a])
                bins[b, a + 3] = max(bins[b, a + 3], high[k, a])
        for a in range(3):
            grown[a] = np.inf
            grown[a + 3] = -np.inf
        n = 0
        for b in range(11, 0, -1):
            n += count[b]
            for a in range(3):
                grown[a] = min(grown[a], bins[b, a])
                grown[a + 3] = max(grown[a + 3], bins[b, a + 3])
            right[b] = n * _area(grown)
        for a in range(3):
            grown[a] = np.inf
            grown[a + 3] = -np.inf
        n = 0
        for b in range(11):
            n += count[b]
            for a in range(3):
                grown[a] = min(grown[a], bins[b, a])
                grown[a + 3] = max(grown[a + 3], bins[b, a + 3])
            cost = n * _area(grown) + right[b + 1]
            if 0 < n < end - begin and cost < best:
                best, best_axis, best_bin, best_low, best_scale = cost, axis, b, cl, scale
    if best_axis < 0:
        return (begin + end) // 2
    i, j = begin, end - 1
    while i <= j:
        k = order[i]
        c = 0.5 * (low[k, best_axis] + high[k, best_axis])
        if int((c - best_low) * best_scale) <= best_bin:
            i += 1
        else:
            order[i], order[j] = order[j], order[i]
            j -= 1
    return i


@loop()
def _build(low, high, order, box, kid, leaf):
    n = len(order)
    bins = np.empty((12, 6))
    count = np.empty(12, np.int64)
    grown = np.empty(6)
    right = np.empty(12)
    bound = np.empty(6)
    stack = np.empty((256, 4), np.int64)
    used = 1
    stack[0, 0], stack[0, 1], stack[0, 2], stack[0, 3] = 0, n, 0, 0
    top = 1
    while top > 0:
        top -= 1
        begin, end, node, depth = stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3]
        if end - begin == 1:
            middle = end  # only the root of a single box: its right child stays empty
        elif depth >= _DEEP:
            middle = (begin + end) // 2
        else:
            middle = _split(low, high, order, begin, end, bins, count, grown, right)
        for side in range(2):
            b, e = (begin, middle) if side == 0 else (middle, end)
            _bounds(low, high, order, b, e, bound)
            for a in range(6):
                box[node, 6 * side + a] = bound[a]
            if e - b <= leaf:
                kid[node, 2 * side] = b
                kid[node, 2 * side + 1] = e - b
                if e == b:  # an empty child: its box lies where no ray reaches it
                    kid[node, 2 * side] = -1
                    box[node, 6 * side : 6 * side + 6] = 1e30
            else:
                kid[node, 2 * side] = used
                kid[node, 2 * side + 1] = 0
                stack[top, 0], stack[top, 1], stack[top, 2], stack[top, 3] = b, e, used, depth + 1
                used += 1
                top += 1
    return used


@loop()
def _widen(box, kid, nodes, links, leaves):
    below = np.empty((len(box) + 1, 2), np.int64)  # binary node, wide node
    child = np.empty((8, 2), np.int64)  # binary node, side
    below[0, 0] = below[0, 1] = 0
    waiting, used, ends = 1, 1, 0
    while waiting > 0:
        waiting -= 1
        inner, wide = below[waiting, 0], below[waiting, 1]
        count = 0
        for side in range(2):
            child[count, 0], child[count, 1] = inner, side
            count += 1
        while count < 8:
            best, most = -1, -1.0
            for i in range(count):
                n, side = child[i, 0], child[i, 1]
                if kid[n, 2 * side + 1] == 0 and kid[n, 2 * side] > 0:
                    area = _area(box[n, 6 * side : 6 * side + 6])
                    if area > most:
                        best, most = i, area
            if best < 0:
                break
            opened = kid[child[best, 0], 2 * child[best, 1]]
            child[best, 0], child[best, 1] = opened, 0
            child[count, 0], child[count, 1] = opened, 1
            count += 1
        for i in range(8):
            for a in range(3):  # an empty place: no ray gets in
                nodes[wide, 16 * a + i], nodes[wide, 16 * a + 8 + i] = 1e30, -1e30
        for i in range(count):
            n, side = child[i, 0], child[i, 1]
            reference, held = kid[n, 2 * side], kid[n, 2 * side + 1]
            if held == 0 and reference < 0:
                continue
            for a in range(3):
                nodes[wide, 16 * a + i] = box[n, 6 * side + a]
                nodes[wide, 16 * a + 8 + i] = box[n, 6 * side + 3 + a]
            if held > 0:
                leaves[ends, 0], leaves[ends, 1] = reference, held
                links[wide, 48 + i] = -1 - ends
                ends += 1
            else:
                below[waiting, 0], below[waiting, 1] = reference, used
                links[wide, 48 + i] = used
                waiting += 1
                used += 1
    return used, ends
