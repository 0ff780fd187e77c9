"""Plain solids and surfaces: box, prism, cylinder, sphere, bar, area, road; roofs of houses."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from render.world.line import places_along, run_along
from render.world.mesh import (
    Mesh,
    box,
    cylinder,
    ellipsoid,
    extrude,
    join,
    moved,
    quads,
    sheet,
    tube,
)
from render.world.surfaces.palette import PIECE_M
from render.world.things.feet import Foot, disc, sized
from render.world.things.kind import Values, kind, number, outline, vector

__all__ = ["boards_mesh", "roof_mesh", "timber"]


@kind(
    "box",
    "A box standing on its foot.",
    feet=sized(),
    solid=True,
    stuff={"side": "stone", "top": "stone"},
    size_m=vector((1.0, 1.0, 1.0), "width, depth, height"),
)
def _box(v: Values, rng: np.random.Generator) -> Mesh:
    return box(v.size_m, "side", top="top")


@kind(
    "prism",
    "An upright prism over an outline (extrusion).",
    feet=lambda v: (Foot(np.asarray(v.outline_m), 0.0, v.height_m),),
    solid=True,
    stuff={"side": "stone", "top": "stone"},
    outline_m=outline("corners seen from above", start=((-1, -1), (1, -1), (1, 1), (-1, 1))),
    height_m=number(1.0, "height", 0.001),
)
def _prism(v: Values, rng: np.random.Generator) -> Mesh:
    return extrude(v.outline_m, 0.0, v.height_m, "side", "top")


@kind(
    "cylinder",
    "An upright cylinder or cone.",
    feet=lambda v: disc(v.radius_m, v.height_m),
    solid=True,
    stuff={"side": "stone", "top": "stone"},
    radius_m=number(0.5, "radius at the foot", 0.001),
    top_radius_m=number(-1.0, "radius at the top; -1 as at the foot", -1.0),
    height_m=number(1.0, "height", 0.001),
    sides=number(32, "number of sides", 3, 256),
)
def _cylinder(v: Values, rng: np.random.Generator) -> Mesh:
    end = v.radius_m if v.top_radius_m < 0 else v.top_radius_m
    return cylinder(v.radius_m, v.height_m, "side", (0, 0, 0), end, int(v.sides), top="top")


@kind(
    "sphere",
    "A ball, or an egg, resting on the ground.",
    feet=sized(),
    solid=True,
    stuff={"side": "stone"},
    size_m=vector((1.0, 1.0, 1.0), "width, depth, height", 0.001),
)
def _sphere(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    return ellipsoid((x / 2, y / 2, z / 2), "side", (0, 0, z / 2), 48, 24)


@kind(
    "bar",
    "A round bar or a cable between points, each (x, y, height).",
    stuff={"side": "iron"},
    path_m=outline("points", 2, 3, start=((0, 0, 0), (0, 0, 1))),
    radius_m=number(0.03, "radius", 0.0005),
    sag_m=number(0.0, "how far each span hangs down"),
)
def _bar(v: Values, rng: np.random.Generator) -> Mesh:
    points = [np.array(p) for p in v.path_m]
    parts = []
    for a, b in itertools.pairwise(points):
        steps = 12 if v.sag_m > 0 else 1
        s = np.linspace(0.0, 1.0, steps + 1)
        line = a + (b - a) * s[:, None]
        line[:, 2] -= 4 * v.sag_m * s * (1 - s)
        parts += [tube(line[i], line[i + 1], v.radius_m, "side", sides=6) for i in range(steps)]
    return join(parts)


#: Ragged edges lie so far under what they belong to: more throws a thread of shadow.
_UNDER_M = 0.0006


@kind(
    "area",
    "A flat surface: a square, a lawn, a pavement with its kerb, water.",
    draped=True,
    stuff={"top": "paving", "kerb": "kerb", "gutter": "gutter"},
    outline_m=outline("corners seen from above", start=((-1, -1), (1, -1), (1, 1), (-1, 1))),
    lift_m=number(0.02, "height above the ground; more than 0.05 has a kerb", -10),
    gutter_m=number(0.0, "width of the channel of stone along its kerb", 0, 3),
    ragged_m=number(0.0, "how far its edge wanders outwards, without a kerb", 0, 3),
)
def _area(v: Values, rng: np.random.Generator) -> Mesh:
    if v.lift_m > 0.05:
        slab = extrude(v.outline_m, -0.3, v.lift_m, "kerb", "top", bottom=False)
        return join([slab, _gutter(v.outline_m, v.gutter_m)]) if v.gutter_m > 0 else slab
    flat = sheet(v.outline_m, v.lift_m, "top")
    if not v.ragged_m:
        return flat
    o = np.asarray(v.outline_m, float)
    nxt = np.roll(o, -1, axis=0)
    ways_round = float(np.sum(o[:, 0] * nxt[:, 1] - nxt[:, 0] * o[:, 1]))
    ring = np.concatenate([o, o[:1]])[:: 1 if ways_round > 0 else -1]
    return join([flat, _fringe(ring, v.ragged_m, v.lift_m - _UNDER_M, rng)])


def _fringe(line: np.ndarray, reach: float, lift: float, rng: np.random.Generator) -> Mesh:
    """Scraps to the right of a line, shape (n, 2): where grass grows into an edge, or sand spills.

    uv is (x, y), as an area's.
    """
    run = run_along(line)
    at = np.unique(np.concatenate([run, np.arange(0.0, run[-1], max(0.12, 0.9 * reach))]))
    p = places_along(line, run, at)
    along = np.gradient(p, axis=0)
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    side = np.column_stack([along[:, 1], -along[:, 0]])
    wide = reach * rng.uniform(0.0, 1.0, len(p)) ** 1.5
    wide = 0.4 * wide + 0.6 * reach * (0.5 + 0.5 * np.sin(at / (2.1 * reach + 0.4) + 3 * wide))
    outer = p + side * wide[:, None]
    inner = p - side * 0.02
    flat = np.stack([outer[:-1], outer[1:], inner[1:], inner[:-1]], axis=1)
    return quads(np.concatenate([flat, np.full((*flat.shape[:2], 1), lift)], -1), "top", flat)


def _gutter(outline_m: Sequence[Sequence[float]], wide: float) -> Mesh:
    """A channel round an outline, at the foot of its kerb, mitred at the corners."""
    o = np.asarray(outline_m, float)
    nxt = np.roll(o, -1, axis=0)
    if np.sum(o[:, 0] * nxt[:, 1] - nxt[:, 0] * o[:, 1]) < 0:
        o = o[::-1]
        nxt = np.roll(o, -1, axis=0)
    along = nxt - o
    length = np.hypot(along[:, 0], along[:, 1])
    out = np.stack([along[:, 1], -along[:, 0]], -1) / np.maximum(length, 1e-9)[:, None]
    before = np.roll(out, 1, axis=0)
    mitre = (out + before) / np.maximum(1 + np.sum(out * before, axis=1), 0.3)[:, None]
    far = o + wide * mitre
    run = np.concatenate([[0.0], np.cumsum(length)])
    high = 0.009
    faces, uv = [], []
    for k in range(len(o)):
        n = (k + 1) % len(o)
        faces.append([(*o[k], high), (*far[k], high), (*far[n], high), (*o[n], high)])
        uv.append([(run[k], 0.0), (run[k], wide), (run[k + 1], wide), (run[k + 1], 0.0)])
    return quads(faces, "gutter", uv)


@kind(
    "road",
    "A strip along a path: a road, a track, a stream, a painted line.",
    draped=True,
    stuff={"top": "asphalt"},
    path_m=outline("points of its middle line", 2, start=((0, 0), (10, 0))),
    width_m=number(6.0, "width", 0.01),
    lift_m=number(0.03, "height above the ground", -10),
    dash_m=vector((0.0, 0.0), "length of dashes and of gaps; 0 is unbroken"),
    ragged_m=number(0.0, "how far its edges wander outwards", 0, 3),
)
def _road(v: Values, rng: np.random.Generator) -> Mesh:
    strip = _strip(np.asarray(v.path_m), v.width_m, v.lift_m, v.dash_m)
    if not v.ragged_m:
        return strip
    faces = strip.xyz[::2]  # of every face its right edge, then the left one's ends
    right = np.concatenate([faces[:, 0, :2], faces[-1:, 1, :2]])
    left = np.concatenate([strip.xyz[1::2, 2, :2], faces[-1:, 2, :2]])
    low = v.lift_m - _UNDER_M
    edges = [_fringe(line, v.ragged_m, low, rng) for line in (right, left[::-1])]
    return join([strip, *edges])


def _strip(path: np.ndarray, width: float, lift: float, dash: tuple[float, float]) -> Mesh:
    step = np.diff(path, axis=0)
    run = run_along(path)
    marks = np.unique(np.concatenate([run, np.arange(0.0, run[-1], 2.0)]))
    if dash[0] > 0:
        starts = np.arange(0.0, run[-1] - dash[0], dash[0] + dash[1])
        spans = [(a, a + dash[0]) for a in starts]
    else:
        spans = list(itertools.pairwise(marks))
    smooth = np.gradient(path, run, axis=0) if len(path) > 2 else np.repeat(step / run[-1], 2, 0)

    def edge(at: float, side: float) -> list[float]:
        x, y = places_along(path, run, at)
        tx, ty = places_along(smooth, run, at)
        n = math.hypot(tx, ty) or 1.0
        return [x - side * ty / n, y + side * tx / n, lift]

    half = width / 2
    corners = [[edge(a, -half), edge(b, -half), edge(b, half), edge(a, half)] for a, b in spans]
    first = 7.3 * path[0, 0] + 11.9 * path[0, 1]  # no two strips wear alike
    uv = [[(first + u, v) for u, v in ((a, -half), (b, -half), (b, half), (a, half))]
          for a, b in spans]  # fmt: skip
    return quads(corners, "top", uv)


def roof_mesh(
    length: float,
    depth: float,
    shape: str,
    pitch_deg: float,
    over: float,
    thick: float = 0.14,
    *,
    gutters: bool = True,
) -> Mesh:
    """A roof over a rectangle about the origin, ridge along x, eaves' walls at z = 0.

    Slots: roof, gable, trim.
    """
    rise = math.tan(math.radians(pitch_deg))
    x, y = length / 2, depth / 2
    if shape == "shed":
        return _shed(x, y, over, rise, thick)
    top = y * rise
    drop, ox, oy = over * rise, x + over * 0.6, y + over
    parts = []
    if shape == "gable":
        for s in (1, -1):
            a, b = (-s * ox, -s * oy, -drop), (s * ox, -s * oy, -drop)
            c, d = (s * ox, 0.0, top), (-s * ox, 0.0, top)
            parts.append(_slab([a, b, c, d], thick))
            parts.append(_triangle_up(s * x, s * y, top))
        parts.append(tube((-ox, 0, top + thick), (ox, 0, top + thick), 0.11, "roof", sides=8))
    else:
        hx, tip = max(x - y, 0.0), min(x, y) * rise
        dropx = x + over
        for s in (1, -1):
            a, b = (-s * dropx, -s * oy, -drop), (s * dropx, -s * oy, -drop)
            parts.append(_slab([a, b, (s * hx, 0, tip), (-s * hx, 0, tip)], thick))
            a, b = (s * dropx, -s * oy, -drop), (s * dropx, s * oy, -drop)
            parts.append(_slab([a, b, (s * hx, 0, tip)], thick))
            for t in (1, -1):
                foot = (s * dropx, t * oy, -drop + thick)
                parts.append(tube(foot, (s * hx, 0, tip + thick), 0.10, "roof", sides=6))
        if hx > 0:
            parts.append(tube((-hx, 0, tip + thick), (hx, 0, tip + thick), 0.11, "roof", sides=8))
    for s in (1, -1) if gutters else ():
        end = ox if shape == "gable" else x + over
        z = -drop + 0.03
        parts.append(
            tube((-end, s * (oy + 0.05), z), (end, s * (oy + 0.05), z), 0.07, "trim", sides=6)
        )
    return join(parts)


def _slab(corners: list[tuple[float, float, float]], thick: float) -> Mesh:
    """A sloping slab: covering above, trim below and at its edges.

    The lower face too looks outward from the house, so that a camera in the attic is inside.
    """
    p = np.array(corners, float)
    up = p + [0, 0, thick]
    n = len(p)
    along = (p[1] - p[0]) / np.linalg.norm(p[1] - p[0])
    normal = np.cross(p[1] - p[0], p[2] - p[0])
    normal /= np.linalg.norm(normal)
    across = np.cross(normal, along)

    def face(q: np.ndarray, slot: str) -> Mesh:
        uv = np.stack([q @ along, (q - p[0]) @ across], -1)
        if n == 3:
            q, uv = np.concatenate([q, q[2:]]), np.concatenate([uv, uv[2:]])
        return quads(q[None], slot, uv[None])

    edges = [[p[i], p[(i + 1) % n], up[(i + 1) % n], up[i]] for i in range(n)]
    below = quads((p if n == 4 else p[[0, 1, 2, 2]])[None], "trim")
    return join([face(up, "roof"), below, quads(edges, "trim")])


def _triangle_up(x: float, y: float, top: float) -> Mesh:
    """A gable wall at x, from -y to y."""
    p = [(x, -y, 0.0), (x, y, 0.0), (x, 0.0, top), (x, 0.0, top)]
    uv = [(-y, 0.0), (y, 0.0), (0.0, top), (0.0, top)]
    return quads([p], "gable", [uv])


def _shed(x: float, y: float, over: float, rise: float, thick: float) -> Mesh:
    low, high = -over * rise, (2 * y + over) * rise
    ox = x + over * 0.6
    slab = _slab(
        [(-ox, -y - over, low), (ox, -y - over, low), (ox, y + over, high), (-ox, y + over, high)],
        thick,
    )
    sides = []
    for s in (1, -1):
        p = [
            (s * x, -s * y, 0 if s > 0 else 2 * y * rise),
            (s * x, s * y, 2 * y * rise if s > 0 else 0),
        ]
        foot = [(s * x, -s * y, 0), (s * x, s * y, 0)]
        sides.append([foot[0], foot[1], p[1], p[0]])
    back = [[(x, y, 0), (-x, y, 0), (-x, y, 2 * y * rise), (x, y, 2 * y * rise)]]
    return join([slab, quads(sides, "gable"), quads(back, "gable")])


def boards_mesh(x: float, y: float, thick: float, z: float) -> Mesh:
    """A table top of boards along x, its upper side at height z.  Slot: top."""
    boards = max(1, round(y / 0.16))
    wide = y / boards
    rng = np.random.default_rng(boards)
    return join(
        timber((x, wide - 0.003, thick), "top", (0, (k + 0.5) * wide - y / 2, z - thick), rng)
        for k in range(boards)
    )


def timber(
    size: tuple[float, float, float],
    slot: str,
    at: tuple[float, float, float],
    rng: np.random.Generator,
    turn_deg: float = 0.0,
) -> Mesh:
    """A piece of wood as `box`, its grain along its longest edge and unlike any other piece's."""
    piece = box(size, slot)
    long = int(np.argmax(size))
    side = np.argmax(np.abs(piece.normal[:, 0]), axis=1)
    along = piece.xyz[:, :, long]
    # the end grain of the two short faces needs another axis to run along
    first = np.where(side == long, (long + 1) % 3, long)
    u = np.take_along_axis(piece.xyz, first[:, None, None], axis=2)[..., 0]
    u = np.where((side == long)[:, None], u, along)
    second = 3 - side - first
    v = np.take_along_axis(piece.xyz, second[:, None, None], axis=2)[..., 0]
    uv = np.stack([u + rng.uniform(0.0, 50.0), v + PIECE_M * rng.integers(0, 200)], -1)
    return moved(replace(piece, uv=uv), at, turn_deg)
