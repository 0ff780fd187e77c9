"""What a beach has: the sea and its surf, a boardwalk, who lies in the sun, nets, wind breaks."""

import itertools
import math
from functools import partial

import numpy as np
from numpy.typing import NDArray

from render.world.line import places_along, run_along
from render.world.mesh import Mesh, box, cylinder, grid_faces, join, moved, quads, tube
from render.world.surfaces.shores import FROTH_FROM_M, FROTH_STEP_M
from render.world.things.feet import block, path, sized
from render.world.things.figures import PLAIN
from render.world.things.kind import Part, Values, kind, number, outline, vector, yes
from render.world.things.people import RIDERS, figure
from render.world.things.roadway import BAGS, beach_bag
from render.world.things.solids import timber

__all__: list[str] = []

Floats = NDArray[np.float64]


def _grid(place: Floats, flat: Floats, slot: str) -> Mesh:
    """Faces over places (n, m, 3) with surface coordinates (n, m, 2); rows run against columns."""
    return quads(grid_faces(place), slot, grid_faces(flat))


@kind(
    "sea",
    "The sea off a beach: its edge along x where it stands, open water towards +y.",
    stuff={"water": "sea"},
    length_m=number(400.0, "length of the beach", 5, 4000),
    reach_m=number(400.0, "how far out it reaches", 5, 8000),
    fall_m=number(24.0, "how many metres out it gets a metre deeper", 2, 500),
)
def _sea(v: Values, rng: np.random.Generator) -> Mesh:
    """A sheet; what the last wave wetted climbs the sand a little."""
    half = v.length_m / 2
    x, y = np.array([-half, half]), np.array([-2.4, 0.0, v.reach_m])
    u, d = np.meshgrid(x, y, indexing="ij")
    z = np.where(d < 0, 0.012 - d / v.fall_m, 0.0)
    return _grid(np.stack([u, d, z], -1), np.stack([u, d], -1), "water")


#: How many lines of foam roll in at a time, and how long one takes.
_LINES, _ROLLS_S = 4, 26.0
#: Drops thrown up to a metre of such a line where it is whole.
_DROPS_A_M = 9


def _rolled(number_of: int, time_s: float) -> float:
    """Share of its way that a line of foam has come, 0 out at sea, 1 on the beach."""
    return ((number_of + 0.5) / _LINES + time_s / _ROLLS_S) % 1.0


def _front(x: Floats, come: float, turn: float) -> Floats:
    """How far aside of its mean a front lies along the beach."""
    y = come * (0.5 * np.sin(x / 14.1) + 0.3 * np.sin(x / 6.3 + 1.0)) + 0.15 * np.sin(
        x / 3.1 + turn
    )
    return np.asarray(y + 0.06 * np.sin(x / 0.9 + turn))


