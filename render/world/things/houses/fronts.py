"""Fronts of houses: windows in their reveals, doors, shops, and what hangs on them."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from render.world.mesh import Mesh, box, join, moved, quads, tube
from render.world.surfaces.wear import DRIP_M
from render.world.things.houses.dressing import cables, curtains, fixtures, rain_pipe, wall_foot
from render.world.things.houses.shops import (
    SHOWN_M,
    TRADES,
    awning,
    board,
    hung_sign,
    shop_display,
)
from render.world.things.houses.walls import Opening, placer, rect, wall_panel
from render.world.things.kind import Values
from render.world.things.leaves import leaves

__all__ = ["Style", "facade", "style_of", "window"]

#: Width of a door, and of the pier between it and a shop's window, metres.
_DOOR_M, _PIER_M = 1.0, 0.22

#: How deep windows stand in a wall.
_REVEAL_M = 0.16

#: Shares of the trades, added up (ours).
_SHARES = (0.30, 0.50, 0.66, 0.80, 0.92, 0.97)


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
    glazing : int
        How its windows are divided: 0 in four lights, 1 sashes, 2 in six panes, 3 not at all.
    headed : bool
        A stone over each window, with a keystone.
    trade, sign : str, int
        What its shop is, and the form of the band over it.
    wired : bool
        Cables clipped along its front.
    """

    framed: bool
    banded: bool
    boxed: float
    hung: bool
    quoined: bool
    corniced: bool
    blinds: float
    shift_m: float = 0.0
    glazing: int = 0
    headed: bool = False
    trade: str = "goods"
    sign: int = 0
    wired: bool = False


