"""Playgrounds, parks and fairs: swings, slides, a climbing frame, a big wheel, booths, lights."""

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    ellipsoid,
    join,
    lathe,
    moved,
    quads,
    tube,
    turned,
)
from render.world.things.feet import block, blocks, disc
from render.world.things.kind import Part, Values, kind, number, outline, yes
from render.world.things.people import RIDERS, rider
from render.world.things.solids import timber

__all__: list[str] = []

#: What is strewn leaves so much room beside what children climb on and slide down.
_CLEAR_M = 0.6

#: Every so many seconds a swing 1.85 m long swings there and back: 2 pi sqrt(length / g).
_SWINGS_S = 2.73


def _swings(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    """The seats on their chains, each swinging in its own time."""
    places = []
    for k in range(int(v.seats)):
        start = float(rng.uniform(-0.35, 0.35))
        high = 0.5 if k < v.riders else 0.36
        phase = math.asin(start / high) + math.tau * time_s / _SWINGS_S
        x = -(1.5 * v.seats + 0.6) / 2 + 0.3 + 1.5 * (k + 0.5)
        places.append(turned((1, 0, 0), high * math.sin(phase), (x, 0.0, 2.4)))
    return np.array(places)


def _seat(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    chains = [
        tube((s * 0.22, 0, 0), (s * 0.22, 0, -1.85), 0.012, "chain", sides=4) for s in (1, -1)
    ]
    return join([*chains, box((0.48, 0.2, 0.04), "seat", (0, 0, -1.85))])


def _ridden(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    return join([_seat(v, rng, share), moved(rider(rng), (0, 0.04, -1.81))])


@kind(
    "swing",
    "A swing with seats.",
    feet=lambda v: block(1.5 * v.seats + 1.1, 2.4, 2.4),
    stuff={"frame": "blue paint", "seat": "black plastic", "chain": "steel", **RIDERS},
    parts=(
        Part(_ridden, lambda v, rng, t: _swings(v, rng, t)[: int(v.riders)]),
        Part(_seat, lambda v, rng, t: _swings(v, rng, t)[int(v.riders) :]),
    ),
    seats=number(2, "number of seats", 1, 6),
    riders=number(0, "how many of them have a child on", 0, 6),
)
def _swing(v: Values, rng: np.random.Generator) -> Mesh:
    w, h = 1.5 * v.seats + 0.6, 2.4
    parts = [tube((-w / 2, 0, h), (w / 2, 0, h), 0.06, "frame")]
    for s in (1, -1):
        parts += [
            tube((s * w / 2, 0, h), (s * (w / 2 + 0.25), t * 1.1, 0), 0.05, "frame")
            for t in (1, -1)
        ]
    return join(parts)


@kind(
    "slide",
    "A slide with its ladder.",
    feet=lambda v: block(0.7 + 2 * _CLEAR_M, 4.8 + 2 * _CLEAR_M, 2.0, (0, -1.15 + _CLEAR_M / 2)),
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
                        (s * 0.25, y1, z1),
                        (s * 0.25, y0, z0),
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
    feet=lambda v: disc(v.radius_m + _CLEAR_M),
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


#: How far a seesaw leans, rad, and how long it takes there and back.
_LEANS, _ROCKS_S = math.radians(9), 2.6


def _rocks(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    """The beam about its pivot: a rest at either end, where a foot pushes off."""
    swing = math.cos(math.tau * time_s / _ROCKS_S) if v.riders else 1.0
    lean = _LEANS * math.sin(math.pi / 2 * swing)
    return turned((1, 0, 0), lean, (0.0, 0.0, 0.5))[None]


def _beam(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    y = 1.7 * math.cos(_LEANS) - 0.35
    parts = [box((0.26, 3.4, 0.07), "beam")]
    parts += [tube((-0.2, s * y, 0.1), (0.2, s * y, 0.1), 0.02, "frame") for s in (1, -1)]
    if v.riders:
        child = rider(rng, 2.6)
        parts.append(moved(child, (0, 1.55, 0.07)))
        other = child.painted(top="bottom", bottom="top")
        parts.append(moved(other, (0, -1.55, 0.07), turn_deg=180))
    return join(parts)


@kind(
    "seesaw",
    "A seesaw.",
    feet=lambda v: block(0.5, 3.4),
    stuff={"beam": "planks", "frame": "blue paint", **RIDERS},
    parts=(Part(_beam, _rocks),),
    riders=yes(False, "a child at either end, and so it rocks"),
)
def _seesaw(v: Values, rng: np.random.Generator) -> Mesh:
    return lathe([(0.28, 0), (0.08, 0.5), (0, 0.5)], "frame", 12)


#: How long a big wheel and a carousel take for a turn: common practice, no source.
_WHEEL_S_PER_M, _CAROUSEL_S = 7.0, 11.0


def _wheel_turn(v: Values, time_s: float) -> float:
    """How far the wheel has turned, rad: a rim goes at some 0.9 m/s, however large it is."""
    start_deg, radius_m = float(v.turn_deg_now), float(v.radius_m)
    return math.radians(start_deg) + math.tau * time_s / (_WHEEL_S_PER_M * radius_m)


def _rim(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """What turns, about its axle: spokes, rims and bulbs."""
    r, n = v.radius_m, int(v.cabins)
    parts = []
    for k in range(n):
        a, b = math.tau * k / n, math.tau * (k + 1) / n
        for y in (-0.8, 0.8):
            p, q = (np.array([r * math.cos(t), y, r * math.sin(t)]) for t in (a, b))
            parts += [
                tube((0, y, 0), p, 0.05, "frame", sides=5),
                tube(p, q, 0.07, "frame", sides=5),
            ]
            inner = [np.array([0.72 * r * math.cos(t), y, 0.72 * r * math.sin(t)]) for t in (a, b)]
            parts.append(tube(inner[0], inner[1], 0.04, "frame", sides=5))
            parts += [
                ellipsoid((0.09, 0.09, 0.09), "bulb", (p + (q - p) * s).tolist(), 6, 4)
                for s in (0.25, 0.75)
            ]
            parts += [
                ellipsoid((0.08, 0.08, 0.08), "bulb", (p * [s, 1, s]).tolist(), 6, 4)
                for s in (0.45, 0.6, 0.85)
            ]
        p = np.array([r * math.cos(a), 0, r * math.sin(a)])
        parts.append(tube(p + [0, -0.8, 0], p + [0, 0.8, 0], 0.06, "frame", sides=5))
    return join(parts)


def _rim_turned(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    return turned((0, -1, 0), _wheel_turn(v, time_s), (0.0, 0.0, v.radius_m + 2.6))[None]


def _cabin(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """A cabin that hangs from the origin."""
    parts = [
        box((1.3, 1.2, 0.75), "cabin", (0, 0, -2.0)),
        box((1.36, 1.26, 0.07), "trim", (0, 0, -1.27)),
        box((1.36, 1.26, 0.06), "trim", (0, 0, -2.02)),
        box((0.5, 1.22, 0.5), "trim", (0, 0, -1.9)),
        moved(cylinder(1.0, 0.45, "roof", (0, 0, -0.7), 0.05, 10), size=(1, 0.72, 1)),
        tube((0, 0, 0), (0, 0, -0.7), 0.04, "frame"),
    ]
    parts += [tube((s, 0.5, -1.3), (s, 0.5, -0.6), 0.03, "frame", sides=4) for s in (0.55, -0.55)]
    return join(parts)


def _cabins_hung(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    """All cabins, upright wherever the wheel has brought them."""
    n, r, a0 = int(v.cabins), v.radius_m, _wheel_turn(v, time_s)
    places = np.tile(np.eye(4), (n, 1, 1))
    a = a0 + math.tau * np.arange(n) / n
    places[:, 0, 3], places[:, 2, 3] = r * np.cos(a), r + 2.6 + r * np.sin(a)
    return places


@kind(
    "big wheel",
    "A fairground wheel with cabins and bulbs; it faces -y and turns.",
    feet=lambda v: block(1.3 * v.radius_m, 7.6, 2.0, (0.0, -0.6)),
    stuff={
        "frame": "white paint",
        "cabin": "red paint",
        "roof": "awning",
        "bulb": "bulb",
        "deck": "planks",
        "skirt": "#3b3f46",
        "rail": "zinc",
        "trim": "yellow paint",
    },
    parts=(Part(_rim, _rim_turned), Part(_cabin, _cabins_hung)),
    radius_m=number(11.0, "radius", 2, 70),
    cabins=number(16, "number of cabins", 4, 60),
    turn_deg_now=number(7.0, "how far the wheel has turned at first", 0, 360),
)
def _wheel(v: Values, rng: np.random.Generator) -> Mesh:
    r = v.radius_m
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
    w, deep = 1.3 * r, 6.0
    parts += [box((w - 0.2, deep - 0.2, 0.4), "skirt", (0, 0, 0))]
    parts += [
        timber((w, 0.19, 0.05), "deck", (float(rng.normal(0, 0.01)), y, 0.42), rng)
        for y in np.arange(-deep / 2 + 0.1, deep / 2, 0.2)
    ]
    for x in np.arange(-w / 2, w / 2 + 0.1, w / 12):  # panels before the beams under it
        parts.append(box((0.12, deep + 0.02, 0.42), "frame", (x, 0, 0)))
    for y in (-deep / 2 + 0.1, deep / 2 - 0.1):  # rails, open where one gets on
        for x in np.arange(-w / 2 + 0.1, w / 2, 1.5):
            if y > 0 or abs(x) > 1.6:
                parts.append(tube((x, y, 0.45), (x, y, 1.5), 0.025, "rail", sides=6))
        for z in (0.95, 1.48):
            spans = ((-w / 2 + 0.1, -1.7), (1.7, w / 2 - 0.1)) if y < 0 else ((-w / 2, w / 2),)
            parts += [tube((a, y, z), (b, y, z), 0.022, "rail", sides=6) for a, b in spans]
    parts += [box((2.4, 0.32, 0.16 * (3 - k)), "skirt", (0, -deep / 2 - 0.3 * k - 0.2, 0))
              for k in range(3)]  # fmt: skip
    return join(parts)


def _carousel_turn(time_s: float) -> float:
    return math.tau * time_s / _CAROUSEL_S


def _round(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    return turned((0, 0, 1), _carousel_turn(time_s))[None]


def _roundabout(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """What turns and neither rises nor falls: floor, roof, bulbs and the poles of the horses."""
    r = v.radius_m
    parts = [cylinder(r, 0.4, "board", sides=36, top="floor")]
    for k in range(16):
        a, b = math.tau * k / 16, math.tau * (k + 1) / 16
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
        x, y = _pole(r, k)
        parts.append(tube((x, y, 0.4), (x, y, 3.5), 0.03, "post", sides=6))
    return join(parts)


def _pole(r: float, k: int) -> tuple[float, float]:
    a, rr = math.tau * k / 12, r * (0.82 if k % 2 else 0.56)
    return rr * math.cos(a), rr * math.sin(a)


def _horse(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """A galloping horse about its pole, its belly at the origin's height, its head towards -y."""
    parts = [
        ellipsoid((0.19, 0.46, 0.21), "horse", (0, 0.02, 0), 14, 9),
        ellipsoid((0.20, 0.22, 0.23), "horse", (0, 0.30, 0.03), 12, 8),
        ellipsoid((0.18, 0.20, 0.23), "horse", (0, -0.30, 0.02), 12, 8),
        tube((0, -0.34, 0.06), (0, -0.56, 0.46), 0.15, "horse", 0.09, 10),
        tube((0, -0.53, 0.50), (0, -0.80, 0.34), 0.095, "horse", 0.055, 10),
        ellipsoid((0.06, 0.07, 0.06), "horse", (0, -0.80, 0.34), 10, 6),
        box((0.34, 0.42, 0.05), "saddle", (0, 0.04, 0.18)),
        box((0.40, 0.34, 0.20), "saddle", (0, 0.04, 0.02)),
        ellipsoid((0.13, 0.07, 0.07), "rein", (0, 0.24, 0.24), 10, 6),
        tube((0, 0.48, 0.12), (0, 0.66, 0.02), 0.05, "mane", 0.07, 8),
        tube((0, 0.66, 0.02), (0, 0.74, -0.30), 0.07, "mane", 0.01, 8),
    ]
    for k in range(5):  # a mane in locks
        y, z = -0.34 - 0.05 * k, 0.22 + 0.085 * k
        parts.append(ellipsoid((0.035, 0.07, 0.10), "mane", (0.02 * (-1) ** k, y + 0.09, z), 8, 5))
    for s in (1, -1):
        parts.append(
            tube((s * 0.05, -0.52, 0.54), (s * 0.06, -0.52, 0.67), 0.03, "horse", 0.004, 6)
        )
        parts.append(
            tube((s * 0.085, -0.70, 0.40), (s * 0.12, -0.20, 0.22), 0.012, "rein", sides=4)
        )
        for y, knee, hoof in (
            (-0.34, (-0.62, -0.26), (-0.60, -0.56)),
            (-0.30, (-0.46, -0.36), (-0.26, -0.56)),
            (0.34, (0.36, -0.34), (0.60, -0.56)),
            (0.30, (0.46, -0.30), (0.74, -0.44)),
        )[(0 if s > 0 else 1) :: 2]:
            joint, foot = (s * 0.11, *knee), (s * 0.11, *hoof)
            parts += [
                tube((s * 0.11, y, -0.08), joint, 0.085, "horse", 0.05, 8),
                tube(joint, foot, 0.045, "horse", 0.035, 8),
                ellipsoid((0.05, 0.055, 0.04), "rein", foot, 8, 5),
            ]
    return join(parts)


def _horses(v: Values, rng: np.random.Generator, time_s: float) -> NDArray[np.float64]:
    """Every horse on its pole, up and down as it goes round."""
    places = []
    for k in range(12):
        x, y = _pole(v.radius_m, k)
        rise = 1.3 + 0.22 * math.sin(2.4 * k + math.tau * time_s / 3.7)
        place = turned((0, 0, 1), math.tau * k / 12 + math.pi, (x, y, rise))
        places.append(turned((0, 0, 1), _carousel_turn(time_s)) @ place)
    return np.array(places)


@kind(
    "carousel",
    "A carousel with horses; it turns.",
    feet=lambda v: disc(v.radius_m),
    stuff={
        "cloth": "awning",
        "post": "brass",
        "floor": "planks",
        "horse": "white paint",
        "mane": "#8a6a3c",
        "saddle": "red paint",
        "rein": "brass",
        "bulb": "bulb",
        "board": "red paint",
    },
    parts=(Part(_roundabout, _round), Part(_horse, _horses)),
    radius_m=number(4.5, "radius", 1.5, 15),
)
def _carousel(v: Values, rng: np.random.Generator) -> Mesh:
    return cylinder(v.radius_m * 0.22, 3.4, "board", (0, 0, 0.4), sides=16)


@kind(
    "string lights",
    "Bulbs on a cable between points (x, y, height).",
    feet=lambda v: blocks(block(0.1, 0.1, 2.0, p[:2]) for p in v.path_m if v.posts),
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
        parts += [cylinder(0.09, 0.12, "cable", (*p[:2], 0), sides=8) for p in v.path_m]
    return join(parts)
