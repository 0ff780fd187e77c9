"""The ground: its height everywhere, and its mesh."""

import math

import numpy as np
from numpy.typing import NDArray

from render.scene.description import Ground
from render.scene.mesh import Mesh, quads

__all__ = ["ground_height", "ground_mesh"]

_FAR_M = 12000.0


def ground_height(
    ground: Ground, x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Height (m) of the ground at x east, y north."""
    z = np.full(np.broadcast(x, y).shape, ground.level_m)
    if ground.profile_m:
        a = math.radians(ground.profile_deg)
        along = np.asarray(x) * math.sin(a) + np.asarray(y) * math.cos(a)
        knots = np.array(ground.profile_m)
        z = z + _eased(along, knots[:, 0], knots[:, 1])
    for hx, hy, radius, height in ground.hills_m:
        square = ((x - hx) ** 2 + (y - hy) ** 2) / radius**2
        z = z + height * np.exp(-2.0 * square)
    if ground.rolling_m:
        wave = np.sin(x / 11.3 + 1.1) * np.cos(y / 9.1 - 0.4) + 0.5 * np.sin(x / 4.7 - y / 5.9)
        z = z + ground.rolling_m * 0.5 * wave
    return np.asarray(z)


def _eased(
    at: NDArray[np.float64], knots: NDArray[np.float64], values: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Interpolation with level tangents only where the slope changes sign (PCHIP)."""
    from scipy.interpolate import PchipInterpolator

    inside = np.clip(at, knots[0], knots[-1])
    return np.asarray(PchipInterpolator(knots, values)(inside))


def ground_mesh(ground: Ground) -> Mesh:
    """The ground out to the horizon: fine where it is shaped, one frame of large faces beyond."""
    e = ground.extent_m
    flat = not (ground.profile_m or ground.hills_m or ground.rolling_m)
    if flat:
        s = np.array([-_FAR_M, _FAR_M])
    else:
        s = np.concatenate([[-_FAR_M], np.linspace(-e, e, 221), [_FAR_M]])
    x, y = np.meshgrid(s, s, indexing="ij")
    z = ground_height(ground, np.clip(x, -e, e), np.clip(y, -e, e))
    p = np.stack([x, y, z], -1)
    corners = np.stack([p[:-1, :-1], p[1:, :-1], p[1:, 1:], p[:-1, 1:]], axis=2).reshape(-1, 4, 3)
    mesh = quads(corners, "ground", corners[..., :2])
    if flat:
        return mesh
    step = 0.5
    at = mesh.xyz
    dx = ground_height(ground, at[..., 0] + step, at[..., 1]) - ground_height(
        ground, at[..., 0] - step, at[..., 1]
    )
    dy = ground_height(ground, at[..., 0], at[..., 1] + step) - ground_height(
        ground, at[..., 0], at[..., 1] - step
    )
    n = np.stack([-dx, -dy, np.full_like(dx, 2 * step)], -1)
    n /= np.linalg.norm(n, axis=-1, keepdims=True)
    return Mesh(mesh.xyz, mesh.uv, n, mesh.slot, mesh.slots)
