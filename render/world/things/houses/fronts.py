"""Fronts of houses: windows in their reveals, doors, shops, and what hangs on them."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from render.world.mesh import Mesh, box, grid_faces, join, lathe, moved, quads, tube
from render.world.surfaces.wear import DRIP_M
from render.world.things.houses.dressing import curtains, fixtures, rain_pipe, shop_display
from render.world.things.houses.walls import Opening, placer, rect, wall_panel
from render.world.things.kind import Values
from render.world.things.leaves import leaves

__all__ = ["Style", "facade", "style_of", "window"]

#: Width of a door, and of the pier between it and a shop's window, metres.
_DOOR_M, _PIER_M = 1.0, 0.22


@dataclass(frozen=True, slots=True)
class Style:
    """What one house has and its neighbour has not.

    Attributes
    ----------
    framed : bool
        Raised stone round its windows.
    banded : bool
        A course of stone between its storeys.
    boxed : float
        Share of front windows with flowers before them.
    hung : bool
        A sign on an arm, over a shop.
    quoined, corniced : bool
        Raised stones up its edges; brackets under its eaves.
    blinds : float
        Share of front windows with a shutter that rolls down before them.
    shift_m : float
        How far its walls' stains are moved along them: two houses of one size wear differently.
    """

    framed: bool
    banded: bool
    boxed: float
    hung: bool
    quoined: bool
    corniced: bool
    blinds: float
    shift_m: float = 0.0


def style_of(v: Values, rng: np.random.Generator) -> Style:
    """Drawn from numbers of its own, so that roofs and chimneys stay what they were."""
    drawn = rng.spawn(1)[0].random(8)
    return Style(
        framed=bool(drawn[0] < 0.5),
        banded=bool(drawn[1] < 0.5),
        boxed=0.5 if drawn[2] < 0.4 and not v.balconies else 0.0,
        hung=bool(v.shop and drawn[3] < 0.6),
        quoined=bool(drawn[4] < 0.4),
        corniced=bool(drawn[5] < 0.4),
        shift_m=DRIP_M * int(300 * drawn[7]),
        blinds=float(0.9 * drawn[6]) if drawn[6] < 0.6 and not v.shutters else 0.0,
    )


def facade(
    v: Values,
    style: Style,
    a: Sequence[float],
    b: Sequence[float],
    h: float,
    front: bool,
    rng: np.random.Generator,
) -> list[Mesh]:
    """One side of a house, from a to b: wall, openings and what belongs to them."""
    width = math.dist(a, b)
    storeys = max(1, round(h / v.storey_m))
    bays = max(1, int((width - 0.6) / v.bay_m))
    rise = h / storeys
    openings = _openings(v, width, storeys, bays, rise, front)
    holes = [o for o, _ in openings]
    parts = [wall_panel(a, b, 0.0, h, holes, 0.16, "wall", style.shift_m)]
    place = placer(a, b)
    dressing = rng.spawn(1)[0]  # what hangs in windows leaves roofs as they were
    for (u0, u1, v0, v1), what in openings:
        w, t = u1 - u0, v1 - v0
        if what in ("door", "shop door"):
            parts.append(place(_door(w, t, what == "shop door"), u0, v0))
            parts += [place(step, u0, v0) for step in _steps(w, v.steps_m)]
            continue
        parts.append(place(window(w, t, what == "shop"), u0, v0))
        shown = shop_display if what == "shop" else curtains
        parts.append(place(shown(w, t, dressing), u0, v0))
        if what != "window":
            continue
        if front and dressing.random() < style.blinds:
            parts.append(place(_roller(w, t, dressing), u0, v0))
        if v.shutters:
            parts.append(place(_shutters(w, t), u0, v0))
        elif style.framed:
            parts.append(place(_surround(w, t), u0, v0))
        if front and v.balconies and v0 > rise:
            parts.append(place(_balcony(w), u0, v0 - 0.55))
        elif front and v0 > rise and dressing.random() < style.boxed:
            parts.append(place(_flower_box(w, dressing), u0, v0))
    if style.banded and storeys > 1:
        low = 1 if not (front and v.shop) else 2
        parts += [place(_band(width), 0.0, rise * floor) for floor in range(low, storeys)]
    if style.quoined and front:
        parts += [place(_quoins(h, v.shop, side), width * (side < 0), 0.0) for side in (1, -1)]
    if style.corniced and front:
        parts.append(place(_cornice(width, h), 0.0, 0.0))
    parts.append(place(rain_pipe(0.0 if front else width - 0.2, h), 0.0, 0.0))
    fixed = fixtures(width, h, [o for o, _ in openings], front and v.shop, dressing.spawn(1)[0])
    parts.append(place(fixed, 0.0, 0.0))
    if front and v.shop:
        parts.append(place(_board(width, 2.72, dressing), 0.0, 0.0))
        if v.awnings:
            parts.append(place(_awning(width - 0.5, rng.spawn(1)[0]), 0.25, 2.68))
        if style.hung:
            parts.append(place(_hung_sign(dressing), width - 0.6, 3.45))
    return parts


def _openings(
    v: Values, width: float, storeys: int, bays: int, rise: float, front: bool
) -> list[tuple[Opening, str]]:
    """Every hole in a front, and what it is."""
    ww, wh = min(v.window_m[0], width / bays - 0.3), min(v.window_m[1], rise - 1.1)
    found: list[tuple[Opening, str]] = []
    for floor in range(storeys):
        for bay in range(bays):
            u = width * (bay + 0.5) / bays
            low = floor * rise + 0.95
            if front and floor == 0 and v.shop:
                left, right = u - 0.5 * width / bays + 0.16, u + 0.5 * width / bays - 0.16
                if bay == bays // 2:
                    far = min(left + _DOOR_M, right)
                    found.append(((left, far, 0.12, 2.55), "shop door"))
                    left = far + _PIER_M
                if right - left > 0.4:
                    found.append(((left, right, 0.55, 2.55), "shop"))
            elif front and floor == 0 and bay == bays // 2:
                found.append(((u - 0.5, u + 0.5, 0.05, min(2.15, rise - 0.4)), "door"))
            else:
                found.append(((u - ww / 2, u + ww / 2, low, low + wh), "window"))
    return found


@cache
def window(w: float, h: float, shop: bool) -> Mesh:
    """Frame bars in front of the pane, and a sill."""
    t, y = (0.07 if shop else 0.055), 0.12
    bars = [
        rect(0, w, 0, t, y),
        rect(0, w, h - t, h, y),
        rect(0, t, t, h - t, y),
        rect(w - t, w, t, h - t, y),
    ]
    for k in range(1, max(2 if w > 0.75 else 1, math.ceil(w / 1.5))):
        u = w * k / max(2, math.ceil(w / 1.5))
        bars.append(rect(u - t / 2, u + t / 2, t, h - t, y))
    if h > 1.2:
        z = h * 0.66
        bars.append(rect(t, w - t, z - 0.022, z + 0.022, y))
    sill = box((w + 0.16, 0.24, 0.06), "sill", (w / 2, 0.03, -0.06))
    return join([quads(bars, "frame"), sill])


@cache
def _door(w: float, h: float, shop: bool) -> Mesh:
    """A leaf with panels, or of glass where it is a shop's, under a light."""
    top = h * 0.86
    leaf = [quads([rect(0, w, 0, top, 0.13)], "door")]
    left, right = 0.16 * w, 0.84 * w
    if shop:
        glass = [rect(left, right, 0.28 * top, top - 0.12, 0.125)]
        leaf.append(quads(glass, "pane"))
    for low, high in ((0.07, 0.22),) if shop else ((0.07, 0.40), (0.48, 0.93)):
        for u0, u1 in ((left, 0.47 * w), (0.53 * w, right)):
            size = (u1 - u0, 0.03, (high - low) * top)
            leaf.append(box(size, "door", ((u0 + u1) / 2, 0.125, low * top)))
    leaf.append(box((0.03, 0.05, 0.16), "pipe", (0.92 * w, 0.1, 0.46 * top)))
    frame = quads(
        [
            rect(0, 0.06, 0, h, 0.11),
            rect(w - 0.06, w, 0, h, 0.11),
            rect(0, w, h * 0.85, h * 0.88, 0.11),
        ],
        "frame",
    )
    step = box((w + 0.5, 0.55, 0.12), "base", (w / 2, -0.14, -0.1))
    return join([*leaf, frame, step])


