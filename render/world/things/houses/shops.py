"""Shop fronts: what stands behind their panes, the band over them, signs and awnings; no words."""

import itertools
import math
from dataclasses import replace
from functools import cache

import numpy as np

from render.world.mesh import Mesh, box, grid_faces, join, lathe, moved, quads, tube
from render.world.things.houses.dressing import tinted
from render.world.things.houses.walls import rect

__all__ = ["SHOWN_M", "TRADES", "awning", "board", "hung_sign", "shop_display"]

#: What a shop may be; a shop that is `shut` has let down its shutter, one to let is papered over.
TRADES = ("goods", "shelves", "garments", "cafe", "crates", "shut", "papered")

#: How far behind the front of the wall a trade's display ends; what is flat on a pane has none.
SHOWN_M = {"goods": 0.85, "shelves": 0.62, "garments": 0.95, "cafe": 1.5, "crates": 0.8}

#: So many windows of one trade and size differ.
_WINDOWS = 8

#: What is flat on a pane lies just before it; what stands behind one begins here.
_Y, _FRONT_M = 0.152, 0.2


def shop_display(w: float, h: float, trade: str, rng: np.random.Generator) -> Mesh:
    """What stands and hangs behind a shop's pane, in its depth, as its trade asks.

    The glass lets through and mirrors at once, which no surface here does: what is shown mirrors
    as the pane before it would.  Slots: ware, wrap, flower, leaf,
    curtain, drape, frame, trim, pipe, bill.
    """
    return _display(w, h, trade, int(rng.integers(_WINDOWS)))


@cache
def _display(w: float, h: float, trade: str, number: int) -> Mesh:
    """One of a trade's windows of a size: a long front is dressed from a few."""
    rng = np.random.default_rng([number, TRADES.index(trade)])
    if trade == "shut":
        return _let_down(w, h)
    if trade == "papered":
        return _papered(w, h, rng)
    shows = {"cafe": _tables, "shelves": _shelves, "crates": _heaps, "garments": _dressed}
    parts = [_stage(w, h, SHOWN_M[trade]), *shows.get(trade, _on_steps)(w, h, rng)]
    if rng.random() < 0.55:
        parts.append(_pasted(w, h, rng))
    return join(parts)


def _stage(w: float, h: float, deep: float) -> Mesh:
    """Floor, sides and top between the wall and the back of a display; lamps under its top."""
    r, far = 0.16, deep
    left = [(0.0, far, 0.0), (0.0, r, 0.0), (0.0, r, h), (0.0, far, h)]
    right = [(w, r, 0.0), (w, far, 0.0), (w, far, h), (w, r, h)]
    over = [(0.0, r, h), (0.0, far, h), (w, far, h), (w, r, h)]
    floor = [(0.0, r, 0.0), (w, r, 0.0), (w, far, 0.0), (0.0, far, 0.0)]
    lamps = [
        box((0.09, 0.09, 0.1), "trim", (float(x), 0.34, h - 0.16))
        for x in np.arange(0.25, w - 0.1, 0.55)
    ]
    return join([quads([left, right, over], "frame"), quads([floor], "drape"), *lamps])


