"""What hangs and lies on the walls of a workshop: a board of tools, a rack of timber."""

import math

import numpy as np

from render.world.mesh import Mesh, box, ellipsoid, extrude, join, moved, tube
from render.world.things.kind import Values, kind, number, vector
from render.world.things.solids import timber

__all__: list[str] = []

_UPRIGHT = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])


@kind(
    "tool board",
    "A board of tools on a wall: saws, clamps, hammers, squares, chisels; it faces -y.",
    variants=3,
    stuff={
        "board": "pale wood",
        "blade": "#9aa0a4",
        "iron": "#3a3d40",
        "grip": "red wood",
        "shaft": "timber",
        "paint": "#a8382f",
    },
    size_m=vector((1.6, 1.0), "width and height", 0.4),
)
def _tool_board(v: Values, rng: np.random.Generator) -> Mesh:
    x, z = v.size_m
    parts = [timber((x, 0.018, z), "board", (0, 0.009, 0), rng)]
    parts += [box((x, 0.03, 0.03), "shaft", (0, -0.004, s)) for s in (0.0, z - 0.03)]
    parts.append(timber((0.45 * x, 0.07, 0.022), "board", (-0.24 * x, -0.035, 0.12), rng))
    for k in range(max(3, int(0.4 * x / 0.06))):  # chisels and drivers in a ledge
        at = -0.44 * x + 0.06 * k
        parts.append(tube((at, -0.035, 0.125), (at, -0.035, 0.25), 0.013, "grip", 0.010, sides=8))
        wide = float(rng.uniform(0.006, 0.022))
        parts.append(box((wide, 0.003, 0.10), "blade", (at, -0.035, 0.02)))
    at, row, last = -0.46 * x, 0.33, -1
    makers = (_handsaw, _clamp, _hanging_hammer, _try_square, _rule, _pincers, _spanners, _drill)
    while row + 0.26 < z:
        which = int(rng.integers(len(makers)))
        if which == last:
            continue
        wide, tall, tool = makers[which](rng)
        if at + wide > 0.48 * x:
            at, row = -0.46 * x, row + 0.34
            continue
        if row + tall < z + 0.02:
            parts.append(moved(tool, (at + wide / 2, -0.012, row)))
            at += wide + float(rng.uniform(0.012, 0.035))
            last = which
        else:
            at += 0.02
    for k in range(max(2, int(0.44 * x / 0.09))):  # pliers, files and brushes on nails below
        at, tall = 0.04 * x + 0.09 * k, float(rng.uniform(0.14, 0.24))
        tool = _pincers(rng)[2] if k % 3 == 0 else _file(tall, rng)
        parts.append(moved(tool, (at, -0.012, 0.27 - tall if k % 3 else 0.05)))
    return join(parts)


_Tool = tuple[float, float, Mesh]


def _cut(outline: list[tuple[float, float]], thick: float, slot: str) -> Mesh:
    """A flat piece of an outline (across, up) on the board, its face to -y."""
    turn = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(outline, outline[1:] + outline[:1],
                                                         strict=True))  # fmt: skip
    flat = extrude(outline if turn > 0 else outline[::-1], 0.0, thick, slot, slot)
    return moved(flat, matrix=_UPRIGHT)


def _handsaw(rng: np.random.Generator) -> _Tool:
    long = float(rng.uniform(0.42, 0.56))
    blade = _cut([(-long / 2, 0.04), (long / 2 - 0.1, 0.0), (long / 2 - 0.1, 0.13),
                  (-long / 2, 0.10)], 0.002, "blade")  # fmt: skip
    a = long / 2 - 0.09
    grip = [(a - 0.02, 0.0), (a + 0.09, -0.02), (a + 0.11, 0.05), (a + 0.09, 0.15), (a, 0.14)]
    return long + 0.05, 0.2, join([blade, _cut(grip, 0.022, "grip")])


def _clamp(rng: np.random.Generator) -> _Tool:
    tall = float(rng.uniform(0.24, 0.32))
    parts = [
        box((0.018, 0.008, tall), "iron", (-0.03, -0.01, 0.0)),
        box((0.10, 0.022, 0.026), "paint", (0.01, -0.014, tall - 0.026)),
        box((0.10, 0.022, 0.026), "paint", (0.01, -0.014, 0.09)),
        tube((0.05, -0.014, 0.02), (0.05, -0.014, 0.17), 0.006, "iron", sides=6),
        tube((0.05, -0.014, -0.05), (0.05, -0.014, 0.04), 0.014, "shaft", sides=8),
    ]
    return 0.13, tall + 0.02, join(parts)


def _hanging_hammer(rng: np.random.Generator) -> _Tool:
    tall = float(rng.uniform(0.26, 0.32))
    shaft = tube((0, -0.02, 0.0), (0, -0.02, tall), 0.012, "shaft", 0.010, sides=8)
    head = box((0.11, 0.026, 0.028), "iron", (0.008, -0.02, tall - 0.012))
    return 0.13, tall + 0.03, join([shaft, head])