def _line(number_of: int, v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """One wave: a crest that steepens and breaks, what it leaves behind it, drops at its front.

    All lines follow one shore, so none crosses another.
    """
    come = _rolled(number_of, share * _ROLLS_S)
    out = v.reach_m * (1 - come) ** 1.35
    grown = math.sin(math.pi * come**1.6) ** 0.7 + 0.02
    turn = 1.7 * number_of
    x = np.linspace(-v.length_m / 2, v.length_m / 2, max(2, int(v.length_m / 0.6)))
    behind = np.array([0.0, 0.12, 0.35, 0.9, 2.2, 4.0 + 2.5 * grown])
    high = np.array([0.004, 0.16, 0.26, 0.13, 0.02, 0.004]) * np.array([0.3, *[grown] * 4, 0.3])
    whole = np.clip(0.55 + 0.45 * np.sin(x / 17.3 + turn) + 0.3 * np.sin(x / 6.1 - turn), 0.15, 1)
    front = _front(x, come, turn)
    place = np.stack(
        [
            np.broadcast_to(x[:, None], (len(x), len(behind))),
            front[:, None] + behind,
            0.012 + high * whole[:, None],
        ],
        axis=-1,
    )
    first = FROTH_FROM_M + FROTH_STEP_M * round(4 * out) + 1.0
    flat = np.stack([place[..., 0], np.broadcast_to(first + behind, place.shape[:2])], axis=-1)
    own = np.random.default_rng([23, number_of])  # the same drops at every share
    count = int(_DROPS_A_M * v.length_m)
    at = own.uniform(-v.length_m / 2, v.length_m / 2, count)
    kept = own.uniform(0, 1, count) < grown * np.interp(at, x, whole) ** 3
    size = own.uniform(0.015, 0.05, count)
    angle = own.uniform(0, math.tau, count)[:, None] + math.tau * np.arange(4) / 4
    ring = np.stack([1.8 * np.cos(angle), np.sin(angle)], axis=-1) * size[:, None, None]
    off = own.exponential(0.35, count) - 0.12
    middle = np.stack([at, _front(at, come, turn) + off], axis=-1)
    drops = (ring + middle[:, None])[kept]
    top = 0.03 + 0.26 * grown * np.exp(-np.abs(off[kept]) / 0.3)
    high_up = np.broadcast_to(top[:, None, None], (*drops.shape[:2], 1))
    return join([_grid(place, flat, "water"), quads(np.concatenate([drops, high_up], -1), "foam")])


def _line_at(
    number_of: int, v: Values, rng: np.random.Generator, time_s: float
) -> NDArray[np.float64]:
    """Where the line is: slower the nearer it comes."""
    come = _rolled(number_of, time_s)
    place = np.eye(4)
    place[1, 3] = v.reach_m * (1 - come) ** 1.35
    return place[None]


@kind(
    "surf",
    "Waves that break and roll in towards -y, up to where it stands.",
    stuff={"foam": "foam", "water": "sea"},
    parts=tuple(Part(partial(_line, k), partial(_line_at, k), _ROLLS_S, 26) for k in range(_LINES)),
    length_m=number(200.0, "length of the beach", 5, 2000),
    reach_m=number(26.0, "how far out the first line is seen", 2, 200),
)
def _surf(v: Values, rng: np.random.Generator) -> Mesh:
    """The last flecks on the sand, which only lie there."""
    flecks = _line(0, v, rng, 0.82)
    drops = flecks.slot == flecks.slots.index("foam")
    return Mesh(
        flecks.xyz[drops] * [1, 1, 0] + [0, 0, 0.02],
        flecks.uv[drops],
        flecks.normal[drops],
        np.zeros(int(drops.sum()), np.int32),
        ("foam",),
    )


def _drift(length: float, wide: float, high: float, rng: np.random.Generator) -> Mesh:
    """Sand blown against something: a low, uneven mound about the origin, long along x."""
    n, rings = 18, 4
    angle = np.linspace(0, math.tau, n + 1)
    waves = np.ones(n + 1) + sum(
        rng.uniform(0.03, 0.16) * np.cos(k * angle + rng.uniform(0, math.tau)) for k in (1, 2, 3, 5)
    )
    reach = np.linspace(1.0, 0.0, rings + 1)
    r = reach[None] * waves[:, None] ** (reach[None])
    place = np.stack(
        [
            length / 2 * r * np.cos(angle)[:, None],
            wide / 2 * r * np.sin(angle)[:, None],
            high * (1 - reach[None] ** 2) ** 1.4 - 0.02 * reach[None] + 0 * r,
        ],
        axis=-1,
    )
    return _grid(place, place[..., :2] + rng.uniform(0, 60, 2), "sand")


@kind(
    "boardwalk",
    "Boards across a path over sand, gaps between them, sand blown over their ends.",
    draped=True,
    stuff={"board": "grey wood", "joist": "grey wood", "sand": "sand"},
    path_m=outline("points of its middle line", 2, start=((0, 0), (0, 10))),
    width_m=number(1.6, "length of a board", 0.4, 8),
    lift_m=number(0.035, "height of the boards' upper side", 0.01, 0.6),
    drifts=yes(True, "sand lies over its edges"),
)
def _boardwalk(v: Values, rng: np.random.Generator) -> Mesh:
    line = np.asarray(v.path_m, float)
    legs = np.diff(line, axis=0)
    run = run_along(line)
    step = 0.152
    at = np.arange(step / 2, run[-1], step)
    leg = np.clip(np.searchsorted(run, at, side="right") - 1, 0, len(legs) - 1)
    head = np.degrees(np.arctan2(legs[leg, 1], legs[leg, 0]))
    parts = []
    for k, s in enumerate(at):
        x, y = places_along(line, run, s).tolist()
        size = (v.width_m * (1 + rng.uniform(-0.025, 0.02)), step - rng.uniform(0.007, 0.016), 0.03)
        lies = v.lift_m - 0.03 + float(rng.normal(0, 0.003))
        wood = timber(size, "board", (rng.normal(0, 0.012), 0, 0), rng)
        parts.append(moved(wood, (x, y, lies), head[k] - 90 + float(rng.normal(0, 0.35))))
    for (a, b), length in zip(itertools.pairwise(line), np.diff(run), strict=True):
        turn = math.degrees(math.atan2(*(b - a)[::-1]))
        middle = (a + b) / 2
        parts += [
            moved(
                box((length, 0.09, 0.03), "joist", (0, s * 0.36 * v.width_m, v.lift_m - 0.062)),
                (*middle, 0.0),
                turn,
            )
            for s in (-1, 0, 1)
        ]
    if v.drifts:
        for s in rng.uniform(0.3, run[-1] - 0.2, int(run[-1] * 0.55)):
            x, y = places_along(line, run, s).tolist()
            k = min(int(np.searchsorted(run, s)), len(legs)) - 1
            turn = math.radians(math.degrees(math.atan2(legs[k, 1], legs[k, 0])))
            large = float(rng.uniform(0.2, 1.0)) ** 2
            off = float(rng.choice([-1, 1])) * v.width_m * (0.5 + 0.12 - 0.24 * float(rng.random()))
            heap = _drift(
                0.5 + 4.5 * large, 0.2 + 0.75 * large, v.lift_m + 0.006 + 0.02 * large, rng
            )
            at_xy = (x - off * math.sin(turn), y + off * math.cos(turn), 0.0)
            parts.append(moved(heap, at_xy, math.degrees(turn) + float(rng.normal(0, 4))))
    return join(parts)


@kind(
    "sunbather",
    "Someone who lies on a towel, the head towards +y before turning.",
    variants=8,
    feet=sized(0.35),
    stuff={**RIDERS, "cloth": "towel", **BAGS},
    size_m=vector(
        (0.95, 1.9, 0.35), "width and length of the towel, height of who lies there", 0.1
    ),
)
def _sunbather(v: Values, rng: np.random.Generator) -> Mesh:
    x, y = v.size_m[0], v.size_m[1]
    u, w = np.meshgrid(np.linspace(-x / 2, x / 2, 9), np.linspace(-y / 2, y / 2, 15), indexing="ij")
    a, b = rng.uniform(0, math.tau, 2)
    high = 0.035 + 0.012 * np.sin(6 * u + 3 * w + a) * np.sin(4 * w + b)
    bent = np.stack([u + 0.03 * np.sin(3 * w + a), w + 0.03 * np.sin(5 * u + b), high], -1)
    parts = [_grid(bent, np.stack([w, u], -1) + rng.uniform(0, 3, 2), "cloth")]
    who = moved(figure("stand", PLAIN, rng, shorts=True), size=0.96)
    face = 1.0 if rng.random() < 0.55 else -1.0
    lying: list[list[float]] = [
        [face, 0, 0],
        [0, 0, 1],
        [0, -face, 0],
    ]  # upright becomes +y, the back or front down
    who = moved(who, (0, -0.46 * y, 0), matrix=lying)
    low = float(who.xyz[..., 2].min())
    parts.append(moved(who, (0, -0.04, 0.045 - low), float(rng.uniform(-5, 5))))
    if rng.random() < 0.7:
        beside = float(rng.choice([-1.0, 1.0])) * (x / 2 + 0.2)
        parts.append(moved(beach_bag(rng), (beside, y * 0.36, 0.0), float(rng.uniform(0, 360))))
    return join(parts)


@kind(
    "wind break",
    "Striped cloth between stakes along a path.",
    feet=lambda v: path(v.path_m, 0.12, v.height_m),
    stuff={"cloth": "towel", "stake": "pale wood"},
    path_m=outline(
        "where its stakes stand", 2, start=((-1.8, 0), (-0.6, 0.3), (0.7, 0.3), (1.9, 0))
    ),
    height_m=number(1.15, "height of the stakes", 0.4, 3),
)
def _wind_break(v: Values, rng: np.random.Generator) -> Mesh:
    points = np.asarray(v.path_m, float)
    h, parts, run = v.height_m, [], 0.0
    for p in points:
        lean = rng.normal(0, 0.03, 2)
        parts.append(tube((*p, -0.2), (p[0] + lean[0], p[1] + lean[1], h), 0.018, "stake", sides=6))
    for p, q in itertools.pairwise(points):
        length = math.dist(p, q)
        side = np.array([-(q - p)[1], (q - p)[0]]) / length
        s, t = np.meshgrid(np.linspace(0, 1, 7), np.linspace(0, 1, 4), indexing="ij")
        belly = 0.10 * np.sin(np.pi * s) * (0.5 + 0.5 * np.sin(np.pi * t))
        xy = p + (q - p) * s[..., None] + side * belly[..., None]
        z = 0.12 + t * (h - 0.2) - 0.05 * np.sin(np.pi * s) * t
        place = np.concatenate([xy, z[..., None]], -1)
        flat = np.stack([run + s * length, t * h], -1)
        both = _grid(place, flat, "cloth")
        back = Mesh(both.xyz[:, ::-1], both.uv[:, ::-1], -both.normal, both.slot, both.slots)
        parts += [both, moved(back, (*(-0.004 * side), 0.0))]
        run += length
    return join(parts)


@kind(
    "ball net",
    "A net between two posts, along x, as for volleyball.",
    feet=lambda v: block(v.width_m + 0.2, 0.2, 2.5),
    stuff={"post": "blue paint", "net": "black plastic", "band": "white paint"},
    width_m=number(9.0, "distance between the posts", 2, 12),
)
def _ball_net(v: Values, rng: np.random.Generator) -> Mesh:
    w = v.width_m / 2
    parts = [cylinder(0.05, 2.5, "post", (s * w, 0, 0), sides=8) for s in (1, -1)]
    for z, r, slot in ((2.4, 0.035, "band"), (1.45, 0.025, "band")):
        parts.append(box((2 * w - 0.1, 0.012, 2 * r), slot, (0, 0, z - r)))
    across, up = np.arange(-w + 0.2, w - 0.1, 0.2), np.arange(1.6, 2.4, 0.2)
    parts += [box((0.012, 0.012, 0.9), "net", (float(a), 0, 1.47)) for a in across]
    parts += [box((2 * w - 0.1, 0.012, 0.012), "net", (0, 0, float(a))) for a in up]
    return join(parts)


@kind(
    "pedal boat",
    "A pedal boat on two floats, bow towards -y; drawn up on the sand or afloat on z = 0.",
    feet=lambda v: block(1.7, 3.0, 1.1),
    stuff={"hull": "#e0b23c", "seat": "white paint", "trim": "black plastic"},
)
def _pedal_boat(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for s in (1, -1):
        y, wide = np.linspace(-1.45, 1.45, 11), np.sin(np.pi * np.linspace(0.06, 0.94, 11)) ** 0.35
        rise = 0.28 * np.clip(-y / 1.45, 0, 1) ** 2.5
        ring = np.linspace(0, math.tau, 13)
        place = np.stack(
            [
                s * 0.58 + 0.24 * wide[:, None] * np.cos(ring),
                np.broadcast_to(y[:, None], (11, 13)),
                0.2 + rise[:, None] + 0.2 * wide[:, None] * np.sin(ring),
            ],
            -1,
        )
        parts.append(_grid(place[::-1], place[::-1][..., 1:], "hull"))
    parts.append(box((1.3, 1.9, 0.08), "hull", (0, 0.1, 0.36)))
    for x in (0.32, -0.32):
        parts.append(box((0.46, 0.5, 0.12), "seat", (x, 0.35, 0.44)))
        back = box((0.46, 0.08, 0.5), "seat", (x, 0.62, 0.5))
        parts.append(back)
        parts.append(tube((x - 0.18, -0.45, 0.62), (x + 0.18, -0.45, 0.62), 0.035, "trim", sides=6))
    parts.append(cylinder(0.34, 0.1, "trim", (0, 0, 0), sides=14))
    parts[-1] = moved(parts[-1], (0.05, 0.95, 0.36), matrix=[[0, 0, -1], [0, 1, 0], [1, 0, 0]])
    parts.append(tube((0, -0.1, 0.44), (0, -0.22, 0.85), 0.02, "trim", sides=6))
    return join(parts)


@kind(
    "lifeguard hut",
    "A boarded hut on legs with a platform before it and a ladder; it looks towards -y.",
    feet=lambda v: block(2.8, 5.0, 4.2, (0.0, -0.9)),
    stuff={"board": "#c23a30", "wood": "white wood", "roof": "white wood", "glass": "glass"},
    legs_m=number(1.9, "height of its floor", 0.4, 5),
)
def _hut(v: Values, rng: np.random.Generator) -> Mesh:
    z = v.legs_m
    legs = [(x, y) for x in (-1.0, 1.0) for y in (-2.4, -0.9, 1.0)]
    parts = [tube((x, y, -0.3), (x * 0.94, y, z - 0.1), 0.07, "wood", sides=8) for x, y in legs]
    parts += [
        tube((s * 0.98, a, 0.15), (s * 0.95, b, z - 0.2), 0.03, "wood", sides=6)
        for s in (1, -1)
        for a, b in ((-2.4, -0.9), (1.0, -0.9))
    ]
    parts += [
        timber((2.3, 0.146, 0.04), "wood", (0, y, z - 0.1), rng)
        for y in np.arange(-2.5, 1.15, 0.155)
    ]
    sides = (((0, -0.86), 0), ((0, 1.06), 0), ((-1.06, 0.1), 90), ((1.06, 0.1), 90))
    for at, turn in sides:
        long = 2.16 if turn == 0 else 1.92
        for k in range(12):  # lapped boards, open before the one who watches
            low = z - 0.06 + 0.16 * k
            if turn == 0 and at[1] < 0 and 5 <= k < 10:
                ends = [(s * 0.88, 0.4) for s in (1, -1)]
            else:
                ends = [(0.0, long)]
            for x, n in ends:
                piece = timber((n, 0.035, 0.168), "board", (x, 0.008 * (k % 2), 0), rng)
                parts.append(moved(piece, (*at, low), turn))
    parts.append(box((1.36, 0.02, 0.8), "glass", (0, -0.85, z + 0.74)))
    parts += [box((0.05, 0.05, 0.8), "wood", (x, -0.88, z + 0.74)) for x in (-0.68, 0, 0.68)]
    top = z + 1.9
    for s in (1, -1):
        a, b = np.array([s * 1.35, -1.3, top - 0.08]), np.array([s * 1.35, 1.35, top - 0.08])
        c, d = np.array([0, 1.35, top + 0.55]), np.array([0, -1.3, top + 0.55])
        up = np.array([0, 0, 0.06])
        face = [a, b, c, d] if s > 0 else [b, a, d, c]
        parts.append(quads([[p + up for p in face], face[::-1]], "roof"))
        parts.append(quads([[a, a + up, d + up, d][::-s], [b, b + up, c + up, c][::s]], "roof"))
        parts.append(quads([[a, b, b + up, a + up][::s]], "roof"))
    for y, flip in ((-0.88, 1), (1.08, -1)):
        gable = [(-1.08, y, top), (1.08, y, top), (0, y, top + 0.53), (0, y, top + 0.53)]
        parts.append(quads([gable[::flip]], "board"))
    rail = [(-1.1, -0.95), (-1.1, -2.45), (1.1, -2.45), (1.1, -0.95)]
    parts += [tube((*p, z - 0.06), (*p, z + 0.95), 0.03, "wood", sides=6) for p in rail]
    parts += [
        tube((*p, z + h), (*q, z + h), 0.025, "wood", sides=6)
        for p, q in itertools.pairwise(rail)
        for h in (0.5, 0.92)
        if p[0] == q[0] or h > 0.6
    ]
    for x in (0.3, -0.3):
        parts.append(tube((x, -3.3, 0), (x, -2.5, z), 0.035, "wood", sides=6))
    parts += [
        tube((-0.3, -3.3 + 0.8 * q, z * q), (0.3, -3.3 + 0.8 * q, z * q), 0.022, "wood", sides=6)
        for q in np.arange(0.14, 1.0, 0.15)
    ]
    return join(parts)
