"""Houses and what belongs to them: walls with real windows, shop fronts, chimneys, towers."""

import itertools
import math
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np

from render.world.mesh import Mesh, box, cylinder, extrude, join, lathe, moved, quads, tube
from render.world.surfaces.rules import PANE_STEP_M
from render.world.things.feet import Foot, block, sized
from render.world.things.kind import Values, kind, number, pick, vector, yes
from render.world.things.solids import roof_mesh

__all__ = ["wall_panel"]

Opening = tuple[float, float, float, float]

_STUFF = {
    "wall": "plaster",
    "roof": "red tiles",
    "trim": "white wood",
    "frame": "white wood",
    "pane": "glass",
    "sill": "limestone",
    "shutter": "green wood",
    "door": "brown wood",
    "base": "limestone",
    "awning": "awning",
    "chimney": "brick",
    "gable": "plaster",
    "curtain": "net curtain",
    "pipe": "zinc",
}


def _house_feet(v: Values) -> tuple[Foot, ...]:
    """Its walls, and the steps before its door."""
    deep = 0.56 + 1.77 * v.steps_m
    steps = block(2.0, deep, 0.5, (0.0, -(v.size_m[1] + deep) / 2))
    return sized(0.12)(v) + (steps if v.steps_m else ())


@kind(
    "house",
    "A house with windows in their reveals, a door, a roof; front towards -y before turning.",
    feet=_house_feet,
    variants=1,
    solid=True,
    stuff=_STUFF,
    size_m=vector((9.0, 8.0, 6.0), "width, depth, height of the eaves", 1.0),
    roof_shape=pick("gable", "shape of the roof", "gable", "hip", "shed", "flat"),
    ridge=pick("along", "ridge along the front, or across it", "along", "across"),
    pitch_deg=number(40.0, "steepness of the roof", 1, 75),
    overhang_m=number(0.35, "overhang at the eaves", 0, 3),
    storey_m=number(3.0, "height of a storey", 2, 8),
    bay_m=number(2.4, "distance between window axes", 1.2, 20),
    window_m=vector((1.05, 1.5), "width and height of a window", 0.2),
    shop=yes(False, "a shop front on the ground floor"),
    awnings=yes(False, "an awning over the shop front"),
    shutters=yes(False, "shutters beside the windows"),
    chimneys=number(1, "number of chimneys", 0, 6),
    dormers=number(0, "dormer windows on the front slope", 0, 8),
    balconies=yes(False, "balconies on the upper floors"),
    steps_m=number(0.0, "how far steps lead down from the door, on a slope", 0, 6),
)
def _house(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, h = v.size_m[0] / 2, v.size_m[1] / 2, v.size_m[2]
    corners = [(-x, -y), (x, -y), (x, y), (-x, y)]
    parts: list[Mesh] = []
    for side in range(4):
        a, b = corners[side], corners[(side + 1) % 4]
        parts += _facade(v, a, b, h, front=side == 0, rng=rng)
    parts.append(_base(x, y))
    if v.roof_shape == "flat":
        parts.append(_flat_top(x, y, h))
    else:
        parts += _roof_parts(v, x, y, h, rng)
    return join(parts)


def _facade(
    v: Values,
    a: Sequence[float],
    b: Sequence[float],
    h: float,
    front: bool,
    rng: np.random.Generator,
) -> list[Mesh]:
    width = math.dist(a, b)
    storeys = max(1, round(h / v.storey_m))
    bays = max(1, int((width - 0.6) / v.bay_m))
    rise = h / storeys
    ww, wh = min(v.window_m[0], width / bays - 0.3), min(v.window_m[1], rise - 1.1)
    openings: list[tuple[Opening, str]] = []
    for floor in range(storeys):
        for bay in range(bays):
            u = width * (bay + 0.5) / bays
            low = floor * rise + 0.95
            if front and floor == 0 and v.shop:
                half = 0.5 * width / bays - 0.16
                kind_ = "door" if bay == bays // 2 else "shop"
                openings.append(
                    ((u - half, u + half, 0.12 if kind_ == "door" else 0.55, 2.55), kind_)
                )
            elif front and floor == 0 and bay == bays // 2:
                openings.append(((u - 0.5, u + 0.5, 0.05, min(2.15, rise - 0.4)), "door"))
            else:
                openings.append(((u - ww / 2, u + ww / 2, low, low + wh), "window"))
    parts = [wall_panel(a, b, 0.0, h, [o for o, _ in openings], 0.16, "wall")]
    place = _placer(a, b)
    dressing = rng.spawn(1)[0]  # what hangs in windows leaves roofs as they were
    for (u0, u1, v0, v1), what in openings:
        if what == "door":
            parts.append(place(_door(u1 - u0, v1 - v0), u0, v0))
            parts += [place(step, u0, v0) for step in _steps(u1 - u0, v.steps_m)]
        else:
            parts.append(place(_window(u1 - u0, v1 - v0, what == "shop"), u0, v0))
            parts.append(place(_drawn(u1 - u0, v1 - v0, dressing), u0, v0))
        if what == "window" and v.shutters:
            parts.append(place(_shutters(u1 - u0, v1 - v0), u0, v0))
        if what == "window" and front and v.balconies and v0 > rise:
            parts.append(place(_balcony(u1 - u0), u0, v0 - 0.55))
    if not front:
        parts.append(place(_pipe(width - 0.2, h), 0.0, 0.0))
    if front and v.shop:
        parts.append(place(_board(width, 2.72), 0.0, 0.0))
        if v.awnings:
            parts.append(place(_awning(width - 0.5), 0.25, 2.68))
    return parts


def wall_panel(
    a: Sequence[float],
    b: Sequence[float],
    low: float,
    high: float,
    openings: Sequence[Opening],
    reveal: float,
    slot: str,
) -> Mesh:
    """An upright wall from a to b (outside on the right of a to b) with openings.

    Each opening (left, right, bottom, top) in metres along and above gets its reveals of
    `reveal` metres and a pane.  Slots: `slot` and pane.
    """
    width = math.dist(a, b)
    us = np.unique(np.round([0.0, width, *(o[i] for o in openings for i in (0, 1))], 4))
    vs = np.unique(np.round([low, high, *(o[i] for o in openings for i in (2, 3))], 4))
    us, vs = us[(us >= 0) & (us <= width)], vs[(vs >= low) & (vs <= high)]
    walls = []
    for v0, v1 in itertools.pairwise(vs):
        start = None
        for u0, u1 in itertools.pairwise(us):
            um, vm = (u0 + u1) / 2, (v0 + v1) / 2
            hole = any(o[0] < um < o[1] and o[2] < vm < o[3] for o in openings)
            if not hole and start is None:
                start = u0
            if hole and start is not None:
                walls.append((start, u0, v0, v1))
                start = None
        if start is not None:
            walls.append((start, width, v0, v1))
    local = [[(u0, 0, v0), (u1, 0, v0), (u1, 0, v1), (u0, 0, v1)] for u0, u1, v0, v1 in walls]
    uv = [[(u0, v0), (u1, v0), (u1, v1), (u0, v1)] for u0, u1, v0, v1 in walls]
    reveals, panes = [], []
    r = reveal
    for u0, u1, v0, v1 in openings:
        reveals += [
            [(u0, 0, v0), (u0, r, v0), (u0, r, v1), (u0, 0, v1)][::-1],
            [(u1, 0, v0), (u1, 0, v1), (u1, r, v1), (u1, r, v0)][::-1],
            [(u0, 0, v0), (u1, 0, v0), (u1, r, v0), (u0, r, v0)],
            [(u0, 0, v1), (u0, r, v1), (u1, r, v1), (u1, 0, v1)],
        ]
        panes.append([(u0, r, v0), (u1, r, v0), (u1, r, v1), (u0, r, v1)])
    parts = [quads(local, slot, uv)] if local else []
    if panes:
        parts += [quads(reveals, slot), quads(panes, "pane", _pane_uv(a, b, openings))]
    return _placer(a, b)(join(parts), 0.0, 0.0)


def _pane_uv(
    a: Sequence[float], b: Sequence[float], openings: Sequence[Opening]
) -> list[list[tuple[float, float]]]:
    """Metres across each pane, and its number: another for each pane of each wall."""
    first = int(abs(29 * a[0] + 53 * a[1] + 71 * b[0] + 97 * b[1])) % 1000
    found = []
    for k, (u0, u1, v0, v1) in enumerate(openings):
        left = PANE_STEP_M * (first + k)
        right, top = left + u1 - u0, v1 - v0
        found.append([(left, 0.0), (right, 0.0), (right, top), (left, top)])
    return found


def _placer(a: Sequence[float], b: Sequence[float]) -> Callable[[Mesh, float, float], Mesh]:
    """Moves a part drawn at (along, inward, up) on to the wall from a to b."""
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))

    def place(mesh: Mesh, u: float, v: float) -> Mesh:
        shifted = moved(mesh, (u, 0.0, v))
        return moved(shifted, (a[0], a[1], 0.0), turn)

    return place


