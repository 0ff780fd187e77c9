"""Cars and vans: a body with doors, bumpers, lamps, and what is seen behind its glass."""

import itertools
import math
from collections.abc import Callable, Sequence
from functools import cache

import numpy as np

from render.world.mesh import Mesh, box, ellipsoid, join, moved, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, pick
from render.world.things.vehicles.forms import ARCH_M, FORMS, WHEEL_M, Floats, Form
from render.world.things.vehicles.wheels import road_wheel

__all__ = ["CAR_STUFF"]

CAR_STUFF = {
    "body": "car paint",
    "glass": "car glass",
    "seat": "car seats",
    "far": "car far side",
    "tyre": "rubber",
    "rim": "alloy",
    "trim": "black plastic",
    "light": "head lamp",
    "tail": "tail lamp",
    "plate": "white paint",
    "mark": "blue paint",
}

Surface = Callable[[Floats, Floats], Floats]
#: Width of the gap round a door.
_GAP_M = 0.010
#: Spokes of the wheels of each sort.
_SPOKES = {"car": 10, "estate": 5, "hatch": 7, "small van": 5, "van": 6}


@kind(
    "car",
    "A car or a van.",
    feet=lambda v: block(2.0, FORMS[v.shape].long_m),
    variants=1,
    stuff=CAR_STUFF,
    shape=pick("car", "which", "car", "hatch", "estate", "small van", "van"),
)
def _car(v: Values, rng: np.random.Generator) -> Mesh:
    return _of(v.shape)


@cache
def _of(shape: str) -> Mesh:
    """Cars of a sort are one shape: a street is full of them."""
    form = FORMS[shape]
    parts = [_shell(form), _cabin(form), *_front(form), *_rear(form), *_glass(form)]
    right = [*_sides(form), *_pressings(form), *_behind_side_glass(form)]
    right += _wheels(form, _SPOKES[shape])
    parts += right + [moved(mesh, size=(-1.0, 1.0, 1.0)) for mesh in right]
    if shape == "estate":
        for s in (1, -1):
            y = np.linspace(2.1, 3.9, 7)
            rail = form.cabin_top(np.full(7, s * 0.93), y) + [0, 0, 0.035]
            parts += [tube(a, b, 0.015, "rim", sides=5) for a, b in itertools.pairwise(rail)]
    return moved(join(parts), (0, -form.long_m / 2, 0))


def _shell(form: Form) -> Mesh:
    """The lower body, its wheel openings cut out, closed below."""
    ends = 1 - (1 - np.linspace(0, 1, 12)) ** 3
    nose = -1 + 0.2 * (1 - ends[::-1])
    stations = [-nose[::-1], nose, np.linspace(-0.8, 0.8, 17)]
    for axle in form.axles_m:
        y = axle + ARCH_M * np.sin(np.linspace(-0.5, 0.5, 13) * math.pi)
        y = np.concatenate([[axle - ARCH_M - 1e-4], y[1:-1], [axle + ARCH_M + 1e-4]])
        stations.append(2 * y / form.long_m - 1)
    near = np.concatenate([2 * np.array(form.axles_m) / form.long_m - 1])
    even = np.abs(np.subtract.outer(stations[2], near)).min(axis=1) > 2.1 * ARCH_M / form.long_m
    stations[2] = stations[2][even]
    rings = form.rings(np.unique(np.concatenate(stations)))
    slots = np.full((rings.shape[0] - 1, rings.shape[1] - 1), "body")
    slots[:, 0] = "trim"
    slots[:, 1] = "trim"
    return _skinned(rings, slots)


