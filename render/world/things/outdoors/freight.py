"""What stands in a goods yard: containers, signals, drums, sleepers in stacks."""

import numpy as np

from render.world.mesh import Mesh, box, cylinder, join, moved, quads, tube
from render.world.things.feet import block, sized
from render.world.things.kind import Values, kind, number, vector
from render.world.things.solids import timber

__all__: list[str] = []


def _bars(
    at: tuple[float, float], wide: float, high: float, rng: np.random.Generator
) -> list[tuple[float, float, float, float]]:
    """Bars in place of letters, as (left, foot, width, height)."""
    found, x = [], at[0]
    while x < at[0] + wide:
        n = high * float(rng.choice([0.22, 0.45, 0.6]))
        found.append((x, at[1], n, high))
        x += n + high * float(rng.choice([0.2, 0.2, 0.8]))
    return found


@kind(
    "container",
    "A freight container; its doors towards -y.",
    feet=lambda v: block(2.44, v.length_m + 0.1, 2.59),
    variants=4,
    solid=True,
    stuff={
        "side": "container paint",
        "frame": "iron",
        "cast": "rusty iron",
        "mark": "worn paint",
        "rod": "zinc",
    },
    length_m=number(6.06, "length", 2, 15),
)
def _container(v: Values, rng: np.random.Generator) -> Mesh:
    n, w, h = v.length_m, 2.44, 2.59
    parts = [box((w - 0.06, n - 0.06, h - 0.06), "side", (0, 0, 0.03))]
    for sx in (1, -1):
        for sy in (1, -1):
            x, y = sx * (w / 2 - 0.07), sy * (n / 2 - 0.07)
            parts.append(box((0.14, 0.14, h - 0.24), "side", (x, y, 0.12)))
            x, y = sx * (w / 2 - 0.082), sy * (n / 2 - 0.09)
            for z in (0.0, h - 0.118):  # castings, with the holes that a lock grips
                parts.append(box((0.164, 0.18, 0.118), "cast", (x, y, z)))
                parts.append(box((0.006, 0.08, 0.05), "frame", (sx * w / 2, y, z + 0.034)))
                parts.append(box((0.06, 0.006, 0.05), "frame", (x, sy * n / 2, z + 0.034)))
            parts.append(box((0.065, 0.12, 0.004), "frame", (x, y, h)))
    for z in (0.0, h - 0.12):
        parts += [box((0.1, n - 0.36, 0.12), "side", (s * (w / 2 - 0.05), 0, z)) for s in (1, -1)]
        parts += [box((w - 0.33, 0.1, 0.12), "side", (0, s * (n / 2 - 0.05), z)) for s in (1, -1)]
    parts += [
        box((0.02, 0.36, 0.11), "frame", (s * (w / 2 - 0.004), q * 1.03, 0.004))
        for s in (1, -1)
        for q in (1, -1)
    ]
    y = -n / 2
    for s in (1, -1):  # two doors, each with two rods in their guides, a handle, hinges, a gasket
        parts.append(box((1.05, 0.03, h - 0.3), "side", (s * 0.545, y - 0.002, 0.15)))
        parts += [box((1.05, 0.05, 0.05), "side", (s * 0.545, y - 0.01, z))
                  for z in (0.16, 0.72, 1.3, 1.88, h - 0.21)]  # fmt: skip
        for x in (0.25, 0.78):
            parts.append(
                tube((s * x, y - 0.06, 0.06), (s * x, y - 0.06, h - 0.06), 0.022, "rod", sides=6)
            )
            parts += [box((0.12, 0.08, 0.09), "rod", (s * x, y - 0.04, z))
                      for z in (0.05, 0.62, 1.5, 2.1, h - 0.15)]  # fmt: skip
            parts.append(
                box((0.42, 0.025, 0.035), "rod", (s * (x - 0.16), y - 0.09, 1.02 + x * 0.1))
            )
        parts += [box((0.16, 0.05, 0.10), "side", (s * 1.09, y - 0.01, z))
                  for z in (0.35, 0.95, 1.6, 2.2)]  # fmt: skip
    parts.append(box((0.03, 0.02, h - 0.3), "frame", (0, y - 0.012, 0.15)))
    for left, foot, wide, high in (
        *_bars((0.62, 2.12), 0.34, 0.1, rng), *_bars((0.62, 1.95), 0.26, 0.07, rng),
        *_bars((0.3, 0.78), 0.3, 0.05, rng), *_bars((0.3, 0.70), 0.4, 0.05, rng),
    ):  # fmt: skip
        parts.append(box((wide, 0.008, high), "mark", (left + wide / 2, y - 0.022, foot)))
    big = 0.42 if rng.random() < 0.6 else 0.0
    for s in (1, -1):
        x = s * (w / 2 - 0.02)
        marks = _bars((-n / 2 + 0.4, h - 0.38), 1.3, 0.13, rng)
        if big:
            marks += _bars((-0.2 * n, 1.2), 0.34 * n, big, rng)
        parts += [box((0.012, m[2], m[3]), "mark", (x, m[0] + m[2] / 2, m[1])) for m in marks]
    top = _bars((-0.7, 0.0), 1.2, 0.16, rng)
    parts += [
        box((m[2], m[3], 0.006), "mark", (m[0] + m[2] / 2, n / 2 - 0.5, h - 0.03)) for m in top
    ]
    return join(parts)


