"""What stands in streets and squares: stalls, parasols, benches, lamps, fountains."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, cylinder, ellipsoid, join, lathe, moved, quads, tube
from render.world.things.feet import block, disc, sized
from render.world.things.kind import Values, kind, number, pick, vector
from render.world.things.leaves import leaves

__all__: list[str] = []


@kind(
    "stall",
    "A market stall with crates of goods under a cloth roof; front towards -y.",
    feet=lambda v: block(v.size_m[0] + 0.1, v.size_m[1] + 0.1),
    variants=4,
    stuff={
        "cloth": "awning",
        "post": "brown wood",
        "table": "planks",
        "crate": "crate wood",
        "goods": "red fruit",
        "goods2": "green fruit",
        "goods3": "yellow fruit",
    },
    size_m=vector((3.0, 2.2, 2.5), "width, depth, height", 0.5),
)
def _stall(v: Values, rng: np.random.Generator) -> Mesh:
    w, d, h = v.size_m[0] / 2, v.size_m[1] / 2, v.size_m[2]
    parts = [
        tube((sx * w, sy * d, 0), (sx * w, sy * d, h), 0.035, "post", sides=6)
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    peak, ow, od = 0.55, w + 0.25, d + 0.3
    front = [
        (-ow, -od, h - 0.05),
        (ow, -od, h - 0.05),
        (w + 0.2, 0, h + peak),
        (-w - 0.2, 0, h + peak),
    ]
    back = [
        (ow, od, h - 0.05),
        (-ow, od, h - 0.05),
        (-w - 0.2, 0, h + peak),
        (w + 0.2, 0, h + peak),
    ]
    for face in (front, back):
        parts.append(quads([face], "cloth"))
    hems = []
    for y, s in ((-od, 1), (od, -1)):
        hems.append(
            [
                (-s * ow, y, h - 0.30),
                (s * ow, y, h - 0.30),
                (s * ow, y, h - 0.05),
                (-s * ow, y, h - 0.05),
            ]
        )
    parts.append(quads(hems, "cloth"))
    parts.append(box((2 * w, d * 1.1, 0.05), "table", (0, -d * 0.35, 0.82)))
    parts += [
        box((0.06, 0.06, 0.82), "post", (sx * (w - 0.1), sy * d * 0.5 - d * 0.35, 0))
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    columns = max(2, int(2 * w / 0.62))
    for i in range(columns):
        for j in range(2):
            x, y = -w + (i + 0.5) * 2 * w / columns, -d * 0.62 + j * 0.5
            parts += _crate((x, y, 0.87 + 0.07 * j), rng)
    for _ in range(3):
        parts += _crate((rng.uniform(-w, w), d * rng.uniform(0.3, 0.9), 0.0), rng)
    return join(parts)


def _crate(at: tuple[float, float, float], rng: np.random.Generator) -> list[Mesh]:
    x, y, z = at
    slot = str(rng.choice(["goods", "goods2", "goods3"]))
    parts = [box((0.52, 0.40, 0.02), "crate", (x, y, z))]
    parts += [box((0.52, 0.02, 0.16), "crate", (x, y + s * 0.2, z)) for s in (1, -1)]
    parts += [box((0.02, 0.40, 0.16), "crate", (x + s * 0.26, y, z)) for s in (1, -1)]
    parts.append(box((0.47, 0.35, 0.11), slot, (x, y, z + 0.01)))
    for i in range(4):
        for j in range(3):
            bump = ellipsoid(
                (0.065, 0.065, 0.055),
                slot,
                (x - 0.18 + 0.12 * i, y - 0.12 + 0.12 * j, z + 0.13),
                7,
                4,
            )
            parts.append(bump)
    return parts


@kind(
    "parasol",
    "A large parasol.",
    feet=lambda v: disc(0.28) + disc(v.radius_m, v.height_m, v.height_m - 0.42 * v.radius_m - 0.16),
    stuff={"cloth": "parasol", "post": "brown wood", "foot": "granite"},
    radius_m=number(1.6, "radius", 0.3, 8),
    height_m=number(2.6, "height", 0.5, 8),
)
def _parasol(v: Values, rng: np.random.Generator) -> Mesh:
    r, h = v.radius_m, v.height_m
    parts = [
        tube((0, 0, 0), (0, 0, h + 0.12), 0.03, "post", sides=8),
        cylinder(0.28, 0.10, "foot", sides=16),
    ]
    a = np.linspace(0, 2 * math.pi, 9)
    rim = np.stack([r * np.cos(a), r * np.sin(a), np.full(9, h - 0.42 * r)], -1)
    faces, uvs, hems = [], [], []
    for i in range(8):
        p, q = rim[i], rim[i + 1]
        faces.append([p, q, (0, 0, h), (0, 0, h)])
        u = 0.5 * i
        uvs.append([(u + 0.02, 0), (u + 0.48, 0), (u + 0.25, r), (u + 0.25, r)])
        hems.append([p - [0, 0, 0.16], q - [0, 0, 0.16], q, p])
    parts.append(quads(faces, "cloth", uvs))
    parts.append(
        quads(
            hems,
            "cloth",
            [[(u[0][0], 0), (u[1][0], 0), (u[1][0], 0.1), (u[0][0], 0.1)] for u in uvs],
        )
    )
    parts += [
        tube((0, 0, h - 0.1), rim[i] - [0, 0, 0.02], 0.012, "post", sides=4) for i in range(8)
    ]
    return join(parts)


@kind(
    "cafe table",
    "A round table with chairs.",
    feet=lambda v: disc(1.0),
    variants=3,
    stuff={
        "table": "white paint",
        "chair": "iron",
        "seat": "crate wood",
        "cup": "white paint",
        "drink": "shop goods",
    },
    chairs=number(4, "number of chairs", 0, 8),
)
def _cafe(v: Values, rng: np.random.Generator) -> Mesh:
    parts = [
        cylinder(0.36, 0.03, "table", (0, 0, 0.72), sides=20),
        tube((0, 0, 0), (0, 0, 0.72), 0.03, "chair"),
        cylinder(0.22, 0.02, "chair", sides=14),
    ]
    laid = rng.spawn(1)[0]
    for _ in range(int(laid.integers(1, 5))):  # what guests have before them
        turn, away = laid.uniform(0, 2 * math.pi), laid.uniform(0.12, 0.27)
        x, y = float(away * math.cos(turn)), float(away * math.sin(turn))
        if laid.random() < 0.6:
            parts.append(cylinder(0.075, 0.012, "cup", (x, y, 0.75), sides=10))
            parts.append(cylinder(0.030, 0.07, "cup", (x, y, 0.76), 0.040, 8))
        else:
            glass = cylinder(0.026, float(laid.uniform(0.11, 0.24)), "drink", (x, y, 0.75), 0.03, 8)
            parts.append(replace(glass, uv=np.full_like(glass.uv, laid.uniform(1, 40))))
    for k in range(int(v.chairs)):
        turn = 360 * k / v.chairs + rng.uniform(-18, 18)
        chair = moved(_chair(), (0.0, -rng.uniform(0.58, 0.78), 0), rng.uniform(-15, 15))
        parts.append(moved(chair, turn_deg=turn))
    return join(parts)


def _chair() -> Mesh:
    parts = [box((0.42, 0.42, 0.03), "seat", (0, 0, 0.44))]
    parts += [
        tube((sx * 0.18, sy * 0.18, 0), (sx * 0.18, sy * 0.18, 0.44), 0.013, "chair", sides=5)
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    parts += [
        tube((s * 0.18, -0.19, 0.44), (s * 0.18, -0.25, 0.88), 0.013, "chair", sides=5)
        for s in (1, -1)
    ]
    parts += [
        box((0.36, 0.02, 0.07), "seat", (0, -0.22 - 0.03 * i, 0.62 + 0.11 * i)) for i in range(3)
    ]
    return join(parts)


@kind(
    "bench",
    "A park bench, looking towards -y.",
    feet=lambda v: block(v.length_m, 0.7),
    stuff={"wood": "planks", "iron": "iron"},
    length_m=number(1.8, "length", 0.5, 20),
)
def _bench(v: Values, rng: np.random.Generator) -> Mesh:
    n = v.length_m
    parts = [box((n, 0.10, 0.035), "wood", (0, -0.18 + 0.125 * i, 0.43)) for i in range(4)]
    parts += [box((n, 0.03, 0.10), "wood", (0, 0.26 + 0.03 * i, 0.56 + 0.14 * i)) for i in range(3)]
    for x in (-n / 2 + 0.2, n / 2 - 0.2):
        parts += [
            tube((x, -0.2, 0), (x, -0.2, 0.43), 0.025, "iron"),
            tube((x, 0.22, 0), (x, 0.22, 0.45), 0.025, "iron"),
            tube((x, 0.22, 0.43), (x, 0.33, 0.95), 0.022, "iron"),
            tube((x, -0.2, 0.42), (x, 0.22, 0.42), 0.02, "iron"),
        ]
    return join(parts)


@kind(
    "lamp post",
    "A street lamp.",
    feet=lambda v: disc(0.16),
    stuff={"post": "iron", "lamp": "lamp glass", "label": "bill"},
    height_m=number(4.2, "height", 1, 30),
    arms=number(1, "number of lamps", 1, 6),
    style=pick("globe", "form", "globe", "lantern", "arm"),
)
def _lamp_post(v: Values, rng: np.random.Generator) -> Mesh:
    h, n = v.height_m, int(v.arms)
    parts = [
        lathe(
            [(0.0, 0), (0.16, 0), (0.13, 0.25), (0.07, 0.55), (0.05, h * 0.55), (0.04, h), (0, h)],
            "post",
            12,
        ),
        # the door of its fuses, a ring, a number and what somebody stuck on it
        box((0.09, 0.02, 0.30), "post", (0, -0.095, 0.40)),
        cylinder(0.062, 0.05, "post", (0, 0, min(1.1, 0.3 * h)), sides=12),
        box((0.07, 0.014, 0.10), "label", (0, -0.062, min(1.9, 0.5 * h))),
        moved(box((0.06, 0.012, 0.09), "label", (0, -0.066, min(1.35, 0.36 * h))), turn_deg=100),
    ]
    if v.style == "arm":
        parts += [
            tube((0, 0, h * 0.97), (0, -1.6, h + 0.25), 0.04, "post"),
            box((0.26, 0.75, 0.10), "post", (0, -1.75, h + 0.22)),
            box((0.2, 0.6, 0.03), "lamp", (0, -1.75, h + 0.19)),
        ]
        return join(parts)
    spots = (
        [(0.0, 0.0)]
        if n == 1
        else [
            (0.45 * math.cos(2 * math.pi * i / n), 0.45 * math.sin(2 * math.pi * i / n))
            for i in range(n)
        ]
    )
    for x, y in spots:
        if n > 1:
            parts.append(tube((0, 0, h - 0.25), (x, y, h - 0.05), 0.025, "post", sides=6))
        if v.style == "globe":
            parts.append(ellipsoid((0.19, 0.19, 0.19), "lamp", (x, y, h + 0.2), 16, 10))
            parts.append(cylinder(0.09, 0.06, "post", (x, y, h - 0.02), sides=10))
        else:
            parts.append(cylinder(0.10, 0.36, "lamp", (x, y, h), 0.17, 6))
            parts.append(cylinder(0.21, 0.20, "post", (x, y, h + 0.36), 0.02, 6))
    return join(parts)


@kind(
    "fountain",
    "A round fountain with a bowl on a column.",
    feet=lambda v: disc(1.15 * v.radius_m),
    solid=False,
    stuff={"stone": "limestone", "water": "fountain water", "jet": "spray"},
    radius_m=number(3.0, "radius of the basin", 0.5, 20),
)
def _fountain(v: Values, rng: np.random.Generator) -> Mesh:
    r = v.radius_m
    step = lathe([(0, 0), (r * 1.22, 0), (r * 1.22, 0.16), (r * 1.1, 0.16)], "stone", 40)
    rim = lathe(
        [
            (r * 1.02, 0.16),
            (r, 0.5),
            (r * 1.06, 0.55),
            (r * 1.06, 0.66),
            (r * 0.90, 0.66),
            (r * 0.88, 0.3),
        ],
        "stone",
        40,
    )
    pool = moved(lathe([(r * 0.9, 0.0), (0.0, 0.001)], "water", 40), (0, 0, 0.52))
    column = lathe(
        [
            (0, 0.3),
            (r * 0.20, 0.3),
            (r * 0.16, 0.6),
            (r * 0.09, 1.0),
            (r * 0.11, 1.7),
            (r * 0.16, 1.8),
        ],
        "stone",
        24,
        smooth=True,
    )
    bowl = lathe(
        [
            (r * 0.14, 1.75),
            (r * 0.36, 1.86),
            (r * 0.44, 2.02),
            (r * 0.42, 2.04),
            (r * 0.36, 1.95),
            (0, 1.93),
        ],
        "stone",
        32,
    )
    top = lathe(
        [(0, 1.9), (r * 0.08, 1.9), (r * 0.06, 2.3), (r * 0.12, 2.5), (r * 0.06, 2.75), (0, 2.85)],
        "stone",
        20,
        smooth=True,
    )
    disc = moved(lathe([(r * 0.40, 0.0), (0.0, 0.001)], "water", 28), (0, 0, 2.0))
    drops = []
    for k in range(10):
        a = 2 * math.pi * k / 10
        s = np.linspace(0, 1, 7)
        path = np.stack(
            [
                np.cos(a) * r * (0.44 + 0.22 * s),
                np.sin(a) * r * (0.44 + 0.22 * s),
                2.03 + 0.06 * s - 1.53 * s**2,
            ],
            -1,
        )
        drops += [tube(path[i], path[i + 1], 0.012, "jet", 0.012, 4) for i in range(6)]
    return join([step, rim, pool, column, bowl, top, disc, *drops])


@kind(
    "bin",
    "A litter bin.",
    feet=lambda v: disc(0.3),
    stuff={"side": "green paint", "top": "iron", "hole": "black plastic", "label": "bill"},
    height_m=number(0.95, "height", 0.3, 3),
)
def _bin(v: Values, rng: np.random.Generator) -> Mesh:
    h = v.height_m
    slats = [
        moved(box((0.07, 0.014, h * 0.74), "side", (0, -0.242, 0.04)), turn_deg=360 * k / 16)
        for k in range(16)
    ]
    return join(
        [
            *slats,
            cylinder(0.236, h * 0.85, "hole", sides=16),
            moved(box((0.16, 0.008, 0.12), "label", (0, -0.252, h * 0.5)), turn_deg=22.5),
            cylinder(0.27, h * 0.06, "top", (0, 0, h * 0.85), sides=16),
            lathe([(0.26, h * 0.91), (0.2, h), (0, h)], "top", 16),
        ]
    )


@kind(
    "bollard",
    "A bollard.",
    feet=lambda v: disc(0.1),
    stuff={"post": "iron", "band": "white paint", "foot": "cast iron"},
    height_m=number(0.85, "height", 0.2, 2),
)
def _bollard(v: Values, rng: np.random.Generator) -> Mesh:
    h = v.height_m
    post = lathe(
        [
            (0, 0),
            (0.11, 0),
            (0.09, 0.1),
            (0.07, h * 0.8),
            (0.09, h * 0.86),
            (0.08, h * 0.96),
            (0, h),
        ],
        "post",
        12,
        smooth=True,
    )
    band = lathe([(0.0795, h * 0.62), (0.0765, h * 0.72)], "band", 12, smooth=True)
    return join([post, band, box((0.26, 0.26, 0.012), "foot")])


@kind(
    "planter",
    "A square planter with flowers or a clipped ball.",
    feet=sized(0.1),
    variants=4,
    stuff={"side": "crate wood", "soil": "soil", "leaf": "leaves", "flower": "flowers"},
    size_m=vector((1.2, 1.2, 0.6), "width, depth, height", 0.1),
    height_m=number(0.5, "height of what grows in it", 0.05, 5),
)
def _planter(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts = [box((x, y, z), "side"), box((x - 0.08, y - 0.08, 0.02), "soil", (0, 0, z - 0.01))]
    n = int(500 * x * y) + 60
    at = rng.uniform(-0.5, 0.5, (n, 3)) * [x * 0.95, y * 0.95, 0]
    fall = 1 - (2 * np.abs(at[:, :2] / [x, y])).max(axis=1) ** 2
    at[:, 2] = z + v.height_m * (0.2 + 0.8 * fall) * rng.uniform(0.3, 1, n)
    up = at - [0, 0, z] + [0, 0, 0.4]
    parts.append(leaves(at, up, rng.uniform(0.06, 0.12, n), "leaf", rng, 1.5))
    top = rng.choice(n, n // 3, replace=False)
    parts.append(
        leaves(
            at[top] + [0, 0, 0.06], up[top] + [0, 0, 1], np.full(len(top), 0.09), "flower", rng, 1.0
        )
    )
    return join(parts)


@kind(
    "poster column",
    "A round column for bills, pasted over each other: pictures and bars, no words.",
    feet=lambda v: disc(v.radius_m + 0.08),
    variants=3,
    solid=True,
    stuff={
        "body": "concrete",
        "cap": "zinc",
        "bill": "bill",
        "print": "print",
        "bar": "black plastic",
    },
    radius_m=number(0.58, "radius", 0.2, 3),
    height_m=number(2.9, "height", 1, 8),
)
def _poster_column(v: Values, rng: np.random.Generator) -> Mesh:
    r, h = v.radius_m, v.height_m
    drum = [(0, 0), (r + 0.06, 0), (r + 0.06, 0.22), (r, 0.26), (r, h - 0.3), (0, h - 0.3)]
    cap = [(0, h - 0.3), (r + 0.09, h - 0.3), (r + 0.09, h - 0.2), (0.5 * r, h - 0.02), (0, h)]
    parts = [lathe(drum, "body", 28), lathe(cap, "cap", 28)]
    for layer in range(7):  # the newest lie on top
        a = float(rng.uniform(0, 2))
        while a < 5.9:
            wide, tall = (0.6, 0.84) if rng.random() < 0.5 else (0.42, 0.6)
            z = float(rng.uniform(0.36, max(h - 0.42 - tall, 0.37)))
            if z + tall < h - 0.32 and rng.random() < 0.95:
                parts += _round_bill(r + 0.004 * (layer + 1), a, z, wide, tall, rng)
            a += (wide + float(rng.uniform(0.02, 0.3))) / r
    return join(parts)


def _round_bill(
    r: float, a: float, z: float, wide: float, tall: float, rng: np.random.Generator
) -> list[Mesh]:
    """A bill bent round a column: paper, a picture, a shape on it, bars."""

    def bent(u0: float, u1: float, v0: float, v1: float, out: float) -> list[list[list[float]]]:
        turn = a + wide * np.linspace(u0, u1, 7) / r
        ring = np.stack([(r + out) * np.cos(turn), (r + out) * np.sin(turn)], -1).tolist()
        low, high = z + tall * v0, z + tall * v1
        return [[[*p, low], [*q, low], [*q, high], [*p, high]] for p, q in itertools.pairwise(ring)]

    def tinted(faces: list[list[list[float]]]) -> Mesh:
        return quads(faces, "print", np.broadcast_to(rng.uniform(1, 40, 2), (len(faces), 4, 2)))

    low = float(rng.uniform(0.2, 0.4))
    shape = rng.uniform(0.15, 0.4, 2)
    parts = [
        quads(bent(0, 1, 0, 1, 0.0), "bill"),
        tinted(bent(0.06, 0.94, low, 0.95, 0.001)),
        tinted(bent(float(shape[0]), float(1 - shape[1]), low + 0.1, 0.8, 0.002)),
    ]
    for k in range(3):
        right = float(rng.uniform(0.4, 0.92))
        parts.append(quads(bent(0.08, right, 0.05 + 0.05 * k, 0.075 + 0.05 * k, 0.001), "bar"))
    return parts
