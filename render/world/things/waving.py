"""What wind and water move: flags, the wake of boats; afloat on z = 0."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from render.world.mesh import Mesh, cylinder, ellipsoid, join, quads, turned
from render.world.things.feet import disc
from render.world.things.kind import Part, Values, kind, number

__all__ = ["rocking", "wake"]

#: Half the angle of every wake on deep water, whatever the boat's speed (Kelvin 1887).
_KELVIN = math.asin(1 / 3)
_GRAVITY_M_S2 = 9.81
#: Crests stand so steeply to the way where the wake ends.
_CREST = math.radians(54.7)


def _flies(v: Values, rng: np.random.Generator, share: float) -> Mesh:
    """The cloth, waves running along it; it flies towards x."""
    w, h = v.size_m_wide, 0.62 * v.size_m_wide
    u, d = np.meshgrid(np.linspace(0, 1, 17), np.linspace(0, 1, 5), indexing="ij")
    swell = 0.10 * w * u**0.7
    turn = math.tau * (1.5 * u - share + 0.12 * d)
    x = 0.04 + 0.97 * w * u
    y = swell * np.sin(turn)
    z = v.height_m - 0.1 - h * d - 0.10 * w * u**2
    slope = swell * np.cos(turn) * math.tau * 1.5 / (0.97 * w)
    normal = np.stack([slope, -np.ones_like(x), np.zeros_like(x)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    place, flat = np.stack([x, y, z], axis=-1), np.stack([w * u, -h * d], axis=-1)
    ring = [(0, 0), (0, 1), (1, 1), (1, 0)]  # counter-clockwise from -y

    def corners(grid: NDArray[np.float64]) -> NDArray[np.float64]:
        a, b = grid.shape[0] - 1, grid.shape[1] - 1
        each = np.stack([grid[i : i + a, j : j + b] for i, j in ring], axis=2)
        pick = each[:, :, [[0, 1, 2], [0, 2, 3]]]
        return np.asarray(pick.reshape(-1, 3, grid.shape[2]))

    count = 2 * 16 * 4
    slot = np.where(np.arange(count) // 2 % 4 == 1, 1, 0).astype(np.int32)
    return Mesh(corners(place), corners(flat), corners(normal), slot, ("cloth", "band"))


@kind(
    "flag",
    "A flag on its pole, flying towards +x before turning.",
    feet=lambda v: disc(0.15, v.height_m),
    stuff={"cloth": "flag cloth", "band": "flag cloth", "pole": "white paint"},
    parts=(Part(_flies, period_s=1.1, shapes=14),),
    height_m=number(7.0, "height of the pole", 0.5, 60),
    size_m_wide=number(1.8, "length of the cloth", 0.1, 20),
)
def _flag(v: Values, rng: np.random.Generator) -> Mesh:
    r = 0.006 * v.height_m + 0.01
    return join(
        [
            cylinder(2.2 * r, min(0.5, 0.1 * v.height_m), "pole", sides=10),
            cylinder(r, v.height_m, "pole", top_radius=0.6 * r, sides=10),
            ellipsoid((1.6 * r, 1.6 * r, 1.6 * r), "pole", (0, 0, v.height_m), 10, 6),
        ]
    )


def _ridge(points: Sequence[Sequence[float]], wide: float, slot: str) -> list[Mesh]:
    """A low swell along a line: it rises from under the water, whose height is not quite known."""
    line = np.asarray(points, float)
    along = np.gradient(line, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    side = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    taper = np.sin(np.pi * np.linspace(0.04, 0.96, len(line)))[:, None] ** 0.6
    foot, top = np.full((len(line), 1), -0.2), 0.045 * taper - 0.02
    left = np.concatenate([line + side * wide * taper, foot], axis=-1)
    right = np.concatenate([line - side * wide * taper, foot], axis=-1)
    crest = np.concatenate([line, top], axis=-1)
    faces = [[a[:-1], b[:-1], b[1:], a[1:]] for a, b in ((right, crest), (crest, left))]
    return [quads(np.stack(each, axis=1), slot) for each in faces]


def _flecks(spots: NDArray[np.float64], sizes: NDArray[np.float64], turn: float) -> Mesh:
    """Foam that lies on the water: a ragged, flat patch at every spot (n, 2)."""
    angle = turn + math.tau * np.arange(6) / 6
    ragged = 0.75 + 0.35 * np.sin(3.7 * np.arange(6) + np.arange(len(spots))[:, None] * 2.1)
    ring = np.stack([np.cos(angle), 1.5 * np.sin(angle)], axis=-1) * ragged[..., None]
    ring = spots[:, None] + sizes[:, None, None] * ring
    faces = np.concatenate([ring[:, :4], ring[:, [3, 4, 5, 0]]])
    return quads(np.concatenate([faces, np.full((*faces.shape[:2], 1), 0.03)], axis=-1), "foam")


def _churned(length: float, beam: float) -> Mesh:
    """The pale strip that the screw leaves, ragged at its sides, gone after four lengths."""
    q = np.linspace(0, 1, 60)
    y = 0.45 * length + 4.0 * length * q
    half = beam * (0.36 - 0.33 * q**1.5)
    edges = [
        np.stack([s * half * (1 + 0.25 * np.sin(31 * q + s) * np.sin(57 * q)), y], axis=-1)
        for s in (-1, 1)
    ]
    faces = np.stack([edges[0][:-1], edges[1][:-1], edges[1][1:], edges[0][1:]], axis=1)
    return quads(np.concatenate([faces, np.full((*faces.shape[:2], 1), 0.02)], axis=-1), "churn")


def wake(length: float, beam: float, speed_m_s: float) -> Mesh:
    """Behind a boat that goes towards -y: churned water, and crests along both arms of a V."""
    waves = min(max(math.tau * speed_m_s**2 / _GRAVITY_M_S2, 0.12 * length, 0.9), 0.5 * length)
    rng = np.random.default_rng(5)
    age = rng.exponential(0.9, 800)  # foam thins out, and spreads as it does
    spots = np.stack(
        [
            beam * (0.42 + 0.08 * age) * np.clip(rng.normal(0, 0.5, len(age)), -1, 1),
            0.47 * length + 1.2 * length * age,
        ],
        axis=-1,
    )
    sizes = beam * rng.uniform(0.006, 0.025, len(age)) / (1 + 0.6 * age)
    parts = [_churned(length, beam), _flecks(spots, sizes, 0.3)]
    for k in range(12):
        out = beam * 0.45 + waves * (0.12 + 0.30 * k) * math.tan(_KELVIN)
        y = -0.42 * length + (out - beam * 0.45) / math.tan(_KELVIN)
        n = 0.22 * waves * (1 + 0.5 * k) ** 0.5 + 0.1 * beam
        steps = np.linspace(-1.0, 0.0, 7)  # outer ends on the V
        curve = np.stack(
            [
                out + n * steps * math.sin(_CREST) - 0.3 * n * steps**2,
                y - n * steps * math.cos(_CREST),
            ],
            axis=-1,
        )
        for s in (1, -1):
            line = (curve * [s, 1])[::s]
            parts += _ridge(line.tolist(), 0.05 * waves + 0.10, "wave")
            few = max(0, 48 - 10 * k)
            if few:  # bubbles all along the crest: larger ones would lie there like paper
                place = rng.uniform(1.0, 5.0, few)
                at = np.stack([np.interp(place, range(7), line[:, i]) for i in (0, 1)], axis=-1)
                at = at + rng.normal(0, 0.02 * waves, (few, 2))
                parts.append(_flecks(at, beam * rng.uniform(0.002, 0.009, few), 0.8 * s))
    return join(parts)


def rocking(length_m: float, beam_m: float, time_s: float) -> NDArray[np.float64]:
    """How a boat lies at a time: it rolls about its length, and rises and falls a little."""
    period = 1.8 + 0.9 * beam_m**0.5
    roll = math.radians(5.0 / (1 + beam_m)) * math.sin(math.tau * time_s / period)
    pitch = math.radians(4.0 / (1 + length_m)) * math.sin(math.tau * time_s / (1.37 * period))
    rise = 0.03 * math.sin(math.tau * time_s / (1.19 * period))
    return turned((0, 1, 0), roll, (0.0, 0.0, rise)) @ turned((1, 0, 0), pitch)
