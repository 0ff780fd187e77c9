"""Bounding-volume hierarchies: which triangle a ray meets first, and whether it meets any.

Two levels: a tree over *placements*, each a moved copy of a *shape*, and one tree per shape.
Boxes of both children lie in the parent node, so one fetch decides both.
Built with the binned surface-area heuristic (Wald 2007, "On fast construction of SAH-based
bounding volume hierarchies", from memory); triangles after Moeller and Trumbore 1997.
"""

from collections import namedtuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["World", "any_hit", "build_tree", "closest_hit", "packed"]

#: What the compiled loops walk through; all arrays C-contiguous.
#: top_box (n, 12) f32, top_kid (n, 4) i32: tree over placements.
#: inverse (p, 12) f32: world to shape; root (p,) i32: first node of the shape's tree;
#: box (m, 16) f32 and kid (m, 16) i32, two views of the same cache lines: boxes of both children
#: in columns 0-11, their references and counts in columns 12-15; tri (t, 9) f32.
World = namedtuple("World", "top_box top_kid placement inverse root box kid tri")

#: Arithmetic that may be reordered; infinities and signs of zero matter nowhere here.
_LOOSE = {"nnan", "nsz", "contract", "arcp"}


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


def packed(
    box: NDArray[np.float32], kid: NDArray[np.int32]
) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """Boxes and children of all nodes in one cache line each: two views (m, 16)."""
    room = np.zeros(16 * (len(box) + 1), np.float32)
    skip = (-room.ctypes.data % 64) // 4
    nodes = room[skip : skip + 16 * len(box)].reshape(-1, 16)
    nodes[:, :12] = box
    ints = nodes.view(np.int32)
    ints[:, 12:] = kid
    return nodes, ints


@njit(cache=True)
def _bounds(low, high, order, begin, end, out):  # type: ignore[no-untyped-def]
    for a in range(3):
        out[a] = np.inf
        out[a + 3] = -np.inf
    for i in range(begin, end):
        k = order[i]
        for a in range(3):
            out[a] = min(out[a], low[k, a])
            out[a + 3] = max(out[a + 3], high[k, a])


@njit(cache=True)
def _area(b):  # type: ignore[no-untyped-def]
    x, y, z = b[3] - b[0], b[4] - b[1], b[5] - b[2]
    if x < 0:
        return 0.0
    return x * y + y * z + z * x


@njit(cache=True)
def _split(low, high, order, begin, end, bins, count, grown, right):  # type: ignore[no-untyped-def]
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


@njit(cache=True)
def _build(low, high, order, box, kid, leaf):  # type: ignore[no-untyped-def]
    n = len(order)
    bins = np.empty((12, 6))
    count = np.empty(12, np.int64)
    grown = np.empty(6)
    right = np.empty(12)
    bound = np.empty(6)
    stack = np.empty((256, 3), np.int64)
    used = 1
    stack[0, 0], stack[0, 1], stack[0, 2] = 0, n, 0
    top = 1
    while top > 0:
        top -= 1
        begin, end, node = stack[top, 0], stack[top, 1], stack[top, 2]
        if end - begin == 1:
            middle = end  # only the root of a single box: its right child stays empty
        else:
            middle = _split(low, high, order, begin, end, bins, count, grown, right)
        for side in range(2):
            b, e = (begin, middle) if side == 0 else (middle, end)
            _bounds(low, high, order, b, e, bound)
            for a in range(6):
                box[node, 6 * side + a] = bound[a]
            if e - b <= leaf or top >= 254:
                kid[node, 2 * side] = b
                kid[node, 2 * side + 1] = e - b
                if e == b:  # an empty child: its box lies where no ray reaches it
                    kid[node, 2 * side] = -1
                    box[node, 6 * side : 6 * side + 6] = 1e30
            else:
                kid[node, 2 * side] = used
                kid[node, 2 * side + 1] = 0
                stack[top, 0], stack[top, 1], stack[top, 2] = b, e, used
                used += 1
                top += 1
    return used