def _cabin(form: Form) -> Mesh:
    """Roof, pillars and panes in dark frames."""
    first, last = form.roof_m[0][0], form.roof_m[-1][0]
    windscreen, rear = form.glazed_m()
    posts = [p + s for p in form.pillars_m for s in (-0.045, 0.045)]
    lines = [y for y in (*posts, *windscreen, *rear, form.closed_m) if first < y < last]
    y = np.unique(np.concatenate([np.linspace(first, last, 27), lines]))
    sides = [form.cabin_side(y, np.full(len(y), s)) for s in (0.0, 0.10, 0.16, 0.88, 0.94)]
    top = [form.cabin_top(np.full(len(y), s), y) for s in (0.97, 0.90, 0.6, 0.3, 0.0)]
    floor = sides[0] * [0, 1, 1]
    ribs = np.stack([floor, *sides, *top], axis=1)
    slots = np.full((len(y) - 1, ribs.shape[1] - 1), "body", dtype="<U5")
    middle = (y[1:] + y[:-1]) / 2
    tall = np.minimum.reduce([form.roof(y[k:len(y) - 1 + k]) - form.foot(y[k:len(y) - 1 + k])
                              for k in (0, 1)])  # fmt: skip
    post = np.min(np.abs(np.subtract.outer(middle, form.pillars_m)), axis=1) < 0.044
    window = (tall > 0.24) & (middle < form.closed_m)
    slots[window, 2] = slots[window, 4] = "trim"
    slots[window, 3] = "glass"
    slots[window & post, 3] = "trim"
    for low, high in (windscreen, rear):
        here = (middle > low) & (middle < high)
        slots[here, 7:] = "glass"
        slots[here, 6] = "trim"
    return _skinned(ribs, slots)


def _skinned(ribs: Floats, slots: "np.ndarray") -> Mesh:
    """Quads between neighbouring ribs, mirrored, with normals that turn smoothly."""
    normal = np.cross(np.gradient(ribs, axis=1), np.gradient(ribs, axis=0))
    length = np.linalg.norm(normal, axis=-1, keepdims=True)
    normal = np.where(length > 1e-9, normal / np.maximum(length, 1e-9), [0.0, 0.0, 1.0])
    parts = []
    for name in np.unique(slots):
        i, j = np.nonzero(slots == name)
        picked = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
        corners = np.stack([ribs[a, b] for a, b in picked], 1)
        bend = np.stack([normal[a, b] for a, b in picked], 1)
        half = _faces(corners, bend, str(name))
        parts += [half, moved(half, size=(-1.0, 1.0, 1.0))]
    return join(parts)


def _faces(corners: Floats, bend: Floats, slot: str) -> Mesh:
    """Triangles of quads (n, 4, 3), turned the way their smooth normals show."""
    order = np.array([[0, 1, 2], [0, 2, 3]])
    xyz, turned = corners[:, order].reshape(-1, 3, 3), bend[:, order].reshape(-1, 3, 3)
    flat = np.cross(xyz[:, 1] - xyz[:, 0], xyz[:, 2] - xyz[:, 0])
    keep = np.linalg.norm(flat, axis=1) > 1e-9
    xyz, turned, flat = xyz[keep].copy(), turned[keep].copy(), flat[keep]
    wrong = np.sum(flat * turned.sum(axis=1), axis=1) < 0
    xyz[wrong], turned[wrong] = xyz[wrong, ::-1], turned[wrong, ::-1]
    return Mesh(xyz, xyz[..., [1, 2]], turned, np.zeros(len(xyz), np.int32), (slot,))


def _laid(
    surface: Surface,
    corners: Sequence[tuple[float, float]],
    slot: str,
    out: Sequence[float],
    lift_m: float = 0.008,
    steps: tuple[int, int] = (1, 1),
) -> Mesh:
    """A patch on a surface, between four of its places, `lift_m` off it on the side of `out`."""
    s, t = np.meshgrid(np.linspace(0, 1, steps[0] + 1), np.linspace(0, 1, steps[1] + 1),
                       indexing="ij")  # fmt: skip
    a, b, c, d = np.asarray(corners, float)
    u, v = ((1 - s) * ((1 - t) * a[k] + t * d[k]) + s * ((1 - t) * b[k] + t * c[k])
            for k in (0, 1))  # fmt: skip
    at, e = surface(u, v), 1e-3
    normal = np.cross(surface(u + e, v) - surface(u - e, v), surface(u, v + e) - surface(u, v - e))
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)
    normal *= np.sign(np.sum(normal * np.asarray(out, float), axis=-1, keepdims=True))
    at = at + lift_m * normal
    picked = [(slice(None, -1), slice(None, -1)), (slice(1, None), slice(None, -1)),
              (slice(1, None), slice(1, None)), (slice(None, -1), slice(1, None))]  # fmt: skip
    quad = np.stack([at[p] for p in picked], axis=2).reshape(-1, 4, 3)
    bend = np.stack([normal[p] for p in picked], axis=2).reshape(-1, 4, 3)
    return _faces(quad, bend, slot)


