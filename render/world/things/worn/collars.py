"""A shirt's collar, in the frame of a head (see `faces`)."""

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, join, moved
from render.world.things.worn.cloth import cloth

__all__ = ["collar_mesh", "neckline_mm", "shirt_front"]

Floats = NDArray[np.float64]

#: Half a collar's profile from the neck up over the fold and down, at back and front:
#: distance from the middle of the neck and height over the neckline, mm.
_BACK = [(60, -14), (60, 6), (60, 24), (60.5, 33), (63, 35), (66, 33), (70.5, 24), (75, 15)]
_FRONT = [(61, -14), (60, 4), (59, 18), (60, 26), (64, 27.5), (70, 25), (77, 18), (84, 10)]


def neckline_mm(y: Floats) -> Floats:
    """Height of the line where clothes meet the neck, in a head's frame (see `faces`)."""
    return np.asarray(-166 + 0.40 * (y - 20))


def collar_mesh(slot: str = "collar", fine: int = 20) -> Mesh:
    """A shirt's collar, open at the throat, its points buttoned down; metres, a head's frame.

    3 `fine` by 2 `fine` points to either side.
    """
    turn = np.radians(np.linspace(13, 180, 3 * fine))
    s = np.linspace(0, len(_BACK) - 1, 2 * fine)
    along = np.arange(len(_BACK))
    to_front = np.exp(-((turn / 0.62) ** 2))[:, None]
    shape = [
        to_front * np.interp(s, along, [f[c] for f in _FRONT])
        + (1 - to_front) * np.interp(s, along, [b[c] for b in _BACK])
        for c in (0, 1)
    ]
    kernel = np.array([1, 2, 3, 2, 1]) / 9
    shape = [
        np.stack([np.convolve(np.pad(row, 2, mode="edge"), kernel, "valid") for row in c])
        for c in shape
    ]
    # the fall's front edge leans away from the throat
    spread = turn[:, None] + 0.34 * to_front**2 * np.clip((s - 5) / 2, 0, 1)[None]
    x, y = shape[0] * np.sin(spread), 19 - shape[0] * np.cos(spread)
    grid = np.stack([x, y, neckline_mm(y) + shape[1]], -1)
    uv = np.stack(np.broadcast_arrays(turn[:, None] * 60, s[None] * 8), -1) / 1000
    left = _thick(grid, uv, 1.5, slot)
    return moved(join([left, moved(left, matrix=np.diag([-1.0, 1.0, 1.0]))]), size=0.001)


def _thick(grid: Floats, uv: Floats, by: float, slot: str) -> Mesh:
    """A sheet of cloth with both its faces and a rounded edge, `by` from face to face."""
    normal = np.cross(np.gradient(grid, axis=0), np.gradient(grid, axis=1))
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)
    over, under = grid + 0.5 * by * normal, grid - 0.5 * by * normal
    rim = [np.concatenate([g[0], g[1:, -1], g[-1, -2::-1], g[-2:0:-1, 0], g[:1, 0]])
           for g in (over, grid, under)]  # fmt: skip
    away = np.gradient(rim[1], axis=0)
    away = np.cross(away, rim[0] - rim[2])
    away /= np.maximum(np.linalg.norm(away, axis=-1, keepdims=True), 1e-12)
    edge = np.stack([rim[0], rim[1] - 0.4 * by * away, rim[2]], 1)
    run = np.stack(np.broadcast_arrays(np.arange(len(edge))[:, None], np.arange(3.0)[None]), -1)
    return join(
        [
            cloth(over, uv, slot),
            cloth(under[:, ::-1], uv[:, ::-1], slot),
            cloth(edge, 0.001 * run, slot),
        ]
    )


def shirt_front() -> Mesh:
    """What shows of a buttoned shirt between its collar and a jumper; slot shirt, metres."""
    turn, t = np.meshgrid(np.linspace(-0.75, 0.75, 13), np.linspace(0, 1, 5), indexing="ij")
    away = 57.5 + 5.0 * (1 - t)
    x, y = away * np.sin(turn), 19 - away * np.cos(turn)
    z = neckline_mm(y) - 22 + t * (20 + 14 * np.abs(turn))
    uv = np.stack([0.06 * turn, z / 1000], -1)
    return moved(cloth(np.stack([x, y, z], -1), uv, "shirt"), size=0.001)
