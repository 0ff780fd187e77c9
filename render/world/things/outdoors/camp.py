"""What stands behind the scenes: living vans, and things left under a tarpaulin."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    extrude,
    grid_faces,
    join,
    lathe,
    moved,
    quads,
    tube,
)
from render.world.things.feet import block, sized
from render.world.things.kind import Values, kind, number, vector
from render.world.things.vehicles.wheels import wheel

__all__: list[str] = []

#: Corners round a sheet, and its rings from the hem to the middle: reach, height.
_ROUND = 60
_RINGS = ((1.14, 0.0), (1.06, 0.05), (1.0, 0.3), (0.985, 0.7), (0.95, 0.94), (0.8, 1.0),
          (0.5, 1.02), (0.0, 1.03))  # fmt: skip


def _sheet(size: tuple[float, float, float], rng: np.random.Generator) -> np.ndarray:
    """Points of a cloth over something of that size, ring by ring, shape (rings, round + 1, 3)."""
    x, y, z = size
    turn = np.linspace(0.0, math.tau, _ROUND + 1)
    way = np.stack([np.cos(turn), np.sin(turn)], -1)
    square = way / (np.abs(way) ** 7).sum(axis=1, keepdims=True) ** (1 / 7)
    waves = rng.integers(5, 19, 4)
    fold = sum(np.sin(k * turn + rng.uniform(0, math.tau)) for k in waves) / 4
    lumps = rng.normal(0, 0.4, (3, 2))
    rings = []
    for reach, high in _RINGS:
        hang = max(1.0 - 1.1 * high, 0.0)
        out = reach * (1 + 0.10 * hang * fold + 0.02 * rng.normal(0, 1, _ROUND + 1))
        out[-1] = out[0]
        flat = square * out[:, None]
        lump = sum(
            s * np.exp(-3.0 * ((flat - p) ** 2).sum(axis=1))
            for p, s in zip(lumps, (0.16, -0.2, 0.12), strict=True)
        )
        up = z * high * (1 + (high > 0.9) * lump) * (1 + 0.05 * hang * fold) + 0.004
        rings.append(np.column_stack([flat * [x / 2, y / 2], up]))
    return np.array(rings)


@kind(
    "tarpaulin",
    "Something left under a tarpaulin that hangs in folds, tied down, with weights on its hem.",
    variants=4,
    feet=sized(0.4),
    stuff={"cloth": "tarpaulin", "rope": "rope", "weight": "rubber"},
    size_m=vector((2.4, 1.5, 1.0), "length, width and height of what lies under it", 0.2),
    ropes=number(2, "how many ropes hold it", 0, 20),
)
def _tarpaulin(v: Values, rng: np.random.Generator) -> Mesh:
    rings = _sheet(v.size_m, rng)
    faces = grid_faces(rings.swapaxes(0, 1))
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(rings[2], axis=0), axis=1))])
    flat = np.broadcast_to(run[None], rings.shape[:2])
    high = np.broadcast_to(np.cumsum([0.0, *[0.35] * (len(rings) - 1)])[:, None], rings.shape[:2])
    uv = grid_faces(np.stack([flat, high], -1).swapaxes(0, 1) * [1.0, v.size_m[2]])
    parts = [quads(faces, "cloth", uv)]
    for k in range(int(v.ropes)):
        at = int(_ROUND * (0.25 + 0.22 * (k + 1) / (v.ropes + 1) - 0.11 + rng.normal(0, 0.01)))
        over = [*rings[1:-1, at], *rings[1:-1, _ROUND - at][::-1]]
        lifted = [p + [0, 0, 0.02] for p in over]
        parts += [tube(p, q, 0.012, "rope", sides=4) for p, q in itertools.pairwise(lifted)]
    ring = [(0.15, 0.0), (0.27, 0.01), (0.29, 0.09), (0.26, 0.16), (0.17, 0.15), (0.15, 0.0)]
    for at in rng.choice(_ROUND, max(3, int(v.size_m[0] + v.size_m[1])), replace=False):
        x, y, _ = rings[0, at] * 0.99
        parts.append(moved(lathe(ring, "weight", 12), (x, y, 0.01), size=0.62))
    return join(parts)


@kind(
    "living van",
    "A showman's living van on two axles, long along y, its drawbar towards -y, a door at +x.",
    variants=3,
    feet=lambda v: block(2.4, v.length_m + 0.2, 2.6) + block(0.4, 1.2, 0.7, (0, -v.length_m / 2)),
    stuff={
        "side": "van side",
        "band": "#7c3b33",
        "roof": "wagon roof",
        "glass": "glass",
        "lit": "warm inside",
        "frame": "zinc",
        "dark": "black plastic",
        "tyre": "rubber",
        "rim": "zinc",
        "step": "grey wood",
        "gas": "#8a4a34",
    },
    length_m=number(6.0, "length of its body", 3, 12),
)
def _living_van(v: Values, rng: np.random.Generator) -> Mesh:
    n, w, low, high = v.length_m, 2.3, 0.55, 2.05
    body = [(-w / 2, 0.0), (w / 2, 0.0), (w / 2, 1.75), (w / 2 - 0.25, high), (0.0, high + 0.1),
            (0.25 - w / 2, high), (-w / 2, 1.75)]  # fmt: skip
    stand = [[1, 0, 0], [0, 0, -1], [0, 1, 0]]
    shell = moved(extrude(body, 0.0, n, "side", "side"), (0, n / 2, low), matrix=stand)
    lid = [(x * 1.02, z + 0.015) for x, z in body[2:]]
    cover = [*lid, *((x, z - 0.06) for x, z in lid[::-1])]
    parts = [shell]
    parts.append(moved(extrude(cover, 0.0, n + 0.08, "roof", "roof"), (0, n / 2 + 0.04, low),
                       matrix=stand))  # fmt: skip
    for s in (1, -1):
        x = s * (w / 2 + 0.006)
        parts.append(box((0.012, n - 0.02, 0.28), "band", (x, 0, low + 0.35)))
        for y in np.linspace(-n / 2 + 0.02, n / 2 - 0.02, max(3, round(n / 1.2))):
            parts.append(box((0.02, 0.025, 1.6), "frame", (x, y, low + 0.05)))
        for y in np.linspace(-n / 2 + 0.9, n / 2 - 0.9, max(2, round(n / 2.2))):
            if s > 0 and abs(y - 0.3) < 0.95:
                continue
            slot = "lit" if rng.random() < 0.5 else "glass"
            parts += [box((0.02, 0.95, 0.62), "frame", (x, y, low + 0.9)),
                      box((0.03, 0.85, 0.52), slot, (x, y, low + 0.95))]  # fmt: skip
    parts += [  # the door, its steps
        box((0.03, 0.68, 1.72), "frame", (w / 2 + 0.006, 0.3, low + 0.03)),
        box((0.045, 0.6, 1.64), "band", (w / 2 + 0.006, 0.3, low + 0.05)),
        box((0.05, 0.3, 0.35), "glass", (w / 2 + 0.008, 0.3, low + 1.2)),
        box((0.35, 0.7, 0.2), "step", (w / 2 + 0.5, 0.3, 0.0)),
        box((0.3, 0.7, 0.4), "step", (w / 2 + 0.17, 0.3, 0.0)),
    ]
    for y in (-0.45, 0.45):
        parts += [moved(wheel(0.33, 0.2), (s * (w / 2 - 0.2), y, 0.33)) for s in (1, -1)]
    parts += [
        box((w - 0.5, n - 0.3, 0.14), "dark", (0, 0, low - 0.14)),
        tube((0.5, -n / 2, low - 0.05), (0, -n / 2 - 1.0, low), 0.04, "dark", sides=6),
        tube((-0.5, -n / 2, low - 0.05), (0, -n / 2 - 1.0, low), 0.04, "dark", sides=6),
        tube((0, -n / 2 - 0.95, 0.0), (0, -n / 2 - 0.95, low), 0.03, "frame", sides=6),
        cylinder(0.15, 0.55, "gas", (0.18, -n / 2 - 0.2, low - 0.1), sides=10),
        cylinder(0.05, 0.5, "dark", (-0.5, n / 4, low + high + 0.02), sides=8),
        box((0.5, 0.6, 0.12), "frame", (0.1, -n / 6, low + high + 0.08)),
    ]
    parts += [tube((s * 0.9, t * (n / 2 - 0.3), 0.0), (s * 0.9, t * (n / 2 - 0.3), low), 0.03,
                   "frame", sides=5) for s in (1, -1) for t in (1, -1)]  # fmt: skip
    van = join(parts)
    return replace(van, uv=van.uv + [float(rng.uniform(0, 300)), 0.0])
