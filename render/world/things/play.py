"""Playgrounds, parks and fairs: swings, slides, a climbing frame, a big wheel, booths, lights."""

import itertools
import math

import numpy as np

from render.world.mesh import Mesh, box, cylinder, ellipsoid, join, lathe, moved, quads, tube
from render.world.things.feet import block, disc
from render.world.things.kind import Values, kind, number, outline, yes

__all__: list[str] = []


@kind(
    "swing",
    "A swing with seats.",
    feet=lambda v: block(1.5 * v.seats + 1.1, 2.4, 2.4),
    stuff={"frame": "blue paint", "seat": "black plastic", "chain": "steel"},
    seats=number(2, "number of seats", 1, 6),
)
def _swing(v: Values, rng: np.random.Generator) -> Mesh:
    w, h = 1.5 * v.seats + 0.6, 2.4
    parts = [tube((-w / 2, 0, h), (w / 2, 0, h), 0.06, "frame")]
    for s in (1, -1):
        parts += [
            tube((s * w / 2, 0, h), (s * (w / 2 + 0.25), t * 1.1, 0), 0.05, "frame")
            for t in (1, -1)
        ]
    for k in range(int(v.seats)):
        x, a = -w / 2 + 0.3 + 1.5 * (k + 0.5), float(rng.uniform(-0.35, 0.35))
        y, z = 1.85 * math.sin(a), h - 1.85 * math.cos(a)
        parts += [
            tube((x + s * 0.22, 0, h), (x + s * 0.22, y, z), 0.012, "chain", sides=4)
            for s in (1, -1)
        ]
        parts.append(box((0.48, 0.2, 0.04), "seat", (x, y, z)))
    return join(parts)


@kind(
    "slide",
    "A slide with its ladder.",
    feet=lambda v: block(0.7, 4.8, 2.0, (0, -1.15)),
    stuff={"chute": "yellow paint", "frame": "red paint", "step": "steel"},
)
def _slide(v: Values, rng: np.random.Generator) -> Mesh:
    line = [(0.4, 2.0), (-0.3, 1.98), (-1.0, 1.5), (-2.2, 0.65), (-2.9, 0.32), (-3.5, 0.28)]
    parts = []
    for (y0, z0), (y1, z1) in itertools.pairwise(line):
        parts.append(
            quads([[(-0.25, y1, z1), (0.25, y1, z1), (0.25, y0, z0), (-0.25, y0, z0)]], "chute")
        )
        parts += [
            quads(
                [
                    [
                        (s * 0.26, y1, z1),
                        (s * 0.26, y0, z0),
                        (s * 0.28, y0, z0 + 0.18),
                        (s * 0.28, y1, z1 + 0.18),
                    ]
                ],
                "chute",
            )
            for s in (1, -1)
        ]
    parts += [tube((s * 0.3, 1.2, 0), (s * 0.3, 0.4, 2.0), 0.035, "frame") for s in (1, -1)]
    parts += [tube((s * 0.3, -0.2, 0), (s * 0.3, 0.0, 2.9), 0.035, "frame") for s in (1, -1)]
    parts += [
        tube((-0.3, 1.2 - 0.8 * q, 2 * q), (0.3, 1.2 - 0.8 * q, 2 * q), 0.02, "step")
        for q in np.arange(0.12, 1, 0.14)
    ]
    return join(parts)


@kind(
    "climbing frame",
    "A dome of bars.",
    feet=lambda v: disc(v.radius_m + 0.05),
    stuff={"bar": "red paint"},
    radius_m=number(1.9, "radius", 0.5, 10),
)
def _dome(v: Values, rng: np.random.Generator) -> Mesh:
    r, rings = v.radius_m, []
    for k in range(4):
        t = math.radians(6 + 24 * k)
        a = np.linspace(0, 2 * math.pi, 11)[:-1] + (k % 2) * math.pi / 10
        rings.append(
            np.stack(
                [
                    r * math.cos(t) * np.cos(a),
                    r * math.cos(t) * np.sin(a),
                    np.full(10, r * math.sin(t)),
                ],
                -1,
            )
        )
    parts = []
    for k, ring in enumerate(rings):
        parts += [tube(ring[i], ring[(i + 1) % 10], 0.024, "bar", sides=6) for i in range(10)]
        if k:
            low, shift = rings[k - 1], 1 if k % 2 else 0
            parts += [
                tube(low[i], ring[j % 10], 0.024, "bar", sides=6)
                for i in range(10)
                for j in (i - 1 + shift, i + shift)
            ]
    parts += [tube((*p[:2], 0), p, 0.03, "bar", sides=6) for p in rings[0]]
    return join(parts)