def _rect(u0: float, u1: float, v0: float, v1: float, y: float) -> list[tuple[float, float, float]]:
    return [(u0, y, v0), (u1, y, v0), (u1, y, v1), (u0, y, v1)]


@cache
def _window(w: float, h: float, shop: bool) -> Mesh:
    """Frame bars in front of the pane, and a sill."""
    t, y = (0.07 if shop else 0.055), 0.12
    bars = [
        _rect(0, w, 0, t, y),
        _rect(0, w, h - t, h, y),
        _rect(0, t, t, h - t, y),
        _rect(w - t, w, t, h - t, y),
    ]
    if w > 0.75 and not shop:
        bars.append(_rect(w / 2 - t / 2, w / 2 + t / 2, t, h - t, y))
    if h > 1.2:
        z = h * 0.66
        bars.append(_rect(t, w - t, z - 0.022, z + 0.022, y))
    sill = box((w + 0.16, 0.24, 0.06), "sill", (w / 2, 0.03, -0.06))
    return join([quads(bars, "frame"), sill])


@cache
def _door(w: float, h: float) -> Mesh:
    leaf = quads([_rect(0, w, 0, h * 0.86, 0.13)], "door")
    frame = quads(
        [
            _rect(0, 0.06, 0, h, 0.11),
            _rect(w - 0.06, w, 0, h, 0.11),
            _rect(0, w, h * 0.85, h * 0.88, 0.11),
        ],
        "frame",
    )
    step = box((w + 0.5, 0.55, 0.12), "base", (w / 2, -0.14, -0.1))
    return join([leaf, frame, step])


