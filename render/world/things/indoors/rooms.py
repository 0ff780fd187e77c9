"""Indoors: a room with windows, a workbench, shelves, a table, lamps."""

from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, join, lathe, moved, quads, tube
from render.world.things.feet import sized
from render.world.things.houses.walls import wall_panel
from render.world.things.indoors.fittings import curtained, door_of, fittings, panelled
from render.world.things.indoors.goods import GOODS, bench_goods, fill_shelf
from render.world.things.indoors.outside import OUTSIDE, street_beyond
from render.world.things.kind import Values, kind, number, pick, vector, yes
from render.world.things.solids import boards_mesh, timber

__all__: list[str] = []


@kind(
    "room",
    "The inside of a room: floor, ceiling, walls, tall windows in its left (-x) wall.",
    stuff={
        "wall": "painted wall",
        "floor": "floor boards",
        "ceiling": "ceiling boards",
        "beam": "white wood",
        "frame": "white wood",
        "pane": "day outside",
        "skirting": "white wood",
        "fitting": "white wood",
        "pipe": "zinc",
        "panel": "painted boards",
        "joinery": "#8b8f80",
        "curtain": "room curtain",
        **OUTSIDE,
    },
    size_m=vector((10.0, 14.0, 4.0), "width, depth, height", 1.0),
    windows=number(4, "windows in the left wall", 0, 20),
    window_m=vector((1.4, 2.6), "width and height of a window", 0.2),
    sill_m=number(0.7, "height of the sills", 0.0),
    beams=yes(False, "beams under the ceiling"),
    outside=pick("street", "what is seen through the windows", "street", "nothing but light"),
    panel_m=number(0.0, "height of the boarding along its walls; 0 for none", 0.0, 2.5),
    door=yes(False, "a door in the far wall"),
    curtains=yes(False, "curtains beside the windows"),
)
def _room(v: Values, rng: np.random.Generator) -> Mesh:
    w, d, h = v.size_m[0] / 2, v.size_m[1] / 2, v.size_m[2]
    ww, wh = v.window_m
    n = int(v.windows)
    holes = []
    for k in range(n):
        u = 2 * d * (k + 0.5) / n
        holes.append((u - ww / 2, u + ww / 2, v.sill_m, min(v.sill_m + wh, h - 0.2)))
    front = wall_panel((-w, -d), (-w, d), 0, h, holes, 0.35, "wall")
    parts = [front]
    if holes and v.outside == "street":
        clear = front.slot != front.slots.index("pane")
        parts = [
            replace(
                front,
                xyz=front.xyz[clear],
                uv=front.uv[clear],
                normal=front.normal[clear],
                slot=front.slot[clear],
            ),
            street_beyond(-w, -d, d, rng),
        ]
    parts += [
        wall_panel(a, b, 0, h, [], 0.1, "wall")
        for a, b in (((-w, d), (w, d)), ((w, d), (w, -d)), ((w, -d), (-w, -d)))
    ]
    parts.append(quads([[(-w, -d, 0), (w, -d, 0), (w, d, 0), (-w, d, 0)]], "floor"))
    parts.append(quads([[(-w, d, h), (w, d, h), (w, -d, h), (-w, -d, h)]], "ceiling"))
    for u0, u1, v0, v1 in holes:
        y0, y1 = u0 - d, u1 - d
        x = -w - 0.3
        bars = [
            (x, (y0 + y1) / 2, v0, 0.06, 0.06, v1 - v0),
            (x, y0 + 0.03, v0, 0.08, 0.06, v1 - v0),
            (x, y1 - 0.03, v0, 0.08, 0.06, v1 - v0),
        ]
        parts += [box((sx, sy, sz), "frame", (a, b, c)) for a, b, c, sx, sy, sz in bars]
        parts += [
            box((0.06, y1 - y0, 0.05), "frame", (x, (y0 + y1) / 2, z))
            for z in np.linspace(v0, v1 - 0.05, 5)
        ]
        parts.append(
            box((0.30, y1 - y0 + 0.1, 0.05), "frame", (-w - 0.12, (y0 + y1) / 2, v0 - 0.03))
        )
    parts += [box((2 * w, 0.03, 0.14), "skirting", (0, s * (d - 0.02), 0)) for s in (1, -1)]
    parts += [box((0.03, 2 * d, 0.14), "skirting", (s * (w - 0.02), 0, 0)) for s in (1, -1)]
    if h > 3:  # a cornice in two steps
        for out, low in ((0.05, 0.13), (0.10, 0.05)):
            parts += [box((2 * w, out, low), "skirting", (0, s * (d - out / 2), h - low))
                      for s in (1, -1)]  # fmt: skip
            parts += [box((out, 2 * d, low), "skirting", (s * (w - out / 2), 0, h - low))
                      for s in (1, -1)]  # fmt: skip
    parts += fittings(w, d, h, holes)
    if v.panel_m:
        parts += panelled(w, d, v.panel_m)
    if v.door:
        parts += door_of(w, d)
    if v.curtains:
        parts += curtained(w, d, holes, rng)
    if v.beams:
        parts += [
            box((2 * w, 0.22, 0.3), "beam", (0, y, h - 0.3)) for y in np.arange(-d + 1.2, d, 2.4)
        ]
    return join(parts)


