"""Cars, vans, lorries, buses, bicycles, rail wagons; front towards -y before turning."""

import math

import numpy as np

from render.world.mesh import Mesh, box, cylinder, extrude, join, lathe, moved, quads, tube
from render.world.things.kind import Values, kind, number, pick

__all__ = ["wheel"]

_STUFF = {
    "body": "car paint",
    "glass": "car glass",
    "tyre": "rubber",
    "rim": "steel",
    "trim": "black plastic",
    "light": "head lamp",
    "tail": "tail lamp",
}

#: Side outlines (distance from the front, height) of body and glasshouse, in metres.
_SHAPES = {
    "car": (
        [
            (0.0, 0.30),
            (0.0, 0.62),
            (0.18, 0.74),
            (1.15, 0.92),
            (3.75, 0.96),
            (4.2, 0.90),
            (4.28, 0.55),
            (4.24, 0.30),
        ],
        [(1.05, 0.90), (1.80, 1.40), (3.05, 1.45), (3.95, 0.95)],
        1.78,
    ),
    "van": (
        [(0.0, 0.32), (0.0, 0.75), (0.25, 1.02), (0.95, 1.18), (5.2, 1.20), (5.2, 0.34)],
        [(0.85, 1.14), (1.55, 2.10), (5.12, 2.18), (5.2, 1.18)],
        1.95,
    ),
    "hatch": (
        [(0.0, 0.30), (0.0, 0.66), (0.2, 0.80), (0.95, 0.95), (3.6, 1.0), (3.72, 0.6), (3.7, 0.30)],
        [(0.82, 0.92), (1.5, 1.47), (2.95, 1.50), (3.62, 0.99)],
        1.70,
    ),
}


def wheel(radius: float, width: float, rim: str = "rim") -> Mesh:
    """A wheel about the x axis, its middle at the origin."""
    r, w = radius, width / 2
    tyre = lathe(
        [(r * 0.62, -w), (r * 0.95, -w), (r, -w * 0.6), (r, w * 0.6), (r * 0.95, w), (r * 0.62, w)],
        "tyre",
        22,
    )
    hub = lathe(
        [(0.0, -w * 0.7), (r * 0.63, -w * 0.9), (r * 0.63, w * 0.9), (0.0, w * 0.7)], rim, 14
    )
    return moved(join([tyre, hub]), matrix=[[0, 0, 1], [0, 1, 0], [-1, 0, 0]])


@kind(
    "car",
    "A car or a van.",
    variants=1,
    stuff=_STUFF,
    shape=pick("car", "which", "car", "hatch", "van"),
)
def _car(v: Values, rng: np.random.Generator) -> Mesh:
    body, house, width = _SHAPES[v.shape]
    length = body[-1][0]
    parts = [_hull(body, width / 2, width / 2 - 0.05, "body")]
    parts += _glasshouse(house, width / 2 - 0.05, width / 2 - 0.20, v.shape == "van")
    for y in (0.82, length - 0.85):
        for s in (1, -1):
            parts.append(moved(wheel(0.325, 0.21), (s * (width / 2 - 0.10), y, 0.325)))
            arch = moved(
                cylinder(0.40, 0.02, "trim", sides=20), matrix=[[0, 0, 1], [0, 1, 0], [-1, 0, 0]]
            )
            parts.append(moved(arch, (s * (width / 2 - 0.005), y, 0.34)))
    for s in (1, -1):
        parts.append(box((0.34, 0.12, 0.14), "light", (s * (width / 2 - 0.27), 0.06, 0.56)))
        parts.append(box((0.28, 0.08, 0.16), "tail", (s * (width / 2 - 0.24), length - 0.02, 0.66)))
        parts.append(
            box((0.17, 0.10, 0.11), "body", (s * (width / 2 + 0.06), house[0][0] + 0.42, 0.95))
        )
    parts.append(box((width - 0.08, length - 0.2, 0.16), "trim", (0, length / 2, 0.20)))
    parts.append(box((width - 0.5, 0.06, 0.13), "trim", (0, -0.01, 0.40)))
    return moved(join(parts), (0, -length / 2, 0))


def _hull(side: list[tuple[float, float]], low: float, high: float, slot: str) -> Mesh:
    """A body with the given side outline, narrowing from half width low to high."""
    p = np.array(side)
    zmin, zmax = p[:, 1].min(), p[:, 1].max()
    half = low + (high - low) * (p[:, 1] - zmin) / (zmax - zmin)
    right = np.stack([half, p[:, 0], p[:, 1]], -1)
    left = right * [-1, 1, 1]
    n = len(p)
    strip = [[left[i], left[(i + 1) % n], right[(i + 1) % n], right[i]] for i in range(n)]
    mesh = quads([q[::-1] for q in strip], slot)
    sides = join([_side(right, slot, True), _side(left, slot, False)])
    return _outward(join([mesh, sides]))


def _side(points: np.ndarray, slot: str, right: bool) -> Mesh:
    middle = points.mean(axis=0)
    n = len(points)
    faces = [[middle, points[i], points[(i + 1) % n], points[(i + 1) % n]] for i in range(n)]
    return quads(faces, slot)