def _line(
    surface: Surface, points: Sequence[tuple[float, float]], out: Sequence[float], wide: float
) -> list[Mesh]:
    """A dark gap along a broken line of a surface, drawn `wide` metres of its own measures."""
    found = []
    for (u0, v0), (u1, v1) in itertools.pairwise(points):
        length = math.hypot(u1 - u0, v1 - v0)
        du, dv = -(v1 - v0) / length * wide / 2, (u1 - u0) / length * wide / 2
        corners = [(u0 - du, v0 - dv), (u1 - du, v1 - dv), (u1 + du, v1 + dv), (u0 + du, v0 + dv)]
        found.append(_laid(surface, corners, "trim", out, 0.006, (6, 1)))
    return found


def _block(u0: float, u1: float, v0: float, v1: float) -> list[tuple[float, float]]:
    return [(u0, v0), (u1, v0), (u1, v1), (u0, v1)]


def _sides(form: Form) -> list[Mesh]:
    """Doors, handles, sills, flap and mirror of the right side."""
    out, side = (1.0, 0.0, 0.0), form.side
    parts: list[Mesh] = []
    low = form.sill_m + 0.07
    first = form.doors_m[0]
    for y in form.doors_m:
        over = float(form.belt(y)) - 0.015
        wheel = next((a for a in form.axles_m if abs(y - a) < ARCH_M + 0.06), None)
        points = [(y, over), (y, low)]
        if wheel is not None:  # the door ends over the wheel
            bend = wheel - ARCH_M - 0.07
            points = [(y, over), (y, float(form.arch(y)) + 0.07), (bend, low + 0.02)]
        parts += _line(side, points, out, _GAP_M)
        if y > first:
            z = over - 0.16
            parts.append(_laid(side, _block(y - 0.21, y - 0.05, z - 0.02, z + 0.03), "trim", out))
            parts.append(_laid(side, _block(y - 0.21, y - 0.05, z, z + 0.022), "body", out, 0.03))
    parts += _line(side, [(first, low), (min(form.doors_m[-1], form.axles_m[1] - 0.44), low)],
                   out, _GAP_M)  # fmt: skip
    if form.boxy:  # the rail of a sliding door
        z = float(form.belt(3.0)) - 0.045  # over the livery
        parts += _line(side, [(form.doors_m[1] + 0.1, z), (form.long_m - 0.5, z)], out, 0.02)
        parts += _livery(form)
    flap = form.axles_m[1] + 0.22
    for a, b in itertools.pairwise(np.linspace(0, 2 * math.pi, 9)):
        ring = [(flap + 0.075 * math.cos(t), 0.78 + 0.065 * math.sin(t)) for t in (a, b)]
        parts += _line(side, ring, out, 0.008)
    for y0, y1 in ((form.axles_m[0] + 0.42, form.axles_m[1] - 0.42),):
        parts.append(
            _laid(side, _block(y0, y1, form.sill_m + 0.01, form.sill_m + 0.055), "trim", out, 0.006,
                  (6, 1))
        )  # fmt: skip
    # a marker before the front wheel, and a mirror before the side window
    mark = form.axles_m[0] + 0.44
    parts.append(_laid(side, _block(mark, mark + 0.07, 0.70, 0.725), "tail", out))
    y = form.roof_m[0][0] + (0.42 if not form.boxy else 0.34)
    root = form.cabin_side(np.array(y), np.array(0.12))
    at = root + [0.12, -0.02, 0.06]
    parts.append(tube(root - [0.03, 0, 0], at, 0.022, "trim", sides=6))
    tall = 1.5 if form.boxy else 1.0
    parts.append(ellipsoid((0.095, 0.055, 0.062 * tall), "body", at.tolist(), 10, 6))
    parts.append(box((0.14, 0.012, 0.075 * tall), "glass", (at + [0.0, 0.05, -0.04]).tolist()))
    return parts