@njit(cache=True, fastmath=_LOOSE)
def _enter(b, s, ox, oy, oz, ix, iy, iz, far):  # type: ignore[no-untyped-def]
    """Distance at which the ray enters a box, or 1e30 if it does not before `far`."""
    x0 = (b[s] - ox) * ix
    x1 = (b[s + 3] - ox) * ix
    y0 = (b[s + 1] - oy) * iy
    y1 = (b[s + 4] - oy) * iy
    z0 = (b[s + 2] - oz) * iz
    z1 = (b[s + 5] - oz) * iz
    near = max(max(min(x0, x1), min(y0, y1)), max(min(z0, z1), np.float32(0)))
    last = min(min(max(x0, x1), max(y0, y1)), min(max(z0, z1), far))
    if near <= last:
        return near
    return np.float32(1e30)


@njit(cache=True, fastmath=_LOOSE)
def _safe_inverse(d):  # type: ignore[no-untyped-def]
    if abs(d) < 1e-12:
        return np.float32(1e12) if d >= 0 else np.float32(-1e12)
    return np.float32(1.0) / np.float32(d)


@njit(cache=True, fastmath=_LOOSE)
def _triangle(tri, k, ox, oy, oz, dx, dy, dz):  # type: ignore[no-untyped-def]
    """Distance and barycentric u, v; distance -1 where the ray misses."""
    miss = np.float32(-1)
    zero = np.float32(0)
    one = np.float32(1)
    e1x, e1y, e1z = tri[k, 3], tri[k, 4], tri[k, 5]
    e2x, e2y, e2z = tri[k, 6], tri[k, 7], tri[k, 8]
    px = dy * e2z - dz * e2y
    py = dz * e2x - dx * e2z
    pz = dx * e2y - dy * e2x
    det = e1x * px + e1y * py + e1z * pz
    if det == zero:
        return miss, zero, zero
    inv = one / det
    tx, ty, tz = ox - tri[k, 0], oy - tri[k, 1], oz - tri[k, 2]
    u = (tx * px + ty * py + tz * pz) * inv
    if not (u >= zero and u <= one):
        return miss, zero, zero
    qx = ty * e1z - tz * e1y
    qy = tz * e1x - tx * e1z
    qz = tx * e1y - ty * e1x
    v = (dx * qx + dy * qy + dz * qz) * inv
    if not (v >= zero and u + v <= one):
        return miss, zero, zero
    return (e2x * qx + e2y * qy + e2z * qz) * inv, u, v


@njit(cache=True, fastmath=_LOOSE)
def _shape_hit(w, root, base, stack, ox, oy, oz, dx, dy, dz, near, far, any_one):  # type: ignore[no-untyped-def]
    """Closest (or any) triangle of one shape between near and far: distance, index, u, v."""
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    best, hit = far, np.int32(-1)
    bu, bv = np.float32(0), np.float32(0)
    big = np.float32(1e29)
    node = np.int64(root)
    top = base
    while True:
        b = w.box[node]
        first = _enter(b, 0, ox, oy, oz, ix, iy, iz, best)
        second = _enter(b, 6, ox, oy, oz, ix, iy, iz, best)
        r0, c0 = w.kid[node, 12], w.kid[node, 13]
        r1, c1 = w.kid[node, 14], w.kid[node, 15]
        if second < first:
            first, second = second, first
            r0, r1 = r1, r0
            c0, c1 = c1, c0
        if first < big and c0 > 0:
            for k in range(r0, r0 + c0):
                t, u, v = _triangle(w.tri, np.int64(k), ox, oy, oz, dx, dy, dz)
                if t > near and t < best:
                    best, hit, bu, bv = t, np.int32(k), u, v
                    if any_one:
                        return best, hit, bu, bv
            first = np.float32(1e30)
        if second < best and c1 > 0:
            for k in range(r1, r1 + c1):
                t, u, v = _triangle(w.tri, np.int64(k), ox, oy, oz, dx, dy, dz)
                if t > near and t < best:
                    best, hit, bu, bv = t, np.int32(k), u, v
                    if any_one:
                        return best, hit, bu, bv
            second = np.float32(1e30)
        if first < big:
            if second < best:
                stack[top] = r1
                top += 1
            node = np.int64(r0)
        elif second < best:
            node = np.int64(r1)
        else:
            if top == base:
                return best, hit, bu, bv
            top -= 1
            node = np.int64(stack[top])