def _try_square(rng: np.random.Generator) -> _Tool:
    long = float(rng.uniform(0.16, 0.26))
    return long, 0.24, join([
        box((0.034, 0.018, 0.14), "grip", (-long / 2 + 0.02, -0.010, 0.05)),
        box((long, 0.003, 0.036), "blade", (0.0, -0.010, 0.19)),
    ])  # fmt: skip


def _rule(rng: np.random.Generator) -> _Tool:
    tall = float(rng.uniform(0.24, 0.3))
    slot = "blade" if rng.random() < 0.5 else "board"
    return 0.03, tall, box((0.03, 0.003, tall), slot, (0, -0.004, 0))


def _pincers(rng: np.random.Generator) -> _Tool:
    parts = [
        tube((0.012 * s, -0.012, 0.15), (0.035 * s, -0.012, 0.0), 0.008, "paint", sides=6)
        for s in (1, -1)
    ]
    parts.append(ellipsoid((0.022, 0.012, 0.034), "iron", (0, -0.012, 0.175), 10, 6))
    return 0.09, 0.22, join(parts)


def _spanners(rng: np.random.Generator) -> _Tool:
    """A row of spanners, each smaller than the one before."""
    parts = []
    for k in range(6):
        tall = 0.24 - 0.024 * k
        x = 0.034 * k - 0.085
        parts.append(box((0.012, 0.005, tall - 0.03), "blade", (x, -0.006, 0.255 - tall)))
        parts.append(ellipsoid((0.014, 0.004, 0.014), "blade", (x, -0.006, 0.24), 10, 6))
        parts.append(ellipsoid((0.013, 0.004, 0.013), "blade", (x, -0.006, 0.255 - tall), 10, 6))
    return 0.21, 0.27, join(parts)


def _drill(rng: np.random.Generator) -> _Tool:
    """A hand drill with its wheel."""
    parts = [
        tube((0, -0.03, 0.03), (0, -0.03, 0.22), 0.009, "iron", sides=8),
        tube((0, -0.03, 0.22), (0, -0.03, 0.3), 0.018, "grip", 0.014, sides=10),
        tube((0, -0.03, 0.0), (0, -0.03, 0.05), 0.014, "blade", 0.009, sides=8),
        tube((0, -0.042, 0.13), (0, -0.05, 0.13), 0.045, "paint", sides=18),
        tube((0.0, -0.055, 0.13), (0.075, -0.055, 0.16), 0.006, "iron", sides=6),
        tube((0.075, -0.055, 0.16), (0.075, -0.09, 0.16), 0.012, "grip", sides=8),
    ]
    return 0.14, 0.31, join(parts)


def _file(tall: float, rng: np.random.Generator) -> Mesh:
    wide = float(rng.uniform(0.012, 0.028))
    grip = 0.42 * tall
    return join([
        tube((0, -0.016, tall - grip), (0, -0.016, tall), 0.012, "grip", 0.014, sides=8),
        box((wide, 0.005, tall - grip), str(rng.choice(["blade", "iron"])), (0, -0.014, 0.0)),
    ])  # fmt: skip


@kind(
    "timber rack",
    "Brackets on a wall with boards and battens on them; it faces -y.",
    variants=3,
    stuff={"wood": "timber", "pale": "pale wood", "dark": "red wood", "iron": "#3a3d40"},
    size_m=vector((3.0, 0.5), "width and height", 0.3),
    deep_m=number(0.34, "how far the brackets reach", 0.1, 1.0),
)
def _timber_rack(v: Values, rng: np.random.Generator) -> Mesh:
    x, z = v.size_m
    deep = v.deep_m
    parts = []
    tiers = max(1, int(z / 0.25))
    for at in np.linspace(-0.42, 0.42, max(2, round(x / 0.9))) * x:
        parts.append(box((0.04, 0.02, z), "iron", (float(at), -0.01, 0)))
        parts += [
            box((0.03, deep, 0.018), "iron", (float(at), -deep / 2, 0.25 * k)) for k in range(tiers)
        ]
    for k in range(tiers):
        y, top = -0.03, 0.25 * k + 0.019
        while y > -deep + 0.04:
            wide = float(rng.uniform(0.03, 0.13))
            low = top
            for _ in range(int(rng.integers(1, 5))):
                thick = float(rng.uniform(0.018, 0.04))
                long = x * float(rng.uniform(0.86, 1.1))
                slot = str(rng.choice(["wood", "wood", "pale", "dark"]))
                shift = (float(rng.uniform(-0.06, 0.06)) * x, y - wide / 2, low)
                parts.append(timber((long, wide, thick), slot, shift, rng))
                low += thick + 0.001
                if low > top + 0.17:
                    break
            y -= wide + math.fabs(float(rng.normal(0, 0.012))) + 0.004
    return join(parts)
