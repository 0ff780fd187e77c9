"""What is fixed to the walls of a room: radiators, pipes, sockets, panelling, a door, curtains."""

import numpy as np

from render.world.mesh import Mesh, box, ellipsoid, join, moved, tube
from render.world.things.houses.walls import Opening
from render.world.things.worn.cloth import cloth

__all__ = ["curtained", "door_of", "fittings", "panelled"]


def fittings(w: float, d: float, h: float, holes: list[Opening]) -> list[Mesh]:
    """Radiators under windows and their pipe, sockets, a conduit; slots fitting and pipe."""
    parts = []
    for u0, u1, v0, _ in holes:
        if v0 < 0.5:
            continue
        middle, half, tall = (u0 + u1) / 2 - d, 0.42 * (u1 - u0), v0 - 0.27
        for y in np.arange(middle - half, middle + half, 0.062):
            parts.append(box((0.10, 0.046, tall), "fitting", (-w + 0.11, y, 0.14)))
        for z in (0.2, tall + 0.08):
            parts.append(box((0.05, 2 * half, 0.035), "fitting", (-w + 0.11, middle, z)))
        parts.append(tube((-w + 0.11, middle + half, 0.22), (-w + 0.11, middle + half + 0.1, 0.22),
                          0.014, "pipe"))  # fmt: skip
        at = (-w + 0.11, middle + half + 0.1)
        parts.append(tube((*at, 0.14), (*at, 0.3), 0.02, "fitting"))
    if parts:
        parts.append(tube((-w + 0.06, -d, 0.17), (-w + 0.06, d, 0.17), 0.014, "pipe"))
    for s, y in ((1, -0.55 * d), (1, 0.1 * d), (1, 0.7 * d), (-1, 0.98 * d)):
        parts.append(box((0.04, 0.16, 0.085), "fitting", (s * (w - 0.02), y, 0.32)))
    far = d - 0.013
    rail = h - 0.42
    parts.append(tube((-w, far, rail), (w, far, rail), 0.011, "pipe", sides=6))
    for x in (-0.42 * w, 0.55 * w):  # down to a switch and to a pair of sockets
        low = 1.15 if x > 0 else 0.4
        parts.append(tube((x, far, rail), (x, far, low), 0.011, "pipe", sides=6))
        parts.append(box((0.16 if x < 0 else 0.085, 0.03, 0.085), "fitting", (x, far, low - 0.085)))
        parts += [box((0.05, 0.03, 0.02), "pipe", (x, far, z)) for z in np.arange(low + 0.4, rail)]
        # where it leaves the run, a box with a round lid
        parts.append(box((0.09, 0.04, 0.09), "fitting", (x, far, rail - 0.045)))
        parts.append(tube((x, far, rail), (x, far - 0.026, rail), 0.032, "pipe", sides=14))
    parts += [box((0.02, 0.03, 0.045), "pipe", (x, far, rail - 0.022))
              for x in np.arange(-w + 0.5, w, 0.9)]  # fmt: skip
    # the run ends in a box of fuses with a switch on it
    end = w - 0.24
    parts.append(tube((end, far, rail), (end, far, 1.95), 0.011, "pipe", sides=6))
    parts.append(box((0.34, 0.11, 0.44), "fitting", (end, far - 0.04, 1.52)))
    parts.append(box((0.30, 0.012, 0.40), "pipe", (end, far - 0.098, 1.54)))
    parts.append(box((0.035, 0.03, 0.06), "joinery", (end + 0.11, far - 0.11, 1.70)))
    return parts


def panelled(w: float, d: float, tall: float) -> list[Mesh]:
    """Boarding along the far and the right wall up to a height, with battens and a rail."""
    parts: list[Mesh] = []
    for length, turn_deg, place in ((2 * w, 0.0, (0.0, d)), (2 * d, -90.0, (w, 0.0))):
        flat = [
            box((length, 0.012, tall), "panel", (0, -0.006, 0)),
            box((length, 0.05, 0.05), "panel", (0, -0.025, tall)),
            box((length, 0.026, 0.11), "panel", (0, -0.013, tall - 0.13)),
            # the rail that pictures hang from, a ledge on it
            box((length, 0.022, 0.045), "panel", (0, -0.011, tall + 1.75)),
            box((length, 0.034, 0.02), "panel", (0, -0.017, tall + 1.795)),
        ]
        count = max(2, round(length / 0.72))
        for u in (np.arange(count + 1) / count - 0.5) * (length - 0.1):
            flat.append(box((0.09, 0.026, tall - 0.26), "panel", (float(u), -0.013, 0.14)))
        parts.append(moved(join(flat), (*place, 0.0), turn_deg))
    return parts