@njit(cache=True, fastmath=_LOOSE)
def _walk(w, stack, ox, oy, oz, dx, dy, dz, near, far, any_one):  # type: ignore[no-untyped-def]
    ox, oy, oz = np.float32(ox), np.float32(oy), np.float32(oz)
    dx, dy, dz = np.float32(dx), np.float32(dy), np.float32(dz)
    near = np.float32(near)
    best = np.float32(far)
    ix, iy, iz = _safe_inverse(dx), _safe_inverse(dy), _safe_inverse(dz)
    hit, where = np.int32(-1), np.int32(-1)
    bu, bv = np.float32(0), np.float32(0)
    top = 0
    stack[0] = 0
    top = 1
    while top > 0:
        top -= 1
        node = np.int64(stack[top])
        b = w.top_box[node]
        first = _enter(b, 0, ox, oy, oz, ix, iy, iz, best)
        second = _enter(b, 6, ox, oy, oz, ix, iy, iz, best)
        swap = second < first
        # the farther node goes on the stack first, so that the nearer one is walked first
        for turn in range(2):
            side = 1 - turn if not swap else turn
            enter = second if side == 1 else first
            if enter >= best:
                continue
            reference, count = w.top_kid[node, 2 * side], w.top_kid[node, 2 * side + 1]
            if count == 0 and reference > 0:
                stack[top] = reference
                top += 1
        for turn in range(2):
            side = turn if not swap else 1 - turn
            enter = second if side == 1 else first
            reference, count = w.top_kid[node, 2 * side], w.top_kid[node, 2 * side + 1]
            if count > 0 and enter < best:
                for i in range(reference, reference + count):
                    p = np.int64(w.placement[i])
                    m = w.inverse[p]
                    t, k, u, v = _shape_hit(
                        w,
                        w.root[p],
                        top,
                        stack,
                        m[0] * ox + m[1] * oy + m[2] * oz + m[3],
                        m[4] * ox + m[5] * oy + m[6] * oz + m[7],
                        m[8] * ox + m[9] * oy + m[10] * oz + m[11],
                        m[0] * dx + m[1] * dy + m[2] * dz,
                        m[4] * dx + m[5] * dy + m[6] * dz,
                        m[8] * dx + m[9] * dy + m[10] * dz,
                        near,
                        best,
                        any_one,
                    )
                    if k >= 0:
                        best, hit, where, bu, bv = t, k, np.int32(p), u, v
                        if any_one:
                            return best, where, hit, bu, bv
    return best, where, hit, bu, bv


@njit(cache=True, fastmath=_LOOSE)
def closest_hit(w, stack, ox, oy, oz, dx, dy, dz, near, far):  # type: ignore[no-untyped-def]
    """First hit between near and far: distance, placement (-1: none), triangle, u, v."""
    return _walk(w, stack, ox, oy, oz, dx, dy, dz, near, far, False)


@njit(cache=True, fastmath=_LOOSE)
def any_hit(w, stack, ox, oy, oz, dx, dy, dz, near, far):  # type: ignore[no-untyped-def]
    """Whether anything lies between near and far along the ray."""
    return _walk(w, stack, ox, oy, oz, dx, dy, dz, near, far, True)[1] >= 0