def _outward(mesh: Mesh) -> Mesh:
    """Turn every face of a roughly convex shape outwards."""
    middle = mesh.xyz.reshape(-1, 3).mean(axis=0)
    wrong = np.einsum("nk,nk->n", mesh.normal[:, 0], mesh.xyz.mean(axis=1) - middle) < 0
    xyz, uv, normal = mesh.xyz.copy(), mesh.uv.copy(), mesh.normal.copy()
    xyz[wrong], uv[wrong], normal[wrong] = xyz[wrong, ::-1], uv[wrong, ::-1], -normal[wrong]
    return Mesh(xyz, uv, normal, mesh.slot, mesh.slots)


def _glasshouse(side: list[tuple[float, float]], low: float, high: float, van: bool) -> list[Mesh]:
    """Roof, pillars and panes above the body."""
    shell = _hull(side, low, high, "glass")
    top = [np.array([*q, 0.0]) for q in side]
    y0, y1, z = side[1][0], side[2][0], max(side[1][1], side[2][1])
    roof = box((2 * high + 0.04, y1 - y0 + 0.12, 0.05), "body", (0, (y0 + y1) / 2, z - 0.02))
    parts = [shell, roof]
    spots = [0.0, 0.52, 1.0] if not van else [0.0, 0.24, 1.0]
    for s in (1, -1):
        for k in spots:
            lower = top[0] + (top[3] - top[0]) * k
            upper = top[1] + (top[2] - top[1]) * k
            a = (s * (low + 0.004), lower[0], lower[1])
            b = (s * (high + 0.004), upper[0], upper[1])
            parts.append(tube(a, b, 0.045, "body", sides=6))
    if van:
        back = box(
            (2 * low - 0.1, y1 - y0 - 1.15, z - 1.16), "body", (0, (y0 + y1) / 2 + 0.62, 1.14)
        )
        parts.append(moved(back, size=(1.06, 1.0, 1.0)))
    return parts


@kind(
    "bus",
    "A bus.",
    stuff={**_STUFF, "stripe": "white paint"},
    length_m=number(11.5, "length", 5, 20),
)
def _bus(v: Values, rng: np.random.Generator) -> Mesh:
    n, w, h = v.length_m, 2.5, 3.0
    parts = [
        box((w, n, h - 0.45), "body", (0, 0, 0.42)),
        box((w - 0.2, n - 0.4, 0.3), "trim", (0, 0, 0.25)),
    ]
    parts.append(box((w + 0.02, n - 0.3, 0.98), "glass", (0, 0, 1.42)))
    parts.append(box((w - 0.3, n + 0.02, 1.25), "glass", (0, 0, 1.25)))
    for y in np.arange(-n / 2 + 1.6, n / 2 - 0.5, 1.45):
        parts.append(box((w + 0.05, 0.09, 1.0), "body", (0, y, 1.41)))
    parts.append(box((w + 0.03, n - 0.1, 0.12), "stripe", (0, 0, 1.02)))
    parts.append(box((w - 0.4, n - 1.2, 0.10), "stripe", (0, 0, h - 0.04)))
    parts += [box((1.5, 1.7, 0.28), "trim", (0, y, h + 0.02)) for y in (-n * 0.22, n * 0.2)]
    for y in (-n / 2 + 2.3, n / 2 - 3.0):
        parts += [moved(wheel(0.48, 0.3), (s * (w / 2 - 0.13), y, 0.48)) for s in (1, -1)]
    return join(parts)


@kind(
    "lorry",
    "A lorry with a box, a tilt or an open bed.",
    stuff={**_STUFF, "cargo": "white paint"},
    length_m=number(8.5, "length", 4, 18),
    load=pick("box", "what it carries", "box", "bed", "container"),
)
def _lorry(v: Values, rng: np.random.Generator) -> Mesh:
    n, w = v.length_m, 2.45
    cab = [(0.0, 0.45), (0.0, 1.5), (0.22, 2.75), (1.9, 2.85), (1.95, 0.5)]
    parts = [moved(_hull(cab, w / 2, w / 2 - 0.06, "body"), (0, -n / 2, 0))]
    parts.append(moved(box((w - 0.25, 0.06, 0.95), "glass"), (0, -n / 2 + 0.08, 1.55)))
    parts += [
        box((0.04, 0.75, 0.75), "glass", (s * (w / 2 - 0.02), -n / 2 + 0.85, 1.6)) for s in (1, -1)
    ]
    parts.append(box((0.9, n - 0.6, 0.28), "trim", (0, 0.2, 0.62)))
    bed = n - 2.2
    y = n / 2 - bed / 2
    if v.load == "bed":
        parts.append(box((w, bed, 0.16), "cargo", (0, y, 0.95)))
        parts += [box((0.06, bed, 0.5), "cargo", (s * (w / 2 - 0.03), y, 1.1)) for s in (1, -1)]
    else:
        parts.append(box((w + 0.06, bed, 2.55), "cargo", (0, y, 0.95)))
    for q in (-n / 2 + 1.2, n / 2 - 2.4, n / 2 - 1.2):
        parts += [moved(wheel(0.48, 0.3), (s * (w / 2 - 0.14), q, 0.48)) for s in (1, -1)]
    return join(parts)


