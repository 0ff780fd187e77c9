"""Shop fronts: what stands behind their panes, the band over them, signs and awnings; no words."""

import itertools
import math

import numpy as np

from render.world.mesh import Mesh, box, grid_faces, join, lathe, moved, quads, tube
from render.world.things.houses.dressing import tinted
from render.world.things.houses.walls import rect

__all__ = ["TRADES", "awning", "board", "hung_sign", "shop_display"]

#: What a shop may be; a shop that is `shut` has let down its shutter, one to let is papered over.
TRADES = ("goods", "shelves", "garments", "cafe", "crates", "shut", "papered")

#: How far behind the front of the wall goods stand: just before the pane.
_Y = 0.152


def shop_display(w: float, h: float, trade: str, rng: np.random.Generator) -> Mesh:
    """What stands and hangs behind a shop's pane, flat against it, as its trade asks.

    Slots: ware, curtain, drape, trim, pipe, bill.
    """
    parts: list[Mesh] = []
    if trade == "shut":
        return _let_down(w, h)
    if trade == "papered":
        return _papered(w, h, rng)
    if trade == "cafe":
        parts = _behind_a_net(w, h, rng)
    elif trade == "shelves":
        parts = _shelves(w, h, rng)
    elif trade == "crates":
        parts = _heaps(w, h, rng)
    else:
        parts = _on_boards(w, h, trade == "garments", rng)
        if rng.random() < 0.5:
            parts.append(quads([rect(0.07, w - 0.07, h * 0.86, h - 0.05, _Y)], "curtain"))
    if rng.random() < 0.55:
        parts.append(_pasted(w, h, rng))
    return join(parts)


def _on_boards(w: float, h: float, garments: bool, rng: np.random.Generator) -> list[Mesh]:
    """Goods on one or two boards over a draped floor; garments stand in one tall row."""
    parts: list[Mesh] = []
    floor = float(rng.uniform(0.08, 0.2)) * h
    parts.append(quads([rect(0.06, w - 0.06, 0.05, floor, _Y + 0.004)], "drape"))
    boards = [floor]
    if not garments and rng.random() < 0.6:
        boards.append(floor + 0.42 * (h - floor))
        parts.append(quads([rect(0.06, w - 0.06, boards[1] - 0.03, boards[1], _Y)], "drape"))
    for low in boards:
        room = (boards[1] if len(boards) > 1 else h * 0.9) - floor
        x = 0.1
        while x < w - 0.25:
            wide = float(rng.uniform(0.24, 0.42) if garments else rng.uniform(0.08, 0.3))
            tall = room * float(rng.uniform(0.6, 0.85) if garments else rng.uniform(0.25, 0.75))
            if rng.random() < 0.75 and x + wide < w - 0.08:
                form = 0.9 if garments else rng.random()
                parts.append(_ware(x, wide, low, tall, form, rng))
                if rng.random() < 0.5:  # its price
                    slip = rect(x + 0.3 * wide, x + 0.3 * wide + 0.07, low, low + 0.045, _Y - 0.004)
                    parts.append(quads([slip], "trim"))
            x += wide + float(rng.uniform(0.02, 0.14))
    return parts


def _shelves(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """Small things side by side on boards from the floor to the top: books, boxes, bottles."""
    parts: list[Mesh] = []
    step = float(rng.uniform(0.27, 0.4))
    for low in np.arange(0.08, h - 0.7 * step, step).tolist():
        parts.append(quads([rect(0.06, w - 0.06, low - 0.025, low, _Y)], "drape"))
        x, room = 0.08, min(step - 0.06, h - 0.06 - low)
        while x < w - 0.14:
            wide = float(rng.uniform(0.035, 0.13))
            tall = room * float(rng.uniform(0.6, 0.95))
            if rng.random() < 0.88:
                form = 0.1 if rng.random() < 0.8 else 0.6
                parts.append(_ware(x, wide, low, tall, form, rng))
            x += wide + float(rng.choice([0.004, 0.004, 0.05]))
    return parts


def _behind_a_net(w: float, h: float, rng: np.random.Generator) -> list[Mesh]:
    """A net on a rail across the lower part, lamps that hang above it, a board with the dishes."""
    top = float(rng.uniform(0.34, 0.46)) * h
    parts = [
        quads([rect(0.06, w - 0.06, 0.06, top, _Y)], "curtain"),
        quads([rect(0.05, w - 0.05, top, top + 0.025, _Y - 0.003)], "pipe"),
    ]
    for x in np.arange(float(rng.uniform(0.3, 0.6)), w - 0.25, float(rng.uniform(0.55, 0.9))):
        z = h - float(rng.uniform(0.3, 0.45))
        cord = rect(x - 0.008, x + 0.008, z + 0.12, h - 0.05, _Y)
        shade = [(x - 0.13, _Y, z), (x + 0.13, _Y, z), (x + 0.04, _Y, z + 0.13),
                 (x - 0.04, _Y, z + 0.13)]  # fmt: skip
        parts += [quads([cord], "drape"), tinted([shade], rng)]
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
    """Crates in two rows that lean back, round things heaped in each."""
    parts: list[Mesh] = []
    turn = np.linspace(0, math.tau, 7)[:-1]
    for low in (0.07, 0.07 + 0.3 * h):
        for x0 in np.arange(0.07, w - 0.45, 0.46).tolist():
            tag = np.broadcast_to(rng.uniform(1.0, 40.0, 2), (4, 2))
            parts.append(quads([rect(x0, x0 + 0.43, low, low + 0.16, _Y + 0.002)], "drape"))
            faces = []
            r = float(rng.uniform(0.032, 0.055))
            for row in range(3):
                for x in np.arange(x0 + r + 0.5 * r * (row % 2), x0 + 0.43 - r, 2.05 * r):
                    z = low + 0.15 + 1.6 * r * row
                    ring = [(x + r * math.cos(t), _Y - 0.002, z + r * math.sin(t)) for t in turn]
                    faces += [[ring[0], ring[1], ring[2], ring[3]],
                              [ring[0], ring[3], ring[4], ring[5]]]  # fmt: skip
            parts.append(quads(faces, "ware", [tag] * len(faces)))
            if rng.random() < 0.7:
                slip = rect(x0 + 0.15, x0 + 0.29, low + 0.03, low + 0.12, _Y - 0.004)
                parts.append(quads([slip], "trim"))
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


def _ware(
    x: float, wide: float, low: float, tall: float, form: float, rng: np.random.Generator
) -> Mesh:
    """One thing for sale: a box, a bottle or a garment on a stand, by a number from 0 to 1."""
    y = _Y
    if form < 0.5:
        return tinted([rect(x, x + wide, low, low + tall, y)], rng)
    if form < 0.75:
        neck, half = x + 0.5 * wide, 0.13 * wide
        body = rect(x + 0.1 * wide, x + 0.9 * wide, low, low + 0.66 * tall, y)
        return tinted([body, rect(neck - half, neck + half, low + 0.66 * tall, low + tall, y)], rng)
    waist, top = low + 0.5 * tall, low + tall
    skirt = [(x, y, low + 0.1 * tall), (x + wide, y, low + 0.1 * tall),
             (x + 0.68 * wide, y, waist), (x + 0.32 * wide, y, waist)]  # fmt: skip
    breast = [(x + 0.32 * wide, y, waist), (x + 0.68 * wide, y, waist),
              (x + 0.85 * wide, y, top), (x + 0.15 * wide, y, top)]  # fmt: skip
    return tinted([skirt, breast], rng)


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