def _pressings(form: Form) -> list[Mesh]:
    """Of the right half: the roof's ditch, a strip along the doors, the ribs of a van's sheet."""
    up, out = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    (_, y0), (y1, _) = form.glazed_m()
    y1 = form.long_m - 0.35 if form.boxy else y1
    low, high = (0.56, 0.64) if form.boxy else (0.49, 0.525)
    strip = _block(form.axles_m[0] + 0.46, form.axles_m[1] - 0.46, low, high)
    parts = [_laid(form.side, strip, "trim", out, 0.012, (8, 1))]
    parts += _line(form.cabin_top, [(0.86, y0 + 0.06), (0.86, y1 - 0.04)], up, 0.024)
    visor = [(0.12, y0 - 0.16), (0.72, y0 - 0.16), (0.74, y0 - 0.05), (0.12, y0 - 0.05)]
    parts.append(_laid(form.cabin_top, visor, "seat", (0.0, -0.7, 0.7), 0.003, (2, 1)))
    if form.boxy:
        for share in (0.15, 0.4, 0.64):
            parts += _line(form.cabin_top, [(share, form.closed_m), (share, y1)], up, 0.03)
        ends = np.linspace(form.closed_m + 0.1, form.long_m - 0.3, 3 if form.long_m > 5 else 2)
        for a, b in itertools.pairwise(ends.tolist()):
            ring = [(a, 0.2), (b - 0.1, 0.2), (b - 0.1, 0.84), (a, 0.84), (a, 0.2)]
            parts += _line(form.cabin_side, ring, out, 0.014)
    elif form.doors_m[-1] < 3.0:  # a roof of glass
        pane = [(0.0, y0 + 0.25), (0.6, y0 + 0.25), (0.6, y1 - 0.45), (0.0, y1 - 0.45)]
        parts.append(_laid(form.cabin_top, pane, "glass", up, 0.004, (4, 6)))
    return parts


def _livery(form: Form) -> list[Mesh]:
    """A firm's colours on the closed side of a van: a disc, a stripe, bars for what is written."""
    out, y = (1.0, 0.0, 0.0), form.doors_m[1] + 0.45
    z = float(form.belt(3.0)) - 0.12
    end = form.long_m - 0.75
    parts = [_laid(form.side, _block(y - 0.2, end, z - 0.34, z - 0.27), "mark", out, 0.005, (8, 1))]
    turn = np.linspace(0, math.tau, 17)
    for a, b in itertools.pairwise(turn.tolist()):
        face = [(y + r * math.cos(t), z + r * math.sin(t) - 0.10)
                for r, t in ((0.05, a), (0.14, a), (0.14, b), (0.05, b))]  # fmt: skip
        parts.append(_laid(form.side, face, "mark", out, 0.005))
    x = y + 0.32
    for wide in (0.16, 0.09, 0.12, 0.2, 0.0, 0.1, 0.14, 0.08, 0.17):
        if wide and x + wide < end:
            parts.append(
                _laid(form.side, _block(x, x + wide, z - 0.15, z - 0.03), "mark", out, 0.005)
            )
        x += wide + 0.04 if wide else 0.12
    return parts


def _front(form: Form) -> list[Mesh]:
    """Grille, bumper, lamps, plate, the gaps of bonnet and bumper."""
    out = (0.0, -1.0, 0.0)
    half, edge = form.wide_m / 2, form.belt_m[0][1]

    def nose(x: Floats, z: Floats) -> Floats:
        return form.end(x, z, -1.0)

    wide = 0.60 * half
    parts = [
        _laid(nose, _block(-wide, wide, edge - 0.125, edge - 0.035), "trim", out, 0.010, (16, 1)),
        _laid(nose, _block(-0.72 * half, 0.72 * half, 0.27, 0.36), "trim", out, 0.010, (16, 1)),
    ]
    for z in (edge - 0.105, edge - 0.075):
        parts.append(_laid(nose, _block(-wide, wide, z, z + 0.012), "rim", out, 0.014, (16, 1)))
    for a in np.linspace(-wide, wide, 12):
        parts.append(_laid(nose, _block(a, a + 0.008, edge - 0.12, edge - 0.04), "rim", out, 0.013))
    parts += _line(nose, [(-0.9 * half, edge - 0.155), (0.9 * half, edge - 0.155)], out, 0.009)
    for s in (1, -1):
        lamp = [(s * 0.60 * half, edge - 0.13), (s * 0.93 * half, edge - 0.09),
                (s * 0.92 * half, edge + 0.02), (s * 0.62 * half, edge - 0.03)]  # fmt: skip
        parts.append(_laid(nose, lamp, "trim", out, 0.010, (8, 3)))
        for x in (0.66, 0.77):
            ring = _block(s * x * half, s * (x + 0.09) * half, edge - 0.105, edge - 0.035)
            parts.append(_laid(nose, ring, "light", out, 0.016, (2, 1)))
        corner = _block(s * 0.875 * half, s * 0.92 * half, edge - 0.075, edge - 0.02)
        parts.append(_laid(nose, corner, "light", out, 0.016))
        fog = _block(s * 0.60 * half, s * 0.70 * half, 0.285, 0.345)
        parts.append(_laid(nose, fog, "light", out, 0.015))
        bonnet = [(s * 0.86, 0.12), (s * 0.90, form.roof_m[0][0] - 0.05)]
        parts += _line(form.lid, bonnet, (0, 0, 1), 0.010)
    parts += _plate(nose, 0.43, out)
    scuttle = form.roof_m[0][0] - 0.09
    parts.append(
        _laid(form.lid, _block(-0.86, 0.86, scuttle - 0.03, scuttle + 0.05), "trim", (0, 0, 1),
              0.004, (8, 1))
    )  # fmt: skip
    return parts