@cache
def _surround(w: float, h: float) -> Mesh:
    """Stone that stands out round a window."""
    t, out = 0.13, 0.03
    return join(
        [
            box((t, 2 * out, h), "sill", (-t / 2, 0.0, 0.0)),
            box((t, 2 * out, h), "sill", (w + t / 2, 0.0, 0.0)),
            box((w + 2 * t + 0.1, 0.16, t), "sill", (w / 2, 0.0, h)),
        ]
    )


@cache
def _quoins(h: float, above_shop: bool, side: int) -> Mesh:
    """Stones up the left (1) or right edge of a front, long and short in turn."""
    step = 0.34
    low = 3.3 if above_shop else 0.45
    stones = []
    for k in range(int((h - 0.45 - low) / step)):
        wide = 0.44 if k % 2 else 0.30
        at = (side * (wide / 2 - 0.02), 0.0, low + step * k)
        stones.append(box((wide, 0.045, step - 0.025), "sill", at))
    return join(stones)


def _cornice(width: float, h: float) -> Mesh:
    """A moulding under the eaves and the brackets that bear it."""
    parts = [
        box((width, 0.20, 0.09), "sill", (width / 2, 0.0, h - 0.16)),
        box((width, 0.10, 0.08), "sill", (width / 2, 0.0, h - 0.42)),
    ]
    parts += [
        box((0.09, 0.17, 0.17), "sill", (u, 0.0, h - 0.33))
        for u in np.linspace(0.2, width - 0.2, max(2, round(width / 0.55)))
    ]
    return join(parts)