@kind(
    "workbench",
    "A workbench with a vice, tools and shavings on it; worked at from -y.",
    feet=sized(),
    variants=3,
    stuff={
        **GOODS,
        "top": "timber",
        "leg": "brown wood",
        "iron": "iron",
        "box": "crate wood",
        "tool": "red wood",
    },
    size_m=vector((2.4, 0.8, 0.9), "width, depth, height", 0.2),
)
def _workbench(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    parts = [boards_mesh(x, y, 0.08, z), boards_mesh(x - 0.3, y - 0.1, 0.04, 0.26)]
    parts += [
        timber((0.1, 0.1, z - 0.08), "leg", (sx * (x / 2 - 0.1), sy * (y / 2 - 0.08), 0), rng)
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    parts += [
        box((0.16, 0.3, 0.14), "iron", (-x * 0.36, -y * 0.4, z)),
        tube((-x * 0.36, -y * 0.62, z + 0.05), (-x * 0.36, -y * 0.2, z + 0.05), 0.018, "steel"),
    ]
    parts += [moved(thing, (0, 0, z)) for thing in bench_goods(x, y, rng)]
    below = fill_shelf(x - 0.44, y - 0.2, min(0.42, z - 0.36), ("card", "box"), rng)
    parts += [moved(thing, (-x / 2 + 0.22, y / 2 - 0.1, 0.26)) for thing in below]
    return join(parts)


@kind(
    "shelf",
    "Shelves full of boxes, books, jars and tins; front towards -y.",
    feet=sized(),
    variants=4,
    stuff={
        **GOODS,
        "wood": "timber",
        "a": "crate wood",
        "b": "#b23530",
        "c": "#2f5b45",
        "d": "#e6e4df",
        "e": "terracotta",
    },
    size_m=vector((1.8, 0.4, 2.2), "width, depth, height", 0.1),
    shelves=number(5, "number of shelves", 1, 20),
)
def _shelf(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    n = int(v.shelves)
    parts = [timber((0.04, y, z), "wood", (s * x / 2, 0, 0), rng) for s in (1, -1)]
    boards = max(1, round(x / 0.19))
    wide = x / boards
    parts += [
        timber((wide - 0.003, 0.014, z), "wood", ((k + 0.5) * wide - x / 2, y / 2, 0), rng)
        for k in range(boards)
    ]
    for k in range(n + 1):
        level = k * (z - 0.04) / n
        parts.append(timber((x, y, 0.03), "wood", (0, 0, level), rng))
        if k < n:
            goods = fill_shelf(x - 0.06, y - 0.02, z / n - 0.05, tuple("abcde"), rng)
            parts += [moved(one, (-x / 2 + 0.03, y / 2 - 0.01, level + 0.03)) for one in goods]
    return join(parts)


@kind(
    "table",
    "A plain table.",
    feet=sized(),
    stuff={"top": "timber", "leg": "brown wood"},
    size_m=vector((1.8, 0.8, 0.74), "width, depth, height", 0.05),
    thick_m=number(0.045, "thickness of the top", 0.005),
)
def _table(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    leg = min(0.09, x * 0.05)
    parts = [boards_mesh(x, y, v.thick_m, z)]
    parts += [
        timber(
            (leg, leg, z - v.thick_m),
            "leg",
            (sx * (x / 2 - leg * 1.4), sy * (y / 2 - leg * 1.2), 0),
            rng,
        )
        for sx in (1, -1)
        for sy in (1, -1)
    ]
    parts += [
        timber((x - leg * 4, 0.03, 0.09), "leg", (0, s * (y / 2 - leg), z - v.thick_m - 0.09), rng)
        for s in (1, -1)
    ]
    return join(parts)


@kind(
    "table things",
    "What is left lying on a table: papers, books, a mug, a jar; at_m gives the table's height.",
    variants=6,
    feet=sized(),
    stuff={**GOODS, "tool": "red wood", "box": "crate wood"},
    size_m=vector((1.4, 0.6, 0.3), "width, depth, height that may be taken", 0.2),
)
def _table_things(v: Values, rng: np.random.Generator) -> Mesh:
    x, y, z = v.size_m
    kept = fill_shelf(x, y, z, ("lid", "label"), rng)
    some = [one for one in kept if rng.random() < 0.7]
    return join([moved(one, (-x / 2, y / 2, 0)) for one in some or kept[:1]])


@kind(
    "hanging lamp",
    "A lamp on a cable; at_m gives the height of its rim.",
    stuff={"shade": "green paint", "inside": "lamp inside", "bulb": "bulb", "cable": "iron"},
    radius_m=number(0.28, "radius", 0.05, 2),
    cable_m=number(1.0, "length of the cable", 0.0),
)
def _pendant(v: Values, rng: np.random.Generator) -> Mesh:
    r = v.radius_m
    bell = [(r, 0), (r * 0.85, r * 0.3), (r * 0.3, r * 0.62), (r * 0.12, r * 0.8), (0, r * 0.82)]
    lip = [(0.955 * r, 0.006 * r), (0.955 * r, -0.012 * r), (1.0 * r, -0.02 * r)]
    lip += [(1.025 * r, 0.0), (1.0 * r, 0.024 * r)]  # rolled round a wire
    shade = lathe([*lip[1:], *bell[1:]], "shade", 32, smooth=True)
    rim = lathe(lip[1::-1], "shade", 32)
    inner = [(0.955 * a, b) for a, b in bell]
    inside = lathe(inner[::-1], "inside", 28, smooth=True)
    neck = 0.60 * r
    bulb = lathe(
        [(0, 0.10 * r), (0.07 * r, 0.115 * r), (0.115 * r, 0.17 * r), (0.12 * r, 0.22 * r),
         (0.10 * r, 0.30 * r), (0.055 * r, 0.40 * r)],
        "bulb", 16, smooth=True,
    )  # fmt: skip
    socket = lathe([(0.06 * r, 0.39 * r), (0.065 * r, neck)], "cable", 12)
    vents = [
        moved(
            box((0.05 * r, 0.02 * r, 0.05 * r), "cable", (0, -0.26 * r, 0.64 * r)), turn_deg=60 * k
        )
        for k in range(6)
    ]
    return join(
        [
            shade,
            rim,
            inside,
            bulb,
            socket,
            *vents,
            tube((0, 0, r * 0.8), (0, 0, r * 0.8 + v.cable_m + 0.01), 0.008, "cable", sides=5),
        ]
    )
