"""What lies, hangs and runs about a house: washing, firewood, a compost heap, walls, fences."""

import math

import numpy as np

from render.world.mesh import Mesh, box, cylinder, grid_faces, join, moved, quads, tube
from render.world.things.feet import block, path, sized
from render.world.things.kind import Values, kind, number, outline, pick, vector, yes
from render.world.things.leaves import leaves

__all__: list[str] = []


@kind(
    "washing line",
    "Washing on a line between two posts, along x.",
    feet=lambda v: block(v.length_m + 0.2, 0.5),
    variants=4,
    stuff={
        "post": "grey wood",
        "line": "rope",
        "cloth": "white paint",
        "cloth2": "blue paint",
        "cloth3": "old cloth",
    },
    length_m=number(5.0, "length", 1, 30),
)
def _washing_line(v: Values, rng: np.random.Generator) -> Mesh:
    n, high = v.length_m, 1.75
    parts = [tube((s * n / 2, 0, 0), (s * n / 2, 0, high + 0.1), 0.045, "post", sides=6)
             for s in (-1, 1)]  # fmt: skip
    x = np.linspace(-n / 2, n / 2, 13)
    z = high - 0.10 * (1 - (2 * x / n) ** 2)
    parts += [
        tube((x[i], 0, z[i]), (x[i + 1], 0, z[i + 1]), 0.006, "line", sides=3) for i in range(12)
    ]
    at = -n / 2 + 0.3
    while at < n / 2 - 0.7:
        wide, tall = ((1.3, 1.05), (0.55, 0.62), (0.36, 0.8), (0.3, 0.3))[int(rng.integers(4))]
        if at + wide > n / 2 - 0.2:
            break
        top = float(np.interp(at + wide / 2, x, z))
        slot = str(rng.choice(["cloth", "cloth", "cloth2", "cloth3"]))
        blown = rng.uniform(-0.10, 0.16)
        edges = np.linspace(0, 1, 5)
        rows = [
            [(at + wide * e, blown * t + 0.03 * t * math.sin(9 * e + at), top - tall * t)
             for e in edges] for t in (0.0, 0.5, 1.0)
        ]  # fmt: skip
        faces = np.roll(grid_faces(np.array(rows)), -1, axis=1)
        parts.append(quads(faces, slot))
        parts.append(moved(quads(faces[:, ::-1], slot), (0, 0.004, 0)))
        at += wide + float(rng.uniform(0.05, 0.5))
    return join(parts)


@kind(
    "wood pile",
    "Split firewood, stacked under a sheet of tin; its ends towards -y.",
    feet=sized(0.1),
    variants=3,
    stuff={"log": "timber", "roof": "tin", "post": "grey wood"},
    size_m=vector((2.6, 0.5, 1.2), "width, depth, height", 0.2),
)
def _wood_pile(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts, row, low = [], 0, 0.06
    lay = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]], float)
    while low < z - 0.12:
        at = -x / 2 + 0.12 + 0.06 * (row % 2)
        while at < x / 2 - 0.12:
            r = float(rng.uniform(0.05, 0.085))
            log = cylinder(r, y * float(rng.uniform(0.86, 1.0)), "log", sides=6)
            log = moved(log, matrix=lay)
            parts.append(moved(log, (at, y / 2, low + r)))
            at += 2 * r + 0.01
        low += 0.125
        row += 1
    parts += [box((0.07, 0.07, z + 0.05), "post", (s * (x / 2 - 0.03), 0, 0)) for s in (-1, 1)]
    lid = [(-x / 2 - 0.1, -y / 2 - 0.15, z + 0.02), (x / 2 + 0.1, -y / 2 - 0.15, z + 0.02),
           (x / 2 + 0.1, y / 2 + 0.1, z + 0.16), (-x / 2 - 0.1, y / 2 + 0.1, z + 0.16)]  # fmt: skip
    parts += [quads([lid], "roof"), moved(quads([lid[::-1]], "roof"), (0, 0, -0.01))]
    return join(parts)