def door_of(w: float, d: float) -> list[Mesh]:
    """A panelled door in its frame, in the far wall to the right; slots joinery, frame, pipe."""
    x, y, wide, tall = 0.74 * w, d, 0.92, 2.06
    parts = [box((wide, 0.06, tall), "joinery", (x, y - 0.03, 0.0))]
    for s in (1, -1):
        parts.append(
            box((0.1, 0.09, tall + 0.1), "frame", (x + s * (wide / 2 + 0.05), y - 0.045, 0))
        )
        for low, high in ((0.2, 0.86), (1.06, 1.92)):
            parts.append(box((0.30, 0.02, high - low), "frame", (x + 0.2 * s, y - 0.064, low)))
            parts.append(box((0.25, 0.03, high - low - 0.06), "joinery",
                             (x + 0.2 * s, y - 0.066, low + 0.03)))  # fmt: skip
    parts.append(box((wide + 0.2, 0.09, 0.1), "frame", (x, y - 0.045, tall)))
    parts.append(ellipsoid((0.028, 0.03, 0.028), "pipe", (x - 0.4, y - 0.10, 1.0), 12, 8))
    parts.append(tube((x - 0.4, y - 0.06, 1.0), (x - 0.4, y - 0.10, 1.0), 0.012, "pipe", sides=8))
    return parts


def _curtain(
    x: float, left: float, right: float, low: float, top: float, rng: np.random.Generator
) -> Mesh:
    """Cloth gathered in pleats at its head, folds that wander and open towards its hem."""
    s, t = np.meshgrid(np.linspace(0, 1, 57), np.linspace(0, 1, 9), indexing="ij")
    turn = rng.uniform(0, 6.28, 6)
    pleats = int(rng.integers(5, 8))
    drift = 0.35 * t * np.sin(4.4 * s + turn[0]) + 0.12 * np.sin(3.1 * t + turn[1])
    wave = np.sin(2 * np.pi * (pleats * s + drift) + turn[2])
    wave = np.sign(wave) * np.abs(wave) ** 0.75
    soft = np.sin(2 * np.pi * (0.53 * pleats * s + 0.6 * drift) + turn[3])
    deep = 0.020 + 0.014 * t * (1 + 0.7 * soft)
    waist = 1 - 0.10 * np.exp(-(((t - 0.55) / 0.25) ** 2)) + 0.03 * np.sin(3 * t + turn[4])
    middle = 0.5 * (left + right)
    y = middle + (s - 0.5) * (right - left) * waist + 0.012 * t * np.sin(9 * s + turn[5])
    out = x + deep * wave + 0.008 * soft * t
    z = top - t * (top - low) + 0.008 * t * np.sin(7 * s + turn[0])
    grid, uv = np.stack([out, y, z], -1), np.stack([2 * y, z], -1)
    return cloth(grid[::-1], uv[::-1], "curtain")


def curtained(w: float, d: float, holes: list[Opening], rng: np.random.Generator) -> list[Mesh]:
    """A rod over each window and a curtain in folds at both its sides; slots curtain and pipe."""
    parts = []
    for u0, u1, v0, v1 in holes:
        x, top = -w + 0.13, v1 + 0.16
        y0, y1 = u0 - d, u1 - d
        parts.append(tube((x, y0 - 0.45, top + 0.03), (x, y1 + 0.45, top + 0.03), 0.014, "pipe"))
        for left, right in ((y0 - 0.40, y0 + 0.04), (y1 - 0.04, y1 + 0.40)):
            parts.append(_curtain(x, left, right, max(v0 - 0.55, 0.06), top, rng))
    return [join(parts)] if parts else []
