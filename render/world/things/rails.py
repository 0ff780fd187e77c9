"""What goes on rails: wagons and trams; front towards -y before turning."""

import itertools
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, cylinder, extrude, join, lathe, moved, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, number, pick
from render.world.things.vehicles.wheels import wheel

__all__: list[str] = []


def _scrawl(x: float, y: float, z: float, wide: float, rng: np.random.Generator) -> list[Mesh]:
    """Lines of bars on a side at x in place of painted letters."""
    parts, row = [], 0.0
    for high in (0.14, 0.09, 0.09):
        at = y - wide / 2
        while at < y + wide * float(rng.uniform(0.1, 0.5)):
            n = float(rng.choice([0.03, 0.06, 0.09]))
            parts.append(box((0.012, n, high), "mark", (x, at + n / 2, z - row)))
            at += n + float(rng.choice([0.025, 0.025, 0.09]))
        row += high + 0.07
    return parts


def _running_gear(n: float) -> list[Mesh]:
    """What hangs below the frame: brake cylinder, rods and blocks, steps, hooks and hoses."""
    parts = [
        moved(cylinder(0.17, 0.6, "frame", sides=12), (0.45, -0.3, 0.68),
              matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]]),
        tube((-0.2, -n / 2 + 2.4, 0.62), (-0.2, n / 2 - 2.4, 0.62), 0.025, "frame", sides=5),
        tube((0.3, -n / 2 + 2.4, 0.70), (0.3, n / 2 - 2.4, 0.70), 0.02, "frame", sides=5),
        tube((-1.3, 0.2, 0.72), (1.3, 0.2, 0.72), 0.025, "frame", sides=5),
    ]  # fmt: skip
    for s in (1, -1):  # truss rods, a brake wheel, a reservoir
        parts += [
            tube((s * 1.1, y0, z0), (s * 1.1, y1, z1), 0.03, "frame", sides=5)
            for y0, z0, y1, z1 in (
                (-n / 2 + 3.1, 0.92, -1.4, 0.55), (-1.4, 0.55, 1.4, 0.55),
                (1.4, 0.55, n / 2 - 3.1, 0.92),
            )
        ]  # fmt: skip
        parts += [box((0.08, 0.08, 0.4), "frame", (s * 1.1, y, 0.55)) for y in (-1.4, 1.4)]
        wheel_at = (s * 1.34, 1.9, 0.84)
        parts.append(moved(lathe([(0.13, 0), (0.17, 0), (0.17, 0.03), (0.13, 0.03), (0.13, 0)],
                     "rim", 14), wheel_at, matrix=[[0, 0, 1], [1, 0, 0], [0, 1, 0]]))  # fmt: skip
        for y in (-n / 2 + 1.85, n / 2 - 1.85):
            parts += [box((0.10, 0.10, 0.34), "rim", (s * 0.75, y + q, 0.42)) for q in (-0.3, 0.3)]
    for t in (1, -1):
        y = t * (n / 2 + 0.02)
        parts += [
            tube((0, y, 1.02), (0, y + t * 0.22, 1.02), 0.05, "frame", sides=6),
            tube((0, y + t * 0.22, 1.05), (0, y + t * 0.20, 0.72), 0.035, "frame", sides=6),
            tube((0.34, y, 0.98), (0.36, y + t * 0.16, 0.55), 0.03, "frame", sides=6),
            box((2.5, 0.10, 0.30), "frame", (0, t * (n / 2 - 0.05), 0.92)),
        ]
        for s in (1, -1):  # a step at each corner, a hand rail over it
            x, z = s * 1.3, 0.45
            parts.append(box((0.10, 0.34, 0.03), "frame", (x, t * (n / 2 - 0.4), z)))
            parts += [box((0.03, 0.03, 0.5), "frame", (x, t * (n / 2 - 0.4) + q, z))
                      for q in (-0.14, 0.14)]  # fmt: skip
    return parts


