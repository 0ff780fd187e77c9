"""Buses of a town."""

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from render.world.mesh import Mesh, box, join, moved, quads, sheet, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, number
from render.world.things.vehicles.wheels import wheel

__all__: list[str] = []

#: Half its width; lower and upper edge of the body; radius of its corners.
_HALF_M, _LOW_M, _HIGH_M, _ROUND_M = 1.25, 0.32, 2.98, 0.20
#: Lower and upper edge of the windows, and the width of one.
_SILL_M, _HEAD_M, _PANE_M = 1.08, 2.32, 1.45
#: How far panes and what is seen behind them stand out from the body.
_BAND_M, _GLASS_M, _SEEN_M = 0.006, 0.012, 0.016


@kind(
    "bus",
    "A bus, its doors on the right.",
    feet=lambda v: block(2.6, v.length_m),
    stuff={
        "body": "car paint",
        "glass": "car glass",
        "seat": "car seats",
        "far": "car far side",
        "tyre": "rubber",
        "rim": "steel",
        "trim": "black plastic",
        "light": "head lamp",
        "tail": "tail lamp",
        "plate": "white paint",
        "stripe": "white paint",
        "roof": "white paint",
        "unit": "zinc",
    },
    length_m=number(11.5, "length", 5, 20),
)
def _bus(v: Values, rng: np.random.Generator) -> Mesh:
    n = v.length_m
    axles = (-n / 2 + min(2.5, 0.22 * n), n / 2 - min(3.0, 0.26 * n))
    parts = [_body(n), *_front(n), *_back(n), *_roof(n)]
    doors = [y for y in (-n / 2 + 1.05, 0.6) if min(abs(y - axle) for axle in axles) > 1.25]
    doors = doors or [sum(axles) / 2]
    parts += _side(n, [])
    parts += [moved(mesh, size=(-1.0, 1.0, 1.0)) for mesh in _side(n, doors)]
    for y in axles:
        for s in (1, -1):
            parts.append(moved(wheel(0.48, 0.3), (s * (_HALF_M - 0.10), y, 0.48)))
            parts.append(moved(_well(), (s * _HALF_M, y, 0.48), size=(s, 1, 1)))
    return join(parts)


def _body(n: float) -> Mesh:
    """A box with round corners that closes in over its upper edge."""
    angle = np.linspace(0, math.pi / 2, 6)
    corner = _ROUND_M * (np.stack([np.cos(angle), np.sin(angle)], -1) - 1)
    quarters = []
    for k in range(4):
        turn = np.array([[0, -1], [1, 0]])
        quarters.append((corner + [_HALF_M, n / 2] if k % 2 == 0 else corner + [n / 2, _HALF_M])
                        @ np.linalg.matrix_power(turn, k).T)  # fmt: skip
    plan = np.concatenate(quarters)
    size = np.array([_HALF_M, n / 2])
    levels = [(_LOW_M, 0.03), (_LOW_M + 0.05, 0.0), (_HIGH_M - 0.16, 0.0), (_HIGH_M - 0.08, 0.02),
              (_HIGH_M - 0.02, 0.08), (_HIGH_M, 0.20)]  # fmt: skip
    rings = [np.column_stack([plan * (1 - inset / size), np.full(len(plan), z)])
             for z, inset in levels]  # fmt: skip
    faces = [
        [low[k], low[(k + 1) % len(plan)], high[(k + 1) % len(plan)], high[k]]
        for low, high in itertools.pairwise(rings)
        for k in range(len(plan))
    ]
    uv = [[(p[1], p[2]) for p in face] for face in faces]
    lid = sheet(rings[-1][:, :2], _HIGH_M, "roof")
    floor = moved(sheet(rings[0][:, :2], 0.0, "trim"), (0, 0, _LOW_M),
                  matrix=np.diag([1.0, 1.0, -1.0]))  # fmt: skip
    return join([quads(faces, "body", uv), lid, floor])


