"""Small things that fill shelves and benches: boxes, books, jars, tins, tools; none has a word."""

import math
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, box, cylinder, ellipsoid, join, lathe, moved, quads, tube
from render.world.things.solids import timber

__all__ = ["GOODS", "bench_goods", "curl", "fill_shelf", "offcuts", "slip"]

#: What goods are made of, whoever holds them; no gloss but glass: so small, nobody sees it.
GOODS = {
    "card": "carton",
    "grey": "grey card",
    "white": "white card",
    "label": "paper",
    "spine": "book cloth",
    "cover": "old cloth",
    "jar": "jar glass",
    "lid": "#8b8f90",
    "dark": "#1c1d1f",
    "steel": "#9aa0a4",
    "shaving": "pale wood",
}


def fill_shelf(
    wide: float, deep: float, high: float, slots: tuple[str, ...], rng: np.random.Generator
) -> list[Mesh]:
    """What stands on one board, from x = 0 to `wide`, under the next one `high` above it.

    The front is towards -y, the back board at y = 0; slots: `slots` and those of `GOODS`.
    """
    parts: list[Mesh] = []
    at = 0.02 + float(rng.uniform(0, 0.05))
    for _ in range(40):
        room = (wide - 0.02 - at, deep, high - 0.03)
        made, taken = _SORTS[int(rng.choice(len(_SORTS), p=_SHARES))](room, slots, rng)
        if taken > room[0] or not len(made.xyz):
            continue
        parts.append(moved(made, (at, 0.0, 0.0)))
        at += taken + float(rng.choice([0.008, 0.015, 0.03, 0.09], p=[0.45, 0.33, 0.17, 0.05]))
    return parts


_Room = tuple[float, float, float]
_Made = tuple[Mesh, float]


def _slot(slots: tuple[str, ...], rng: np.random.Generator) -> str:
    return str(rng.choice(slots))