def _van_body(n: float, w: float, rng: np.random.Generator) -> list[Mesh]:
    """Sides with ribs and sliding doors, ladders at one end, a roof with hatches and ribs."""
    parts = [box((w, n, 2.2), "body", (0, 0, 1.2))]
    parts += [
        box((w + 0.07, 0.07, 2.2), "body", (0, y, 1.2))
        for y in np.linspace(-n / 2, n / 2, 11)
        if abs(y) > 1.4
    ]
    for s in (1, -1):
        x = s * (w / 2 + 0.05)
        parts.append(box((0.08, 2.5, 2.02), "body", (x, 0, 1.26)))
        parts += [box((0.05, 0.06, 2.02), "body", (x + s * 0.05, y, 1.26))
                  for y in (-1.2, -0.62, 0, 0.62, 1.2)]  # fmt: skip
        parts += [box((0.06, 5.3, 0.07), "frame", (x + s * 0.02, 0, z)) for z in (1.17, 3.30)]
        bar = x + s * 0.13
        parts += [
            tube((bar, 1.0, 1.5), (bar, 1.0, 2.7), 0.02, "rim", sides=5),
            box((0.09, 0.3, 0.09), "rim", (x + s * 0.07, 1.05, 2.05)),
        ]
        side = s * (w / 2 + 0.008)
        parts += _scrawl(side, -n / 2 + 1.7, 1.72, 1.3, rng)
        parts += _scrawl(side, n / 2 - 1.9, 1.62, 1.0, rng)
        for y in (-n / 2 + 0.55, n / 2 - 0.75):  # chalked, and a label in its clip
            slip = box((0.014, 0.22, 0.30), "mark", (side, y, 1.34))
            parts.append(slip)
        parts += [
            box((0.03, 0.9, 0.42), "frame", (side, y, 2.75)) for y in (-n / 2 + 2.6, n / 2 - 2.6)
        ]
    for x in (-0.95, -0.55):
        parts.append(
            tube((x, -n / 2 - 0.12, 1.15), (x, -n / 2 - 0.12, 3.75), 0.018, "rim", sides=5)
        )
    parts += [
        tube((-0.95, -n / 2 - 0.12, z), (-0.55, -n / 2 - 0.12, z), 0.014, "rim", sides=5)
        for z in np.arange(1.3, 3.7, 0.32)
    ]
    roof = np.array(
        [(-w / 2 - 0.08, 0), (w / 2 + 0.08, 0), (w / 2 - 0.2, 0.3), (0.5, 0.43), (-0.5, 0.43),
         (-w / 2 + 0.2, 0.3)]
    )  # fmt: skip
    along = [[1, 0, 0], [0, 0, -1], [0, 1, 0]]
    parts.append(
        moved(extrude(roof, 0, n + 0.1, "roof", "roof"), (0, n / 2 + 0.05, 3.4), matrix=along)
    )
    for y in np.linspace(-n / 2 + 0.1, n / 2 - 0.1, 9):  # seams over the roof
        rib = moved(
            extrude(roof * [1.0, 1.04], 0, 0.05, "roof", "roof"), (0, y, 3.405), matrix=along
        )
        parts.append(rib)
    parts += [
        moved(lathe([(0.0, 0.0), (0.13, 0.0), (0.13, 0.12), (0.2, 0.14), (0.2, 0.2), (0.0, 0.26)],
                    "frame", 10), (0.0, y, 3.82))
        for y in (-n / 4, n / 4)
    ]  # fmt: skip
    return parts


def _wheel_sets(n: float) -> list[Mesh]:
    """Four axles under a frame n metres long, with boxes in their guides and springs."""
    parts: list[Mesh] = []
    for y in (-n / 2 + 1.0, -n / 2 + 2.7, n / 2 - 2.7, n / 2 - 1.0):
        parts += [moved(wheel(0.46, 0.13), (s * 0.75, y, 0.46 + 0.14)) for s in (1, -1)]
        parts.append(tube((-0.75, y, 0.6), (0.75, y, 0.6), 0.07, "frame"))
        for s in (1, -1):  # axle boxes in their guides, a spring over each
            parts.append(box((0.16, 0.24, 0.26), "frame", (s * 0.9, y, 0.47)))
            parts.append(box((0.10, 1.0, 0.08), "frame", (s * 0.9, y, 0.78)))
    return parts