def _roller(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """A shutter of slats in its guides, let down as far as somebody left it."""
    low = h * float(rng.choice([0.0, 0.35, 0.6, 0.72, 0.85]))
    count = max(1, int((h - low) / 0.06))
    edges = np.linspace(low, h, count + 1)
    slats = []
    for z0, z1 in itertools.pairwise(edges.tolist()):
        slats.append([(0.03, 0.085, z0), (w - 0.03, 0.085, z0),
                      (w - 0.03, 0.100, z1), (0.03, 0.100, z1)])  # fmt: skip
    return join([quads(slats, "trim"), box((w - 0.02, 0.03, 0.04), "trim", (w / 2, 0.09, low))])


def _band(width: float) -> Mesh:
    """A course of stone along a front, with a drip under it."""
    return join(
        [
            box((width, 0.16, 0.10), "sill", (width / 2, 0.0, -0.05)),
            box((width, 0.09, 0.07), "sill", (width / 2, 0.0, -0.12)),
        ]
    )


def _flower_box(w: float, rng: np.random.Generator) -> Mesh:
    """A box of flowers on a sill."""
    parts = [box((w - 0.06, 0.17, 0.15), "door", (w / 2, -0.06, 0.0))]
    for slot, count, size, high in (("leaf", 60, 0.10, 0.19), ("flower", 26, 0.07, 0.25)):
        at = np.stack(
            [
                rng.uniform(0.05, w - 0.05, count),
                rng.normal(-0.08, 0.05, count),
                high + rng.normal(0, 0.05, count),
            ],
            -1,
        )
        normal = rng.normal(size=(count, 3)) + [0, -0.7, 0.8]
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        parts.append(leaves(at, normal, size * rng.uniform(0.7, 1.3, count), slot, rng))
    return join(parts)


def _steps(w: float, down: float) -> list[Mesh]:
    """Steps of stone before a door, each on ground of its own."""
    return [
        box((w + 0.5, 0.3, 1.2), "base", (w / 2, -0.56 - 0.3 * k, -0.27 - 0.17 * k - 1.03))
        for k in range(math.ceil(down / 0.17))
    ]


@cache
def _shutters(w: float, h: float) -> Mesh:
    leaves = [box((w * 0.5, 0.04, h), "shutter", (s, -0.03, 0.0)) for s in (-w * 0.27, w * 1.27)]
    slats = [
        rect(s - w * 0.19, s + w * 0.19, z, z + 0.03, -0.056)
        for s in (-w * 0.27, w * 1.27)
        for z in np.arange(0.12, h - 0.1, 0.14)
    ]
    return join([*leaves, quads(slats, "trim")]) if len(leaves) < 2 else join(leaves)


def _balcony(w: float) -> Mesh:
    wide, deep, high = w + 0.9, 0.85, 0.95
    slab = box((wide, deep, 0.12), "base", (w / 2, -deep / 2, -0.12))
    rails = [
        tube(
            (w / 2 - wide / 2, -deep + 0.05, high),
            (w / 2 + wide / 2, -deep + 0.05, high),
            0.025,
            "door",
        )
    ]
    for x in np.linspace(w / 2 - wide / 2, w / 2 + wide / 2, 11):
        rails.append(tube((x, -deep + 0.05, 0), (x, -deep + 0.05, high), 0.012, "door", sides=4))
    return join([slab, *rails])


def _board(width: float, z: float, rng: np.random.Generator) -> Mesh:
    """The band over a shop front, with a moulding and a sign that has no words."""
    parts = [
        box((width - 0.1, 0.12, 0.42), "door", (width / 2, -0.05, z)),
        box((width - 0.06, 0.24, 0.06), "trim", (width / 2, -0.05, z + 0.42)),
    ]
    middle, half = width / 2, min(0.32 * width, 1.6)
    at = middle - half
    while at < middle + half:
        long = float(rng.uniform(0.1, 0.42))
        parts.append(box((long, 0.03, 0.13), "trim", (at + long / 2, -0.12, z + 0.14)))
        at += long + float(rng.choice([0.05, 0.05, 0.16]))
    parts.append(_disc(0.15, (middle - half - 0.3, -0.112, z + 0.21)))
    return join(parts)


def _disc(radius: float, at: tuple[float, float, float]) -> Mesh:
    """A round plate that faces outward."""
    plate = lathe([(0.0, 0.0), (radius, 0.0), (radius, 0.03), (0.0, 0.03)], "trim", 20)
    return moved(moved(plate, matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]]), at)


