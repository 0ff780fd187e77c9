"""Pictures on walls: what painters paint, in strokes, no two alike."""

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from render.world.mesh import Mesh, box, join, moved, sheet
from render.world.things.kind import Values, kind, vector

__all__: list[str] = []

_Shape = tuple[np.ndarray, str]


@kind(
    "picture",
    "A framed picture on a wall, of one of five kinds; it faces -y.",
    variants=8,
    stuff={
        "frame": "brown wood",
        "mat": "white card",
        "art": "bold strokes",
        "sky": "sky strokes",
        "near": "dark strokes",
        "far": "dim strokes",
        "sun": "warm strokes",
        "light": "light strokes",
    },
    size_m=vector((0.9, 0.7), "width and height", 0.05),
)
def _framed(v: Values, rng: np.random.Generator) -> Mesh:
    x, z = v.size_m
    mat = float(rng.choice([0.72, 0.78, 0.9]))  # how much of it the picture fills
    edge = min(0.05 * x, 0.05 * z, 0.055)
    parts = [
        box((x - 0.01, 0.022, z - 0.01), "mat", (0, -0.011, 0.005)),
        *(box((x, 0.042, edge), "frame", (0, -0.021, s)) for s in (0.0, z - edge)),
        *(box((edge, 0.042, z), "frame", (s * (x - edge) / 2, -0.021, 0)) for s in (1, -1)),
        # the mat's cut edge, a shade all round
        box(
            (x * mat + 0.012, 0.004, z * mat + 0.012),
            "frame",
            (0, -0.0215, z * (1 - mat) / 2 - 0.006),
        ),
        box((x * mat, 0.005, z * mat), "sky", (0, -0.0225, z * (1 - mat) / 2)),
    ]
    upright = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    wide, high = mat * x, mat * z
    motif = _MOTIFS[int(rng.integers(len(_MOTIFS)))]
    for layer, (outline, slot) in enumerate(motif(wide, high, rng)):
        flat = sheet(np.clip(outline, [-wide / 2, 0.0], [wide / 2, high]), 0.0, slot)
        # which way the brush went: about level over what is wide, in short strokes
        level = np.ptp(outline[:, 0]) > 0.5 * wide
        turn = float(rng.uniform(0, 3.14))
        turn = 1.57 + 0.22 * (turn - 1.57) if level else turn
        c, s = np.cos(turn), np.sin(turn)
        uv = flat.uv @ np.array([[c, -s], [s, c]]) * [1.0, 2.6] + rng.uniform(0, 40, 2)
        out = 0.0253 + 0.0003 * layer
        parts.append(moved(replace(flat, uv=uv), (0, -out, z * (1 - mat) / 2), matrix=upright))
    return join(parts)


def _round(
    at: ArrayLike, wide: float, high: float, share: float = 1.0, rough: float = 0.0
) -> np.ndarray:
    """An oval, or the upper part of one, its outline wavering by a share."""
    t = np.linspace(0, 2 * np.pi * share, 25)[: None if share < 1 else -1]
    size = 1 + rough * (np.sin(5 * t + 9 * wide) + 0.6 * np.sin(9 * t + 31 * high))
    return np.asarray(at) + np.stack([wide * size * np.cos(t), high * size * np.sin(t)], -1)


def _ridge(w: float, base: float, rough: float, rng: np.random.Generator) -> np.ndarray:
    """What lies below a wandering line."""
    u = np.linspace(-0.5, 0.5, 33)
    a, b, c = rng.uniform(0, 6.28, 3)
    top = base * (
        1 + rough * (np.sin(6 * u + a) + 0.4 * np.sin(15 * u + b) + 0.2 * np.sin(41 * u + c))
    )
    return np.concatenate([np.stack([u * w, top], -1)[::-1], [[-0.5 * w, 0], [0.5 * w, 0]]])


