"""What stands round a pitch: boards, dugouts, corner flags, nets behind goals."""

import itertools
import math
from typing import Any

import numpy as np

from render.world.mesh import Mesh, box, extrude, join, moved, quads, tube
from render.world.things.feet import block, disc
from render.world.things.kind import Values, kind, number

__all__: list[str] = []


def _shape(x: float, wide: float, high: float, rng: np.random.Generator) -> list[Mesh]:
    """A mark on a board: bars in place of letters, a disc, a slanting band."""
    upright = [[1, 0, 0], [0, 0, -1], [0, 1, 0]]
    sort = rng.choice(["bars", "disc", "band"], p=[0.55, 0.2, 0.25])
    flat: list[Any] = []
    if sort == "bars":
        at, h = -wide / 2, high * float(rng.uniform(0.42, 0.6))
        low = (high - h) / 2
        while at < wide / 2 - 0.1:
            n = float(rng.choice([0.05, 0.09, 0.16]))
            tall = h if rng.random() < 0.75 else 0.6 * h
            flat.append([(at, low), (at + n, low), (at + n, low + tall), (at, low + tall)])
            at += n + float(rng.choice([0.05, 0.05, 0.2]))
    elif sort == "disc":
        a = np.arange(24) * math.tau / 24
        r = 0.36 * high
        flat.append(np.stack([r * np.cos(a), high / 2 + r * np.sin(a)], -1))
    else:
        flat.append([(-wide / 2, 0.12 * high), (-wide / 4, 0.12 * high), (wide / 2, 0.88 * high),
                     (wide / 4, 0.88 * high)])  # fmt: skip
    return [
        moved(extrude(shape, 0.0, 0.006, "mark", "mark"), (x, 0.0, 0.0), matrix=upright)
        for shape in flat
    ]


@kind(
    "hoarding",
    "A row of boards with shapes and no words, along x, seen from -y.",
    variants=6,
    feet=lambda v: block(v.length_m, 0.7, v.height_m),
    stuff={"face": "white paint", "mark": "blue paint", "frame": "zinc", "back": "crate wood"},
    length_m=number(5.0, "length", 0.5, 200),
    height_m=number(0.95, "height", 0.2, 5),
)
def _hoarding(v: Values, rng: np.random.Generator) -> Mesh:
    n, h = v.length_m, v.height_m
    parts = [
        box((n, 0.03, h - 0.06), "face", (0, 0, 0.06)),
        box((n, 0.02, h - 0.06), "back", (0, 0.026, 0.06)),
    ]
    parts += [box((n, 0.06, 0.04), "frame", (0, 0.01, z)) for z in (0.05, h - 0.02)]
    for x in np.linspace(-n / 2 + 0.02, n / 2 - 0.02, max(2, round(n / 2.5) + 1)):
        parts += [
            box((0.04, 0.05, h), "frame", (x, 0.02, 0)),
            tube((x, 0.04, h * 0.8), (x, 0.55, 0.0), 0.02, "frame", sides=5),
        ]
    count = max(1, round(n / 3.2))
    for k in range(count):
        wide = 0.72 * n / count * float(rng.uniform(0.6, 1.0))
        marks = _shape((k + 0.5) * n / count - n / 2, wide, h - 0.1, rng)
        parts += [moved(m, (0, -0.017, 0.07)) for m in marks]
    return join(parts)


@kind(
    "seat row",
    "Shell seats in a row along x, who sits there faces -y; some have faded, some been replaced.",
    variants=5,
    stuff={"seat": "#2a5a94", "faded": "#5b7fa6", "new": "#1c4a86", "frame": "zinc"},
    length_m=number(10.0, "length", 0.5, 60),
    pitch_m=number(0.5, "from seat to seat", 0.35, 1.5),
)
def _seat_row(v: Values, rng: np.random.Generator) -> Mesh:
    n, wide = max(1, int(v.length_m / v.pitch_m)), 0.86 * v.pitch_m
    parts = []
    for k in range(n):
        x = (k + 0.5 - n / 2) * v.pitch_m
        slot = str(rng.choice(["seat", "faded", "new"], p=[0.72, 0.2, 0.08]))
        if rng.random() < 0.015:
            continue  # broken off
        pan = [(-0.04, 0.40), (0.20, 0.375), (0.27, 0.42), (0.31, 0.74)]
        faces = [
            [(x - wide / 2, y, z), (x + wide / 2, y, z), (x + wide / 2, q, w), (x - wide / 2, q, w)]
            for (y, z), (q, w) in itertools.pairwise(pan)
        ]
        parts.append(quads([*faces, *(face[::-1] for face in faces)], slot))
        if k % 2 == 0:
            parts.append(box((0.05, 0.05, 0.37), "frame", (x, 0.12, 0)))
    parts.append(box((n * v.pitch_m, 0.04, 0.04), "frame", (0, 0.12, 0.33)))
    return join(parts)