def _hung_sign(rng: np.random.Generator) -> Mesh:
    """A plate on an arm, at right angles to the wall: a shape, no words."""
    wide, tall = rng.uniform(0.5, 0.75), rng.uniform(0.45, 0.7)
    parts = [
        tube((0, 0.0, tall + 0.08), (0, -wide - 0.3, tall + 0.08), 0.018, "door", sides=6),
        box((0.05, wide, tall), "door", (0, -wide / 2 - 0.22, 0.0)),
    ]
    if rng.random() < 0.5:
        parts.append(box((0.07, 0.5 * wide, 0.5 * tall), "trim", (0, -wide / 2 - 0.22, tall / 4)))
    else:
        plate = lathe([(0.0, -0.035), (0.15, -0.035), (0.15, 0.035), (0.0, 0.035)], "trim", 20)
        across = moved(plate, matrix=[[0, 0, 1], [0, 1, 0], [-1, 0, 0]])
        parts.append(moved(across, (0, -wide / 2 - 0.22, tall / 2)))
    return join(parts)


def _awning(width: float, rng: np.random.Generator) -> Mesh:
    """Cloth on arms, let down as far as somebody cared to; its hem straight or scalloped."""
    deep = float(rng.uniform(1.15, 1.6))
    drop = deep * float(rng.uniform(0.36, 0.56))
    hem, scalloped = float(rng.uniform(0.2, 0.32)), rng.random() < 0.5
    slope = math.hypot(deep, drop)
    across, down = np.meshgrid(np.linspace(0, width, 9), np.linspace(0, 1, 4), indexing="ij")
    sag = 0.05 * np.sin(math.pi * down) * (1 + 0.4 * np.sin(5 * across))
    grid = np.stack([across, -0.02 - deep * down, -drop * down - sag], -1)
    laid = np.stack([across, slope * down], -1)
    top = quads(grid_faces(grid)[:, ::-1], "awning", grid_faces(laid)[:, ::-1])
    under = moved(quads(grid_faces(grid), "awning", grid_faces(laid)), (0, 0, -0.015))
    edges = np.linspace(0, width, max(2, round(width / 0.25)) + 1)
    faces, uv = [], []
    for a, b in itertools.pairwise(edges.tolist()):
        m, up = (a + b) / 2, hem * (0.62 if scalloped else 1.0)
        for u0, u1, z0, z1 in ((a, m, up, hem), (m, b, hem, up)):
            low = [(u0, -deep, -drop - z0), (u1, -deep, -drop - z1)]
            faces.append([*low, (u1, -deep, -drop), (u0, -deep, -drop)])
            uv.append([(u, slope + 0.1) for u in (u0, u1, u1, u0)])
    arms = [
        tube((x, -0.02, -0.9), (x, -deep, -drop), 0.02, "frame", sides=5)
        for x in (0.05, width - 0.05)
    ]
    rail = tube((0, -deep + 0.02, -drop - 0.02), (width, -deep + 0.02, -drop - 0.02), 0.022,
                "frame", sides=6)  # fmt: skip
    return join([top, under, quads(faces, "awning", uv), rail, *arms])