def _rear(form: Form) -> list[Mesh]:
    """Lamps, plate, bumper, the gaps of the lid."""
    out = (0.0, 1.0, 0.0)
    half, edge = form.wide_m / 2, form.belt_m[-1][1]

    def tail(x: Floats, z: Floats) -> Floats:
        return form.end(x, z, 1.0)

    parts = [
        _laid(tail, _block(-0.8 * half, 0.8 * half, 0.25, 0.33), "trim", out, 0.010, (16, 1)),
        *_line(tail, [(-0.93 * half, 0.52), (0.93 * half, 0.52)], out, 0.010),
    ]
    for s in (1, -1):
        high = edge + (0.04 if form.boxy else -0.03)
        lamp = _block(s * 0.66 * half, s * 0.92 * half, high - 0.19, high)
        if form.boxy:
            lamp = _block(s * 0.78 * half, s * 0.88 * half, high - 0.42, high)
        parts.append(_laid(tail, lamp, "tail", out, 0.012, (8, 3)))
        white = _block(s * 0.72 * half, s * 0.82 * half, high - 0.10, high - 0.06)
        if form.boxy:
            white = _block(s * 0.80 * half, s * 0.86 * half, high - 0.27, high - 0.20)
        parts.append(_laid(tail, white, "light", out, 0.017))
        inner = 0.64 if not form.boxy else 0.75
        parts += _line(
            tail, [(s * inner * half, 0.54), (s * inner * half, edge - 0.02)], out, 0.009
        )
    if form.boxy:
        parts += _line(tail, [(0.0, 0.40), (0.0, edge - 0.02)], out, 0.012)
        parts.append(box((0.05, 0.03, 0.14), "trim", (0.08, form.long_m - 0.05, 0.92)))
    else:
        parts.append(_laid(tail, _block(-0.3, 0.3, edge - 0.085, edge - 0.06), "rim", out, 0.012,
                           (4, 1)))  # fmt: skip
    parts += _plate(tail, 0.62 if not form.boxy else 0.56, out)
    return parts


def _plate(end: Surface, low: float, out: Sequence[float]) -> list[Mesh]:
    """A number plate: strokes stand for what is written on it."""
    parts = [_laid(end, _block(-0.26, 0.26, low, low + 0.115), "plate", out, 0.016, (4, 1))]
    x = -0.21
    for k, wide in enumerate((0.035, 0.04, 0.03, 0.0, 0.04, 0.036, 0.042, 0.034)):
        if wide:
            high = low + 0.09 - 0.008 * (k % 2)
            parts.append(_laid(end, _block(x, x + wide, low + 0.03, high), "trim", out, 0.019))
            hole = _block(x + 0.011, x + wide - 0.004, low + 0.045 + 0.012 * (k % 3), high - 0.014)
            parts.append(_laid(end, hole, "plate", out, 0.022))
        x += 0.052
    return parts


