"""What a quay has: its wall with ladders and fenders, boxes, pallets, nets, pots."""

import itertools
import math
from dataclasses import replace

import numpy as np

from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    ellipsoid,
    extrude,
    grid_faces,
    join,
    lathe,
    moved,
    quads,
    tube,
)
from render.world.things.feet import block, blocks, sized
from render.world.things.kind import Values, kind, number, outline, pick, vector
from render.world.things.solids import timber

__all__: list[str] = []


def _tyre(at: tuple[float, float, float], radius: float = 0.42) -> list[Mesh]:
    """A tyre that hangs flat against a wall, on two chains."""
    ring = [
        (radius - 0.20, -0.09), (radius - 0.03, -0.10), (radius, -0.05), (radius, 0.05),
        (radius - 0.03, 0.10), (radius - 0.20, 0.09), (radius - 0.22, 0.0), (radius - 0.20, -0.09),
    ]  # fmt: skip
    tyre = moved(lathe(ring, "tyre", 20), at, matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]])
    x, y, z = at
    return [tyre] + [
        tube((x + s * 0.2, y + 0.1, z + radius - 0.1), (x + s * 0.26, y + 0.1, 0.0), 0.018, "chain",
             sides=5)
        for s in (1, -1)
    ]  # fmt: skip


@kind(
    "quay wall",
    "The face of a quay towards -y along x, its upper edge at z = 0: cope, weed, ladders, fenders.",
    stuff={
        "wall": "tidal stone",
        "cope": "granite",
        "ladder": "rusty iron",
        "tyre": "rubber",
        "chain": "rusty iron",
        "pile": "wet wood",
    },
    length_m=number(40.0, "length", 2, 4000),
    height_m=number(3.0, "from the cope down to below the water", 0.5, 40),
    high_water_m=number(1.2, "how far below the cope high water stands", 0.1, 30),
    ladders_m=number(17.0, "distance between ladders; 0 has none", 0, 1000),
    fenders_m=number(4.3, "distance between fenders; 0 has none", 0, 1000),
)
def _quay_wall(v: Values, rng: np.random.Generator) -> Mesh:
    half, h = v.length_m / 2, v.height_m
    face = [(-half, 0.0, -h), (half, 0.0, -h), (half, 0.0, -0.34), (-half, 0.0, -0.34)]
    flat = [(p[0], p[2] + v.high_water_m) for p in face]
    parts = [quads([face], "wall", [flat])]
    x = -half
    while x < half - 0.2:  # stones of the cope, none quite flush with the next
        n = min(float(rng.uniform(1.1, 1.9)), half - x)
        stone = box((n - 0.012, 0.62, 0.36), "cope", (x + n / 2, 0.26 + rng.uniform(-0.012, 0.012),
                    -0.352 + rng.uniform(0.0, 0.016)))  # fmt: skip
        parts.append(stone)
        x += n
    none = np.zeros(0)
    step = v.ladders_m
    ladders = np.arange(-half + 0.37 * step, half, step) if step else none
    for at in ladders:
        parts += [
            tube((at + s * 0.22, -0.16, -h + 0.3), (at + s * 0.22, -0.16, -0.02), 0.03, "ladder",
                 sides=6) for s in (1, -1)
        ]  # fmt: skip
        parts += [
            tube((at - 0.22, -0.16, z), (at + 0.22, -0.16, z), 0.016, "ladder", sides=5)
            for z in np.arange(-h + 0.45, -0.1, 0.28)
        ]
        for s in (1, -1):  # its hand rails bend over the cope
            bend = [(-0.16, -0.02), (-0.10, 0.32), (0.10, 0.42), (0.34, 0.30), (0.38, 0.0)]
            parts += [
                tube((at + s * 0.22, *a), (at + s * 0.22, *b), 0.022, "ladder", sides=5)
                for a, b in itertools.pairwise(bend)
            ]
    fenders = np.arange(-half + 1.0, half - 1.0, v.fenders_m) if v.fenders_m else none
    for k, at in enumerate(fenders):
        at = float(at + rng.uniform(-0.4, 0.4))
        if len(ladders) and np.abs(np.asarray(ladders) - at).min() < 0.9:
            continue
        if k % 4 == 1:
            pile = cylinder(0.15, h - 0.3, "pile", (at, -0.16, -h), 0.14, 10)
            parts.append(_wetted(pile, v.high_water_m))
        elif rng.random() < 0.75:
            parts += _tyre((at, -0.12, -float(rng.uniform(0.75, 1.0))))
    return join(parts)


