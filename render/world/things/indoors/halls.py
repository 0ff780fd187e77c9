"""What stands and hangs in a hall where people meet: a piano, stacked chairs, flags, posters."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, cylinder, join, lathe, moved, quads, tube
from render.world.things.feet import block
from render.world.things.indoors.goods import slip
from render.world.things.kind import Values, kind, number, vector
from render.world.things.solids import timber

__all__: list[str] = []

_UPRIGHT = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])


@kind(
    "piano",
    "An upright piano with its stool and music; played from -y, its back to a wall.",
    feet=lambda _: block(1.48, 1.05, 1.25, (0.0, -0.20)),
    variants=2,
    stuff={
        "wood": "brown wood",
        "keys": "#e4dfd0",
        "dark": "#1c1d1f",
        "brass": "#a88a4e",
        "label": "paper",
        "cover": "old cloth",
        "seat": "dark cloth",
    },
)
def _piano(v: Values, rng: np.random.Generator) -> Mesh:
    parts = [timber((1.48, 0.33, 1.22), "wood", (0, 0.16, 0), rng)]
    parts.append(timber((1.52, 0.38, 0.025), "wood", (0, 0.15, 1.22), rng))
    for s in (1, -1):  # cheeks, legs, and the panels' frames
        parts.append(timber((0.05, 0.34, 0.17), "wood", (0.715 * s, -0.17, 0.60), rng))
        parts.append(timber((0.055, 0.055, 0.60), "wood", (0.70 * s, -0.30, 0), rng))
        for low, high in ((0.12, 0.56), (0.82, 1.16)):
            frame = [
                box((0.66, 0.014, 0.02), "wood", (0.36 * s, -0.012, z)) for z in (low, high - 0.02)
            ]
            frame += [
                box((0.02, 0.014, high - low), "wood", (0.36 * s + 0.32 * t, -0.012, low))
                for t in (1, -1)
            ]
            parts += frame
    parts.append(timber((1.38, 0.30, 0.05), "wood", (0, -0.16, 0.62), rng))
    parts.append(box((1.38, 0.02, 0.03), "wood", (0, -0.305, 0.67)))
    pitch = 1.22 / 52
    for k in range(52):
        x = (k + 0.5) * pitch - 0.61
        parts.append(box((pitch - 0.0016, 0.145, 0.022), "keys", (x, -0.215, 0.67)))
        if k % 7 not in (1, 4) and k < 51:
            parts.append(box((0.011, 0.095, 0.034), "dark", (x + pitch / 2, -0.188, 0.67)))
    parts += [box((0.10, 0.14, 0.02), "wood", (0.66 * s, -0.215, 0.67)) for s in (1, -1)]
    parts += [tube((0.06 * k, -0.02, 0.06), (0.06 * k, -0.12, 0.045), 0.014, "brass", sides=8)
              for k in (-1, 0, 1)]  # fmt: skip
    # music on its ledge, and what has been put down on the lid
    parts.append(box((0.9, 0.06, 0.014), "wood", (0, -0.035, 0.86)))
    for k, x in enumerate((-0.12, 0.115)):
        sheet = _music(0.22, 0.30)
        parts.append(moved(sheet, (x, -0.055, 0.875), turn_deg=(4.0, -5.0)[k]))
    low = 1.245
    for _ in range(int(rng.integers(3, 7))):
        thick = float(rng.uniform(0.004, 0.02))
        book = box((0.23, 0.30, thick), str(rng.choice(["cover", "label", "label"])))
        parts.append(moved(book, (-0.42, 0.13, low), float(rng.uniform(80, 100))))
        low += thick + 0.001
    # the stool
    parts.append(box((0.52, 0.30, 0.07), "seat", (0.05, -0.56, 0.45)))
    parts.append(timber((0.54, 0.32, 0.04), "wood", (0.05, -0.56, 0.41), rng))
    parts += [
        timber((0.04, 0.04, 0.41), "wood", (0.05 + 0.24 * s, -0.56 + 0.13 * t, 0), rng)
        for s in (1, -1)
        for t in (1, -1)
    ]
    return join(parts)


def _music(wide: float, tall: float) -> Mesh:
    """A sheet of music: staves, and dots where notes would stand."""
    w = wide / 2
    flat = [quads([[(-w, 0, 0), (w, 0, 0), (w, 0, tall), (-w, 0, tall)]], "label")]
    for row in range(7):
        z = tall * (0.90 - 0.13 * row)
        flat.append(quads([[(-0.43 * wide, -0.001, z - 0.010), (0.43 * wide, -0.001, z - 0.010),
                            (0.43 * wide, -0.001, z - 0.006), (-0.43 * wide, -0.001, z - 0.006)]],
                          "dark"))  # fmt: skip
    return join(flat)


@kind(
    "stacked chairs",
    "Chairs of tubes and plywood, put on each other; they look towards -y.",
    feet=lambda v: block(0.50, 0.60, 0.5 + 0.12 * v.count),
    variants=4,
    stuff={"tube": "#55585a", "seat": "pale wood"},
    count=number(6, "chairs", 1, 12),
)
def _stacked(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for k in range(int(v.count)):
        at = (float(rng.normal(0, 0.006)), -0.035 * k, 0.112 * k)
        parts.append(moved(_tube_chair(rng), at, float(rng.normal(0, 1.2))))
    return join(parts)


def _tube_chair(rng: np.random.Generator) -> Mesh:
    parts = [timber((0.40, 0.38, 0.012), "seat", (0, 0, 0.44), rng)]
    for s in (1, -1):
        x = 0.205 * s
        way = [(1.08 * x, -0.21, 0.0), (x, -0.17, 0.43), (x, 0.15, 0.43), (1.02 * x, 0.24, 0.84)]
        parts += [tube(a, b, 0.011, "tube", sides=6)
                  for a, b in itertools.pairwise(way)]  # fmt: skip
        parts.append(tube((x, 0.12, 0.43), (1.1 * x, 0.24, 0.0), 0.011, "tube", sides=6))
    t = np.linspace(-1, 1, 7)
    bow = np.stack([0.205 * t, 0.232 + 0.03 * (1 - t * t)], -1)
    for (x0, y0), (x1, y1) in itertools.pairwise(bow):
        back = [(x0, y0 - 0.02, 0.66), (x1, y1 - 0.02, 0.66), (x1, y1 + 0.012, 0.83),
                (x0, y0 + 0.012, 0.83)]  # fmt: skip
        ply = np.array(back) + [0, 0.010, 0]
        parts.append(quads([back, ply[::-1].tolist()], "seat"))
        parts.append(quads([[back[3], back[2], ply[2], ply[3]], [back[1], back[0], ply[0], ply[1]]],
                           "seat"))  # fmt: skip
    return join(parts)


@kind(
    "posters",
    "Bills pinned side by side on a wall, pictures and bars in place of words; they face -y.",
    variants=4,
    stuff={
        "paper": "paper",
        "label": "paper",
        "red": "#a8483a",
        "blue": "#3f6480",
        "yellow": "#d6b25a",
        "green": "#5a7d5c",
        "dark": "#1c1d1f",
        "pin": "#b23530",
    },
    size_m=vector((2.4, 0.9), "width and height that they may take", 0.3),
)
def _posters(v: Values, rng: np.random.Generator) -> Mesh:
    x, z = v.size_m
    parts: list[Mesh] = []
    at = -x / 2
    while True:
        tall = min(float(rng.choice([0.42, 0.594, 0.841])), z)
        wide = tall / math.sqrt(2) if rng.random() < 0.8 else tall * math.sqrt(2)
        if at + wide > x / 2:
            break
        low = float(rng.uniform(0, z - tall)) * 0.4
        bill = moved(_bill(wide, tall, rng), (0, 0, 0), turn_deg=0.0)
        lean = math.radians(float(rng.normal(0, 1.2)))
        c, s = math.cos(lean), math.sin(lean)
        parts.append(moved(bill, (at + wide / 2, -0.003, low),
                           matrix=np.array([[c, 0, -s], [0, 1.0, 0], [s, 0, c]])))  # fmt: skip
        at += wide + float(rng.uniform(0.03, 0.16))
    return join(parts)


def _bill(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """One bill: a field of colour with shapes in it, bars under it, a curled corner."""
    curl = float(rng.uniform(0.004, 0.03))
    xs, zs = np.linspace(-w / 2, w / 2, 6), np.linspace(0, h, 6)
    gx, gz = np.meshgrid(xs, zs, indexing="ij")
    gy = -curl * np.clip((gx / w + 0.5 - gz / h), 0, 1) ** 3
    grid = np.stack([gx, gy, gz], -1)
    flat = [quads([[grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]]
                   for i in range(5) for j in range(5)], "paper")]  # fmt: skip

    def patch(x0: float, x1: float, z0: float, z1: float, slot: str, out: float) -> Mesh:
        y = -0.0006 * out - curl * max(0.5 * (x0 + x1) / w + 0.5 - z0 / h, 0.0) ** 3
        return quads([[(x0, y, z0), (x1, y, z0), (x1, y, z1), (x0, y, z1)]], slot)

    field, other = rng.choice(["red", "blue", "yellow", "green"], 2, replace=False)
    if rng.random() < 0.7:
        low = float(rng.uniform(0.34, 0.5)) * h
        flat.append(patch(-0.46 * w, 0.46 * w, low, 0.97 * h, str(field), 1))
        for k in range(int(rng.integers(3, 7))):
            x0 = float(rng.uniform(-0.42, 0.2)) * w
            z0 = low + float(rng.uniform(0.03, 0.3)) * h
            size = float(rng.uniform(0.06, 0.22))
            slot = str(rng.choice([other, "paper", "dark"]))
            flat.append(patch(x0, x0 + size * w, z0, min(z0 + 0.7 * size * h, 0.95 * h), slot,
                              2 + 0.2 * k))  # fmt: skip
    else:
        low = 0.86 * h
        flat.append(patch(-0.4 * w, 0.4 * w, low, 0.94 * h, str(field), 1))
    z = low - 0.07 * h
    while z > 0.06 * h:
        thick = float(rng.choice([0.012, 0.018, 0.035], p=[0.5, 0.3, 0.2])) * h
        flat.append(patch(-0.4 * w, float(rng.uniform(-0.1, 0.4)) * w, z, z + thick, "dark", 1))
        z -= thick + 0.03 * h
    flat += [box((0.012, 0.006, 0.012), "pin", (s * 0.45 * w, 0.0, 0.96 * h)) for s in (1, -1)]
    return join(flat)


@kind(
    "wall clock",
    "A round clock on a wall; at_m gives its middle; it faces -y.",
    variants=4,
    stuff={"rim": "#2f3336", "face": "clock face", "hand": "#1c1d1f"},
    radius_m=number(0.17, "radius", 0.05, 2),
)
def _wall_clock(v: Values, rng: np.random.Generator) -> Mesh:
    r = v.radius_m
    parts = [moved(lathe([(r, 0), (r, 0.03), (0.94 * r, 0.042), (0.90 * r, 0.03)], "rim", 40),
                   matrix=_UPRIGHT)]  # fmt: skip
    parts.append(moved(cylinder(0.93 * r, 0.026, "face", sides=40), matrix=_UPRIGHT))
    for k in range(12):
        a = math.tau * k / 12
        tick = box((0.03 * r if k % 3 else 0.06 * r, 0.002, 0.12 * r), "hand", (0, 0, 0.72 * r))
        parts.append(_turned(tick, a, -0.027))
    minute = float(rng.uniform(0, 1))
    for share, long, wide in (((int(rng.integers(12)) + minute) / 12, 0.5, 0.06),
                              (minute, 0.74, 0.04)):  # fmt: skip
        hand = box((wide * r, 0.003, long * r), "hand", (0, 0, -0.1 * r))
        parts.append(_turned(hand, math.tau * share, -0.030))
    return join(parts)


def _turned(mesh: Mesh, angle: float, y: float) -> Mesh:
    c, s = math.cos(angle), math.sin(angle)
    return moved(mesh, (0, y, 0), matrix=np.array([[c, 0, s], [0, 1.0, 0], [-s, 0, c]]))


@kind(
    "fire extinguisher",
    "A fire extinguisher on a wall, a sign over it; at_m gives its foot; it faces -y.",
    stuff={
        "red": "#a8281f",
        "label": "paper",
        "dark": "#1c1d1f",
        "sign": "#a8281f",
        "white": "#e6e4df",
    },
)
def _extinguisher(v: Values, rng: np.random.Generator) -> Mesh:
    body = lathe([(0.055, 0.0), (0.07, 0.02), (0.07, 0.36), (0.06, 0.41), (0.03, 0.44),
                  (0.022, 0.46)], "red", 20, smooth=True)  # fmt: skip
    parts = [moved(body, (0, -0.085, 0.0)), box((0.05, 0.03, 0.05), "dark", (0, -0.012, 0.36))]
    parts.append(cylinder(0.024, 0.05, "dark", (0, -0.085, 0.45), sides=12))
    parts.append(tube((0, -0.085, 0.50), (0, -0.16, 0.515), 0.008, "dark", sides=6))
    hose = [(0.02, -0.085, 0.48), (0.085, -0.10, 0.42), (0.098, -0.11, 0.28), (0.09, -0.11, 0.10)]
    parts += [tube(a, b, 0.009, "dark", sides=6) for a, b in itertools.pairwise(hose)]
    band = lathe([(0.0715, 0.0), (0.0715, 0.17)], "label", 20, smooth=True)
    front = band.xyz[..., 1].mean(axis=1) < -0.03
    band = replace(band, xyz=band.xyz[front], uv=band.uv[front], normal=band.normal[front],
                   slot=band.slot[front])  # fmt: skip
    parts.append(moved(band, (0, -0.085, 0.12)))
    parts.append(slip(0.07, 0.08, 0.0, -0.157, 0.27, "label"))
    parts.append(box((0.20, 0.030, 0.20), "sign", (0, 0.011, 0.83)))
    parts.append(box((0.05, 0.003, 0.11), "white", (-0.01, -0.005, 0.865)))
    parts.append(box((0.05, 0.003, 0.02), "white", (0.025, -0.005, 0.98)))
    return join(parts)
