"""Bicycles."""

import math

import numpy as np

from render.world.mesh import Mesh, box, join, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind

__all__: list[str] = []


@kind(
    "bicycle",
    "A bicycle leaning on nothing.",
    feet=lambda v: block(0.5, 1.75, 1.0),
    stuff={"frame": "cycle paint", "tyre": "rubber", "rim": "steel", "trim": "leather"},
)
def _bicycle(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for y in (-0.52, 0.52):
        a = np.linspace(0, 2 * math.pi, 21)
        ring = np.stack([np.zeros(21), y + 0.33 * np.cos(a), 0.34 + 0.33 * np.sin(a)], -1)
        parts += [tube(ring[i], ring[i + 1], 0.018, "tyre", sides=5) for i in range(20)]
        parts += [tube((0, y, 0.34), ring[i], 0.003, "rim", sides=3) for i in range(0, 20, 2)]
    joints = [
        ((0, -0.52, 0.34), (0, -0.38, 0.92)),
        ((0, -0.40, 0.80), (0, 0.10, 0.84)),
        ((0, -0.42, 0.72), (0, 0.06, 0.30)),
        ((0, 0.12, 0.94), (0, 0.06, 0.30)),
        ((0, 0.52, 0.34), (0, 0.10, 0.80)),
        ((0, 0.52, 0.34), (0, 0.06, 0.30)),
    ]
    parts += [tube(a, b, 0.017, "frame", sides=6) for a, b in joints]
    parts.append(tube((-0.28, -0.34, 0.98), (0.28, -0.34, 0.98), 0.014, "rim", sides=6))
    parts.append(tube((0, -0.38, 0.92), (0, -0.35, 0.98), 0.015, "rim", sides=6))
    parts.append(box((0.14, 0.26, 0.06), "trim", (0, 0.14, 0.94)))
    return join(parts)