def _clouds(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    shapes: list[_Shape] = [
        (_ridge(w, h, 0.0, rng), "sky"),
        (_ridge(w, 0.72 * h, 0.05, rng), "light"),
    ]
    for _ in range(int(rng.integers(2, 5))):
        x, y = rng.uniform(-0.45, 0.45) * w, rng.uniform(0.62, 0.92) * h
        for _ in range(3):
            at = (x + rng.normal(0, 0.07) * w, y + rng.normal(0, 0.015) * h)
            size = rng.uniform(0.03, 0.08)
            shapes.append((_round(at, size * w, 0.4 * size * h, 1.0, 0.08), "light"))
    return shapes


def _trees(w: float, base: float, h: float, count: int, rng: np.random.Generator) -> list[_Shape]:
    shapes: list[_Shape] = []
    for x in np.sort(rng.uniform(-0.48, 0.48, count)) * w:
        size = rng.uniform(0.03, 0.075) * h
        y = base + rng.normal(0, 0.012) * h
        for slot, share in (("near", 1.0), (str(rng.choice(["far", "art", "sun"])), 0.62)):
            at = (x - 0.3 * size * (1 - share), y + size * (1.1 + 0.5 * (1 - share)))
            shapes.append((_round(at, share * size * 1.1, share * size * 1.4, 1.0, 0.12), slot))
    return shapes


def _hills(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    sun = _round((rng.uniform(-0.3, 0.3) * w, rng.uniform(0.66, 0.84) * h), 0.05 * h, 0.05 * h)
    shapes = [*_clouds(w, h, rng), (sun, "sun"), (_ridge(w, 0.50 * h, 0.12, rng), "far")]
    slots = ("sky", "far", "art", "near", "sun", "near")
    for k, base in enumerate(np.linspace(0.42, 0.08, len(slots))):
        shapes.append((_ridge(w, base * h, 0.16, rng), slots[(k + int(9 * w)) % len(slots)]))
        if k in (1, 3):
            shapes += _trees(w, base * h, h, int(rng.integers(4, 8)), rng)
    return shapes


def _sails(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    shapes = [*_clouds(w, h, rng), (_ridge(w, 0.46 * h, 0.05, rng), "near")]
    shapes.append((_ridge(w, 0.42 * h, 0.004, rng), "far"))
    for k in range(14):  # waves, longer towards the foot
        y = 0.40 * h * (1 - (k / 14) ** 0.7)
        long = rng.uniform(0.03, 0.16) * w * (1.2 - y / h)
        at = (rng.uniform(-0.48, 0.48) * w, y)
        slot = str(rng.choice(["light", "sky", "near"]))
        shapes.append((_round(at, long, rng.uniform(0.005, 0.011) * h), slot))
    for x in rng.uniform(-0.4, 0.4, int(rng.integers(1, 4))) * w:
        s, y = rng.uniform(0.12, 0.3) * h, rng.uniform(0.22, 0.4) * h
        shapes.append((np.array([[x, y], [x + 0.6 * s, y], [x + 0.05 * s, y + 1.5 * s]]), "light"))
        jib = [[x - 0.03 * s, y], [x - 0.02 * s, y + 1.3 * s], [x - 0.42 * s, y]]
        shapes.append((np.array(jib), str(rng.choice(["art", "sun", "light"]))))
        hull = [[x - 0.5 * s, y - 0.02 * h], [x - 0.3 * s, y - 0.14 * s]]
        hull += [[x + 0.5 * s, y - 0.14 * s], [x + 0.7 * s, y - 0.02 * h]]
        shapes.append((np.array(hull), "near"))
        shapes.append((_round((x, y - 0.24 * s), 0.34 * s, 0.05 * s, 1.0, 0.1), "light"))
    return [*shapes, (_ridge(w, 0.08 * h, 0.3, rng), "near")]


def _sitter(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    x, r = rng.uniform(-0.08, 0.08) * w, 0.15 * h
    narrow = min(1, w / h)

    def oval(a: float, b: float, wide: float, high: float, slot: str) -> _Shape:
        return _round((x + a * r * narrow, 0.62 * h + b * r), wide * r * narrow, high * r), slot

    neck = np.array([[x - 0.3 * r, 0.36 * h], [x + 0.32 * r, 0.36 * h], [x + 0.3 * r, 0.56 * h],
                     [x - 0.26 * r, 0.56 * h]])  # fmt: skip
    body = _round((x, -0.06 * h), min(0.40 * w, 2.0 * r), 0.47 * h, 0.5, 0.02)
    lapel = np.array([[x - 0.3 * r, 0.40 * h], [x + 0.32 * r, 0.40 * h], [x + 0.05 * r, 0.18 * h]])
    shapes: list[_Shape] = [
        (_ridge(w, h, 0.0, rng), "near"), (_ridge(w, 0.62 * h, 0.2, rng), "far"),
        oval(0.0, 0.15, 1.0, 1.25, "near"), (neck, "sun"), (body, "art"), (lapel, "light"),
        oval(0.02, -0.05, 0.78, 1.05, "sun"), oval(0.3, -0.15, 0.42, 0.8, "far"),
        oval(-0.05, 0.85, 0.82, 0.42, "near"), oval(-0.62, 0.4, 0.22, 0.6, "near"),
    ]  # fmt: skip
    for s in (-0.3, 0.28):
        shapes += [oval(s, 0.14, 0.13, 0.05, "near"), oval(s, 0.30, 0.2, 0.03, "near")]
    shapes += [oval(0.06, -0.18, 0.06, 0.24, "art"), oval(0.0, -0.55, 0.22, 0.05, "art")]
    return shapes


def _fruit(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    shapes: list[_Shape] = [(_ridge(w, h, 0.0, rng), "near"), (_ridge(w, 0.8 * h, 0.2, rng), "far"),
                            (_ridge(w, 0.34 * h, 0.0, rng), "light")]  # fmt: skip
    for k in range(5):
        shapes.append((_ridge(w, (0.30 - 0.06 * k) * h, 0.06, rng), ("light", "sky")[k % 2]))
    x = rng.uniform(-0.2, 0.2) * w
    shapes.append((_round((x + 0.07 * w, 0.25 * h), 0.16 * w, 0.03 * h), "far"))
    shapes.append((_round((x, 0.42 * h), 0.11 * w, 0.22 * h), "near"))
    shapes.append((_round((x - 0.03 * w, 0.45 * h), 0.045 * w, 0.14 * h), "art"))
    shapes.append((_round((x, 0.66 * h), 0.05 * w, 0.09 * h), "near"))
    for _ in range(11):  # leaves and blossoms out of the jug
        a, reach = rng.uniform(0.2, 2.9), rng.uniform(0.08, 0.24)
        at = (x + reach * w * np.cos(a), 0.70 * h + 0.9 * reach * h * np.sin(a))
        slot = str(rng.choice(["far", "sun", "light", "art"]))
        shapes.append((_round(at, 0.034 * w, 0.042 * h, 1.0, 0.14), slot))
    for k in range(6):
        at = ((0.15 * k - 0.38) * w + rng.uniform(-0.03, 0.03) * w, rng.uniform(0.22, 0.3) * h)
        shapes.append((_round((at[0] + 0.03 * h, at[1] - 0.06 * h), 0.09 * h, 0.03 * h), "far"))
        shapes.append((_round(at, 0.085 * h, 0.08 * h), ("art", "sun")[k % 2]))
        shapes.append((_round((at[0] - 0.03 * h, at[1] + 0.028 * h), 0.03 * h, 0.022 * h), "light"))
    return shapes


def _fields(w: float, h: float, rng: np.random.Generator) -> list[_Shape]:
    """Blocks of colour, as painters of no things hang them, edges by a hand."""
    shapes: list[_Shape] = [(_ridge(w, h, 0.0, rng), "light")]
    low = 0.015 * h
    while low < 0.95 * h:
        high = min(low + rng.uniform(0.14, 0.4) * h, 0.985 * h)
        cut = rng.uniform(-0.35, 0.35) * w
        for left, right in ((-0.485 * w, cut), (cut + 0.012 * w, 0.485 * w)):
            t = np.linspace(0, 1, 9)
            waver = rng.normal(0, 0.004, (4, 9)) * h
            foot = np.stack([left + t * (right - left), low + waver[0]], -1)
            head = np.stack([right - t * (right - left), high - 0.012 * h + waver[1]], -1)
            slot = str(rng.choice(["art", "near", "far", "sun", "sky", "art"]))
            shapes.append((np.concatenate([foot, head]), slot))
        low = high
    return shapes


_MOTIFS = (_hills, _sails, _sitter, _fruit, _fields)
