"""Houses and towers: their walls, roofs, dormers and chimneys."""

import math

import numpy as np

from render.world.mesh import Mesh, box, cylinder, extrude, join, lathe, moved, quads, tube
from render.world.things.feet import Foot, block, sized
from render.world.things.houses.fronts import facade, style_of, window
from render.world.things.houses.walls import Opening, placer, wall_panel
from render.world.things.kind import Values, kind, number, pick, vector, yes
from render.world.things.solids import roof_mesh

__all__: list[str] = []

_STUFF = {
    "wall": "plaster",
    "roof": "red tiles",
    "trim": "white wood",
    "frame": "white wood",
    "pane": "glass",
    "sill": "limestone",
    "shutter": "green wood",
    "door": "brown wood",
    "base": "plinth",
    "awning": "awning",
    "chimney": "brick",
    "gable": "plaster",
    "curtain": "net curtain",
    "drape": "drapes",
    "leaf": "hedge leaves",
    "flower": "flowers",
    "pipe": "zinc",
    "ware": "shop goods",
    "wrap": "shop paper",
    "plant": "window plants",
    "bill": "bill",
    "print": "print",
    "iron": "iron",
    "weed": "dry weeds",
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
    variants=2,
    pooled=True,
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
    style = style_of(v, rng)
    for side in range(4):
        a, b = corners[side], corners[(side + 1) % 4]
        parts += facade(v, style, a, b, h, front=side == 0, rng=rng)
    parts.append(_base(x, y))
    if v.roof_shape == "flat":
        parts.append(_flat_top(x, y, h))
    else:
        parts += _roof_parts(v, x, y, h, rng)
    return join(parts)


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
        if v.roof_shape == "hip":  # or it stands in the air beyond the slope
            reach = max(length / 2 - half + abs(w) - 0.5, 0.0)
            u = min(max(u, -reach), reach)
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
        parts.append(moved(_about_chimney(u, w, half, rise), (0, 0, h), turn))
    parts += [moved(_on_roof(v, length, half, rise, rng.spawn(1)[0]), (0, 0, h), turn)]
    if along and v.dormers and v.roof_shape != "shed":
        for i in range(int(v.dormers)):
            u = length * ((i + 0.5) / v.dormers - 0.5) * 0.86
            parts.append(moved(_dormer(half, rise), (u, 0, h)))
    return parts


def _about_chimney(u: float, w: float, half: float, rise: float) -> Mesh:
    """Lead round a chimney's foot, steps up to it from the eaves, an iron band under its top."""
    side, up = math.copysign(1.0, w), math.hypot(1.0, rise)

    def laid(u0: float, u1: float, w0: float, w1: float, out: float) -> list[list[float]]:
        """A face on the slope between two distances from the ridge, as seen from outside."""
        corners = [(u0, w0), (u1, w0), (u1, w1), (u0, w1)]
        found = [
            [a, side * (b + out * rise / up), (half - b) * rise + out / up] for a, b in corners
        ]
        return found if side > 0 else found[::-1]

    at, out = abs(w), 0.165
    lead = [
        laid(u - 0.5, u + 0.5, at + 0.26, at + 0.52, out),
        laid(u - 0.5, u - 0.36, at - 0.42, at + 0.3, out),
        laid(u + 0.36, u + 0.5, at - 0.42, at + 0.3, out),
    ]
    parts = [quads([face[::-1] for face in lead], "pipe")]
    for b in np.arange(at + 0.7, half - 0.1, 0.62 / up).tolist():
        z = (half - b) * rise + 0.14 / up
        parts.append(box((0.4, 0.2, 0.05), "iron", (u, side * (b + 0.05), z + 0.1)))
    parts.append(box((0.79, 0.59, 0.05), "iron", (u, w, half * rise + 0.62)))
    return join(parts)


def _ridge(length: float, half: float, rise: float) -> Mesh:
    """Ridge tiles, each laid over its neighbour: their collars."""
    top = half * rise + 0.14
    return join(
        tube((x, 0, top), (x + 0.09, 0, top), 0.135, "roof", sides=6)
        for x in np.arange(-length / 2, length / 2 - 0.1, 0.5).tolist()
    )


def _snow_guard(length: float, half: float, rise: float) -> Mesh:
    """A bar over the eaves of both slopes on brackets, which holds snow back."""
    up, b = math.hypot(1.0, rise), half - 0.45
    parts = []
    for side in (-1.0, 1.0):
        y, z = side * (b + 0.27 * rise / up), (half - b) * rise + 0.27 / up
        ends = (-length / 2 + 0.3, y, z), (length / 2 - 0.3, y, z)
        parts.append(tube(*ends, 0.035, "pipe", sides=4))
        for x in np.linspace(-length / 2 + 0.4, length / 2 - 0.4, max(2, round(length / 1.2))):
            y, z = side * (b + 0.2 * rise / up), (half - b) * rise + 0.12 / up
            parts.append(box((0.03, 0.1, 0.24), "iron", (float(x), y, z)))
    return join(parts)


def _on_roof(v: Values, length: float, half: float, rise: float, rng: np.random.Generator) -> Mesh:
    """What pierces a roof: skylights flush with it, vent pipes, an aerial on the ridge."""
    if v.roof_shape == "shed":
        return join([])
    parts: list[Mesh] = []
    over = 0.5 * length - (half if v.roof_shape == "hip" else 0.0) - 0.9
    up = math.hypot(1.0, rise)

    def at(u: float, w: float, out: float) -> tuple[float, float, float]:
        """A place `out` metres off the slope over w across the ridge."""
        side = math.copysign(1.0, w)
        return u, w + side * out * rise / up, (half - abs(w)) * rise + out / up

    if v.roof_shape == "gable":
        parts.append(_ridge(length, half, rise))
    if rng.random() < 0.25:
        parts.append(_snow_guard(length - (0.0 if v.roof_shape == "gable" else 1.0), half, rise))
    for _ in range(int(rng.integers(0, 4)) if over > 0 and not v.dormers else 0):
        u, w = float(rng.uniform(-over, over)), half * float(rng.choice([-0.55, 0.55]))
        for wide, tall, out, slot in ((0.40, 0.55, 0.17, "pipe"), (0.33, 0.48, 0.185, "pane")):
            corners = [at(u + a * wide, w - math.copysign(b * tall / up, w), out)
                       for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]  # fmt: skip
            parts.append(quads([corners if w < 0 else corners[::-1]], slot))
    for _ in range(int(rng.integers(0, 3)) if over > 0 else 0):
        u, w = (
            float(rng.uniform(-over, over)),
            half * float(rng.choice([-1, 1]) * rng.uniform(0.2, 0.4)),
        )
        x, y, z = at(u, w, 0.1)
        parts.append(tube((x, y, z - 0.1), (x, y, z + 0.4), 0.055, "pipe", sides=8))
        parts.append(tube((x, y, z + 0.4), (x, y, z + 0.44), 0.085, "pipe", sides=8))
    if over > 0 and rng.random() < 0.6:
        u, z = float(rng.uniform(-over, over)), half * rise
        parts.append(tube((u, 0, z), (u, 0, z + 1.9), 0.018, "pipe", sides=5))
        parts.append(tube((u - 0.55, 0, z + 1.75), (u + 0.5, 0, z + 1.75), 0.012, "pipe", sides=4))
        parts += [
            tube((u + d, -r, z + 1.75), (u + d, r, z + 1.75), 0.006, "pipe", sides=3)
            for d, r in zip(np.linspace(-0.5, 0.45, 8), np.linspace(0.38, 0.2, 8), strict=True)
        ]
    return join(parts)


def _dormer(half: float, rise: float) -> Mesh:
    """A dormer in the front slope."""
    w, tall = 1.25, 1.25
    y = -half * 0.72
    z = (half - abs(y)) * rise + 0.1
    deep = min(tall / rise + 0.6, abs(y))
    face = wall_panel(
        (-w / 2, y), (w / 2, y), 0.0, tall, [(0.2, w - 0.2, 0.25, tall - 0.15)], 0.1, "wall"
    )
    frame = moved(window(w - 0.4, tall - 0.4, False), (-w / 2 + 0.2, y, 0.25))
    cheeks = [
        [(w / 2, y, 0), (w / 2, y + deep, 0), (w / 2, y + deep, tall), (w / 2, y, tall)],
        [(-w / 2, y + deep, 0), (-w / 2, y, 0), (-w / 2, y, tall), (-w / 2, y + deep, tall)],
    ]
    # its eaves run into the tiles: a gutter there would end as a hook on them
    lid = roof_mesh(deep + 0.2, w, "gable", 30, 0.15, 0.08, gutters=False).painted(gable="wall")
    lid = moved(lid, (0, y + deep / 2, tall), 90)
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
            parts.append(placer(a, b)(join([flat, *hands]), w / 2, h - 4.5))
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