@kind(
    "seesaw",
    "A seesaw.",
    feet=lambda v: block(0.5, 3.4),
    stuff={"beam": "planks", "frame": "blue paint"},
)
def _seesaw(v: Values, rng: np.random.Generator) -> Mesh:
    a = math.radians(9)
    y, z = 1.7 * math.cos(a), 1.7 * math.sin(a)
    c, d = math.cos(a), math.sin(a)
    lean = np.array([[1, 0, 0], [0, c, -d], [0, d, c]])
    beam = moved(box((0.26, 3.4, 0.07), "beam"), (0, 0, 0.5), matrix=lean)
    bars = [
        tube(
            (-0.2, s * (y - 0.35), 0.6 + s * z * 0.8),
            (0.2, s * (y - 0.35), 0.6 + s * z * 0.8),
            0.02,
            "frame",
        )
        for s in (1, -1)
    ]
    return join([beam, *bars, lathe([(0.28, 0), (0.08, 0.5), (0, 0.5)], "frame", 12)])


@kind(
    "big wheel",
    "A fairground wheel with cabins and bulbs; it faces -y.",
    feet=lambda v: block(1.3 * v.radius_m, 6.0),
    stuff={"frame": "white paint", "cabin": "red paint", "roof": "awning", "bulb": "bulb"},
    radius_m=number(11.0, "radius", 2, 70),
    cabins=number(16, "number of cabins", 4, 60),
    turn_deg_now=number(7.0, "how far the wheel has turned", 0, 360),
)
def _wheel(v: Values, rng: np.random.Generator) -> Mesh:
    r, n = v.radius_m, int(v.cabins)
    hub = r + 2.6
    parts = [
        moved(
            cylinder(0.6, 2.4, "frame", sides=16),
            (0, 1.2, hub),
            matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]],
        )
    ]
    for y in (-1.1, 1.1):
        parts += [
            tube((s * r * 0.55, y * 2.1, 0), (0, y * 1.2, hub), 0.22, "frame", 0.16)
            for s in (1, -1)
        ]
    a0 = math.radians(v.turn_deg_now)
    for k in range(n):
        a, b = a0 + 2 * math.pi * k / n, a0 + 2 * math.pi * (k + 1) / n
        for y in (-0.8, 0.8):
            p, q = (np.array([r * math.cos(t), y, hub + r * math.sin(t)]) for t in (a, b))
            parts += [
                tube((0, y, hub), p, 0.05, "frame", sides=5),
                tube(p, q, 0.07, "frame", sides=5),
            ]
            inner = [
                np.array([0.72 * r * math.cos(t), y, hub + 0.72 * r * math.sin(t)]) for t in (a, b)
            ]
            parts.append(tube(inner[0], inner[1], 0.04, "frame", sides=5))
            parts += [
                ellipsoid((0.09, 0.09, 0.09), "bulb", (p + (q - p) * s).tolist(), 6, 4)
                for s in (0.25, 0.75)
            ]
            parts += [
                ellipsoid(
                    (0.08, 0.08, 0.08), "bulb", ((p - [0, 0, hub]) * s + [0, 0, hub]).tolist(), 6, 4
                )
                for s in (0.45, 0.6, 0.85)
            ]
        p = np.array([r * math.cos(a), 0, hub + r * math.sin(a)])
        parts.append(tube(p + [0, -0.8, 0], p + [0, 0.8, 0], 0.06, "frame", sides=5))
        parts += [
            box((1.3, 1.2, 0.75), "cabin", (p + [0, 0, -2.0]).tolist()),
            cylinder(1.0, 0.45, "roof", (p + [0, 0, -0.7]).tolist(), 0.05, 10),
            tube(p, p + [0, 0, -0.7], 0.04, "frame"),
            *[
                tube(p + [s, 0.5, -1.3], p + [s, 0.5, -0.6], 0.03, "frame", sides=4)
                for s in (0.55, -0.55)
            ],
        ]
    parts.append(box((r * 1.3, 6, 0.5), "frame", (0, 0, 0)))
    return join(parts)