def _crate(size: tuple[float, float, float], rng: np.random.Generator) -> Mesh:
    """An open plastic box with a rim and handles."""
    x, y, z = size
    wall = 0.02
    parts = [box((x, y, 0.03), "box", (0, 0, 0))]
    parts += [box((x, wall, z), "box", (0, s * (y - wall) / 2, 0)) for s in (1, -1)]
    parts += [box((wall, y, z), "box", (s * (x - wall) / 2, 0, 0)) for s in (1, -1)]
    parts.append(box((x + 0.03, 0.03, 0.035), "box", (0, y / 2, z - 0.035)))
    parts.append(box((x + 0.03, 0.03, 0.035), "box", (0, -y / 2, z - 0.035)))
    if rng.random() < 0.6:
        fill = [(s * x * 0.46, t * y * 0.44) for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        parts.append(extrude(fill, 0.03, z * float(rng.uniform(0.5, 0.9)), "ice", "ice"))
    return join(parts)


def _pallet(at: tuple[float, float, float], rng: np.random.Generator, turn: float = 0.0) -> Mesh:
    """A flat pallet, 1.2 by 0.8 m."""
    parts = [
        timber((1.2, 0.098, 0.022), "wood", (0, y, 0.122), rng) for y in np.linspace(-0.35, 0.35, 6)
    ]
    parts += [timber((0.1, 0.8, 0.022), "wood", (x, 0, 0.1), rng) for x in (-0.55, 0, 0.55)]
    parts += [
        timber((0.1, 0.14, 0.1), "wood", (x, y, 0), rng)
        for x in (-0.55, 0, 0.55)
        for y in (-0.33, 0, 0.33)
    ]
    return moved(join(parts), at, turn)


def _net_heap(v: Values, rng: np.random.Generator) -> list[Mesh]:
    """A net thrown down in folds, its line of floats over it."""
    x, y, z = v.size_m
    n, rings = 30, 9
    angle, reach = np.linspace(0, math.tau, n + 1), np.linspace(1.0, 0.0, rings)
    a = rng.uniform(0, math.tau, 6)
    folds = 1 + 0.13 * np.sin(2 * angle + a[0]) + 0.09 * np.sin(5 * angle + a[1])
    r = reach[None] * folds[:, None] ** reach[None]
    high = z * (1 - reach[None] ** 1.7) * (1 + 0.10 * np.sin(7 * angle[:, None] + a[2] + 4 * r))
    high = high * (1 + 0.16 * np.sin(9 * r + a[3]) * np.sin(3 * angle[:, None] + a[4]))
    place = np.stack(
        [x / 2 * r * np.cos(angle)[:, None], y / 2 * r * np.sin(angle)[:, None], high], -1
    )
    parts = [quads(grid_faces(place), "net")]
    s = np.linspace(0.4, 5.2, 40)
    path = 0.36 * np.stack(
        [x * (1 - 0.1 * s) * np.cos(1.9 * s), y * (1 - 0.1 * s) * np.sin(2.3 * s)], -1
    )
    far = np.hypot(path[:, 0] / (x / 2), path[:, 1] / (y / 2)).clip(0, 1)
    line = np.column_stack([path, z * (1 - far**1.7) * 1.02 + 0.04])
    parts += [tube(p, q, 0.012, "rope", sides=4) for p, q in itertools.pairwise(line)]
    parts += [ellipsoid((0.07, 0.07, 0.055), "float", p.tolist(), 8, 5) for p in line[::2]]
    return parts


def _pot(at: tuple[float, float, float], turn: float) -> Mesh:
    """A creel: slats below, hoops under netting."""
    arc = np.linspace(0, math.pi, 9)
    ring = np.stack([0.22 * np.cos(arc), 0.04 + 0.32 * np.sin(arc)], -1)
    parts = [box((0.44, 0.66, 0.03), "wood", (0, 0, 0.01))]
    for y in (-0.32, 0.0, 0.32):
        parts += [
            tube((a[0], y, a[1]), (b[0], y, b[1]), 0.014, "rope", sides=4)
            for a, b in itertools.pairwise(ring)
        ]
    skin = [
        [(a[0], -0.32, a[1]), (b[0], -0.32, b[1]), (b[0], 0.32, b[1]), (a[0], 0.32, a[1])]
        for a, b in zip(0.97 * ring[:-1], 0.97 * ring[1:], strict=True)
    ]
    parts.append(quads([face[::-1] for face in skin], "net"))
    return moved(join(parts), at, turn)


@kind(
    "quay gear",
    "What fishermen leave on a quay: boxes, pallets, nets with their floats, pots.",
    variants=5,
    feet=sized(0.1),
    stuff={
        "box": "#c8762e",
        "ice": "#b9bfc2",
        "wood": "grey wood",
        "net": "old net",
        "rope": "rope",
        "float": "orange paint",
    },
    sort=pick("boxes", "which", "boxes", "pallets", "net", "pots"),
    size_m=vector((1.7, 1.3, 0.9), "length, width and height at most", 0.3),
)
def _gear(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    if v.sort == "net":
        return join(_net_heap(v, rng))
    parts = []
    if v.sort == "pallets":
        for k in range(max(1, int(z / 0.15 * rng.uniform(0.4, 1.0)))):
            parts.append(_pallet((0, 0, 0.147 * k), rng, float(rng.normal(0, 3))))
        return join(parts)
    if v.sort == "pots":
        across, along, up = int(x / 0.5), max(1, int(y / 0.72)), max(1, int(z / 0.38))
        for i in range(across):
            for j in range(along):
                for k in range(int(rng.integers(1, up + 1))):
                    at = (
                        (i + 0.5) * 0.5 - across * 0.25,
                        (j + 0.5) * 0.72 - along * 0.36,
                        0.37 * k,
                    )
                    parts.append(_pot(at, float(rng.normal(0, 4))))
        return join(parts)
    size = (0.72, 0.44, 0.26)
    across, along = max(1, int(x / 0.8)), max(1, int(y / 0.5))
    for i in range(across):
        for j in range(along):
            for k in range(int(rng.integers(1, max(2, int(z / 0.24) + 1)))):
                at = ((i + 0.5) * 0.8 - across * 0.4, (j + 0.5) * 0.5 - along * 0.25, 0.235 * k)
                parts.append(moved(_crate(size, rng), at, float(rng.normal(0, 2.5))))
    return join(parts)


@kind(
    "mooring line",
    "Ropes between points (x, y, height), a boat's cleat and a post: slack, turns round the post.",
    stuff={"rope": "rope"},
    path_m=outline("points", 2, 3, start=((0, 0, 1.4), (2, 4, 2.4))),
    sag_m=number(0.25, "how far each span hangs down", 0, 20),
    radius_m=number(0.018, "radius", 0.002, 0.3),
)
def _mooring_line(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for a, b in itertools.pairwise(np.asarray(v.path_m, float)):
        for k in range(2):  # it goes there and back
            s = np.linspace(0, 1, 13)
            line = a + (b - a) * s[:, None]
            line[:, 2] -= 4 * v.sag_m * s * (1 - s) * float(rng.uniform(0.7, 1.25))
            line[:, :2] += 0.07 * (k - 0.5) * s[:, None]
            parts += [tube(p, q, v.radius_m, "rope", sides=5) for p, q in itertools.pairwise(line)]
        turns = 0.2 + 0.02 * np.sin(np.linspace(0, 9, 37))
        t = np.linspace(0, 3 * math.tau, 37)
        ring = b + np.column_stack(
            [turns * np.cos(t), turns * np.sin(t) + 0.15, -0.16 + 0.045 * t / math.tau]
        )
        parts += [tube(p, q, v.radius_m, "rope", sides=5) for p, q in itertools.pairwise(ring)]
    return join(parts)


def _pile_tops(v: Values) -> list[tuple[float, float]]:
    """Where every third pile of a pier rises over its boards."""
    rows = np.arange(-v.size_m[1] / 2 + 0.3, v.size_m[1] / 2, 2.4)[::3]
    return [(s * (v.size_m[0] / 2 + 0.12), float(y)) for s in (1, -1) for y in rows]


@kind(
    "pier",
    "A wooden pier, long along y, its boards' upper side at z = 0: piles, beams, a ladder, tyres.",
    feet=lambda v: blocks(block(0.32, 0.32, 0.75, at) for at in _pile_tops(v)),
    stuff={
        "board": "grey wood",
        "beam": "wet wood",
        "pile": "wet wood",
        "ladder": "rusty iron",
        "tyre": "rubber",
        "chain": "rusty iron",
    },
    size_m=vector((4.0, 20.0, 3.0), "width, length, height over its piles' feet", 0.5),
    high_water_m=number(1.4, "how far below the boards high water stands", 0.1, 30),
)
def _pier(v: Values, rng: np.random.Generator) -> Mesh:
    w, n, h = v.size_m
    parts = []
    for y in np.arange(-n / 2 + 0.09, n / 2, 0.18):
        size = (w + float(rng.uniform(-0.05, 0.03)), 0.168 - float(rng.uniform(0, 0.006)), 0.06)
        plank = timber(size, "board", (float(rng.normal(0, 0.015)), 0, 0), rng)
        parts.append(moved(plank, (0, y, -0.06 - abs(float(rng.normal(0, 0.003)))),
                           float(rng.normal(0, 0.15))))  # fmt: skip
    for s in (1, -1):
        x = s * (w / 2 - 0.12)
        parts.append(_wetted(box((0.2, n, 0.26), "beam", (x, 0, -0.33)), v.high_water_m))
        parts.append(timber((0.12, n - 0.2, 0.1), "board", (s * (w / 2 - 0.1), 0, -0.062), rng))
        for k, y in enumerate(np.arange(-n / 2 + 0.3, n / 2, 2.4)):
            top = 0.75 if k % 3 == 0 else -0.08
            off = x + s * 0.24
            pile = cylinder(0.15, h + top, "pile", (off, y, -h), 0.135, 12)
            parts.append(_wetted(pile, v.high_water_m))
            if ((k % 3 == 1 and s < 0) or k % 4 == 2) and y + 1.7 < n / 2:
                at = (off + s * 0.16, y + 1.2, -0.75)
                tyre = join(_tyre((0.0, 0.0, at[2])))
                parts.append(moved(tyre, (at[0], at[1], 0.0), 90.0 * s))
        brace = np.arange(-n / 2 + 0.3, n / 2 - 2.4, 4.8)
        parts += [
            tube((x, y, -0.4), (x, y + 2.4, -v.high_water_m), 0.06, "pile", sides=6) for y in brace
        ]
    return join(parts)


def _wetted(mesh: Mesh, high_water_m: float) -> Mesh:
    """The mesh with v counted from high water, as the rule of tides wants it."""
    uv = mesh.uv.copy()
    uv[..., 1] = mesh.xyz[..., 2] + high_water_m
    return replace(mesh, uv=uv)