def style_of(v: Values, rng: np.random.Generator) -> Style:
    """Drawn from numbers of its own, so that roofs and chimneys stay what they were."""
    drawn = rng.spawn(1)[0].random(13)
    return Style(
        framed=bool(drawn[0] < 0.5),
        banded=bool(drawn[1] < 0.5),
        boxed=0.5 if drawn[2] < 0.4 and not v.balconies else 0.0,
        hung=bool(v.shop and drawn[3] < 0.6),
        quoined=bool(drawn[4] < 0.4),
        corniced=bool(drawn[5] < 0.4),
        shift_m=DRIP_M * int(300 * drawn[7]),
        blinds=float(0.9 * drawn[6]) if drawn[6] < 0.6 and not v.shutters else 0.0,
        glazing=int(np.searchsorted((0.4, 0.64, 0.84), drawn[8])),
        headed=bool(drawn[9] < 0.45),
        trade=TRADES[int(np.searchsorted(_SHARES, drawn[10]))],
        sign=int(4 * drawn[11]),
        wired=bool(drawn[12] < 0.5),
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
    panes = [SHOWN_M.get(style.trade, _REVEAL_M) if what == "shop" else _REVEAL_M
             for _, what in openings]  # fmt: skip
    parts = [wall_panel(a, b, 0.0, h, holes, _REVEAL_M, "wall", style.shift_m, panes)]
    place = placer(a, b)
    dressing = rng.spawn(1)[0]  # what hangs in windows leaves roofs as they were
    hinged = dressing.spawn(1)[0]
    for (u0, u1, v0, v1), what in openings:
        w, t = u1 - u0, v1 - v0
        if what in ("door", "shop door"):
            parts.append(place(_door(w, t, what == "shop door"), u0, v0))
            parts += [place(step, u0, v0) for step in _steps(w, v.steps_m)]
            continue
        parts.append(place(window(w, t, what == "shop", style.glazing), u0, v0))
        if what == "shop":
            parts.append(place(shop_display(w, t, style.trade, dressing.spawn(1)[0]), u0, v0))
            continue
        parts.append(place(curtains(w, t, dressing), u0, v0))
        if front and dressing.random() < style.blinds:
            parts.append(place(_roller(w, t, dressing), u0, v0))
        if v.shutters:
            swing = hinged if front else None
            parts.append(place(_shutters(w, t, v0 > rise and not style.boxed, swing), u0, v0))
        elif style.framed:
            parts.append(place(_surround(w, t), u0, v0))
        elif style.headed:
            parts.append(place(_head(w, t), u0, v0))
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
    doors = [o for o, what in openings if "door" in what]
    parts.append(place(wall_foot(width, doors, not v.steps_m, hinged), 0.0, 0.0))
    if front and style.wired and storeys > 1:
        parts.append(place(cables(width, rise + 0.62, hinged), 0.0, 0.0))
    if front and v.shop:
        parts.append(place(board(width, 2.72, style.sign, dressing), 0.0, 0.0))
        if v.awnings:
            parts.append(place(awning(width - 0.5, rng.spawn(1)[0]), 0.25, 2.68))
        if style.hung:
            parts.append(place(hung_sign(dressing), width - 0.6, 3.45))
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
def window(w: float, h: float, shop: bool, glazing: int = 0) -> Mesh:
    """Frame bars in front of the pane, and a sill."""
    t, y = (0.07 if shop else 0.09 if glazing == 3 else 0.055), 0.12
    bars = [
        rect(0, w, 0, t, y),
        rect(0, w, h - t, h, y),
        rect(0, t, t, h - t, y),
        rect(w - t, w, t, h - t, y),
    ]
    lights = max(2 if w > 0.75 else 1, math.ceil(w / 1.5))
    cross: tuple[float, ...] = (0.66,) if h > 1.2 else ()
    if not shop and glazing == 1:  # the lower sash hangs behind the upper
        lights, cross = 1, (0.5,)
        bars.append(rect(w / 2 - 0.014, w / 2 + 0.014, h / 2, h - t, y))
    elif not shop and glazing == 2:
        cross = (0.34, 0.67)
    elif not shop and glazing == 3:
        lights, cross = 1, ()
    for k in range(1, lights):
        u = w * k / lights
        bars.append(rect(u - t / 2, u + t / 2, t, h - t, y))
    half = 0.032 if glazing == 1 else 0.016 if glazing == 2 else 0.022
    bars += [rect(t, w - t, share * h - half, share * h + half, y) for share in cross]
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


def _shutters(w: float, h: float, free: bool, rng: np.random.Generator | None) -> Mesh:
    """Two leaves on their hinges: back against the wall as far as they go, or left half closed.

    free: nothing stands on the sill and nobody walks below, so that a leaf may be anywhere.
    """
    leaf, parts = _leaf(0.5 * w, h, rng is not None), []
    for side in (-1.0, 1.0):
        open_deg, drawn = 176.0, 1.0
        if rng is not None:
            open_deg, drawn = 180.0 - float(rng.uniform(2.0, 9.0)), float(rng.random())
        if free and drawn < 0.22:
            open_deg = 0.0 if drawn < 0.08 else float(100 + 400 * drawn)
        hinge = -0.02 if side < 0 else w + 0.02
        turned_leaf = moved(leaf, (0.0, 0.0, 0.0), -open_deg)
        if side > 0:
            turned_leaf = moved(turned_leaf, matrix=[[-1, 0, 0], [0, 1, 0], [0, 0, 1]])
        parts.append(moved(turned_leaf, (hinge, -0.035, 0.0)))
    return join(parts)


@cache
def _leaf(wide: float, h: float, slatted: bool) -> Mesh:
    """A leaf of a shutter, closed, from its hinge along x; slats in two fields, its back plain."""
    parts = [box((wide, 0.034, h), "shutter", (wide / 2, 0.0, 0.0))]
    if slatted:
        faces = []
        for low, high in ((0.09, 0.5 * h - 0.04), (0.5 * h + 0.04, h - 0.09)):
            for z in np.arange(low, high - 0.05, 0.075).tolist():
                for y, s in ((-0.018, 1), (0.018, -1)):
                    slat = [(0.06, y - 0.014 * s, z), (wide - 0.06, y - 0.014 * s, z),
                            (wide - 0.06, y, z + 0.05), (0.06, y, z + 0.05)]  # fmt: skip
                    faces.append(slat[::s])
        parts.append(quads(faces, "shutter"))
    return join(parts)


@cache
def _head(w: float, h: float) -> Mesh:
    """A stone over a window and its keystone."""
    return join(
        [
            box((w + 0.36, 0.05, 0.20), "sill", (w / 2, 0.0, h)),
            box((0.17, 0.10, 0.27), "sill", (w / 2, 0.0, h - 0.02)),
        ]
    )


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
