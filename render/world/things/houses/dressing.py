"""What hangs in windows and is screwed to walls: no word on any of it."""

import itertools
import math
from collections.abc import Sequence

import numpy as np

from render.world.mesh import Mesh, box, join, lathe, moved, quads, tube, turned
from render.world.things.houses.walls import Opening, rect
from render.world.things.leaves import leaves

__all__ = ["cables", "curtains", "fixtures", "rain_pipe", "tinted", "wall_foot"]


def curtains(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """What hangs behind a pane: curtains at its sides, a net, a blind, or nothing."""
    what, y = rng.random(), 0.15
    slot = "curtain" if rng.random() < 0.6 else "drape"
    faces = []
    if what < 0.40:
        left, right = rng.uniform(0.14, 0.34, 2) * w
        faces = [
            [(0, y, 0), (0.7 * left, y, 0), (left, y, h), (0, y, h)],
            [(w - 0.7 * right, y, 0), (w, y, 0), (w, y, h), (w - right, y, h)],
        ]
    elif what < 0.60:
        faces, slot = [rect(0, w, 0, h * rng.uniform(0.4, 0.62), y)], "curtain"
    elif what < 0.78:  # a blind of slats
        low = h * rng.uniform(0.2, 0.8)
        count = max(1, int((h - low) / 0.07))
        edges = np.linspace(low, h, count + 1)
        faces = [rect(0, w, z0 + 0.012, z1, y) for z0, z1 in itertools.pairwise(edges.tolist())]
    hung = [quads(faces, slot)] if faces else []
    return join([*hung, *_on_the_sill(w, h, rng.spawn(1)[0])])


def _on_the_sill(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """What stands behind a pane: pots with plants, a lamp, or nothing."""
    what, y = rng.random(), 0.146
    if what > 0.5 or w < 0.6:
        return []
    x = float(rng.uniform(0.2, 0.75)) * w
    if what < 0.12:
        stem = rect(x - 0.012, x + 0.012, 0.02, 0.24, y)
        shade = [(x - 0.11, y, 0.24), (x + 0.11, y, 0.24), (x + 0.06, y, 0.42), (x - 0.06, y, 0.42)]
        return [quads([stem], "drape"), quads([shade], "curtain")]
    pots, leaves = [], []
    for k in range(int(rng.integers(1, 4))):
        at = 0.1 + (x + 0.27 * k) % (w - 0.25)
        r, tall = float(rng.uniform(0.055, 0.085)), float(rng.uniform(0.12, 0.34)) * min(h, 1.0)
        pots.append([(at - 0.7 * r, y, 0.0), (at + 0.7 * r, y, 0.0), (at + r, y, 0.12),
                     (at - r, y, 0.12)])  # fmt: skip
        for lean in rng.uniform(-1.2, 1.2, 5).tolist():
            tip, z = at + lean * 0.6 * tall, y - 0.002
            leaves.append([(at - 0.02, z, 0.12), (at + 0.02, z, 0.12),
                           (tip + 0.035, z, 0.12 + 0.7 * tall),
                           (tip, z, 0.12 + tall)])  # fmt: skip
    return [tinted(pots, rng), quads(leaves, "plant")]


def tinted(
    faces: Sequence[Sequence[Sequence[float]]], rng: np.random.Generator, slot: str = "ware"
) -> Mesh:
    """Faces of one colour, another each time."""
    tag = np.broadcast_to(rng.uniform(1.0, 40.0, 2), (len(faces), 4, 2))
    return quads(faces, slot, tag)


def rain_pipe(u: float, h: float) -> Mesh:
    """Rain from the roof, on its way down: a hopper, clips, a shoe that turns off the wall."""
    parts = [
        tube((u, -0.07, 0.22), (u, -0.07, h), 0.05, "pipe", sides=6),
        tube((u, -0.07, 0.24), (u, -0.13, 0.12), 0.05, "pipe", sides=6),
        box((0.2, 0.13, 0.2), "pipe", (u, -0.07, h - 0.5)),
    ]
    parts += [
        box((0.15, 0.09, 0.035), "pipe", (u, -0.045, z)) for z in np.arange(0.9, h - 0.7, 1.9)
    ]
    return join(parts)


def fixtures(
    width: float, h: float, openings: Sequence[Opening], shop: bool, rng: np.random.Generator
) -> Mesh:
    """What is fixed to a wall beside its openings: vents, cables, boxes, a lamp, an anchor plate.

    Slots: pipe, door, trim, base, bill, print.
    """
    parts: list[Mesh] = []

    def free(u: float, v: float, half: float) -> bool:
        return 0.4 < u < width - 0.4 and not any(
            o[0] - 0.2 - half < u < o[1] + 0.2 + half
            and o[2] - 0.25 - half < v < o[3] + 0.25 + half
            for o in openings
        )

    def put(low: float, high: float, half: float) -> tuple[float, float] | None:
        for _ in range(12 if high > low and width > 0.8 else 0):
            u, v = float(rng.uniform(0.4, width - 0.4)), float(rng.uniform(low, high))
            if free(u, v, half):
                return u, v
        return None

    for _ in range(int(rng.integers(1, 4))):
        at = put(3.2 if shop else 0.5, h - 0.4, 0.12)
        if at:
            parts.append(_vent(*at))
    low = 3.3 if shop else 0.35
    if rng.random() < 0.5 and not shop:
        at = put(0.5, min(1.2, h - 0.7), 0.3)
        if at:  # a meter's box, its pipe going into the ground
            parts.append(box((0.42, 0.14, 0.55), "base", (at[0], -0.05, at[1])))
            parts.append(box((0.34, 0.02, 0.46), "trim", (at[0], -0.125, at[1] + 0.045)))
            parts.append(tube((at[0], -0.04, 0.0), (at[0], -0.04, at[1]), 0.025, "pipe", sides=6))
    if rng.random() < 0.6 and h > low + 0.6:
        parts += _cable(width, h, low, openings, rng)
    drawn = rng.spawn(1)[0]
    for _ in range(int(drawn.integers(0, 4))):  # a bill on the wall
        at = put(1.0, min(1.4, h - 1.6), 0.72)
        if at and not shop:
            parts.append(_bill(at[0] - 0.3, at[1] - 0.3, drawn))
    if h > 5.0 and drawn.random() < 0.14:
        at = put(max(3.6, 0.5 * h), h - 0.6, 0.4)
        if at:
            parts.append(_dish(*at))
    if rng.random() < 0.45:
        at = put(max(2.6, low), min(max(3.6, low + 0.4), h - 0.5), 0.25)
        if at:  # a lamp on an arm
            u, v = at
            parts.append(tube((u, 0.0, v), (u, -0.34, v + 0.12), 0.014, "pipe", sides=5))
            parts.append(box((0.16, 0.16, 0.05), "pipe", (u, -0.36, v + 0.07)))
            parts.append(box((0.12, 0.12, 0.14), "trim", (u, -0.36, v - 0.07)))
    return join(parts)


def _bill(u: float, v: float, rng: np.random.Generator) -> Mesh:
    """A sheet pasted to a wall, not quite straight: a picture, and bars for what is printed."""
    w, h = (0.42, 0.6) if rng.random() < 0.6 else (0.6, 0.84)
    lean = float(rng.normal(0, 0.012))

    def on(u0: float, u1: float, v0: float, v1: float, y: float) -> list[tuple[float, ...]]:
        corners = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
        return [(u + w * a - lean * h * b, y, v + h * b + lean * w * a) for a, b in corners]

    bars = [on(0.1, float(rng.uniform(0.5, 0.9)), z, z + 0.035, -0.006) for z in (0.06, 0.13, 0.2)]
    return join(
        [
            quads([on(0.0, 1.0, 0.0, 1.0, -0.003)], "bill"),
            tinted([on(0.08, 0.92, 0.3, 0.8, -0.006)], rng, "print"),
            tinted([on(0.3, 0.7, 0.42, 0.66, -0.009)], rng, "print"),
            quads([*bars, on(0.12, 0.8, 0.86, 0.94, -0.006)], "pipe"),
        ]
    )


def _dish(u: float, v: float) -> Mesh:
    """A dish for broadcasts on its arm, turned up and aside."""
    rim = [(0.0, 0.0), (0.16, 0.02), (0.30, 0.085), (0.30, 0.10), (0.16, 0.035), (0.0, 0.015)]
    bowl = lathe(rim, "trim", 16)
    aim = turned((0, 0, 1), 0.6) @ turned((1, 0, 0), math.radians(62))
    arm = tube((0, 0.02, 0.02), (0.0, -0.22, 0.30), 0.010, "pipe", sides=4)
    dish = moved(join([bowl, arm]), matrix=aim[:3, :3].tolist())
    return join(
        [
            moved(dish, (u, -0.36, v)),
            tube((u, 0.0, v - 0.1), (u, -0.32, v - 0.1), 0.02, "pipe", sides=5),
            tube((u, -0.32, v - 0.1), (u, -0.34, v), 0.02, "pipe", sides=5),
        ]
    )


def _vent(u: float, v: float) -> Mesh:
    """A grille in its frame, or the hood of a flue."""
    slats = [box((0.2, 0.03, 0.012), "trim", (u, -0.005, v + 0.02 + 0.035 * k)) for k in range(5)]
    return join([box((0.26, 0.02, 0.21), "pipe", (u, 0.0, v)), *slats])


def _cable(
    width: float, h: float, low: float, openings: Sequence[Opening], rng: np.random.Generator
) -> list[Mesh]:
    """A cable from the eaves down a free strip of wall, clipped, to a box, and one along it."""
    edges = sorted([0.25, width - 0.25, *(o[i] for o in openings for i in (0, 1))])
    gaps = [(a, b) for a, b in itertools.pairwise(edges) if b - a > 0.5]
    gaps = [g for g in gaps if not any(o[0] < sum(g) / 2 < o[1] for o in openings)]
    if not gaps:
        return []
    a, b = gaps[int(rng.integers(len(gaps)))]
    u = float(rng.uniform(a + 0.2, b - 0.2))
    end = float(rng.uniform(low, max(0.6 * h, low + 0.1)))
    n = max(2, math.ceil((h - end) / 1.1))
    z = np.linspace(h - 0.1, end, n + 1)
    x = u + rng.normal(0, 0.012, n + 1)
    parts = [
        tube((x[i], -0.015, z[i]), (x[i + 1], -0.015, z[i + 1]), 0.011, "door", sides=4)
        for i in range(n)
    ]
    parts.append(box((0.13, 0.07, 0.17), "trim", (float(x[-1]), -0.02, end - 0.15)))
    return parts


def cables(width: float, z: float, rng: np.random.Generator) -> Mesh:
    """One to three cables along a front, clipped, sagging a little, and the box they end in."""
    parts: list[Mesh] = []
    ends = np.linspace(0.22, width - 0.3, max(3, round(width / 0.9)))
    for k in range(int(rng.integers(1, 4))):
        at = z + 0.045 * k + rng.normal(0, 0.012, len(ends))
        for (u0, u1), (z0, z1) in zip(
            itertools.pairwise(ends), itertools.pairwise(at), strict=True
        ):
            um, zm = (u0 + u1) / 2, (z0 + z1) / 2 - 0.012
            parts.append(tube((u0, -0.035, z0), (um, -0.035, zm), 0.010, "iron", sides=4))
            parts.append(tube((um, -0.035, zm), (u1, -0.035, z1), 0.010, "iron", sides=4))
    u = float(ends[int(rng.integers(len(ends)))])
    parts.append(box((0.2, 0.1, 0.24), "pipe", (u, -0.05, z - 0.05)))
    parts += [box((0.03, 0.05, 0.14), "pipe", (float(u), -0.025, z - 0.02)) for u in ends[1:-1]]
    return join(parts)


def wall_foot(
    width: float, doors: Sequence[Opening], level: bool, rng: np.random.Generator
) -> Mesh:
    """What is at the foot of a wall: vents of a cellar, weeds; a bell and a number by its doors."""
    parts: list[Mesh] = []

    def free(u: float) -> bool:
        return 0.5 < u < width - 0.5 and not any(o[0] - 0.5 < u < o[1] + 0.5 for o in doors)

    for u in rng.uniform(0.4, max(width - 0.4, 0.41), int(rng.integers(1, 4))).tolist():
        if free(u):
            grille = box((0.30, 0.02, 0.14), "iron", (u, -0.062, 0.21))
            bars = [box((0.012, 0.02, 0.12), "pipe", (u + s, -0.072, 0.22))
                    for s in np.linspace(-0.11, 0.11, 5)]  # fmt: skip
            parts += [grille, *bars]
    for u in rng.uniform(0.2, max(width - 0.2, 0.21), round(0.7 * width)).tolist():
        if not (level and free(u)):
            continue
        n = int(rng.integers(4, 12))
        at = np.stack([u + rng.normal(0, 0.07, n), -0.08 - rng.uniform(0, 0.05, n),
                       rng.uniform(0.08, 0.26, n)], -1)  # fmt: skip
        normal = rng.normal(size=(n, 3)) + [0.0, -1.0, 0.5]
        parts.append(leaves(at, normal, rng.uniform(0.03, 0.07, n), "weed", rng, 2.2))
    for o in doors:
        if o[1] + 0.24 < width:
            parts.append(box((0.07, 0.03, 0.20), "pipe", (o[1] + 0.11, -0.005, 1.32)))
            parts.append(box((0.11, 0.02, 0.10), "trim", (o[1] + 0.11, -0.005, 1.75)))
    return join(parts)
