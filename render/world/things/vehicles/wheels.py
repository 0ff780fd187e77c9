"""Wheels of cars, lorries and wagons."""

import math

import numpy as np

from render.world.mesh import Mesh, join, lathe, moved, quads

__all__ = ["road_wheel", "wheel"]

#: The axis of what is turned about z comes to lie along x.
_ACROSS = [[0, 0, 1], [0, 1, 0], [-1, 0, 0]]


def wheel(radius: float, width: float, rim: str = "rim") -> Mesh:
    """A wheel about the x axis, its middle at the origin: a tyre round a plain disc."""
    r, w = radius, width / 2
    hub = lathe(
        [(0.0, -w * 0.7), (r * 0.63, -w * 0.9), (r * 0.63, w * 0.9), (0.0, w * 0.7)], rim, 14
    )
    return moved(join([_tyre(r, w, 0.62), hub]), matrix=_ACROSS)


def road_wheel(radius: float, width: float, spokes: int) -> Mesh:
    """The same of a car: spokes of metal before the dark of brake and well.

    Slots: tyre, rim, trim.
    """
    r, w = radius, width / 2
    parts = [
        _tyre(r, w, 0.68),
        lathe([(0.0, -w * 0.45), (r * 0.7, -w * 0.5), (r * 0.7, w * 0.5), (0.0, w * 0.45)],
              "trim", 16),
    ]  # fmt: skip
    for side in (1.0, -1.0):
        ring = [(r * 0.62, w * 0.72), (r * 0.70, w * 0.95), (r * 0.70, w * 0.5)]
        parts.append(moved(lathe(ring[::-1], "rim", 20), size=(1, 1, side)))
        hub = [(r * 0.17, w * 0.5), (r * 0.15, w * 0.84), (0.0, w * 0.86)]
        parts.append(moved(lathe(hub, "rim", 10), size=(1, 1, side)))
        faces = []
        for angle in 2 * math.pi * np.arange(spokes) / spokes:
            along = np.array([math.cos(angle), math.sin(angle)])
            across = np.array([-along[1], along[0]]) * r * min(0.55 / spokes, 0.11)
            near, far = 0.12 * r * along, 0.66 * r * along
            flat = [near - 1.2 * across, far - across, far + across, near + 1.2 * across]
            high = (0.82, 0.74, 0.74, 0.82)
            faces.append(
                [(*p, side * w * z) for p, z in zip(flat, high, strict=True)][:: int(side)]
            )
        parts.append(quads(faces, "rim"))
    return moved(join(parts), matrix=_ACROSS)


def _tyre(r: float, w: float, inner: float) -> Mesh:
    half = [(r * inner, w * 0.94), (r * 0.9, w), (r, w * 0.62)]
    return lathe([*[(a, -b) for a, b in half], *half[::-1]], "tyre", 20)
