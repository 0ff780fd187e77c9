"""What is seen through a room's windows: the other side of a street, its roofs and its trees."""

import numpy as np

from render.world.mesh import Mesh, box, join, moved, quads, tube
from render.world.things.houses.walls import Opening, wall_panel
from render.world.things.leaves import leaves

__all__ = ["OUTSIDE", "street_beyond"]

#: What it is made of.
OUTSIDE = {
    "front a": "brick",
    "front b": "plaster",
    "front c": "#b9a184",
    "front pane": "glass",
    "surround": "limestone",
    "roof a": "red tiles",
    "roof b": "slate",
    "road": "asphalt",
    "kerb": "paving",
    "leaf": "leaves",
    "bark": "bark",
}

#: How far the fronts stand from the windows, how far the street goes beyond the room's ends, and
#: how far its ground lies below the floor, metres.
_AWAY_M, _BEYOND_M, _DOWN_M = 11.5, 32.0, 0.5


def street_beyond(x: float, low: float, high: float, rng: np.random.Generator) -> Mesh:
    """A street on the -x side of a wall at x that runs from y = low to high."""
    low, high = low - 0.5 * _BEYOND_M, high + _BEYOND_M
    far, ground = x - _AWAY_M, -_DOWN_M
    parts = [
        quads([[(far, low, ground), (x - 0.4, low, ground), (x - 0.4, high, ground),
                (far, high, ground)]], "road"),
        box((1.8, high - low, 0.12), "kerb", (far + 0.9, (low + high) / 2, ground)),
    ]  # fmt: skip
    y = low
    while y < high:
        wide = float(rng.uniform(6.0, 10.0))
        parts.append(moved(_front(wide, rng), (far, y, ground)))
        y += wide + (3.0 if rng.random() < 0.2 else 0.0)
    for y in np.arange(low + 4.0, high, 9.0) + rng.uniform(-2, 2):
        if rng.random() < 0.6:
            at = (far + 2.6, float(y) + float(rng.uniform(-1, 1)), ground)
            parts.append(moved(_street_tree(rng), at))
    return join(parts)


def _front(wide: float, rng: np.random.Generator) -> Mesh:
    """A house front in the plane x = 0 from y = 0 on, its roof behind it."""
    floors = int(rng.integers(2, 4)) if rng.random() < 0.4 else 2
    storey = float(rng.uniform(2.6, 3.0))
    eaves = floors * storey + 0.5
    count = max(2, round(wide / 2.3))
    step = wide / count
    openings: list[Opening] = []
    for k in range(floors):
        for n in range(count):
            door = k == 0 and n == count // 2
            u = (n + 0.5) * step
            foot = 0.15 if door else k * storey + 1.0
            openings.append((u - 0.5, u + 0.5, foot, 2.35 if door else foot + 1.5))
    slot = f"front {'abc'[int(rng.integers(3))]}"
    wall = wall_panel((0, 0), (0, wide), 0, eaves, openings, 0.14, slot)
    parts = [wall.painted(pane="front pane")]
    for left, right, foot, top in openings:
        middle = (left + right) / 2
        parts += [
            box((0.14, right - left + 0.3, 0.1), "surround", (0.0, middle, foot - 0.1)),
            box((0.1, right - left + 0.3, 0.16), "surround", (0.0, middle, top)),
            box((0.04, 0.05, top - foot), "surround", (-0.1, middle, foot)),
            box((0.04, right - left, 0.05), "surround", (-0.1, middle, (foot + top) / 2)),
        ]
    deep, rise = 4.5, float(rng.uniform(2.0, 3.2))
    roof = "roof a" if rng.random() < 0.6 else "roof b"
    a, b = (0.35, -0.15, eaves - 0.1), (0.35, wide + 0.15, eaves - 0.1)
    c, d = (-deep, wide + 0.15, eaves + rise), (-deep, -0.15, eaves + rise)
    parts.append(quads([[a, b, c, d]], roof))
    parts.append(box((0.12, wide, 0.14), "surround", (0.36, wide / 2, eaves - 0.16)))
    for y in (0.0, wide):  # gables
        gable = [(0, y, 0), (-deep, y, 0), (-deep, y, eaves + rise), (0, y, eaves)]
        parts.append(quads([gable if y == 0 else gable[::-1]], slot))
    stack = float(rng.uniform(0.2, 0.8)) * wide
    parts.append(box((0.6, 0.9, 1.6), slot, (-deep + 0.6, stack, eaves + rise - 0.8)))
    return join(parts)


def _street_tree(rng: np.random.Generator) -> Mesh:
    tall = float(rng.uniform(4.2, 6.0))
    crown = 0.36 * tall
    ends = rng.normal(size=(9, 3)) * [0.45 * crown, 0.45 * crown, 0.4 * crown] + [0, 0, 0.68 * tall]
    out = rng.normal(size=(420, 3))
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    at = ends[rng.integers(len(ends), size=420)] + out * 0.5 * crown * rng.random((420, 1)) ** 0.4
    parts = [tube((0, 0, 0), (0, 0, 0.62 * tall), 0.12, "bark", 0.07, sides=8)]
    parts += [tube((0, 0, 0.4 * tall), tuple(end), 0.05, "bark", 0.02, sides=5) for end in ends[:5]]
    return join([*parts, leaves(at, out, rng.uniform(0.22, 0.36, 420), "leaf", rng)])
