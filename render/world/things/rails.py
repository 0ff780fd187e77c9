"""What goes on rails: wagons and trams; front towards -y before turning."""

import numpy as np

from render.world.mesh import Mesh, box, cylinder, extrude, join, lathe, moved, tube
from render.world.things.feet import block
from render.world.things.kind import Values, kind, number, pick
from render.world.things.vehicles.wheels import wheel

__all__: list[str] = []


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
        for s in (1, -1):  # axle boxes in their guides, a spring over each
            parts.append(box((0.16, 0.24, 0.26), "frame", (s * 0.9, y, 0.47)))
            parts.append(box((0.10, 1.0, 0.08), "frame", (s * 0.9, y, 0.78)))
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