def _pane(y0: float, y1: float, z0: float, z1: float, out: float, slot: str) -> Mesh:
    """An upright face of the right side, so far out of it."""
    x = _HALF_M + out
    return quads([[(x, y0, z0), (x, y1, z0), (x, y1, z1), (x, y0, z1)]], slot)


def _side(n: float, doors: list[float]) -> list[Mesh]:
    """A dark band with panes and who could sit behind them, doors, a stripe, flaps."""
    first, last = -n / 2 + 0.32, n / 2 - 0.32
    parts = [_pane(first, last, _SILL_M - 0.06, _HEAD_M + 0.06, _BAND_M, "trim")]
    parts.append(_pane(first, last, 0.80, 0.90, _BAND_M, "stripe"))
    count = max(1, round((last - first) / _PANE_M))
    edges = np.linspace(first + 0.03, last - 0.03, count + 1)
    for y0, y1 in zip(edges[:-1] + 0.03, edges[1:] - 0.03, strict=True):
        if any(abs((y0 + y1) / 2 - door) < 0.62 + _PANE_M / 2 for door in doors):
            continue
        parts.append(_pane(y0, y1, _SILL_M, _HEAD_M, _GLASS_M, "glass"))
        parts.append(_pane(y0 + 0.05, y1 - 0.05, 1.62, 2.2, _SEEN_M, "far"))
        parts.append(_pane(y0, y1, 1.98, 2.0, _SEEN_M, "trim"))
        for y in (y0 + 0.38, y0 + 1.08):
            if y + 0.14 < y1:
                parts.append(_pane(y - 0.06, y + 0.14, _SILL_M, 1.70, _SEEN_M + 0.002, "seat"))
    for y in doors:
        parts.append(_pane(y - 0.64, y + 0.64, _LOW_M + 0.03, _HEAD_M + 0.1, _SEEN_M, "trim"))
        for y0, y1 in ((y - 0.57, y - 0.03), (y + 0.03, y + 0.57)):
            parts.append(_pane(y0, y1, 0.5, _HEAD_M + 0.02, _SEEN_M + 0.004, "glass"))
            parts.append(_pane(y0 + 0.25, y0 + 0.28, 0.9, 1.5, _SEEN_M + 0.008, "stripe"))
    for y in np.arange(first + 0.9, last - 0.4, 1.1):
        parts.append(_pane(y, y + 0.012, _LOW_M + 0.04, 0.78, _BAND_M, "trim"))
    return parts


def _well() -> Mesh:
    """The dark round a wheel in its opening, ending above the road."""
    angle = np.linspace(-0.28, math.pi + 0.28, 17)
    rim = np.stack([np.zeros(17), np.cos(angle), np.sin(angle)], -1)
    inner, outer = 0.47 * rim + [0.018, 0, 0], 0.57 * rim + [0.006, 0, 0]
    return quads(np.stack([inner[:-1], outer[:-1], outer[1:], inner[1:]], axis=1), "trim")


def _faces(n: float, way: float, patches: Sequence[tuple[float, ...]], slot: str) -> Iterator[Mesh]:
    """Upright patches (left, right, low, high, how far out) of front (way -1) or back (1)."""
    for x0, x1, z0, z1, out in patches:
        y = way * (n / 2 + out)
        face = [(x0, y, z0), (x1, y, z0), (x1, y, z1), (x0, y, z1)]
        yield quads([face if way < 0 else face[::-1]], slot)


def _bars(n: float, way: float, low: float, tall: float, out: float) -> Iterator[Mesh]:
    """Bars that stand for what is written, in the middle of an end."""
    marks = ((-0.40, -0.28), (-0.25, -0.20), (-0.17, -0.05), (0.06, 0.2), (0.23, 0.27), (0.3, 0.42))
    yield from _faces(n, way, [(a, b, low, low + tall, out) for a, b in marks], "stripe")


