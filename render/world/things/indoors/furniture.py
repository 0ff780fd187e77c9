"""What makes a room lived in: chairs, coats on hooks, notices, what has fallen on the floor."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, box, join, moved, quads, tube
from render.world.things.feet import block
from render.world.things.indoors.goods import curl, offcuts, slip
from render.world.things.kind import Values, kind, number, vector
from render.world.things.solids import timber
from render.world.things.worn.cloth import cloth

__all__: list[str] = []

Floats = NDArray[np.float64]


@kind(
    "chair",
    "A wooden chair, looking towards -y.",
    feet=lambda _: block(0.46, 0.50, 0.9),
    variants=4,
    stuff={"wood": "brown wood", "seat": "timber", "coat": "dark cloth"},
    coats=number(0.0, "share of chairs with a coat over the back", 0, 1),
)
def _chair(v: Values, rng: np.random.Generator) -> Mesh:
    parts = [timber((0.42, 0.40, 0.024), "seat", (0, 0, 0.44), rng)]
    for s in (1, -1):
        parts.append(timber((0.036, 0.036, 0.44), "wood", (0.18 * s, -0.17, 0), rng))
        parts.append(timber((0.036, 0.036, 0.46), "wood", (0.18 * s, 0.18, 0), rng))
        parts.append(tube((0.18 * s, 0.18, 0.44), (0.18 * s, 0.25, 0.90), 0.018, "wood", 0.015,
                          sides=8))  # fmt: skip
        parts.append(timber((0.02, 0.32, 0.03), "wood", (0.18 * s, 0, 0.20), rng))
        parts.append(timber((0.34, 0.02, 0.05), "wood", (0, 0.175 * s, 0.385), rng))
    parts.append(timber((0.34, 0.02, 0.03), "wood", (0, 0.0, 0.205), rng))
    for k in range(3):
        z = 0.56 + 0.125 * k
        parts.append(timber((0.34, 0.014, 0.055), "wood", (0, 0.186 + 0.0185 * 8.2 * (z - 0.44), z),
                            rng))  # fmt: skip
    if rng.random() < v.coats:
        parts.append(_thrown_over(rng))
    return join(parts)


def _thrown_over(rng: np.random.Generator) -> Mesh:
    """A coat that hangs over the back of a chair, longer behind."""
    s, t = np.meshgrid(np.linspace(-1, 1, 33), np.linspace(0, 1, 25), indexing="ij")
    turn = rng.uniform(0, 6, 4)
    run = 0.95 * t - 0.30  # metres over the rail, before it and behind it
    over = np.abs(run)
    wide = 0.205 + 0.05 * over + 0.012 * np.sin(9 * t + turn[0])
    deep = np.clip(run / 0.035, -1, 1) * 0.036
    fold = 0.016 * np.minimum(over / 0.2, 1) * np.sin(9 * s + turn[1] + 2 * np.sign(run))
    z = 0.925 - np.sqrt(over**2 + 0.02**2) + 0.015 * np.sin(5 * s + turn[2])
    y = 0.25 - 0.13 * np.maximum(0.9 - z, 0) * (run < 0) + deep + fold
    return cloth(np.stack([wide * s, y, z], -1), np.stack([s * 0.2, t * 0.9], -1), "coat")


@kind(
    "coat hooks",
    "A board of hooks on a wall with coats and bags on some; it faces -y.",
    variants=4,
    stuff={
        "board": "brown wood",
        "hook": "#2f3336",
        "coat": "dark cloth",
        "other": "room curtain",
        "bag": "canvas",
    },
    length_m=number(1.6, "length", 0.3, 10),
)
def _coat_hooks(v: Values, rng: np.random.Generator) -> Mesh:
    x = v.length_m
    parts = [timber((x, 0.022, 0.11), "board", (0, -0.011, 0), rng)]
    count = max(2, round(x / 0.2))
    free = 0
    for k in range(count):
        at = ((k + 0.5) / count - 0.5) * x
        parts.append(tube((at, -0.02, 0.045), (at, -0.085, 0.03), 0.006, "hook", sides=6))
        parts.append(tube((at, -0.085, 0.03), (at, -0.095, 0.06), 0.006, "hook", sides=6))
        if free > 0 or rng.random() < 0.42:
            free -= 1
            continue
        slot = str(rng.choice(["coat", "other", "coat", "bag"]))
        tall = float(rng.uniform(0.75, 1.05)) if slot != "bag" else 0.46
        parts.append(moved(_hung(slot, tall, rng), (at, -0.075, 0.035)))
        free = 1
    return join(parts)


def _hung(slot: str, tall: float, rng: np.random.Generator) -> Mesh:
    """Cloth that hangs from one point: narrow there, folds that open downwards; closed round."""
    a, t = np.meshgrid(np.linspace(0, 2 * np.pi, 49), np.linspace(0, 1, 21), indexing="ij")
    turn = rng.uniform(0, 6, 4)
    wide = 0.03 + 0.17 * np.minimum(t / 0.28, 1) ** 0.7 + 0.02 * t
    deep = 0.025 + 0.035 * np.minimum(t / 0.4, 1)
    fold = 1 + 0.16 * t * np.sin(7 * a + turn[0] + t) + 0.08 * t * np.sin(13 * a + turn[1])
    lean = 0.02 * np.sin(3 * t + turn[2])
    x, y = wide * fold * np.cos(a) + lean, np.minimum(-deep * fold * np.sin(a), 0.066)
    z = -tall * t * (1 + 0.03 * np.cos(a + turn[3]))
    return cloth(np.stack([x, y, z], -1), np.stack([a * 0.06, z], -1), slot)


@kind(
    "notice board",
    "A board with pinned notices, on which bars stand for words; it faces -y.",
    variants=4,
    stuff={
        "frame": "timber",
        "board": "cork",
        "label": "paper",
        "card": "bill",
        "print": "print",
        "dark": "#1c1d1f",
        "pin": "#b23530",
        "shaving": "pale wood",
    },
    size_m=vector((1.2, 0.8), "width and height", 0.2),
)
def _notice_board(v: Values, rng: np.random.Generator) -> Mesh:
    x, z = v.size_m
    parts = [
        box((x, 0.012, z), "board", (0, -0.006, 0)),
        *(timber((x, 0.026, 0.03), "frame", (0, -0.013, s), rng) for s in (0.0, z - 0.03)),
        *(
            timber((0.03, 0.026, z), "frame", (s * (x / 2 - 0.015), -0.013, 0), rng)
            for s in (1, -1)
        ),
    ]
    layer = 0
    row = z - 0.06
    while row > 0.2:
        at, deep = -x / 2 + 0.06, 0.0
        while at < x / 2 - 0.12:
            w, h = ((0.21, 0.297), (0.148, 0.21), (0.297, 0.21), (0.105, 0.148), (0.09, 0.09))[
                int(rng.choice(5, p=[0.35, 0.25, 0.12, 0.16, 0.12]))
            ]
            if at + w < x / 2 - 0.04 and h < row - 0.03 and rng.random() < 0.88:
                slot = str(rng.choice(["label", "label", "card", "print"]))
                paper = slip(w, h, 0.0, 0.0, 0.0, slot)
                colour = np.where(paper.slot == paper.slots.index(slot), rng.uniform(1, 90), 0.0)
                paper = replace(paper, uv=paper.uv + colour[:, None, None])
                layer += 1
                lean = math.radians(float(rng.normal(0, 1.6)))
                c, s = math.cos(lean), math.sin(lean)
                place = (
                    at + w / 2,
                    -0.0135 - 0.0004 * (layer % 5),
                    row - float(rng.uniform(0, 0.03)),
                )
                parts.append(
                    moved(paper, place, matrix=np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]]))
                )
                parts.append(
                    box((0.011, 0.012, 0.011), "pin", (place[0], -0.021, place[2] - 0.016))
                )
            deep = max(deep, h)
            at += w + float(rng.uniform(-0.01, 0.05))
        row -= max(deep, 0.1) + float(rng.uniform(0.005, 0.03))
    return join(parts)


@kind(
    "floor scraps",
    "What falls on a workshop's floor: shavings, offcuts, a heap of dust, a rag.",
    variants=4,
    stuff={"shaving": "pale wood", "box": "crate wood", "dust": "sawdust", "rag": "room curtain"},
    size_m=vector((1.6, 1.0), "width and depth", 0.2),
)
def _floor_scraps(v: Values, rng: np.random.Generator) -> Mesh:
    x, y = v.size_m
    parts = [_heap(0.17 * min(x, y), rng)]
    for _ in range(int(9 * x * y) + 5):
        at = rng.normal(0, 0.24, 2) * [x, y]
        parts.append(moved(curl(rng), (*at, 0.0), float(rng.uniform(0, 360))))
    for _ in range(int(5 * x * y) + 2):
        at = rng.uniform(-0.5, 0.5, 2) * [x, y]
        parts.append(moved(offcuts(rng, 1), (*at, 0.0), float(rng.uniform(0, 360))))
    rag = _rag(0.17, rng)
    parts.append(moved(rag, (*(rng.uniform(-0.4, 0.4, 2) * [x, y]), 0.0)))
    return join(parts)


def _heap(r: float, rng: np.random.Generator) -> Mesh:
    """Dust swept together: a low, uneven heap that runs out in flecks."""
    a, t = np.meshgrid(np.linspace(0, 2 * np.pi, 41), np.linspace(0.02, 1, 9), indexing="ij")
    turn = rng.uniform(0, 6, 3)
    edge = r * (1 + 0.25 * np.sin(2 * a + turn[0]) + 0.14 * np.sin(5 * a + turn[1])
                + 0.08 * np.sin(11 * a + turn[2]))  # fmt: skip
    x, y = edge * t * np.cos(a), edge * t * np.sin(a)
    z = (
        0.12 * r * (1 - t**2) * (1 + 0.3 * np.sin(14 * x / r + turn[0]) * np.sin(11 * y / r))
        + 0.001
    )
    grid = np.stack([x, y, z], -1)[:, ::-1]
    heap = cloth(grid, grid[..., :2].copy(), "dust")
    bits = []
    for _ in range(16):
        away, turned = r * float(rng.uniform(0.9, 1.7)), float(rng.uniform(0, math.tau))
        s = float(rng.uniform(0.004, 0.012))
        at = (away * math.cos(turned), away * math.sin(turned), 0.002)
        flat = [
            [(-s, -0.5 * s, 0), (s, -0.6 * s, 0), (0.8 * s, 0.7 * s, 0), (-0.7 * s, 0.5 * s, 0)]
        ]
        bits.append(moved(quads(flat, "shaving"), at, float(rng.uniform(0, 360))))
    return join([heap, *bits])


def _rag(half: float, rng: np.random.Generator) -> Mesh:
    """A crumpled cloth."""
    s, t = np.meshgrid(np.linspace(-1, 1, 27), np.linspace(-1, 1, 27), indexing="ij")
    turn = rng.uniform(0, 6, 6)
    x = half * (s * 0.8 + 0.16 * np.sin(3 * t + turn[0]) + 0.08 * np.sin(6 * s + turn[1]))
    y = half * (t * 0.7 + 0.18 * np.sin(3 * s + turn[2]) + 0.07 * np.sin(7 * t + turn[3]))
    lift = np.sin(5 * s + 2 * t + turn[4]) * np.sin(4 * t - 2 * s + turn[5])
    z = 0.004 + half * 0.16 * (0.3 + lift**2) * np.exp(-0.5 * (s**2 + t**2))
    return cloth(np.stack([x, y, z], -1), np.stack([s, t], -1) * half, "rag")
