"""Boats, and what a quay needs: bow towards -y before turning, afloat on z = 0."""

import itertools
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, box, cylinder, ellipsoid, join, lathe, moved, quads, tube
from render.world.things.feet import block, blocks, disc
from render.world.things.kind import Part, Values, kind, number, pick, yes
from render.world.things.waving import rocking, wake

__all__ = ["hull"]


def hull(length: float, beam: float, free: float, draught: float, inside: bool) -> list[Mesh]:
    """A hull: skin, its boot below the water's line, a band at its gunwale, a deck or a well."""
    n = 20
    s = np.linspace(0, 1, n + 1)
    y = (s - 0.5) * length
    half = _half(beam, s)
    rim = free * (1 + 0.45 * (1 - s) ** 2.2)
    shape = [(1.0, 1.0), (0.965, 0.5), (0.905, 0.20), (0.89, 0.15), (0.72, -0.25), (0.10, -1.0)]
    ribs = []
    for i in range(n + 1):
        side = [(half[i] * w, y[i], rim[i] * h if h > 0 else draught * h) for w, h in shape]
        ribs.append(
            np.array([(-a, b, c) for a, b, c in side] + [(a, b, c) for a, b, c in side[::-1]])
        )
    strakes = len(shape) * 2 - 1
    slots = ["hull", "hull", "line", "boot", "boot"]
    parts = []
    for k in range(strakes):
        skin = [[ribs[i][k], ribs[i][k + 1], ribs[i + 1][k + 1], ribs[i + 1][k]] for i in range(n)]
        uv = [[(p[1], p[2]) for p in face] for face in skin]
        parts.append(quads(skin, (slots + ["boot"] + slots[::-1])[k], uv))
    stern = ribs[-1]
    for k, slot in enumerate(slots):
        parts.append(quads([[stern[k], stern[k + 1], stern[-2 - k], stern[-1 - k]]], slot))
    low = 0.25 * free if inside else 0.86
    deck = []
    for i in range(n):
        a, b = half[i] * 0.97, half[i + 1] * 0.97
        za, zb = (low, low) if inside else (rim[i] * low, rim[i + 1] * low)
        deck.append([(-a, y[i], za), (a, y[i], za), (b, y[i + 1], zb), (-b, y[i + 1], zb)])
    band = [tube(ribs[i][0], ribs[i + 1][0], 0.045, "trim", sides=6) for i in range(n)]
    band += [tube(ribs[i][-1], ribs[i + 1][-1], 0.045, "trim", sides=6) for i in range(n)]
    return [*parts, quads(deck, "deck"), *band]


def _half(beam: float, s: Any) -> Any:
    """Half the width at the gunwale at shares of the length from the bow."""
    round_bow = np.clip(np.sin(np.pi * (0.5 * s + 0.02)) ** 0.75, 0.02, 1)
    return beam / 2 * round_bow * np.where(s > 0.8, 1 - 0.25 * (s - 0.8) / 0.2, 1)


def _measures(v: Values) -> tuple[float, float, float]:
    """Length, beam and freeboard of a type, metres."""
    usual = {"rowing": 4.2, "fishing": 11.0, "sailing": 8.5, "motor": 7.0, "barge": 24.0}
    n = v.length_m or usual[v.type]
    beam = {"rowing": 0.36, "fishing": 0.33, "sailing": 0.32, "motor": 0.34, "barge": 0.22}[v.type]
    free = {"rowing": 0.42, "fishing": 1.15, "sailing": 0.8, "motor": 0.85, "barge": 1.1}[v.type]
    return n, n * beam, free