@kind(
    "compost",
    "A heap of cuttings in a frame of boards.",
    feet=sized(0.1),
    variants=3,
    stuff={"board": "grey wood", "soil": "soil", "leaf": "dry weeds"},
    size_m=vector((1.2, 1.2, 0.8), "width, depth, height", 0.3),
)
def _compost(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts = [box((x - 0.1, y - 0.1, 0.75 * z), "soil", (0, 0, 0))]
    for k in range(int(z / 0.2)):
        low = 0.03 + 0.2 * k
        parts += [box((x, 0.03, 0.15), "board", (0, s * y / 2, low)) for s in (-1, 1)]
        parts += [box((0.03, y, 0.15), "board", (s * x / 2, 0, low)) for s in (-1, 1)]
    n = 120
    at = rng.uniform(-0.42, 0.42, (n, 3)) * [x, y, 0]
    at[:, 2] = 0.76 * z + 0.25 * z * (1 - (2.2 * at[:, 0] / x) ** 2)
    up = rng.normal(0, 0.5, (n, 3)) + [0, 0, 1]
    parts.append(leaves(at, up, rng.uniform(0.08, 0.16, n), "leaf", rng, 1.6))
    return join(parts)


@kind(
    "wall",
    "A wall along a path.",
    feet=lambda v: path(v.path_m, v.thick_m, v.height_m),
    draped=True,
    solid=True,
    stuff={"side": "stone", "cap": "limestone"},
    path_m=outline("points of its middle line", 2, start=((0, 0), (4, 0))),
    height_m=number(1.0, "height", 0.05),
    thick_m=number(0.35, "thickness", 0.02),
    coping=yes(True, "a coping on top"),
)
def _wall(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    for a, b in zip(v.path_m[:-1], v.path_m[1:], strict=True):
        length = math.dist(a, b)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, -0.3)
        parts.append(
            box(
                (length + v.thick_m * 0.9, v.thick_m, v.height_m + 0.3),
                "side",
                middle,
                turn_deg=turn,
            )
        )
        if v.coping:
            top = (middle[0], middle[1], v.height_m)
            parts.append(
                box((length + v.thick_m, v.thick_m + 0.1, 0.08), "cap", top, turn_deg=turn)
            )
    return join(parts)


@kind(
    "fence",
    "A fence or a railing along a path.",
    feet=lambda v: path(v.path_m, 0.08, v.height_m),
    draped=True,
    stuff={"post": "iron", "rail": "iron"},
    path_m=outline("points of its line", 2, start=((0, 0), (4, 0))),
    height_m=number(1.0, "height", 0.1),
    gap_m=number(0.13, "distance between uprights", 0.02),
    style=pick("bars", "form", "bars", "boards", "rails"),
)
def _fence(v: Values, rng: np.random.Generator) -> Mesh:
    parts = []
    h = v.height_m
    for a, b in zip(v.path_m[:-1], v.path_m[1:], strict=True):
        p, q = np.array([*a, 0.0]), np.array([*b, 0.0])
        length = math.dist(a, b)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        for z in (h * 0.95, h * 0.5 if v.style == "rails" else h * 0.12):
            parts.append(tube(p + [0, 0, z], q + [0, 0, z], 0.022, "rail", sides=6))
        for s in np.linspace(0, 1, max(2, int(length / 2.0) + 1)):
            parts.append(
                tube(p + (q - p) * s, p + (q - p) * s + [0, 0, h * 1.04], 0.035, "post", sides=6)
            )
        if v.style == "rails":
            continue
        for s in np.arange(0, 1, v.gap_m / length):
            foot = p + (q - p) * s
            if v.style == "bars":
                parts.append(tube(foot + [0, 0, 0.08], foot + [0, 0, h], 0.011, "post", sides=4))
            else:
                parts.append(
                    box(
                        (v.gap_m * 0.82, 0.025, h - 0.05),
                        "post",
                        (foot + [0, 0, 0.05]).tolist(),
                        turn_deg=turn,
                    )
                )
    return join(parts)