def _carton(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """One to three boxes on each other, taped, with a slip of paper on some."""
    wide = float(rng.uniform(0.16, 0.36))
    parts: list[Mesh] = []
    low = 0.0
    for _ in range(int(rng.integers(1, 4))):
        tall = float(rng.uniform(0.07, 0.22))
        if low + tall > room[2]:
            break
        w, deep = wide * float(rng.uniform(0.8, 1.0)), room[1] * float(rng.uniform(0.55, 0.86))
        y = -room[1] * 0.92 + deep / 2 + float(rng.uniform(0, 0.008))
        slot = str(
            rng.choice(["card", "grey", "white", _slot(slots, rng)], p=[0.45, 0.15, 0.15, 0.25])
        )
        body = [box((w, deep, tall), slot)]
        if rng.random() < 0.5:  # a lid that stands over its edges
            body.append(box((w + 0.008, deep + 0.008, 0.035), slot, (0, 0, tall - 0.034)))
        if slot == "card":
            body.append(box((0.045, deep + 0.003, 0.002), "shaving", (0, 0, tall)))
            body.append(
                slip(0.045, min(0.06, tall - 0.032), 0.0, -deep / 2, tall - 0.03, "shaving")
            )
        if rng.random() < 0.6:
            x = float(rng.uniform(-0.2, 0.2)) * w
            body.append(slip(0.36 * w, 0.42 * tall, x, -deep / 2 - 0.005, 0.75 * tall, "label"))
        turn = float(rng.uniform(-3, 3))
        parts.append(moved(join(body), (wide / 2 + 0.01, y, low), turn))
        low += tall + 0.003
    return join(parts), wide + 0.03 if parts else math.inf


def slip(w: float, h: float, x: float, y: float, top: float, slot: str) -> Mesh:
    """A slip of paper on a front, with a dark bar or two where words would stand."""
    y -= 0.0015
    flat = [quads([[(x - w / 2, y, top - h), (x + w / 2, y, top - h), (x + w / 2, y, top),
                    (x - w / 2, y, top)]], slot)]  # fmt: skip
    if slot == "label":
        for k, share in ((0.25, 0.7), (0.55, 0.5)):
            low, high = top - (k + 0.13) * h, top - k * h
            left, right = x - 0.4 * w, x + (share - 0.4) * w
            bar = [(left, y - 0.001, low), (right, y - 0.001, low),
                   (right, y - 0.001, high), (left, y - 0.001, high)]  # fmt: skip
            flat.append(quads([bar], "dark"))
    return join(flat)


def _books(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """A row of books and folders, the last leaning."""
    parts: list[Mesh] = []
    x = 0.0
    for k in range(int(rng.integers(3, 10))):
        thick = float(rng.uniform(0.012, 0.05))
        tall = min(float(rng.uniform(0.17, 0.31)), room[2])
        deep = min(float(rng.uniform(0.14, 0.23)), 0.9 * room[1])
        y = -0.9 * room[1] + deep / 2 + float(rng.uniform(0, 0.02))
        cloth = "spine" if rng.random() < 0.65 else "cover"
        book = [box((thick, deep, tall), cloth)]
        if rng.random() < 0.5:
            for z in (0.12, 0.8):
                book.append(slip(0.99 * thick, 0.03 * tall, 0.0, -deep / 2, z * tall, "shaving"))
        elif thick > 0.03:
            book.append(slip(0.7 * thick, 0.2 * tall, 0.0, -deep / 2, 0.75 * tall, "label"))
        one = join(book)
        # one colour all over it, another for each
        colour = np.where(one.slot == one.slots.index(cloth), rng.uniform(1, 90), 0.0)
        one = replace(one, uv=np.broadcast_to(colour[:, None, None], one.uv.shape) + 0.25 * k)
        if x + thick > room[0]:
            break
        parts.append(moved(one, (x + thick / 2, y, 0.0)))
        x += thick + 0.0015
    return join(parts), x if parts else math.inf


def _jars(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """Jars of screws, glue and oil, two rows deep."""
    r = float(rng.uniform(0.03, 0.055))
    count = int(rng.integers(1, 5))
    tall = min(float(rng.uniform(0.09, 0.2)), room[2] - 0.04)
    slot = "jar" if rng.random() < 0.55 else _slot(slots, rng)
    parts = []
    for k in range(count):
        for row in range(2):
            if rng.random() < 0.85:
                own = tall * float(rng.uniform(0.72, 1.0))
                jar = _jar(r, own, slot, slots, rng) if row == 0 else _jar(r, own, slot, (), rng)
                x = (2 * k + 1) * (r + 0.004) + float(rng.uniform(-0.003, 0.003))
                y = -0.88 * room[1] + r + row * (2.2 * r) + float(rng.uniform(0, 0.01))
                parts.append(moved(jar, (x, y, 0.0), float(rng.uniform(0, 360))))
    return join(parts), 2 * (r + 0.004) * count


def _jar(
    r: float, tall: float, slot: str, slots: tuple[str, ...], rng: np.random.Generator
) -> Mesh:
    """One jar; what it holds and its label only where it stands in front, with `slots`."""
    outline = [(0, 0), (0.93 * r, 0), (r, 0.006), (r, 0.78 * tall), (0.72 * r, 0.9 * tall),
               (0.72 * r, tall), (0, tall)]  # fmt: skip
    glass = [lathe(outline, slot, 14)]
    glass.append(cylinder(0.78 * r, 0.018, "lid", (0, 0, tall - 0.006), sides=14))
    if slots and slot == "jar":  # what is in it
        level = float(rng.uniform(0.15, 0.75)) * tall
        held = str(rng.choice([_slot(slots, rng), "shaving", "steel", "cover"]))
        glass.append(cylinder(1.004 * r, level, held, (0, 0, 0.004), sides=14))
    if slots and rng.random() < 0.6:
        low = float(rng.uniform(0.2, 0.35)) * tall
        high = low + float(rng.uniform(0.18, 0.36)) * tall
        glass.append(lathe([(1.01 * r, low), (1.01 * r, high)], "label", 14))
        if rng.random() < 0.6:
            middle = 0.5 * (low + high)
            glass.append(
                lathe([(1.02 * r, middle), (1.02 * r, middle + 0.2 * (high - low))], "dark", 14)
            )
    return join(glass)


def _tins(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """Tins of paint with rolled rims, some on each other, drips down their sides."""
    r = float(rng.choice([0.05, 0.075, 0.09]))
    tall = min(float(rng.uniform(1.3, 2.2)) * r, room[2] - 0.01)
    slot = str(rng.choice([_slot(slots, rng), "lid", "steel"]))
    rim = 1.03 * r
    outline = [(0, 0), (r, 0), (rim, 0.004), (r, 0.01), (r, tall - 0.01), (rim, tall - 0.004),
               (r, tall), (0.85 * r, tall - 0.004), (0, tall - 0.004)]  # fmt: skip
    one = [lathe(outline, slot, 18)]
    one.append(lathe([(1.006 * r, 0.18 * tall), (1.006 * r, 0.72 * tall)], "label", 18))
    for _ in range(int(rng.integers(1, 4))):
        turn, long = float(rng.uniform(200, 340)), float(rng.uniform(0.15, 0.6)) * tall
        drip = box((0.012, 0.003, long), _slot(slots, rng), (0, 0, tall - long))
        run = math.radians(turn)
        parts = moved(drip, (1.01 * r * math.cos(run), 1.01 * r * math.sin(run), 0.0), turn + 90)
        one.append(parts)
    tin = join(one)
    out = [moved(tin, (r, -0.9 * room[1] + r, 0.0), float(rng.uniform(-40, 40)))]
    if 2 * tall + 0.01 < room[2] and rng.random() < 0.5:
        out.append(moved(tin, (r, -0.9 * room[1] + r, tall), float(rng.uniform(0, 360))))
    return join(out), 2.06 * r


def _papers(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """A heap of paper, folders and boards, no two edges in line."""
    wide = float(rng.uniform(0.22, 0.34))
    parts: list[Mesh] = []
    z = 0.0
    for _ in range(int(rng.integers(2, 6))):
        thick = float(rng.choice([0.012, 0.02, 0.034]))
        w, deep = wide - float(rng.uniform(0, 0.04)), 0.75 * room[1]
        slot = str(rng.choice(["label", "label", "card", "shaving", _slot(slots, rng)]))
        at = (wide / 2 + float(rng.uniform(-0.006, 0.006)), -0.5 * room[1], z)
        parts.append(box((w, deep, thick), slot, at, turn_deg=float(rng.uniform(-3, 3))))
        z += thick + 0.0005
        if z > room[2] - 0.02:
            break
    return join(parts), wide + 0.03


def _rolls(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """Rolls of paper and sandpaper with their ends to the front."""
    r = float(rng.uniform(0.022, 0.038))
    across = int(rng.integers(2, 5))
    parts = []
    for row in range(int(min(room[2] / (2 * r), 3))):
        for k in range(across - row % 2):
            x = (2 * k + 1 + row % 2) * r
            z = r + row * 1.74 * r
            y0 = -room[1] * float(rng.uniform(0.84, 0.93))
            slot = str(rng.choice(["label", "card", "shaving", _slot(slots, rng)]))
            parts.append(tube((x, y0, z), (x, y0 + 0.7 * room[1], z), 0.97 * r, slot, sides=12))
            core = tube((x, y0 - 0.001, z), (x, y0 + 0.01, z), 0.4 * r, "dark", sides=10)
            parts.append(core)
    return join(parts), 2 * r * across


def _crate(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """An open crate of slats with offcuts standing in it."""
    w, deep = float(rng.uniform(0.24, 0.36)), 0.7 * room[1]
    tall = min(0.17, 0.7 * room[2])
    parts: list[Mesh] = []
    y = -0.9 * room[1] + deep / 2
    for z in np.linspace(0.0, tall - 0.045, 3).tolist():
        for s in (1, -1):
            parts.append(timber((w, 0.010, 0.042), "shaving", (0, s * (deep / 2 - 0.01), z), rng))
            parts.append(timber((0.010, deep - 0.04, 0.042), "shaving", (s * (w / 2 - 0.005), 0, z),
                                rng))  # fmt: skip
    for _ in range(int(rng.integers(4, 9))):
        a, b = rng.uniform(-0.38, 0.38, 2) * [w, deep]
        size = (float(rng.uniform(0.015, 0.04)), float(rng.uniform(0.015, 0.04)),
                tall * float(rng.uniform(0.7, 1.35)))  # fmt: skip
        size = (size[0], size[1], min(size[2], room[2] - 0.01))
        slot = str(rng.choice(["shaving", "card", _slot(slots, rng)]))
        parts.append(timber(size, slot, (float(a), float(b), 0.0), rng))
    return moved(join(parts), (w / 2, y, 0.0)), w + 0.02


def _bottles(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """Bottles of glue and oil and cans of spray, each of its own height, some turned away."""
    parts: list[Mesh] = []
    x = 0.0
    for _ in range(int(rng.integers(2, 6))):
        r = float(rng.uniform(0.024, 0.04))
        tall = min(float(rng.uniform(0.15, 0.27)), room[2] - 0.01)
        if x + 2 * r > room[0]:
            break
        slot = str(rng.choice([_slot(slots, rng), "label", "dark", "lid"]))
        shoulder, neck = float(rng.uniform(0.66, 0.84)) * tall, float(rng.uniform(0.22, 0.6)) * r
        outline = [(0, 0), (0.94 * r, 0), (r, 0.006), (r, shoulder),
                   (neck, shoulder + 0.1 * tall), (neck, 0.93 * tall), (0, tall)]  # fmt: skip
        one = [lathe(outline, slot, 12)]
        one.append(cylinder(1.1 * neck, 0.08 * tall, str(rng.choice(["lid", "dark", "cover"])),
                            (0, 0, 0.91 * tall), sides=10))  # fmt: skip
        band = sorted(rng.uniform(0.08 * tall, shoulder - 0.03 * tall, 2))
        if band[1] - band[0] > 0.03:
            low, high = float(band[0]), float(band[1])
            one.append(lathe([(1.015 * r, low), (1.015 * r, high)], "label", 12))
        y = -0.9 * room[1] + r + float(rng.uniform(0, 0.3)) * (room[1] - 2 * r)
        parts.append(moved(join(one), (x + r, y, 0.0)))
        x += 2 * r + float(rng.uniform(0.002, 0.02))
    return join(parts), x if parts else math.inf


def _drawers(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """A case of small drawers for screws, one or two of them pulled out."""
    tall, deep = min(room[2], float(rng.uniform(0.24, 0.34))), 0.62 * room[1]
    across, rows = int(rng.integers(3, 6)), max(2, int(tall / 0.062))
    wide, step = 0.072 * across + 0.02, (tall - 0.016) / rows
    case, front = ("lid", "cover") if rng.random() < 0.5 else ("shaving", "shaving")
    y0 = -0.88 * room[1]
    parts = [box((wide, deep, tall), case, (wide / 2, y0 + deep / 2 + 0.016, 0))]
    for k in range(rows):
        for n in range(across):
            out = float(rng.uniform(0.01, 0.03)) if rng.random() < 0.09 else 0.0
            x, z = 0.01 + 0.072 * (n + 0.5), 0.008 + step * k
            y = y0 + 0.016 - out
            parts.append(
                box((0.066, 0.014 + out, step - 0.006), front, (x, y + out / 2 + 0.002, z + 0.003))
            )
            parts.append(slip(0.034, 0.4 * step, x, y - 0.004, z + 0.86 * step, "white"))
            parts.append(box((0.016, 0.012, 0.008), "dark", (x, y - 0.01, z + 0.2 * step)))
    return join(parts), wide + 0.012


def _toolbox(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """A case with clasps and a handle."""
    w, tall = float(rng.uniform(0.3, 0.42)), min(float(rng.uniform(0.13, 0.2)), room[2] - 0.05)
    slot = _slot(slots, rng)
    y = -0.56 * room[1]
    deep = 0.56 * room[1]
    parts = [box((w, deep, 0.62 * tall), slot, (w / 2, y, 0))]
    parts.append(box((w + 0.006, deep + 0.006, 0.37 * tall), slot, (w / 2, y, 0.63 * tall)))
    for s in (0.24, 0.76):
        parts.append(box((0.03, 0.012, 0.05), "steel", (s * w, y - deep / 2 - 0.006, 0.5 * tall)))
        parts.append(tube((s * w, y, tall), (s * w, y, tall + 0.035), 0.007, "dark", sides=6))
    parts.append(
        tube((0.22 * w, y, tall + 0.035), (0.78 * w, y, tall + 0.035), 0.010, "dark", sides=8)
    )
    return join(parts), w + 0.012


def _coils(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """A coil of cable or rope that leans against the back."""
    r = min(float(rng.uniform(0.085, 0.13)), 0.46 * room[2])
    slot = str(rng.choice(["dark", "cover", "shaving", _slot(slots, rng)]))
    parts = []
    for k in range(3):
        own, off = r * (1 - 0.05 * k), 0.012 * k
        a = np.linspace(0, math.tau, 17) + k
        for p, q in zip(a[:-1].tolist(), a[1:].tolist(), strict=True):
            ends = [(r + own * math.cos(t), -0.5 * room[1] - off + 0.3 * own * math.sin(t),
                     own + 0.01 + 0.95 * own * math.sin(t)) for t in (p, q)]  # fmt: skip
            parts.append(tube(ends[0], ends[1], 0.0075, slot, sides=5))
    return join(parts), 2 * r + 0.02


def _cloths(room: _Room, slots: tuple[str, ...], rng: np.random.Generator) -> _Made:
    """Rags and dust sheets, folded and stacked anyhow."""
    wide, z = float(rng.uniform(0.2, 0.3)), 0.0
    parts: list[Mesh] = []
    for _ in range(int(rng.integers(2, 5))):
        thick = float(rng.uniform(0.02, 0.042))
        if z + thick > room[2] - 0.02:
            break
        w, deep = wide - float(rng.uniform(0, 0.05)), 0.62 * room[1] - float(rng.uniform(0, 0.05))
        slot = str(rng.choice(["cover", "spine", "label", "grey", _slot(slots, rng)]))
        y = -0.88 * room[1] + deep / 2 + float(rng.uniform(0, 0.03))
        turn = float(rng.uniform(-6, 6))
        low = box((w, deep, 0.45 * thick), slot)
        high = box((w - 0.008, deep - 0.006, 0.45 * thick), slot, (0.004, 0.005, 0.5 * thick))
        one = join([low, high])
        one = replace(one, uv=one.uv * 0 + float(rng.uniform(1, 90)))
        parts.append(moved(one, (wide / 2 + 0.02, y, z), turn))
        z += thick
    return join(parts), wide + 0.04 if parts else math.inf


_SORTS = (
    *(_carton, _books, _jars, _tins, _papers, _rolls, _crate),
    *(_bottles, _drawers, _toolbox, _coils, _cloths),
)
_SHARES = (0.30, 0.15, 0.07, 0.08, 0.09, 0.04, 0.05, 0.05, 0.03, 0.06, 0.02, 0.06)


def bench_goods(wide: float, deep: float, rng: np.random.Generator) -> list[Mesh]:
    """What lies on a bench that is worked at from -y, about its middle: tools, offcuts, shavings.

    Slots: box, tool and those of `GOODS`.
    """
    parts: list[Mesh] = []
    taken: list[tuple[float, float]] = [(-0.36 * wide, -0.4 * deep)]
    makers = (_plane, _hammer, _chisels, _mug, _square, _saw, _tin_of_brushes, offcuts, offcuts)
    for k in rng.permutation(len(makers)).tolist():
        for _ in range(12):
            a, b = float(rng.uniform(-0.42, 0.42)) * wide, float(rng.uniform(-0.02, 0.36)) * deep
            if all(math.hypot(a - x, b - y) > 0.21 for x, y in taken):
                taken.append((a, b))
                parts.append(moved(makers[k](rng), (a, b, 0.0), float(rng.uniform(-35, 35))))
                break
    for _ in range(34):  # shavings, thin curls, most of them where the plane goes
        a, b = float(rng.normal(0.08, 0.2)) * wide, float(rng.uniform(-0.42, 0.42)) * deep
        if abs(a) < 0.47 * wide:
            parts.append(moved(curl(rng), (a, b, 0.0), float(rng.uniform(0, 360))))
    return parts


def _plane(rng: np.random.Generator) -> Mesh:
    body = timber((0.25, 0.062, 0.055), "tool", (0, 0, 0.001), rng)
    iron = moved(
        box((0.008, 0.045, 0.13), "steel"),
        (0.035, 0, 0.045),
        matrix=[[0.8, 0.0, -0.6], [0.0, 1.0, 0.0], [0.6, 0.0, 0.8]],
    )
    knob = ellipsoid((0.02, 0.02, 0.026), "dark", (0.095, 0, 0.075), 12, 6)
    tote = moved(ellipsoid((0.02, 0.012, 0.045), "dark", (0, 0, 0), 12, 6), (-0.075, 0, 0.09))
    return join([body, iron, knob, tote])


def _hammer(rng: np.random.Generator) -> Mesh:
    shaft = tube((0, -0.15, 0.016), (0, 0.15, 0.016), 0.013, "shaving", sides=8)
    head = tube((-0.055, 0.14, 0.018), (0.045, 0.14, 0.018), 0.0165, "steel", sides=10)
    return join([shaft, head])


def _chisels(rng: np.random.Generator) -> Mesh:
    parts = []
    for k in range(3):
        x = 0.05 * (k - 1)
        parts.append(tube((x, -0.13, 0.014), (x, -0.01, 0.014), 0.013, "tool", 0.011, sides=8))
        parts.append(box((0.008 + 0.006 * k, 0.13, 0.004), "steel", (x, 0.055, 0.011)))
    return join(parts)


def _mug(rng: np.random.Generator) -> Mesh:
    cup = [(0, 0), (0.037, 0), (0.04, 0.004), (0.04, 0.092), (0.036, 0.092), (0.036, 0.07),
           (0, 0.07)]  # fmt: skip
    ring = [
        tube((0.038 + 0.024 * math.sin(a), 0, 0.05 + 0.026 * math.cos(a)),
             (0.038 + 0.024 * math.sin(a + 0.53), 0, 0.05 + 0.026 * math.cos(a + 0.53)), 0.005,
             "label", sides=6)
        for a in np.linspace(0, math.pi - 0.53, 6).tolist()
    ]  # fmt: skip
    return join([lathe(cup, "label", 20, top="dark"), *ring])


def _square(rng: np.random.Generator) -> Mesh:
    return join([
        timber((0.022, 0.13, 0.018), "tool", (0, 0, 0.001), rng),
        box((0.2, 0.032, 0.002), "steel", (0.1, 0.049, 0.009)),
    ])  # fmt: skip


def _saw(rng: np.random.Generator) -> Mesh:
    blade = [(-0.2, -0.02, 0.012), (0.2, -0.055, 0.012), (0.2, 0.06, 0.012), (-0.2, 0.02, 0.012)]
    grip = timber((0.11, 0.13, 0.024), "tool", (0.23, 0.0, 0.0), rng)
    return join([quads([blade], "steel"), grip])


def _tin_of_brushes(rng: np.random.Generator) -> Mesh:
    parts = [lathe([(0, 0), (0.045, 0), (0.045, 0.11), (0.042, 0.11), (0.042, 0.1), (0, 0.1)],
                   "lid", 18)]  # fmt: skip
    for _ in range(6):
        lean, turn = float(rng.uniform(0.01, 0.05)), float(rng.uniform(0, math.tau))
        x, y = math.cos(turn), math.sin(turn)
        end = (lean * x + 0.02 * x, lean * y + 0.02 * y, float(rng.uniform(0.16, 0.24)))
        slot = str(rng.choice(["shaving", "tool", "dark"]))
        parts.append(tube((0.02 * x, 0.02 * y, 0.08), end, 0.005, slot, sides=6))
        if rng.random() < 0.5:
            tip = (1.12 * end[0], 1.12 * end[1], end[2] + 0.035)
            parts.append(tube(end, tip, 0.010, "card", 0.012, sides=8))
    return join(parts)


def offcuts(rng: np.random.Generator, most: int = 3) -> Mesh:
    """Offcuts, one on another.  Slots: shaving, box."""
    parts = []
    z = 0.001
    for _ in range(int(rng.integers(1, most + 1))):
        size = (float(rng.uniform(0.12, 0.34)), float(rng.uniform(0.04, 0.09)),
                float(rng.uniform(0.018, 0.045)))  # fmt: skip
        slot = str(rng.choice(["shaving", "box"]))
        parts.append(timber(size, slot, (0, 0, z), rng, float(rng.uniform(-25, 25))))
        z += size[2]
    return join(parts)


def curl(rng: np.random.Generator) -> Mesh:
    """A shaving: a thin ribbon that has rolled up, both its sides.  Slot: shaving."""
    r, wide = float(rng.uniform(0.008, 0.018)), float(rng.uniform(0.015, 0.04))
    turn = float(rng.uniform(2.5, 5.2))
    t = np.linspace(-math.pi / 2, turn - math.pi / 2, 6)
    x, z = r * np.cos(t) * (1 + 0.1 * t), r + r * np.sin(t) + 0.001
    faces = [
        [(x[i], 0, z[i]), (x[i + 1], 0, z[i + 1]), (x[i + 1], wide, z[i + 1]), (x[i], wide, z[i])]
        for i in range(len(t) - 1)
    ]
    return join([quads(faces, "shaving"), quads([f[::-1] for f in faces], "shaving")])