@kind(
    "carousel",
    "A carousel with horses.",
    feet=lambda v: disc(v.radius_m),
    stuff={
        "cloth": "awning",
        "post": "brass",
        "floor": "planks",
        "horse": "white paint",
        "bulb": "bulb",
        "board": "red paint",
    },
    radius_m=number(4.5, "radius", 1.5, 15),
)
def _carousel(v: Values, rng: np.random.Generator) -> Mesh:
    r = v.radius_m
    parts = [
        cylinder(r, 0.4, "board", sides=36, top="floor"),
        cylinder(r * 0.22, 3.4, "board", (0, 0, 0.4), sides=16),
    ]
    for k in range(16):
        a, b = 2 * math.pi * k / 16, 2 * math.pi * (k + 1) / 16
        p, q = (np.array([1.08 * r * math.cos(t), 1.08 * r * math.sin(t), 3.6]) for t in (a, b))
        top = np.array([0, 0, 3.6 + r * 0.42])
        u = 0.5 * k
        parts.append(
            quads(
                [[p, q, top, top]],
                "cloth",
                [[(u + 0.01, 0), (u + 0.49, 0), (u + 0.25, r), (u + 0.25, r)]],
            )
        )
        parts.append(quads([[p - [0, 0, 0.55], q - [0, 0, 0.55], q, p]], "board"))
        parts += [
            ellipsoid((0.07, 0.07, 0.07), "bulb", (p + (q - p) * s - [0, 0, 0.28]).tolist(), 6, 4)
            for s in (0.2, 0.5, 0.8)
        ]
    for k in range(12):
        a, rr = 2 * math.pi * k / 12, r * (0.82 if k % 2 else 0.56)
        x, y, z = rr * math.cos(a), rr * math.sin(a), 1.1 + 0.25 * math.sin(2.4 * k)
        parts.append(tube((x, y, 0.4), (x, y, 3.5), 0.03, "post", sides=6))
        horse = [
            ellipsoid((0.2, 0.5, 0.24), "horse", (0, 0, z), 10, 8),
            tube((0, -0.35, z + 0.1), (0, -0.62, z + 0.55), 0.12, "horse", 0.09),
            ellipsoid((0.09, 0.22, 0.1), "horse", (0, -0.72, z + 0.55), 8, 6),
        ]
        horse += [
            tube(
                (s * 0.12, t * 0.34, z - 0.1), (s * 0.12, t * 0.5, z - 0.6), 0.05, "horse", 0.035, 6
            )
            for s in (1, -1)
            for t in (1, -1)
        ]
        parts.append(moved(moved(join(horse), turn_deg=math.degrees(a) + 180), (x, y, 0)))
    return join(parts)


@kind(
    "booth",
    "A fair booth with an open front and a striped roof; front towards -y.",
    feet=lambda v: block(v.width_m + 0.1, 2.7),
    variants=2,
    stuff={
        "cloth": "awning",
        "side": "red paint",
        "inside": "warm inside",
        "goods": "flags",
        "bulb": "bulb",
    },
    width_m=number(4.0, "width", 1.5, 12),
)
def _booth(v: Values, rng: np.random.Generator) -> Mesh:
    w, d, h = v.width_m, 2.6, 2.7
    parts = [
        box((w, 0.1, h), "inside", (0, d / 2, 0)),
        box((w, 0.5, 0.95), "side", (0, -d / 2 + 0.25, 0)),
    ]
    parts += [box((0.1, d, h), "side", (s * w / 2, 0, 0)) for s in (1, -1)]
    front, back = (
        [(-w / 2 - 0.3, -d / 2 - 0.8, h - 0.2), (w / 2 + 0.3, -d / 2 - 0.8, h - 0.2)],
        [(w / 2 + 0.3, d / 2 + 0.2, h + 0.9), (-w / 2 - 0.3, d / 2 + 0.2, h + 0.9)],
    )
    parts.append(quads([[*front, *back]], "cloth"))
    parts.append(
        quads(
            [
                [
                    (-w / 2 - 0.3, -d / 2 - 0.8, h - 0.6),
                    (w / 2 + 0.3, -d / 2 - 0.8, h - 0.6),
                    front[1],
                    front[0],
                ]
            ],
            "cloth",
        )
    )
    parts += [
        ellipsoid((0.06, 0.06, 0.06), "bulb", (x, -d / 2 - 0.84, h - 0.4), 6, 4)
        for x in np.linspace(-w / 2, w / 2, int(w * 2.2))
    ]
    tags = rng.uniform(0, 40, 60)
    for k in range(24):
        x, z = -w / 2 + 0.3 + (k % 8) * (w - 0.6) / 7, 1.15 + 0.5 * (k // 8)
        ball = ellipsoid((0.16, 0.12, 0.2), "goods", (x, d / 2 - 0.2, z), 8, 6)
        parts.append(
            type(ball)(ball.xyz, np.full_like(ball.uv, tags[k]), ball.normal, ball.slot, ball.slots)
        )
    return join(parts)


@kind(
    "string lights",
    "Bulbs on a cable between points (x, y, height).",
    stuff={"bulb": "bulb", "cable": "iron"},
    path_m=outline("points", 2, 3, start=((0, 0, 4), (10, 0, 4))),
    gap_m=number(0.8, "distance between bulbs", 0.05),
    sag_m=number(0.6, "how far each span hangs down"),
    bulb_m=number(0.14, "size of a bulb", 0.01),
    posts=yes(True, "a post at every point"),
)
def _lights(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for a, b in zip(v.path_m[:-1], v.path_m[1:], strict=True):
        p, q = np.array(a), np.array(b)
        n = max(4, int(math.dist(a, b) / v.gap_m))
        s = np.linspace(0, 1, n + 1)
        line = p + (q - p) * s[:, None]
        line[:, 2] -= 4 * v.sag_m * s * (1 - s)
        parts += [tube(line[i], line[i + 1], 0.012, "cable", sides=4) for i in range(n)]
        r = v.bulb_m / 2
        parts += [
            ellipsoid((r, r, r * 1.2), "bulb", (c - [0, 0, r]).tolist(), 8, 5) for c in line[1:]
        ]
    if v.posts:
        parts += [tube((*p[:2], 0), p, 0.05, "cable", sides=6) for p in v.path_m]
    return join(parts)