def _glass(form: Form) -> list[Mesh]:
    """What is seen through windscreen and rear window, laid on them; wipers, aerial."""
    (y0, y1), (r0, r1) = form.glazed_m()
    out = (0.0, -0.7, 0.7)

    def screen(x: Floats, t: Floats) -> Floats:
        return form.cabin_top(x, y0 + t * (y1 - y0))

    def rear(x: Floats, t: Floats) -> Floats:
        return form.cabin_top(x, r1 + t * (r0 - r1))

    parts = [_laid(screen, _block(-0.86, 0.86, 0.03, 0.16), "far", out, 0.003, (8, 1))]
    for s in (1, -1):
        parts.append(_laid(screen, [(s * 0.20, 0.36), (s * 0.68, 0.36), (s * 0.64, 0.66),
                                    (s * 0.24, 0.66)], "seat", out, 0.003, (2, 2)))  # fmt: skip
        parts.append(_laid(screen, _block(s * 0.34, s * 0.54, 0.69, 0.82), "seat", out, 0.003))
    ring = [(0.44 + 0.2 * math.cos(a), 0.26 + 0.16 * math.sin(a))
            for a in np.linspace(-0.2, math.pi + 0.2, 9)]  # fmt: skip
    for (xa, za), (xb, zb) in itertools.pairwise(ring):
        face = [(xa, za), (xb, zb), (0.44 + 0.86 * (xb - 0.44), 0.26 + 0.86 * (zb - 0.26)),
                (0.44 + 0.86 * (xa - 0.44), 0.26 + 0.86 * (za - 0.26))]  # fmt: skip
        parts.append(_laid(screen, face, "trim", out, 0.005))
    parts.append(_laid(screen, _block(-0.09, 0.09, 0.86, 0.93), "trim", out, 0.005))
    for root, tip in (((0.05, 0.02), (0.74, 0.10)), ((-0.72, 0.02), (-0.06, 0.12))):
        a, b = ((screen(np.array(p[0]), np.array(p[1])) + [0, -0.016, 0.016]) for p in (root, tip))
        parts.append(tube(a, b, 0.010, "trim", 0.007, 5))
    if r1 > r0:
        back = (0.0, 0.7, 0.7)
        parts.append(_laid(rear, _block(-0.84, 0.84, 0.03, 0.14), "far", back, 0.003, (8, 1)))
        for s in (1, -1):
            parts.append(_laid(rear, _block(s * 0.32, s * 0.56, 0.30, 0.56), "seat", back, 0.003))
        a, b = (rear(np.array(x), np.array(t)) + [0, 0.02, 0.012]
                for x, t in ((0.0, 0.02), (0.62, 0.14)))  # fmt: skip
        parts.append(tube(a, b, 0.010, "trim", 0.007, 5))
    roof = form.cabin_top(np.array(0.0), np.array(form.roof_m[-3][0] - 0.15))
    parts.append(tube(roof, roof + [0, 0.10, 0.17], 0.008, "trim", 0.004, 5))
    return parts


def _behind_side_glass(form: Form) -> list[Mesh]:
    """Seats before the light of the far side's windows, laid on the right panes."""
    out = (1.0, 0.0, 0.0)
    parts: list[Mesh] = []
    windscreen, _ = form.glazed_m()
    ends = [windscreen[1] - 0.25, *form.pillars_m]
    last = min(form.closed_m, form.roof_m[-1][0] - 0.55)
    for y0, y1 in itertools.pairwise([*ends, last]):
        y0, y1 = y0 + 0.07, y1 - 0.07
        if y1 - y0 < 0.25:
            continue
        wide = y1 - y0
        parts.append(_laid(form.cabin_side, _block(y0 + 0.04, y1 - 0.04, 0.5, 0.82), "far", out,
                           0.003, (2, 1)))  # fmt: skip
        back = y0 + 0.62 * wide
        seat = [(back, 0.20), (back + 0.22, 0.20), (back + 0.27, 0.56), (back + 0.12, 0.56)]
        rest = [(back + 0.16, 0.60), (back + 0.26, 0.60), (back + 0.28, 0.80), (back + 0.17, 0.80)]
        for face in (seat, rest):
            kept = [(min(y, y1 - 0.01), s) for y, s in face]
            parts.append(_laid(form.cabin_side, kept, "seat", out, 0.005))
    return parts


def _wheels(form: Form, spokes: int) -> list[Mesh]:
    x = form.wide_m / 2 - 0.115
    return [moved(road_wheel(WHEEL_M, 0.20, spokes), (x, y, WHEEL_M)) for y in form.axles_m]