def _behind(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    n, beam, _free = _measures(v)
    return wake(n, beam, v.speed_m_s)


def _rocks(v: Values, time_s: float) -> NDArray[np.float64]:
    n, beam, _free = _measures(v)
    return rocking(n, beam, time_s)


@kind(
    "boat",
    "A boat; at_m gives the height of the water it floats on.",
    feet=lambda v: block(_measures(v)[1], _measures(v)[0]),
    variants=2,
    stuff={
        "hull": "hull paint",
        "line": "boot top",
        "boot": "antifouling",
        "deck": "planks",
        "trim": "brown wood",
        "cabin": "white paint",
        "glass": "glass",
        "mast": "mast wood",
        "tyre": "rubber",
        "rope": "rope",
        "net": "old net",
        "sail": "awning",
        "gear": "orange paint",
        "rail": "zinc",
        "foam": "thin foam",
        "churn": "churned water",
        "wave": "water",
    },
    parts=(Part(_behind, under_way=True),),
    sways=_rocks,
    type=pick("rowing", "which", "rowing", "fishing", "sailing", "motor", "barge"),
    length_m=number(0.0, "length; 0 follows the type", 0, 60),
    sails=yes(False, "sails set"),
)
def _boat(v: Values, rng: np.random.Generator) -> Mesh:
    n, beam, free = _measures(v)
    parts = hull(n, beam, free, free * 0.6, v.type == "rowing")
    if v.type == "rowing":
        parts += [
            box((1.86 * _half(beam, q + 0.5) - 0.03, 0.24, 0.04), "deck", (0, q * n, 0.28))
            for q in (-0.15, 0.08, 0.32)
        ]
        parts += [
            tube(
                (s * beam * 0.24, -0.2 * n, 0.345),
                (s * beam * 0.16, 0.34 * n, 0.345),
                0.025,
                "mast",
                sides=5,
            )
            for s in (1, -1)
        ]
    elif v.type == "fishing":
        parts += _fishing(n, beam, free)
    elif v.type == "sailing":
        parts += _sailing(n, beam, free, v.sails)
    elif v.type == "motor":
        parts.append(box((beam * 0.56, n * 0.34, 0.75), "cabin", (0, -0.02 * n, free * 0.9)))
        parts.append(box((beam * 0.58, n * 0.30, 0.30), "glass", (0, -0.02 * n, free * 0.9 + 0.36)))
        parts.append(box((beam * 0.62, n * 0.37, 0.06), "cabin", (0, -0.01 * n, free * 0.9 + 0.75)))
    else:
        parts.append(box((beam * 0.72, n * 0.52, 0.7), "gear", (0, -0.06 * n, free * 0.8)))
        parts.append(box((beam * 0.66, n * 0.14, 1.9), "cabin", (0, 0.34 * n, free * 0.8)))
        parts.append(box((beam * 0.68, n * 0.12, 0.55), "glass", (0, 0.335 * n, free * 0.8 + 1.05)))
    return join(parts)


def _wheelhouse(wide: float, deep: float, at: tuple[float, float, float]) -> list[Mesh]:
    """A boarded house with framed panes, a roof with a rail, a mast for lamps, a life ring."""
    x, y, z = at
    parts = [
        box((wide, deep, 1.2), "cabin", at),
        box((wide - 0.05, deep - 0.05, 0.6), "glass", (x, y, z + 1.2)),
        box((wide, deep, 0.28), "cabin", (x, y, z + 1.8)),
        box((wide + 0.26, deep + 0.34, 0.07), "trim", (x, y - 0.06, z + 2.08)),
        box((0.62, 0.03, 1.7), "trim", (x + 0.2, y + deep / 2 + 0.015, z + 0.05)),
    ]
    for s in (1, -1):
        parts += [
            box((0.05, 0.07, 0.6), "cabin", (x + s * wide * q, y - t * (deep / 2 - 0.02), z + 1.2))
            for q in (0.49, 0.17)
            for t in (1, -1)
        ]
        parts += [
            box((0.06, 0.06, 0.6), "cabin", (x + s * (wide / 2 - 0.02), y + q * deep, z + 1.2))
            for q in (-0.16, 0.16)
        ]
        parts.append(box((0.02, deep, 0.05), "trim", (x + s * wide / 2, y, z + 1.13)))
        rail = [(x + s * wide * 0.5, y + t * deep * 0.5) for t in (-1, 0, 1)]
        parts += [tube((*p, z + 2.1), (*p, z + 2.5), 0.015, "rail", sides=5) for p in rail]
        parts.append(tube((*rail[0], z + 2.5), (*rail[2], z + 2.5), 0.015, "rail", sides=5))
    ring = [(0.36, -0.05), (0.40, 0.0), (0.36, 0.05), (0.26, 0.05), (0.22, 0.0), (0.26, -0.05)]
    life = lathe([*ring, ring[0]], "gear", 18)
    side = [[0, 0, 1], [1, 0, 0], [0, 1, 0]]
    parts.append(moved(life, (x + wide / 2 + 0.06, y, z + 0.66), matrix=side))
    parts += [
        tube((x, y, z + 2.1), (x, y, z + 3.3), 0.025, "rail", sides=6),
        box((1.1, 0.09, 0.12), "cabin", (x, y, z + 2.95)),
        tube((x + 0.4, y + 0.3, z + 2.1), (x + 0.4, y + 0.3, z + 4.2), 0.008, "rail", sides=4),
        cylinder(0.09, 0.55, "trim", (x - 0.4, y + 0.3, z + 2.1), sides=10),
    ]
    return parts


def _net_drum(y: float, z: float, wide: float) -> list[Mesh]:
    """A drum with a net wound on it, across the deck."""
    across = [[0, 0, 1], [0, 1, 0], [-1, 0, 0]]
    parts = [moved(cylinder(0.34, wide, "net", sides=16), (-wide / 2, y, z + 0.6), matrix=across)]
    for s in (1, -1):
        disc_ = moved(cylinder(0.5, 0.05, "rail", sides=18), matrix=across)
        parts.append(moved(disc_, (s * (wide / 2 + 0.05) - 0.025, y, z + 0.6)))
        parts.append(box((0.08, 0.5, 0.6), "rail", (s * (wide / 2 + 0.13), y, z)))
    return parts


def _tyres(n: float, beam: float, free: float) -> list[Mesh]:
    """Old tyres hung along both sides as fenders."""
    ring = [(0.17, -0.07), (0.28, -0.08), (0.31, 0.0), (0.28, 0.08), (0.17, 0.07), (0.15, 0.0)]
    tyre = lathe([*ring, ring[0]], "tyre", 16)
    parts = []
    for q in (-0.22, 0.02, 0.22, 0.36):
        for s in (1, -1):
            x = s * (float(_half(beam, q + 0.5)) * 0.97 + 0.05)
            z = free * 0.62
            parts.append(moved(tyre, (x, q * n, z), matrix=[[0, 0, 1], [1, 0, 0], [0, 1, 0]]))
            top = (x - s * 0.06, q * n, free * (1.02 + 0.45 * (0.5 - q) ** 2.2))
            parts.append(tube((x, q * n, z + 0.2), top, 0.016, "rope", sides=4))
    return parts


def _fishing(n: float, beam: float, free: float) -> list[Mesh]:
    z = free * 0.9
    parts = [
        *_wheelhouse(beam * 0.52, n * 0.2, (0, 0.12 * n, z)),
        *_net_drum(0.40 * n, z, beam * 0.42),
        *_tyres(n, beam, free),
        box((beam * 0.4, n * 0.13, 0.5), "trim", (0, -0.12 * n, z)),
    ]
    top = (0.0, -0.02 * n, z + 5.2)
    parts += [
        tube((0, -0.02 * n, z), top, 0.07, "mast", 0.035),
        tube((0, 0.3 * n, z), (0, 0.3 * n, z + 3.6), 0.05, "mast", 0.03),
    ]
    parts += [
        tube(top, p, 0.015, "trim", sides=4)
        for p in (
            (0, -0.48 * n, z + 0.5),
            (0, 0.46 * n, z),
            (beam * 0.45, 0, z),
            (-beam * 0.45, 0, z),
        )
    ]
    boom = (0.0, -0.33 * n, z + 3.4)
    parts += [
        tube((0, -0.02 * n, z + 1.2), boom, 0.045, "mast", 0.03),
        tube(top, boom, 0.010, "rope", sides=4),
        tube(boom, (0, -0.31 * n, z + 0.6), 0.012, "rope", sides=4),
        box((0.12, 0.08, 0.16), "rail", (0, -0.31 * n, z + 0.5)),
    ]
    parts += [
        ellipsoid((0.2, 0.2, 0.25), "gear", (s * beam * 0.40, q * n, z + 0.22), 12, 8)
        for s, q in ((1, -0.2), (1, -0.24), (-1, -0.25))
    ]
    for k, (x, y) in enumerate(((0.24, -0.03), (0.24, -0.03), (-0.25, -0.04), (-0.25, 0.26))):
        parts.append(box((0.6, 0.42, 0.26), "gear", (x * beam, y * n, z + 0.265 * (k == 1))))
    heap = ellipsoid((0.26 * beam, 0.055 * n, 0.28), "net", (0.02 * beam, -0.24 * n, z), 14, 8)
    parts.append(heap)
    coil = np.linspace(0, 3.4 * math.tau, 60)
    line = np.stack([0.22 * np.cos(coil), 0.22 * np.sin(coil), 0.05 + 0.008 * coil], -1)
    line += [-0.22 * beam, 0.3 * n, z]
    parts += [tube(p, q, 0.018, "rope", sides=4) for p, q in itertools.pairwise(line)]
    return parts


def _sailing(n: float, beam: float, free: float, sails: bool) -> list[Mesh]:
    z, h = free * 0.88, n * 1.25
    mast = (0.0, -0.08 * n, z)
    parts = [
        box((beam * 0.5, n * 0.26, 0.42), "cabin", (0, 0.02 * n, z)),
        box((beam * 0.52, n * 0.2, 0.14), "glass", (0, 0.02 * n, z + 0.16)),
        tube(mast, (0, -0.08 * n, z + h), 0.055, "mast", 0.03),
        tube((0, -0.08 * n, z + 1.0), (0, 0.36 * n, z + 1.0), 0.05, "mast"),
    ]
    parts += [
        tube((0, -0.08 * n, z + h), p, 0.012, "trim", sides=4)
        for p in (
            (0, -0.49 * n, z + 0.3),
            (0, 0.48 * n, z),
            (beam * 0.48, 0, z),
            (-beam * 0.48, 0, z),
        )
    ]
    if sails:
        parts.append(
            quads(
                [
                    [
                        (0.0, -0.06 * n, z + 1.1),
                        (0.35, 0.35 * n, z + 1.1),
                        (0.2, -0.04 * n, z + h * 0.97),
                        (0.2, -0.05 * n, z + h * 0.97),
                    ]
                ],
                "sail",
            )
        )
        parts.append(
            quads(
                [
                    [
                        (0.0, -0.47 * n, z + 0.6),
                        (0.4, -0.1 * n, z + 0.9),
                        (0.1, -0.09 * n, z + h * 0.85),
                        (0.1, -0.1 * n, z + h * 0.85),
                    ]
                ],
                "sail",
            )
        )
    else:
        parts.append(tube((0, -0.06 * n, z + 1.13), (0, 0.35 * n, z + 1.1), 0.13, "sail", 0.08))
    return parts


@kind(
    "quay crane",
    "A tall crane on a portal; its jib towards -y before turning.",
    feet=lambda v: blocks(block(0.9, 1.5, 2.0, (x, y)) for x in (-3, 3) for y in (-3.2, 3.2)),
    stuff={"frame": "crane paint", "cab": "white paint", "glass": "glass", "rope": "iron"},
    height_m=number(22.0, "height of the tower's top", 5, 90),
    reach_m=number(20.0, "length of the jib", 3, 80),
    jib_deg=number(38.0, "how steep the jib stands", 0, 85),
)
def _quay_crane(v: Values, rng: np.random.Generator) -> Mesh:
    h = v.height_m
    parts = []
    for sx in (1, -1):
        for sy in (1, -1):
            parts.append(
                _lattice((sx * 3.0, sy * 3.2, 0.1), (sx * 1.7, sy * 1.7, h * 0.36), 0.5, 4)
            )
            parts.append(box((0.9, 1.5, 0.7), "rope", (sx * 3.0, sy * 3.2, 0)))
    parts += [
        box((4.6, 4.6, 0.4), "frame", (0, 0, h * 0.36)),
        cylinder(1.5, 0.9, "rope", (0, 0, h * 0.36 + 0.4), sides=20),
    ]
    deck = h * 0.36 + 1.3  # of what turns on the portal: it bears the house, the cab, tower and jib
    parts.append(_lattice((0, 0, deck), (0, 0.6, h), 1.6, 7))
    parts += [
        box((3.0, 7.0, 0.2), "frame", (0, 1.05, deck)),
        box((1.9, 2.3, 0.2), "frame", (1.75, -1.5, deck)),
        box((2.6, 3.0, 2.2), "frame", (0, 2.95, deck + 0.2)),
        box((1.2, 0.9, 0.35), "frame", (0, -0.9, h * 0.5 - 0.2)),
    ]
    parts += _crane_cab((1.75, -1.5, deck + 0.2))
    a = math.radians(v.jib_deg)
    foot = np.array([0.0, -1.2, h * 0.5])
    tip = foot + [0, -v.reach_m * math.cos(a), v.reach_m * math.sin(a)]
    parts.append(_lattice(foot, tip, 0.9, 12))
    top = np.array([0.0, 0.6, h])
    parts += [tube(top + [s, 0, 0], tip, 0.04, "rope", sides=5) for s in (0.5, -0.5)]
    parts.append(tube(tip, (tip[0], tip[1], 3.5), 0.03, "rope", sides=5))
    parts.append(box((0.5, 0.5, 0.9), "frame", (tip[0], tip[1], 2.6)))
    return join(parts)


def _crane_cab(at: tuple[float, float, float]) -> list[Mesh]:
    """The driver's cab: panels below, panes between posts, an overhanging roof."""
    x, y, z = at
    w, n = 1.5, 1.9
    posts = [(sx * (w / 2 - 0.05), sy * (n / 2 - 0.05)) for sx in (1, -1) for sy in (1, -1)]
    return [
        box((w, n, 0.85), "cab", at),
        box((w - 0.12, n - 0.12, 1.0), "glass", (x, y, z + 0.85)),
        *(box((0.1, 0.1, 1.0), "cab", (x + px, y + py, z + 0.85)) for px, py in posts),
        box((w, n, 0.15), "cab", (x, y, z + 1.85)),
        box((w + 0.2, n + 0.2, 0.08), "frame", (x, y, z + 2.0)),
    ]


def _lattice(a, b, wide: float, bays: int) -> Mesh:  # type: ignore[no-untyped-def]
    """A square lattice girder from a to b."""
    p, q = np.asarray(a, float), np.asarray(b, float)
    axis = (q - p) / np.linalg.norm(q - p)
    x = np.cross(axis, [0, 1, 0] if abs(axis[1]) < 0.8 else [1, 0, 0])
    x /= np.linalg.norm(x)
    y = np.cross(axis, x)
    corner = [wide / 2 * (sx * x + sy * y) for sx, sy in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
    r = 0.045 * wide + 0.03
    parts = [tube(p + c, q + c * 0.7, r, "frame", sides=6) for c in corner]
    at = [p + (q - p) * s for s in np.linspace(0, 1, bays + 1)]
    taper = np.linspace(1, 0.7, bays + 1)
    for i in range(bays):
        for k in range(4):
            c, d = corner[k], corner[(k + 1) % 4]
            ends = (
                (at[i] + c * taper[i], at[i + 1] + d * taper[i + 1])
                if (i + k) % 2
                else (at[i] + d * taper[i], at[i + 1] + c * taper[i + 1])
            )
            parts.append(tube(*ends, r * 0.5, "frame", sides=4))
            parts.append(
                tube(at[i] + c * taper[i], at[i] + d * taper[i], r * 0.5, "frame", sides=4)
            )
    return join(parts)


@kind(
    "mooring post",
    "An iron post for ropes.",
    feet=lambda v: disc(0.3, 0.66),
    stuff={"post": "iron"},
)
def _mooring(v: Values, rng: np.random.Generator) -> Mesh:
    return lathe(
        [
            (0, 0),
            (0.3, 0),
            (0.3, 0.06),
            (0.18, 0.1),
            (0.17, 0.4),
            (0.3, 0.5),
            (0.28, 0.6),
            (0, 0.66),
        ],
        "post",
        16,
        smooth=True,
    )


@kind(
    "rope coil",
    "A coil of rope, or a heap of nets.",
    feet=lambda v: disc(1.1 * v.radius_m, 0.3),
    variants=3,
    stuff={"rope": "rope"},
    radius_m=number(0.5, "radius", 0.1, 4),
)
def _coil(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for k in range(4):
        ring = np.linspace(0, 2 * math.pi, 17)
        r = v.radius_m * (1 - 0.1 * k) * rng.uniform(0.92, 1.05)
        p = np.stack([r * np.cos(ring), r * np.sin(ring), np.full(17, 0.04 + 0.06 * k)], -1)
        parts += [tube(p[i], p[i + 1], 0.04, "rope", sides=5) for i in range(16)]
    return moved(join(parts), turn_deg=float(rng.uniform(0, 360)))