@kind(
    "rail signal",
    "A colour-light signal on its mast with a ladder, facing -y.",
    feet=lambda v: block(0.9, 1.1, v.height_m, (0.0, 0.2)),
    stuff={
        "mast": "zinc",
        "head": "black plastic",
        "lamp": "#a8261f",
        "dark": "glass",
        "plate": "white paint",
        "foot": "concrete",
    },
    height_m=number(5.5, "height", 0.6, 12),
)
def _rail_signal(v: Values, rng: np.random.Generator) -> Mesh:
    h = v.height_m
    parts = [
        box((0.6, 0.6, 0.25), "foot"),
        cylinder(0.08, h - 0.3, "mast", (0, 0.12, 0.2), 0.07, 10),
    ]
    parts.append(box((0.5, 0.14, 1.1), "head", (0, 0, h - 1.1)))
    for k, slot in enumerate(("lamp", "dark", "dark")):
        z = h - 0.88 + 0.31 * k
        across = [[1, 0, 0], [0, 0, -1], [0, 1, 0]]
        parts.append(moved(cylinder(0.10, 0.02, slot, sides=14), (0, -0.07, z), matrix=across))
        parts.append(box((0.26, 0.2, 0.015), "head", (0, -0.17, z + 0.12)))
    parts.append(box((0.3, 0.02, 0.36), "plate", (0, 0.0, h - 1.7)))
    if h > 2.5:
        for s in (0.16, -0.16):
            parts.append(tube((s, 0.55, 0.2), (s, 0.35, h - 1.3), 0.02, "mast", sides=5))
        parts += [
            tube(
                (-0.16, 0.55 - 0.2 * z / h, z),
                (0.16, 0.55 - 0.2 * z / h, z),
                0.014,
                "mast",
                sides=5,
            )
            for z in np.arange(0.5, h - 1.3, 0.3)
        ]
        parts.append(box((0.8, 0.6, 0.04), "mast", (0, 0.4, h - 1.3)))
    return join(parts)


@kind(
    "sleeper stack",
    "Old sleepers laid crosswise in a stack.",
    variants=4,
    feet=sized(0.1),
    stuff={"wood": "grey wood"},
    size_m=vector((2.5, 2.5, 0.8), "length, width and height", 0.2),
)
def _sleeper_stack(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts = []
    for k in range(max(1, int(z / 0.16))):
        for q in np.linspace(-0.42, 0.42, 2 + 3 * (k % 2)):
            size = (x, 0.25, 0.155) if k % 2 else (0.25, y, 0.155)
            at = (0.0, q * y, 0.16 * k) if k % 2 else (q * x, 0.0, 0.16 * k)
            parts.append(timber(size, "wood", at, rng, float(rng.normal(0, 1.5))))
    return join(parts)


@kind(
    "drums",
    "Steel drums that stand about, some on their side.",
    variants=4,
    feet=sized(0.1),
    stuff={"drum": "container paint", "rim": "rusty iron"},
    size_m=vector((2.0, 1.4, 0.9), "length, width and height", 0.6),
)
def _drums(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for x in np.arange(-v.size_m[0] / 2 + 0.3, v.size_m[0] / 2 - 0.25, 0.66):
        for y in np.arange(-v.size_m[1] / 2 + 0.3, v.size_m[1] / 2 - 0.25, 0.66):
            if rng.random() < 0.3:
                continue
            drum = [cylinder(0.285, 0.88, "drum", sides=16)]
            drum += [
                cylinder(0.298, 0.03, "rim", (0, 0, z), sides=16) for z in (0.0, 0.29, 0.58, 0.85)
            ]
            at = (float(x + rng.normal(0, 0.03)), float(y + rng.normal(0, 0.03)), 0.0)
            parts.append(moved(join(drum), at))
    if not parts:
        parts.append(cylinder(0.285, 0.88, "drum", sides=16))
    return join(parts)


@kind(
    "weeds",
    "Weeds that come up in a patch: thin stalks and leaves, some in flower.",
    variants=6,
    stuff={"leaf": "dry weeds"},
    size_m=vector((1.2, 0.8, 0.4), "length, width and height", 0.05),
    stalks=number(60, "how many", 1, 2000),
)
def _weeds(v: Values, rng: np.random.Generator) -> Mesh:
    n = int(v.stalks)
    angle, reach = rng.uniform(0, 6.2832, n), rng.uniform(0, 1, n) ** 0.8
    foot = 0.5 * reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], -1) * v.size_m[:2]
    tall = v.size_m[2] * rng.uniform(0.3, 1.0, n) * (1.1 - 0.6 * reach)
    lean = rng.normal(0, 0.35, (n, 2)) * tall[:, None]
    turn = rng.uniform(0, 3.1416, n)
    wide = (0.010 + 0.07 * tall * rng.uniform(0.3, 1.0, n))[:, None]
    side = np.stack([np.cos(turn), np.sin(turn)], -1) * wide
    low = np.column_stack([foot, np.zeros(n)])
    mid = np.column_stack([foot + 0.5 * lean, 0.55 * tall])
    top = np.column_stack([foot + lean, tall])
    out = np.column_stack([side, np.zeros(n)])
    faces = np.stack([low, mid + out, top, mid - out], 1)
    tag = np.repeat(rng.uniform(0, 40, (n, 1, 2)), 4, axis=1)
    return quads(faces, "leaf", tag)