def _buffers(n: float) -> list[Mesh]:
    """Two buffers at either end of a frame n metres long."""
    parts: list[Mesh] = []
    for y in (-1, 1):
        for s in (1, -1):
            parts.append(
                tube(
                    (s * 0.87, y * n / 2, 1.06), (s * 0.87, y * (n / 2 + 0.44), 1.06), 0.10, "frame"
                )
            )
            parts.append(
                moved(
                    cylinder(0.22, 0.06, "frame"),
                    (s * 0.87, y * (n / 2 + 0.44 + 0.03 * (1 + y)), 1.06),
                    matrix=[[1, 0, 0], [0, 0, 1], [0, -1, 0]],
                )
            )
    return parts


def _tank_body(n: float) -> list[Mesh]:
    """A tank with its dome, ladders on both sides, saddles and a walk with rails on top."""
    parts: list[Mesh] = []
    t = lathe(
        [
            (0.0, -n / 2 + 0.3),
            (0.9, -n / 2 + 0.35),
            (1.25, -n / 2 + 0.7),
            (1.25, n / 2 - 0.7),
            (0.9, n / 2 - 0.35),
            (0.0, n / 2 - 0.3),
        ],
        "body",
        28,
        smooth=False,
    )
    parts.append(moved(t, (0, 0, 2.45), matrix=[[1, 0, 0], [0, 0, 1], [0, -1, 0]]))
    parts.append(cylinder(0.42, 0.45, "body", (0, 0, 3.6), sides=18))
    for s in (1, -1):
        ladder = [
            (s * 0.5, 1.2),
            (s * 1.25, 1.7),
            (s * 1.34, 2.5),
            (s * 1.0, 3.35),
            (s * 0.4, 3.74),
        ]
        for (x0, z0), (x1, z1) in itertools.pairwise(ladder[1:]):
            parts += [
                tube((x0, y, z0), (x1, y, z1), 0.018, "frame", sides=5) for y in (-0.22, 0.22)
            ]
            parts.append(tube((x0, -0.22, z0), (x0, 0.22, z0), 0.014, "frame", sides=5))
        plate = box((0.02, 0.7, 0.36), "mark", (s * 1.255, -n / 4, 2.3))
        parts.append(plate)
        parts += [
            box((0.5, 0.12, 0.5), "frame", (s * 0.8, y, 1.2)) for y in (-n / 2 + 1.6, n / 2 - 1.6)
        ]
    rail = [(x, y) for x in (-0.34, 0.34) for y in (-n * 0.25, n * 0.25)]
    parts += [tube((*p, 3.75), (*p, 4.3), 0.015, "frame", sides=5) for p in rail]
    parts += [
        tube((x, -n * 0.25, 4.3), (x, n * 0.25, 4.3), 0.015, "frame", sides=5)
        for x in (-0.34, 0.34)
    ]
    parts.append(box((0.7, n * 0.5, 0.06), "frame", (0, 0, 3.72)))
    return parts


def _open_body(n: float, w: float, rng: np.random.Generator) -> list[Mesh]:
    """Boarded sides with posts and lettering, and a heap of what is carried."""
    parts: list[Mesh] = []
    parts += [box((0.09, n, 1.5), "body", (s * (w / 2 - 0.05), 0, 1.2)) for s in (1, -1)]
    parts += [box((w, 0.09, 1.5), "body", (0, s * (n / 2 - 0.05), 1.2)) for s in (1, -1)]
    parts += [
        box((0.12, 0.12, 1.5), "frame", (s * w / 2, y, 1.2))
        for s in (1, -1)
        for y in np.linspace(-n / 2 + 0.2, n / 2 - 0.2, 8)
    ]
    for s in (1, -1):
        x = s * (w / 2 + 0.015)
        parts += [box((0.04, n, 0.09), "frame", (x, 0, z)) for z in (1.22, 2.62)]
        parts += _scrawl(x, -n / 2 + 1.6, 1.9, 1.1, rng)
        parts += [box((0.07, 0.14, 0.5), "rim", (x, y, 1.35)) for y in (-0.75, 0.75)]
    heap = [(-w / 2 + 0.1, 0.0), (w / 2 - 0.1, 0.0), (0.5, 0.55), (-0.5, 0.55)]
    mound = moved(
        extrude(heap, 0, n - 0.3, "cargo", "cargo"),
        (0, n / 2 - 0.15, 2.25),
        matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]],
    )
    parts.append(mound)
    return parts