def _front(n: float) -> list[Mesh]:
    """Windscreen, what is behind it, a display, lamps, bumper, plate, wipers, mirrors."""
    w = _HALF_M - _ROUND_M + 0.06
    parts = [
        *_faces(n, -1, [(-w, w, 0.92, 2.86, 0.004)], "trim"),
        *_faces(n, -1, [(-w + 0.04, w - 0.04, 0.98, 2.42, 0.010)], "glass"),
        *_faces(n, -1, [(-w + 0.1, w - 0.1, 1.0, 1.16, 0.013)], "far"),
        *_faces(n, -1, [(0.42, 0.86, 1.2, 1.72, 0.013), (-0.9, -0.7, 1.4, 2.1, 0.013)], "seat"),
        *_faces(n, -1, [(-w + 0.04, w - 0.04, 0.36, 0.50, 0.010)], "trim"),
        *_faces(n, -1, [(-0.27, 0.27, 0.53, 0.65, 0.012)], "plate"),
        *_bars(n, -1, 2.58, 0.14, 0.012),
    ]
    for s in (1, -1):
        x0, x1 = sorted((s * 0.62, s * 1.06))
        parts += _faces(n, -1, [(x0, x1, 0.58, 0.80, 0.008)], "trim")
        for x in (0.66, 0.86):
            a, b = sorted((s * x, s * (x + 0.17)))
            parts += _faces(n, -1, [(a, b, 0.61, 0.77, 0.014)], "light")
        y = -n / 2 - 0.02
        parts.append(tube((s * 0.12, y, 0.97), (s * 0.85, y, 1.24), 0.012, "trim", sides=5))
        arm = (s * 1.16, -n / 2 - 0.22, 2.5)
        parts.append(tube((s * 1.0, -n / 2, 2.7), arm, 0.02, "trim", sides=5))
        parts.append(box((0.2, 0.09, 0.42), "trim", (arm[0], arm[1], 2.05)))
    return parts


def _back(n: float) -> list[Mesh]:
    """A small window, the grille of the engine, lamps, plate."""
    slats = [(-0.8, 0.8, z, z + 0.022, 0.008) for z in np.arange(0.72, 1.2, 0.06).tolist()]
    parts = [
        *_faces(n, 1, [(-0.98, 0.98, 1.5, 2.42, 0.006)], "trim"),
        *_faces(n, 1, [(-0.92, 0.92, 1.56, 2.2, 0.012)], "glass"),
        *_bars(n, 1, 2.26, 0.10, 0.012),
        *_faces(n, 1, slats, "trim"),
        *_faces(n, 1, [(-0.27, 0.27, 0.50, 0.62, 0.012)], "plate"),
        *_faces(n, 1, [(-1.0, 1.0, 0.35, 0.46, 0.008)], "trim"),
    ]
    for s in (1, -1):
        a, b = sorted((s * 0.9, s * 1.04))
        parts += _faces(n, 1, [(a, b, 0.70, 1.05, 0.012), (a, b, 2.5, 2.6, 0.012)], "tail")
        parts += _faces(n, 1, [(a, b, 1.08, 1.2, 0.012)], "light")
    return parts


def _roof(n: float) -> list[Mesh]:
    """Cooling, hatches, seams."""
    parts = [box((1.5, 1.9, 0.24), "unit", (0, n * 0.2, _HIGH_M - 0.01))]
    parts += [box((1.3, 0.05, 0.02), "trim", (0, n * 0.2 + d, _HIGH_M + 0.225))
              for d in (-0.6, -0.3, 0.3, 0.6)]  # fmt: skip
    parts += [
        box((0.75, 0.75, 0.06), "unit", (0, y, _HIGH_M - 0.01)) for y in (-n * 0.3, -n * 0.02)
    ]
    parts += [
        box((2.0, 0.02, 0.008), "unit", (0, y, _HIGH_M))
        for y in np.arange(-n / 2 + 1, n / 2 - 0.5, 1.5)
    ]
    return parts