def _tint(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """A thing of one colour, another each time."""
    return replace(mesh, uv=np.broadcast_to(rng.uniform(1.0, 40.0, 2), mesh.uv.shape).copy())


def _on_steps(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """Goods on steps that rise to the back, prices before some of them; a valance over them."""
    parts: list[Mesh] = []
    rise, z = float(rng.uniform(0.14, 0.26)) * h, float(rng.uniform(0.04, 0.1)) * h
    for k in range(3):
        y0 = _FRONT_M + 0.21 * k
        parts.append(box((w - 0.1, 0.205, z), "drape", (w / 2, y0 + 0.105, 0.0)))
        room = (h - z) * 0.8 if k == 2 else min(1.7 * rise, h - z - 0.1)
        x = float(rng.uniform(0.08, 0.2))
        while x < w - 0.2:
            wide = float(rng.uniform(0.07, 0.26))
            if rng.random() < 0.8 and x + wide < w - 0.07:
                tall = min(room, 0.5) * float(rng.uniform(0.35, 0.95))
                at = (x + wide / 2, y0 + float(rng.uniform(0.08, 0.13)), z)
                parts.append(_ware(wide, tall, at, rng))
                if rng.random() < 0.5:
                    slip = rect(x + 0.2 * wide, x + 0.2 * wide + 0.07, z, z + 0.05, y0 + 0.01)
                    parts.append(quads([slip], "trim"))
            x += wide + float(rng.uniform(0.02, 0.12))
        z += rise
    if rng.random() < 0.5:
        parts.append(quads([rect(0.07, w - 0.07, h * 0.86, h - 0.05, _Y)], "curtain"))
    return parts


def _ware(
    wide: float, tall: float, at: tuple[float, float, float], rng: np.random.Generator
) -> Mesh:
    """One thing for sale on a step: a box, a stack, a bottle or a jar, a picture that leans."""
    form, slot, half = rng.random(), "ware" if rng.random() < 0.6 else "wrap", wide / 2
    deep = min(wide, 0.16)
    if form < 0.3:
        return _tint(box((wide, deep, tall), slot, at), rng)
    if form < 0.45:
        tops = np.linspace(0.0, tall, 4)
        turns = rng.uniform(-9, 9, 3)
        return join(
            _tint(
                box((wide, 0.9 * deep, tall / 3), slot, (*at[:2], at[2] + low), turn_deg=turn), rng
            )
            for low, turn in zip(tops[:-1].tolist(), turns.tolist(), strict=True)
        )
    if form < 0.85:
        r = min(half, 0.09)
        neck, waist = r * float(rng.uniform(0.25, 0.9)), float(rng.uniform(0.4, 0.75)) * tall
        outline = [(0.8 * r, 0.0), (r, 0.3 * waist), (r, waist), (neck, waist + 0.35 * r),
                   (neck, tall), (0.0, tall)]  # fmt: skip
        return _tint(moved(lathe([(0.0, 0.0), *outline], slot, 8, smooth=True), at), rng)
    low, top = (at[0] - half, at[1] - 0.04, at[2]), (at[0] + half, at[1] + 0.04, at[2] + tall)
    leaf = [low, (top[0], low[1], low[2]), top, (low[0], top[1], top[2])]
    inner = [(at[0] + 0.72 * (x - at[0]), y - 0.01, at[2] + 0.14 * tall + 0.72 * (z - at[2]))
             for x, y, z in leaf]  # fmt: skip
    return join([quads([leaf], "drape"), tinted([inner], rng, slot)])


def _dressed(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """Coats and dresses on stands, some on a dais, before a rail on which more hang."""
    parts = [tube((0.06, 0.72, 0.86 * h), (w - 0.06, 0.72, 0.86 * h), 0.012, "pipe", sides=5)]
    for x in np.arange(0.14, w - 0.14, 0.07).tolist():
        if rng.random() < 0.6:
            low = h * float(rng.uniform(0.3, 0.5))
            wide = 0.17 * float(rng.uniform(0.7, 1.2))
            hung = box((0.05, 2 * wide, 0.84 * h - low), "wrap" if rng.random() < 0.5 else "ware")
            parts.append(_tint(moved(hung, (x, 0.72, low), float(rng.uniform(-12, 12))), rng))
    x = float(rng.uniform(0.28, 0.4))
    while x < w - 0.22:
        y, foot = float(rng.uniform(0.36, 0.52)), 0.03 + 0.14 * float(rng.random() < 0.4)
        tall = min(1.5, h - foot - 0.16)
        dais = box((0.46, 0.36, foot), "trim", (x, y, 0.0))
        hem, waist = float(rng.uniform(0.11, 0.24)), float(rng.uniform(0.1, 0.13))
        low = tall * float(rng.uniform(0.12, 0.4))
        outline = [(hem, low), (waist, 0.62 * tall), (0.17, 0.78 * tall), (0.185, 0.88 * tall),
                   (0.07, 0.93 * tall), (0.0, 0.94 * tall)]  # fmt: skip
        body = lathe([(0.0, low), *outline], "ware" if rng.random() < 0.6 else "wrap", 10,
                     smooth=True)  # fmt: skip
        turn = float(rng.uniform(-30, 30))
        parts += [
            dais,
            _tint(moved(body, (x, y, foot), turn, (1.0, 0.62, 1.0)), rng),
            tube((x, y, foot), (x, y, foot + tall), 0.014, "pipe", sides=5),
            moved(lathe([(0.0, 0.0), (0.05, 0.02), (0.06, 0.1), (0.0, 0.17)], "trim", 8),
                  (x, y, foot + 0.92 * tall)),
        ]  # fmt: skip
        x += float(rng.uniform(0.5, 0.75))
    return parts


def _shelves(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """Small things side by side on boards up the back; a low table of some before them."""
    parts, back = _table(w, rng), SHOWN_M["shelves"] - 0.13
    step = float(rng.uniform(0.27, 0.4))
    for low in np.arange(0.08, h - 0.7 * step, step).tolist():
        parts.append(box((w - 0.06, 0.24, 0.025), "drape", (w / 2, back, low - 0.025)))
        x, room = 0.06, min(step - 0.06, h - 0.06 - low)
        while x < w - 0.14:
            wide = float(rng.uniform(0.035, 0.12))
            deep = float(rng.uniform(0.13, 0.2))
            slot = "ware" if rng.random() < 0.6 else "wrap"
            if rng.random() < 0.88:
                at = (x + wide / 2, back - 0.11 + deep / 2, low)
                size = (wide, deep, room * float(rng.uniform(0.6, 0.95)))
                parts.append(_tint(box(size, slot, at), rng))
            x += wide + float(rng.choice([0.004, 0.004, 0.05]))
    return parts


def _table(w: float, rng: np.random.Generator) -> list[Mesh]:
    """A low table behind a pane with piles of flat things, one set up on each."""
    high = float(rng.uniform(0.24, 0.4))
    parts = [box((w - 0.24, 0.24, 0.03), "trim", (w / 2, 0.33, high))]
    for x in np.arange(0.26, w - 0.25, 0.27).tolist():
        pile = 0.03 * int(rng.integers(1, 6))
        slot = "ware" if rng.random() < 0.5 else "wrap"
        parts.append(_tint(box((0.17, 0.2, pile), slot, (x, 0.33, high + 0.03)), rng))
        if rng.random() < 0.6:
            z, slot = high + 0.03 + pile, "wrap" if slot == "ware" else "ware"
            leaf = [(x - 0.08, 0.3, z), (x + 0.08, 0.3, z), (x + 0.08, 0.37, z + 0.22),
                    (x - 0.08, 0.37, z + 0.22)]  # fmt: skip
            parts.append(tinted([leaf], rng, slot))
    return parts


def _tables(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """A net on a rail, lamps over tables behind it, bottles on the bar; a board with the dishes."""
    top, back = float(rng.uniform(0.34, 0.46)) * h, SHOWN_M["cafe"]
    parts = [
        quads([rect(0.06, w - 0.06, 0.06, top, _Y)], "curtain"),
        quads([rect(0.05, w - 0.05, top, top + 0.025, _Y - 0.003)], "pipe"),
        quads([rect(0.0, w, 0.0, 0.5 * h, back - 0.01)], "drape"),
    ]
    shade = [(0.14, 0.0), (0.14, 0.01), (0.04, 0.13), (0.0, 0.14)]
    for x in np.arange(float(rng.uniform(0.3, 0.6)), w - 0.25, float(rng.uniform(0.55, 0.9))):
        y, z = float(rng.uniform(0.45, 1.0)), h - float(rng.uniform(0.3, 0.5))
        parts.append(tube((x, y, z + 0.12), (x, y, h - 0.01), 0.008, "drape", sides=4))
        parts.append(_tint(moved(lathe(shade, "ware", 10), (x, y, z)), rng))
    for low in (0.56 * h, 0.74 * h):
        parts.append(box((w - 0.2, 0.13, 0.025), "trim", (w / 2, back - 0.08, low)))
        for x in np.arange(0.2, w - 0.18, 0.085).tolist():
            if rng.random() < 0.8:
                tall = 0.15 * h * float(rng.uniform(0.6, 1.0))
                neck = 0.015 if rng.random() < 0.7 else 0.034
                line = [(0.034, 0.0), (0.034, 0.6 * tall), (neck, 0.72 * tall), (neck, tall)]
                slot = "ware" if rng.random() < 0.5 else "wrap"
                bottle = lathe([(0.0, 0.0), *line, (0.0, tall)], slot, 6, smooth=True)
                parts.append(_tint(moved(bottle, (x, back - 0.08, low + 0.025)), rng))
    if w > 0.9:
        x, z = float(rng.uniform(0.12, w - 0.6)), top + 0.08
        high = min(0.62, h - z - 0.5)
        parts.append(quads([rect(x, x + 0.42, z, z + high, _Y - 0.004)], "drape"))
        rows = [
            rect(x + 0.05, x + float(rng.uniform(0.2, 0.36)), q, q + 0.016, _Y - 0.007)
            for q in np.arange(z + 0.06, z + high - 0.04, 0.055)
        ]
        parts.append(quads(rows, "trim"))
    return parts


def _heaps(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """Crates on three steps that rise to the back, fruit or greens heaped in each."""
    parts: list[Mesh] = []
    turn = np.linspace(0, math.tau, 7)[:-1]
    for row in range(3):
        y0, low = _FRONT_M + 0.19 * row, 0.03 + 0.24 * h * row
        if row:
            parts.append(box((w - 0.08, 0.2, low), "drape", (w / 2, y0 + 0.1, 0.0)))
        for x0 in np.arange(0.07, w - 0.45, 0.46).tolist():
            slot = "flower" if rng.random() < 0.65 else "leaf"
            tag = np.broadcast_to(rng.uniform(1.0, 40.0, 2), (4, 2))
            parts.append(box((0.43, 0.18, 0.15), "trim", (x0 + 0.215, y0 + 0.1, low)))
            faces, r = [], float(rng.uniform(0.032, 0.055))
            for k in range(3):
                for x in np.arange(x0 + r + 0.5 * r * (k % 2), x0 + 0.43 - r, 2.05 * r):
                    y, z = y0 + 0.02 + 0.045 * k, low + 0.15 + 1.1 * r * k
                    ring = [(x + r * math.cos(t), y + 0.5 * r, z + r * math.sin(t)) for t in turn]
                    top = (x, y - 0.4 * r, z + 0.2 * r)
                    faces += [[top, ring[n], ring[n + 1], ring[(n + 2) % 6]] for n in (0, 2, 4)]
            parts.append(quads(faces, slot, [tag] * len(faces)))
            if rng.random() < 0.7:
                slip = rect(x0 + 0.15, x0 + 0.29, low + 0.03, low + 0.12, y0 + 0.005)
                parts.append(quads([slip], "bill"))
    return parts


def _let_down(w: float, h: float) -> Mesh:
    """A shutter of slats before the whole pane: shade under each."""
    edges = np.arange(0.02, h - 0.02, 0.085).tolist()
    slats = [
        [(0.02, 0.104, z), (w - 0.02, 0.104, z), (w - 0.02, 0.118, z + 0.072),
         (0.02, 0.118, z + 0.072)] for z in edges[:-1]
    ]  # fmt: skip
    foot = box((w - 0.04, 0.016, 0.06), "pipe", (w / 2, 0.108, 0.0))
    return join([quads(slats, "pipe"), foot])


def _papered(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """Sheets taped over a pane from within, not quite straight and not quite meeting."""
    sheets = []
    for x in np.arange(0.06, w - 0.3, 0.62).tolist():
        for z in np.arange(0.06, h - 0.4, 0.86).tolist():
            wide, tall = min(0.61, w - 0.06 - x), min(0.85, h - 0.06 - z)
            lean = float(rng.normal(0, 0.008))
            y = _Y + float(rng.uniform(-0.004, 0.004))
            sheets.append([(x, y, z), (x + wide, y, z + max(lean, 0)), (x + wide, y, z + tall),
                           (x + max(lean, 0), y, z + tall)])  # fmt: skip
    return join([quads(sheets, "bill"), _pasted(w, h, rng)])


def _pasted(w: float, h: float, rng: np.random.Generator) -> Mesh:
    """A bill pasted to the glass, a bar or two on it."""
    x, z = float(rng.uniform(0.1, max(w - 0.5, 0.11))), float(rng.uniform(0.3, 0.6)) * h
    bars = [rect(x + 0.05, x + 0.24, z + k, z + k + 0.02, _Y - 0.015) for k in (0.05, 0.09)]
    return join(
        [
            quads([rect(x, x + 0.3, z, z + 0.42, _Y - 0.012)], "trim"),
            tinted([rect(x + 0.03, x + 0.27, z + 0.15, z + 0.38, _Y - 0.015)], rng),
            quads(bars, "drape"),
        ]
    )


def board(width: float, z: float, form: int, rng: np.random.Generator) -> Mesh:
    """The band over a shop front, with a moulding and a sign that has no words.

    form: 0 marks on the band and a disc, 1 marks on a pale panel, 2 lamps on necks over the marks,
    3 a low band with its marks at one end.
    """
    high = 0.30 if form == 3 else 0.42
    parts = [
        box((width - 0.1, 0.12, high), "door", (width / 2, -0.05, z)),
        box((width - 0.06, 0.24, 0.06), "trim", (width / 2, -0.05, z + high)),
    ]
    half = min(0.32 * width, 1.6)
    middle = width / 2 if form < 3 else 0.5 + half
    y, slot = -0.12, "trim"
    if form == 1:
        wide = 2 * half + 0.5
        parts.append(box((wide, 0.02, high - 0.08), "trim", (middle, -0.116, z + 0.04)))
        y, slot = -0.13, "door"
    parts += _marks(middle - half, middle + half, y, z + 0.3 * high, slot, rng)
    if form == 0:
        parts.append(_disc(0.15, (middle - half - 0.3, -0.112, z + 0.21)))
    if form == 2:
        for u in np.linspace(middle - half, middle + half, 4).tolist():
            foot, head = (u, -0.06, z + high + 0.05), (u, -0.36, z + high + 0.12)
            parts.append(tube(foot, head, 0.010, "pipe", sides=4))
            parts.append(box((0.11, 0.11, 0.07), "pipe", (u, -0.38, z + high + 0.03)))
    return join(parts)


def _marks(
    left: float, right: float, y: float, z: float, slot: str, rng: np.random.Generator
) -> list[Mesh]:
    """Marks in the size and rhythm of letters: none is one."""
    parts = []
    while left < right - 0.12:
        wide = float(rng.uniform(0.05, 0.12))
        tall = float(rng.choice([0.13, 0.13, 0.13, 0.09, 0.17]))
        parts.append(box((0.028, 0.03, tall), slot, (left + 0.014, y, z)))
        if rng.random() < 0.7:
            at = z + tall * float(rng.choice([0.0, 0.4, 0.78]))
            parts.append(box((wide, 0.03, 0.028), slot, (left + wide / 2, y, at)))
        if rng.random() < 0.5:
            parts.append(box((0.026, 0.03, 0.6 * tall), slot, (left + wide - 0.013, y, z)))
        left += wide + float(rng.choice([0.035, 0.035, 0.035, 0.035, 0.16]))
    return parts


def _disc(radius: float, at: tuple[float, float, float]) -> Mesh:
    """A round plate that faces outward."""
    plate = lathe([(0.0, 0.0), (radius, 0.0), (radius, 0.03), (0.0, 0.03)], "trim", 20)
    return moved(moved(plate, matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]]), at)


def hung_sign(rng: np.random.Generator) -> Mesh:
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


def awning(width: float, rng: np.random.Generator) -> Mesh:
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