@kind(
    "bicycle",
    "A bicycle leaning on nothing.",
    stuff={"frame": "car paint", "tyre": "rubber", "rim": "steel", "trim": "leather"},
)
def _bicycle(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for y in (-0.52, 0.52):
        a = np.linspace(0, 2 * math.pi, 21)
        ring = np.stack([np.zeros(21), y + 0.33 * np.cos(a), 0.34 + 0.33 * np.sin(a)], -1)
        parts += [tube(ring[i], ring[i + 1], 0.018, "tyre", sides=5) for i in range(20)]
        parts += [tube((0, y, 0.34), ring[i], 0.003, "rim", sides=3) for i in range(0, 20, 2)]
    joints = [
        ((0, -0.52, 0.34), (0, -0.38, 0.92)),
        ((0, -0.40, 0.80), (0, 0.10, 0.84)),
        ((0, -0.42, 0.72), (0, 0.06, 0.30)),
        ((0, 0.12, 0.94), (0, 0.06, 0.30)),
        ((0, 0.52, 0.34), (0, 0.10, 0.80)),
        ((0, 0.52, 0.34), (0, 0.06, 0.30)),
    ]
    parts += [tube(a, b, 0.017, "frame", sides=6) for a, b in joints]
    parts.append(tube((-0.28, -0.34, 0.98), (0.28, -0.34, 0.98), 0.014, "rim", sides=6))
    parts.append(tube((0, -0.38, 0.92), (0, -0.35, 0.98), 0.015, "rim", sides=6))
    parts.append(box((0.14, 0.26, 0.06), "trim", (0, 0.14, 0.94)))
    return join(parts)


@kind(
    "wagon",
    "A rail wagon.",
    stuff={
        "body": "rail red",
        "frame": "black plastic",
        "rim": "steel",
        "tyre": "steel",
        "cargo": "gravel",
    },
    load=pick("closed", "which", "closed", "open", "tank", "flat"),
    length_m=number(12.5, "length over buffers", 4, 30),
)
def _wagon(v: Values, rng: np.random.Generator) -> Mesh:
    n, w = v.length_m - 1.0, 2.8
    parts = [box((w - 0.3, n, 0.28), "frame", (0, 0, 0.92))]
    for y in (-n / 2 + 1.0, -n / 2 + 2.7, n / 2 - 2.7, n / 2 - 1.0):
        parts += [moved(wheel(0.46, 0.13), (s * 0.75, y, 0.46 + 0.14)) for s in (1, -1)]
        parts.append(tube((-0.75, y, 0.6), (0.75, y, 0.6), 0.07, "frame"))
    for y in (-1, 1):
        for s in (1, -1):
            parts.append(
                tube(
                    (s * 0.87, y * n / 2, 1.06), (s * 0.87, y * (n / 2 + 0.5), 1.06), 0.10, "frame"
                )
            )
            parts.append(
                moved(
                    cylinder(0.22, 0.06, "frame"),
                    (s * 0.87, y * (n / 2 + 0.5), 1.06),
                    matrix=[[1, 0, 0], [0, 0, 1], [0, -1, 0]],
                )
            )
    if v.load == "tank":
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
        parts.append(box((0.7, n * 0.5, 0.06), "frame", (0, 0, 3.72)))
    elif v.load == "open":
        parts += [box((0.09, n, 1.5), "body", (s * (w / 2 - 0.05), 0, 1.2)) for s in (1, -1)]
        parts += [box((w, 0.09, 1.5), "body", (0, s * (n / 2 - 0.05), 1.2)) for s in (1, -1)]
        parts += [
            box((0.12, 0.12, 1.5), "frame", (s * w / 2, y, 1.2))
            for s in (1, -1)
            for y in np.linspace(-n / 2 + 0.2, n / 2 - 0.2, 8)
        ]
        heap = [(-w / 2 + 0.1, 0.0), (w / 2 - 0.1, 0.0), (0.5, 0.55), (-0.5, 0.55)]
        mound = moved(
            extrude(heap, 0, n - 0.3, "cargo", "cargo"),
            (0, n / 2 - 0.15, 2.25),
            matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]],
        )
        parts.append(mound)
    elif v.load == "closed":
        parts.append(box((w, n, 2.2), "body", (0, 0, 1.2)))
        parts += [
            box((w + 0.08, 0.09, 2.2), "frame", (0, y, 1.2)) for y in np.linspace(-n / 2, n / 2, 9)
        ]
        outline = np.array(
            [
                (-w / 2 - 0.08, 0),
                (w / 2 + 0.08, 0),
                (w / 2 - 0.2, 0.3),
                (0, 0.46),
                (-w / 2 + 0.2, 0.3),
            ]
        )
        parts.append(
            moved(
                extrude(outline, 0, n + 0.1, "frame", "frame"),
                (0, n / 2 + 0.05, 3.4),
                matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]],
            )
        )
    return join(parts)