@kind(
    "wagon",
    "A rail wagon.",
    feet=lambda v: block(2.9, v.length_m),
    stuff={
        "body": "rail red",
        "frame": "black plastic",
        "rim": "#554a44",
        "tyre": "#6d665f",
        "cargo": "gravel",
        "roof": "wagon roof",
        "mark": "worn paint",
    },
    load=pick("closed", "which", "closed", "open", "tank", "flat"),
    length_m=number(12.5, "length over buffers", 4, 30),
)
def _wagon(v: Values, rng: np.random.Generator) -> Mesh:
    n, w = v.length_m - 1.0, 2.8
    parts = [box((w - 0.3, n, 0.28), "frame", (0, 0, 0.92)), *_wheel_sets(n), *_buffers(n)]
    parts += _running_gear(n)
    if v.load == "tank":
        parts += _tank_body(n)
    elif v.load == "open":
        parts += _open_body(n, w, rng)
    elif v.load == "closed":
        parts += _van_body(n, w, rng)
    wagon = join(parts)
    return replace(wagon, uv=wagon.uv + [float(rng.uniform(0, 400)), 0.0])  # none wears like it


@kind(
    "tram",
    "A tram of three parts, with its pantograph up.",
    feet=lambda v: block(2.4, v.length_m),
    stuff={
        "body": "#c8b04a",
        "stripe": "white paint",
        "glass": "car glass",
        "trim": "black plastic",
        "roof": "zinc",
        "lamp": "head lamp",
    },
    length_m=number(21.0, "length", 8, 45),
)
def _tram(v: Values, rng: np.random.Generator) -> Mesh:
    n, w, h = v.length_m, 2.3, 3.1
    third = (n - 1.0) / 3
    parts = []
    for k in (-1, 0, 1):
        y = k * (third + 0.5)
        nose = 0.5 if k else 0.0  # the outer parts taper towards their ends
        outline = [
            (-w / 2, -third / 2),
            (w / 2, -third / 2),
            (w / 2, third / 2),
            (-w / 2, third / 2),
        ]
        if k:
            end = k * third / 2
            outline = [
                *((x, -end) for x in (-w / 2, w / 2)),
                (w / 2, end - k * 1.2), (w / 2 - nose, end), (nose - w / 2, end),
                (-w / 2, end - k * 1.2),
            ]  # fmt: skip
        hull = np.array(outline)
        parts += [
            moved(extrude(hull, 0.3, h, "body", "roof"), (0, y, 0)),
            moved(extrude(hull * [1.012, 1.004], 1.25, 2.45, "glass", "glass"), (0, y, 0)),
            moved(extrude(hull * [1.014, 1.005], 0.98, 1.12, "stripe", "stripe"), (0, y, 0)),
            moved(extrude(hull * [0.94, 0.98], 0.12, 0.3, "trim", "trim"), (0, y, 0)),
            box((1.5, 0.6 * third, 0.3), "roof", (0, y, h)),
        ]
        parts += [
            box((w * 1.03, 0.08, 1.3), "body", (0, y + q * third, 1.2))
            for q in (-0.3, -0.1, 0.1, 0.3)
        ]
        parts += [
            box((w * 1.018, 1.2, 2.05), "glass", (0, y + q * third, 0.42)) for q in (-0.2, 0.2)
        ]
    for y in (-0.5 * (third + 0.5), 0.5 * (third + 0.5)):
        parts.append(box((w - 0.2, 0.52, h - 0.5), "trim", (0, y, 0.35)))
    parts += [box((0.22, 0.05, 0.16), "lamp", (s * 0.5, -n / 2 - 0.01, 0.7)) for s in (1, -1)]
    up = np.array([0.0, 0.0, h + 0.3])
    elbow, top = up + [0, 0.9, 0.75], up + [0, -0.1, 1.55]
    parts += [
        tube(up, elbow, 0.04, "trim", sides=6),
        tube(elbow, top, 0.03, "trim", sides=6),
        tube(top - [0.8, 0, 0], top + [0.8, 0, 0], 0.03, "trim", sides=6),
    ]
    return join(parts)
