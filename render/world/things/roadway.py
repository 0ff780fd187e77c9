"""What lies in and beside a road: puddles, manhole covers, signs that carry no words."""

import math

import numpy as np

from render.world.mesh import Mesh, box, extrude, join, lathe, moved, sheet, tube
from render.world.things.feet import disc
from render.world.things.kind import Values, kind, pick, vector

__all__: list[str] = []


@kind(
    "puddle",
    "A puddle of rain with a shore of no shape.",
    variants=3,
    draped=True,
    stuff={"water": "puddle", "shore": "wet ground"},
    size_m=vector((2.0, 1.0), "length and width", 0.1),
)
def _puddle(v: Values, rng: np.random.Generator) -> Mesh:
    angle = np.linspace(0, math.tau, 41)[:-1]
    waves = np.zeros(len(angle))
    for k in range(1, 7):
        waves += rng.uniform(0.03, 0.22) / k * np.cos(k * angle + rng.uniform(0, math.tau))
    shore = (1 + waves)[:, None] * np.stack([np.cos(angle), np.sin(angle)], -1)
    around = shore * np.array(v.size_m) / 2
    return join([sheet(around * 1.05, 0.034, "shore"), sheet(around, 0.037, "water")])


@kind(
    "manhole",
    "A round cover of iron in a ring of stone.",
    stuff={"cover": "cast iron", "ring": "granite"},
)
def _manhole(v: Values, rng: np.random.Generator) -> Mesh:
    lid = lathe([(0.0, 0.036), (0.30, 0.036), (0.30, 0.0)][::-1], "cover", 28)
    ring = lathe([(0.30, 0.033), (0.36, 0.033), (0.36, 0.0)][::-1], "ring", 28)
    ribs = [box((0.5, 0.025, 0.008), "cover", (0, y, 0.036)) for y in np.linspace(-0.15, 0.15, 5)]
    return join([lid, ring, *ribs])


@kind(
    "sign",
    "A sign on a post, with shapes and no words, facing -y.",
    feet=lambda v: disc(0.08),
    stuff={"post": "zinc", "face": "white paint", "rim": "red paint", "mark": "blue paint"},
    shape=pick("round", "form of its face", "round", "triangle", "panel"),
)
def _sign(v: Values, rng: np.random.Generator) -> Mesh:
    post = tube((0, 0.03, 0), (0, 0.03, 2.75), 0.03, "post", sides=8)
    if v.shape == "panel":
        outline = np.array([(-0.45, -0.3), (0.45, -0.3), (0.45, 0.3), (-0.45, 0.3)])
    else:
        turns = np.arange(24 if v.shape == "round" else 3) / (24 if v.shape == "round" else 3)
        angle = math.tau * turns + math.pi / 2
        outline = 0.36 * np.stack([np.cos(angle), np.sin(angle)], -1)
    plates = [
        _upright(outline, 0.012, "rim", 0.0),
        _upright(0.82 * outline, 0.006, "face", -0.012),
        _upright(0.42 * outline[:, ::-1] * [1, -1], 0.004, "mark", -0.018),
    ]
    return join([post, *(moved(plate, (0, 0, 2.38)) for plate in plates)])


def _upright(outline: np.ndarray, thick: float, slot: str, y: float) -> Mesh:
    flat = extrude(outline, 0.0, thick, slot, slot)
    return moved(flat, (0, y, 0), matrix=[[1, 0, 0], [0, 0, -1], [0, 1, 0]])
