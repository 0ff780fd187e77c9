"""Distance fields to model with: balls, eggs, limbs, and how they melt together.

All take points (3, n) and return signed distances (n,), negative inside, in the points' unit.
Formulas after Quilez, "Distance functions" and "Smooth minimum" (from memory).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Fold",
    "ball",
    "carved",
    "creased",
    "curve",
    "egg",
    "limb",
    "melted",
    "mirrored",
    "path",
]

Floats = NDArray[np.float64]
#: From, to, height and width of a fold.
Fold = tuple[Floats, Floats, float, float]


def _square(x: Floats, y: Floats, z: Floats) -> Floats:
    return x * x + y * y + z * z


def ball(p: Floats, at: ArrayLike, radius: float) -> Floats:
    """A ball."""
    x, y, z = np.asarray(at, float).tolist()
    return np.sqrt(_square(p[0] - x, p[1] - y, p[2] - z)) - radius


def egg(p: Floats, at: ArrayLike, radii: Sequence[float]) -> Floats:
    """An ellipsoid; the distance is exact on its surface and close to it."""
    x, y, z = np.asarray(at, float).tolist()
    u, v, w = (p[0] - x) / radii[0], (p[1] - y) / radii[1], (p[2] - z) / radii[2]
    k0 = np.sqrt(_square(u, v, w))
    k1 = np.sqrt(_square(u / radii[0], v / radii[1], w / radii[2]))
    return np.asarray(k0 * (k0 - 1) / np.maximum(k1, 1e-6))


def limb(p: Floats, a: ArrayLike, b: ArrayLike, radius: float, end: float | None = None) -> Floats:
    """A round bar from a to b, `end` its radius at b."""
    start, along = np.asarray(a, float), np.asarray(b, float) - np.asarray(a, float)
    x, y, z = (p[c] - float(start[c]) for c in range(3))
    i, j, k = (along / max(float(along @ along), 1e-12)).tolist()
    t = np.clip(i * x + j * y + k * z, 0, 1)
    i, j, k = along.tolist()
    away = np.sqrt(_square(x - t * i, y - t * j, z - t * k))
    return np.asarray(away - radius if end is None else away - (radius + t * (end - radius)))


def path(p: Floats, points: ArrayLike, radii: Sequence[float]) -> Floats:
    """A round bar along several points."""
    at = np.asarray(points, float)
    out = limb(p, at[0], at[1], radii[0], radii[1])
    for i in range(1, len(at) - 1):
        out = np.minimum(out, limb(p, at[i], at[i + 1], radii[i], radii[i + 1]))
    return out


def curve(p: Floats, points: ArrayLike, radii: Sequence[float], parts: int = 3) -> Floats:
    """A round bar along a curve through several points, each step of it `parts` straight ones.

    After Catmull and Rom 1974: cubics with the slopes of the points' neighbours.
    """
    knots = np.column_stack([np.asarray(points, float), np.asarray(radii, float)])
    slopes = np.gradient(knots, axis=0)
    t = np.arange(parts)[:, None, None] / parts
    fine = (
        (1 + 2 * t) * (1 - t) ** 2 * knots[:-1]
        + t * (1 - t) ** 2 * slopes[:-1]
        + t**2 * (3 - 2 * t) * knots[1:]
        - t**2 * (1 - t) * slopes[1:]
    )
    line = np.concatenate([fine.swapaxes(0, 1).reshape(-1, 4), knots[-1:]])
    return path(p, line[:, :3], line[:, 3].tolist())


def melted(a: Floats, b: Floats, k: float) -> Floats:
    """Both together, their seam rounded over about `k`.

    By the third power: by the second, light shows where the rounding ends, as a line round it.
    """
    h = np.maximum(1.5 * k - np.abs(a - b), 0) / (1.5 * k)
    return np.asarray(np.minimum(a, b) - h * h * h * k * 0.25)


def carved(a: Floats, b: Floats, k: float) -> Floats:
    """The first without the second, the rim rounded over about `k`."""
    h = np.maximum(1.5 * k - np.abs(a + b), 0) / (1.5 * k)
    return np.asarray(np.maximum(a, -b) + h * h * h * k * 0.25)


def mirrored(p: Floats) -> Floats:
    """Both halves on one side, x > 0, without a crease between them."""
    return np.stack([np.sqrt(p[0] * p[0] + 2.25), p[1], p[2]])


def creased(d: Floats, q: Floats, folds: Sequence[Fold], within: float) -> Floats:
    """A field with folds where it is less than `within`.

    Each is a ridge between two hollows that runs out at its ends.
    """
    close = np.flatnonzero(np.abs(d) < within)
    close = close[np.argsort(q[2, close])]  # by height: a fold looks at its own slice only
    by_height, bent = q[:, close], d[close]
    for a, b, high, wide in folds:
        middle, reach = 0.5 * (a + b), 0.5 * float(np.linalg.norm(b - a)) + 2.2 * wide
        low, top = np.searchsorted(by_height[2], middle[2] + reach * np.array([-1.0, 1.0]))
        some = by_height[:, low:top]
        x, y = np.abs(some[:2] - middle[:2, None].astype(np.float32)) < reach
        near = np.flatnonzero(x & y)
        p = some[:, near]
        along = b - a
        t = along.astype(np.float32) @ (p - a.astype(np.float32)[:, None]) / float(along @ along)
        away = limb(p, a, b, 0.0) / wide
        ends = np.clip((0.5 - np.abs(t - 0.5)) * 2.4 + 0.25, 0, 1)
        ends = ends * ends * (3 - 2 * ends)
        bent[low + near] -= high * ends * np.cos(2.6 * away) * np.exp(-(away**2))
    out = d.copy()
    out[close] = bent
    return out