@kind(
    "dugout",
    "A covered bench for a team and its coach, open towards -y.",
    feet=lambda v: block(v.length_m + 0.2, 1.9, 2.1, (0.0, 0.2)),
    stuff={"shell": "glass", "frame": "blue paint", "seat": "blue paint", "floor": "concrete"},
    length_m=number(7.0, "length", 1.5, 20),
)
def _dugout(v: Values, rng: np.random.Generator) -> Mesh:
    n = v.length_m
    arc = np.linspace(0, math.pi / 2, 7)
    line = np.stack(
        [1.0 - 1.5 * np.sin(arc) ** 1.2, 2.05 - 0.0 * arc - 2.05 * (1 - np.sin(arc)) ** 1.6], -1
    )
    parts = [box((n, 1.7, 0.08), "floor", (0, 0.2, 0))]
    for a, b in itertools.pairwise(line):
        face = [(-n / 2, *a), (n / 2, *a), (n / 2, *b), (-n / 2, *b)]
        parts += [quads([face], "shell"), quads([face[::-1]], "shell")]
        parts += [
            tube((x, *a), (x, *b), 0.03, "frame", sides=5) for x in np.linspace(-n / 2, n / 2, 5)
        ]
    for y, z in (line[0], line[-1], line[3]):
        parts.append(tube((-n / 2, y, z), (n / 2, y, z), 0.025, "frame", sides=5))
    for s in (1, -1):
        side = [(s * n / 2, *p) for p in line]
        fan = [[(s * n / 2, 0.95, 0.1), p, q, q] for p, q in itertools.pairwise(side)]
        parts += [quads(fan, "shell"), quads([f[::-1] for f in fan], "shell")]
    for x in np.arange(-n / 2 + 0.4, n / 2 - 0.2, 0.55):
        parts += [
            box((0.46, 0.42, 0.1), "seat", (x, 0.45, 0.42)),
            box((0.46, 0.07, 0.5), "seat", (x, 0.68, 0.5)),
            box((0.3, 0.3, 0.34), "frame", (x, 0.45, 0.08)),
        ]
    return join(parts)


@kind(
    "corner flag",
    "A pole with a small flag, as at the corners of a pitch.",
    feet=lambda v: disc(0.46, 1.6),
    stuff={"pole": "yellow paint", "cloth": "#d8342c"},
)
def _corner_flag(v: Values, rng: np.random.Generator) -> Mesh:
    u = np.linspace(0, 0.42, 7)
    y = 0.04 * np.sin(13 * u) * u / 0.42
    top, low = (
        np.column_stack([u, y, np.full(7, 1.55) - 0.08 * u]),
        np.column_stack([u, y, np.full(7, 1.25) - 0.10 * u]),
    )
    faces = np.stack([low[:-1], low[1:], top[1:], top[:-1]], 1)
    return join(
        [
            tube((0, 0, 0), (0, 0, 1.58), 0.018, "pole", sides=6),
            quads(faces, "cloth"),
            quads(faces[:, ::-1], "cloth"),
        ]
    )


@kind(
    "goal",
    "A goal with its net, open towards -y.",
    feet=lambda v: block(v.width_m + 0.2, 2.2, 2.5, (0.0, 1.0)),
    stuff={"post": "white paint", "net": "white paint"},
    width_m=number(7.32, "distance between its posts", 1, 10),
    height_m=number(2.44, "height of its bar", 0.5, 4),
)
def _goal(v: Values, rng: np.random.Generator) -> Mesh:
    w, h, d = v.width_m / 2, v.height_m, 2.0
    parts = [tube((s * w, 0, 0), (s * w, 0, h), 0.06, "post", sides=10) for s in (1, -1)]
    parts.append(tube((-w, 0, h), (w, 0, h), 0.06, "post", sides=10))
    back = [(0.0, h), (0.9, h - 0.05), (1.8, 0.3), (d, 0.0)]
    for x in np.linspace(-w, w, round(2 * w / 0.24) + 1):
        parts += [
            tube((x, *a), (x, *b), 0.005, "net", sides=3) for a, b in itertools.pairwise(back)
        ]
    run = np.concatenate([[0], np.cumsum([math.dist(a, b) for a, b in itertools.pairwise(back)])])
    for s in np.arange(0.0, run[-1], 0.24):
        y, z = (float(np.interp(s, run, [p[k] for p in back])) for k in (0, 1))
        parts.append(tube((-w, y, z), (w, y, z), 0.005, "net", sides=3))
        parts += [tube((t * w, y, z), (t * w, y, 0), 0.005, "net", sides=3) for t in (1, -1)]
    return join(parts)
