"""What feet leave in sand."""

import math

import numpy as np

from render.world.line import places_along, run_along
from render.world.mesh import Mesh, join, quads
from render.world.things.kind import Values, kind, number, outline

__all__: list[str] = []

#: A step at a stroll, and the size of a bare foot's hollow with the sand that slid into it, metres.
_STEP_M, _LONG_M, _WIDE_M = 0.66, 0.30, 0.13


@kind(
    "footprints",
    "Footprints along a path: hollows and the rims thrown up behind them.",
    draped=True,
    stuff={"hollow": "trodden hollow", "rim": "trodden rim"},
    path_m=outline("points of the middle of the way", 2, start=((0, 0), (8, 0))),
    people=number(3, "how many have gone there", 1, 200),
    spread_m=number(0.5, "how far aside of the middle they went, about", 0, 20),
)
def _footprints(v: Values, rng: np.random.Generator) -> Mesh:
    line = np.array(v.path_m, float)
    run = run_along(line)
    length = float(run[-1])
    hollows, rims = [], []
    for _ in range(int(v.people)):
        aside = float(rng.normal(0.0, v.spread_m))
        swing, phase = rng.uniform(0.0, 0.6) * v.spread_m, rng.uniform(0, math.tau)
        step = _STEP_M * float(rng.uniform(0.85, 1.15))
        size = float(rng.uniform(0.75, 1.1))
        at = np.arange(rng.uniform(0, step), length, step)
        spots = places_along(line, run, at)
        ways = places_along(line, run, at + 0.3) - places_along(line, run, at - 0.3)
        ways /= np.maximum(np.hypot(*ways.T), 1e-9)[:, None] * float(rng.choice([-1.0, 1.0]))
        side = np.stack([-ways[:, 1], ways[:, 0]], -1)
        foot = np.where(np.arange(len(at)) % 2, 0.09, -0.09)
        off = aside + swing * np.sin(at / 2.7 + phase) + foot + rng.normal(0, 0.025, len(at))
        spots = spots + side * off[:, None]
        hollows.append(_flat(spots, ways, side, (_LONG_M * size, _WIDE_M * size), 0.012))
        behind = spots - ways * 0.17 * size
        rims.append(_flat(behind, ways, side, (0.13 * size, 1.25 * _WIDE_M * size), 0.010))
    return join([quads(np.concatenate(hollows), "hollow"), quads(np.concatenate(rims), "rim")])


def _flat(
    at: np.ndarray, ways: np.ndarray, side: np.ndarray, size: tuple[float, float], z: float
) -> np.ndarray:
    """Flat six-cornered spots, long along the way, as two faces of four corners each."""
    long, wide = size[0] / 2, size[1] / 2
    ring = ((-1.0, 0.0), (-0.55, -1.0), (0.6, -0.85), (1.0, 0.0), (0.6, 0.85), (-0.55, 1.0))
    corners = np.stack([at + ways * long * a + side * wide * b for a, b in ring], axis=1)
    high = np.full((*corners.shape[:2], 1), z)
    spots = np.concatenate([corners, high], axis=-1)
    return np.concatenate([spots[:, [0, 1, 2, 3]], spots[:, [0, 3, 4, 5]]])