def _drawn(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """What hangs behind a pane: curtains at its sides, a net, a blind, or nothing."""
    what, y = rng.random(), 0.15
    if what < 0.34:
        left, right = rng.uniform(0.14, 0.34, 2) * w
        faces = [
            [(0, y, 0), (0.7 * left, y, 0), (left, y, h), (0, y, h)],
            [(w - 0.7 * right, y, 0), (w, y, 0), (w, y, h), (w - right, y, h)],
        ]
    elif what < 0.56:
        faces = [_rect(0, w, 0, h * rng.uniform(0.4, 0.62), y)]
    elif what < 0.72:
        faces = [_rect(0, w, h * rng.uniform(0.25, 0.8), h, y)]
    else:
        faces = []
    return join([quads(faces, "curtain")] if faces else [])


def _steps(w: float, down: float) -> list[Mesh]:
    """Steps of stone before a door, each on ground of its own."""
    return [
        box((w + 0.5, 0.3, 1.2), "base", (w / 2, -0.56 - 0.3 * k, -0.27 - 0.17 * k - 1.03))
        for k in range(math.ceil(down / 0.17))
    ]


@cache
def _shutters(w: float, h: float) -> Mesh:
    leaves = [box((w * 0.5, 0.04, h), "shutter", (s, -0.03, 0.0)) for s in (-w * 0.27, w * 1.27)]
    slats = [
        _rect(s - w * 0.19, s + w * 0.19, z, z + 0.03, -0.056)
        for s in (-w * 0.27, w * 1.27)
        for z in np.arange(0.12, h - 0.1, 0.14)
    ]
    return join([*leaves, quads(slats, "trim")]) if len(leaves) < 2 else join(leaves)


def _balcony(w: float) -> Mesh:
    wide, deep, high = w + 0.9, 0.85, 0.95
    slab = box((wide, deep, 0.12), "base", (w / 2, -deep / 2, -0.12))
    rails = [
        tube(
            (w / 2 - wide / 2, -deep + 0.05, high),
            (w / 2 + wide / 2, -deep + 0.05, high),
            0.025,
            "door",
        )
    ]
    for x in np.linspace(w / 2 - wide / 2, w / 2 + wide / 2, 11):
        rails.append(tube((x, -deep + 0.05, 0), (x, -deep + 0.05, high), 0.012, "door", sides=4))
    return join([slab, *rails])


def _pipe(u: float, h: float) -> Mesh:
    """Rain from the roof, on its way down."""
    return tube((u, -0.07, 0.1), (u, -0.07, h), 0.05, "pipe", sides=6)


def _board(width: float, z: float) -> Mesh:
    """The band over a shop front."""
    return join([box((width - 0.1, 0.12, 0.42), "door", (width / 2, -0.05, z))])


def _awning(width: float) -> Mesh:
    deep, drop = 1.5, 0.75
    a, b = (0, -0.02, 0.0), (width, -0.02, 0.0)
    c, d = (width, -deep, -drop), (0, -deep, -drop)
    slope = math.hypot(deep, drop)
    uv = [(0, 0), (width, 0), (width, slope), (0, slope)]
    top = quads([[d, c, b, a]], "awning", [[uv[3], uv[2], uv[1], uv[0]]])
    under = quads([[a, b, c, d]], "awning", [[uv[0], uv[1], uv[2], uv[3]]])
    hem = quads([[(0, -deep, -drop - 0.25), (width, -deep, -drop - 0.25), c, d]], "awning")
    arms = [
        tube((x, -0.02, -0.9), (x, -deep, -drop), 0.02, "frame", sides=5)
        for x in (0.05, width - 0.05)
    ]
    return join([top, moved(under, (0, 0, -0.015)), hem, *arms])


def _base(x: float, y: float) -> Mesh:
    t = 0.06
    outline = [(-x - t, -y - t), (x + t, -y - t), (x + t, y + t), (-x - t, y + t)]
    return extrude(outline, -1.5, 0.42, "base", "base", bottom=False)


def _flat_top(x: float, y: float, h: float) -> Mesh:
    t, up = 0.25, 0.5
    parts = [quads([[(-x, -y, h), (x, -y, h), (x, y, h), (-x, y, h)]], "roof")]
    for cx, cy, sx, sy in (
        (0, -y, 2 * x + t, t),
        (0, y, 2 * x + t, t),
        (-x, 0, t, 2 * y - t),
        (x, 0, t, 2 * y - t),
    ):
        parts.append(box((sx, sy, up), "trim", (cx, cy, h - 0.08)))
    parts.append(box((1.6, 1.2, 1.1), "trim", (x * 0.4, y * 0.3, h)))
    parts.append(box((0.9, 0.9, 0.5), "frame", (-x * 0.45, -y * 0.2, h)))
    return join(parts)


def _roof_parts(v: Values, x: float, y: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    along = v.ridge == "along"
    length, depth = (2 * x, 2 * y) if along else (2 * y, 2 * x)
    roof = roof_mesh(length, depth, v.roof_shape, v.pitch_deg, v.overhang_m)
    roof = roof.painted(gable="wall")
    turn = 0.0 if along else 90.0
    rise = math.tan(math.radians(v.pitch_deg))
    parts = [moved(roof, (0, 0, h), turn)]
    half = depth / 2
    for i in range(int(v.chimneys)):
        u = length * (0.36 if i % 2 == 0 else -0.3) * (1 - 0.3 * (i // 2))
        w = half * 0.28 * (1 if rng.random() < 0.5 else -1)
        foot = (half - abs(w)) * rise
        stack = [
            box((0.75, 0.55, half * rise - foot + 1.3), "chimney", (u, w, foot - 0.3)),
            box((0.87, 0.67, 0.12), "base", (u, w, half * rise + 0.98)),
        ]
        stack += [
            cylinder(0.11, 0.34, "gable_pot", (u + s, w, half * rise + 1.1), 0.09, 10)
            for s in (-0.17, 0.17)
        ]
        parts.append(moved(join(stack).painted(gable_pot="roof"), (0, 0, h), turn))
    if along and v.dormers and v.roof_shape != "shed":
        for i in range(int(v.dormers)):
            u = length * ((i + 0.5) / v.dormers - 0.5) * 0.86
            parts.append(moved(_dormer(half, rise), (u, 0, h)))
    return parts


def _dormer(half: float, rise: float) -> Mesh:
    """A dormer in the front slope."""
    w, tall = 1.25, 1.25
    y = -half * 0.72
    z = (half - abs(y)) * rise + 0.1
    deep = min(tall / rise + 0.6, abs(y))
    face = wall_panel(
        (-w / 2, y), (w / 2, y), 0.0, tall, [(0.2, w - 0.2, 0.25, tall - 0.15)], 0.1, "wall"
    )
    frame = moved(_window(w - 0.4, tall - 0.4, False), (-w / 2 + 0.2, y, 0.25))
    cheeks = [
        [(w / 2, y, 0), (w / 2, y + deep, 0), (w / 2, y + deep, tall), (w / 2, y, tall)],
        [(-w / 2, y + deep, 0), (-w / 2, y, 0), (-w / 2, y, tall), (-w / 2, y + deep, tall)],
    ]
    lid = moved(
        roof_mesh(deep + 0.2, w, "gable", 30, 0.15, 0.08).painted(gable="wall"),
        (0, y + deep / 2, tall),
        90,
    )
    return moved(join([face, frame, quads(cheeks, "wall"), lid]), (0, 0, z))


@kind(
    "tower",
    "A tall tower with a belfry and a pointed roof, or a clock tower.",
    feet=lambda v: block(v.width_m + 0.12, v.width_m + 0.12, v.height_m),
    solid=True,
    stuff={**_STUFF, "face": "clock face"},
    width_m=number(5.0, "width of its square shaft", 1),
    height_m=number(22.0, "height of the shaft", 3),
    spire_m=number(9.0, "height of the roof", 0.5),
    clock=yes(True, "a clock on each side"),
)
def _tower(v: Values, rng: np.random.Generator) -> Mesh:
    x, h = v.width_m / 2, v.height_m
    corners = [(-x, -x), (x, -x), (x, x), (-x, x)]
    parts: list[Mesh] = [_base(x, x)]
    for side in range(4):
        a, b = corners[side], corners[(side + 1) % 4]
        w = v.width_m
        holes: list[Opening] = [
            (w * 0.5 - 0.4, w * 0.5 + 0.4, z, z + 1.5) for z in np.arange(4.0, h - 7, 4.5)
        ]
        holes += [(w * 0.5 + s - 0.45, w * 0.5 + s + 0.45, h - 2.9, h - 0.7) for s in (-0.8, 0.8)]
        parts.append(wall_panel(a, b, 0, h, holes, 0.35, "wall"))
        if v.clock:
            dial = lathe([(0.0, 0.0), (1.1, 0.0), (1.1, 0.12), (0.0, 0.12)], "trim", 40, top="face")
            flat = moved(dial, matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]])
            hands = [
                tube((0, -0.15, 0), (0.55, -0.15, 0.35), 0.05, "shutter"),
                tube((0, -0.15, 0), (-0.15, -0.15, 0.9), 0.035, "shutter"),
            ]
            parts.append(_placer(a, b)(join([flat, *hands]), w / 2, h - 4.5))
    for z in (h - 6.2, h):
        parts.append(box((v.width_m + 0.5, v.width_m + 0.5, 0.3), "sill", (0, 0, z)))
    spire = [
        (x + 0.45, 0.3),
        (x * 0.86, 0.3 + v.spire_m * 0.16),
        (0.12, 0.3 + v.spire_m),
        (0.0, 0.3 + v.spire_m),
    ]
    roof = lathe([(0.0, 0.28), *spire], "roof", 8)
    parts.append(moved(roof, (0, 0, h), 22.5, (1.08, 1.08, 1.0)))
    parts.append(tube((0, 0, h + v.spire_m), (0, 0, h + v.spire_m + 1.4), 0.04, "door"))
    return join(parts)
