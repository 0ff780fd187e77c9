"""Upright walls with openings, and how what belongs to a wall is put on to it."""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from render.world.mesh import Mesh, join, moved, quads
from render.world.surfaces.rules import PANE_STEP_M, SHOP_PANES, under_ledge
from render.world.surfaces.wear import DRIP_M

__all__ = ["Opening", "placer", "rect", "wall_panel"]

#: Panes that begin this low and are so wide are a shop's.
_SHOP_WIDE_M = 1.3
#: Left, right, bottom and top of a hole in a wall, metres along it and above its foot.
Opening = tuple[float, float, float, float]

#: Spread of the slopes of panes, and of their corners about them.
_LEAN, _BENT = 0.012, 0.005

#: So far a sill reaches beyond its window, and so far below it its drips are followed.
_SILL_M, _RUNS_M = 0.08, 2.6


def wall_panel(
    a: Sequence[float],
    b: Sequence[float],
    low: float,
    high: float,
    openings: Sequence[Opening],
    reveal: float,
    slot: str,
    shift_m: float = 0.0,
    panes_m: Sequence[float] = (),
) -> Mesh:
    """An upright wall from a to b (outside on the right of a to b) with openings.

    Each opening (left, right, bottom, top) in metres along and above gets its reveals of
    `reveal` metres and a pane.  The wall knows the ledge over each part of it, a sill or its top,
    from which rain runs; `shift_m`, a multiple of `DRIP_M`, moves its stains along it.  `panes_m`
    says of each opening how far back its pane lies, if not where its reveals end.  Slots: `slot`
    and pane.
    """
    width = math.dist(a, b)
    shift_m = shift_m if width + shift_m < 60 else 0.0
    wet = [_wet(o) for o in openings]
    edges = [o[i] for o in (*openings, *wet) for i in (0, 1)]
    us = np.unique(np.round([0.0, width, *edges], 4))
    vs = np.unique(np.round([low, high, *(o[i] for o in openings for i in (2, 3))], 4))
    us, vs = us[(us >= 0) & (us <= width)], vs[(vs >= low) & (vs <= high)]
    walls: list[tuple[float, float, float, float, float]] = []
    left, right, bottom, top = np.array(openings, float).reshape(-1, 4, 1).swapaxes(0, 1)
    beside, above = (us[1:] + us[:-1]) / 2, (vs[1:] + vs[:-1]) / 2
    across, along = (bottom < above) & (above < top), (left < beside) & (beside < right)
    opens = (across[:, :, None] & along[:, None]).any(axis=0)
    for row, (v0, v1) in enumerate(itertools.pairwise(vs)):
        for column, (u0, u1) in enumerate(itertools.pairwise(us)):
            if opens[row, column]:
                continue
            um, vm = beside[column], above[row]
            sills = (w[2] for w in wet if w[0] < um < w[1] and vm < w[2] < vm + _RUNS_M)
            ledge = min(sills, default=high)
            if walls and walls[-1][1:] == (u0, v0, v1, ledge):
                walls[-1] = (walls[-1][0], u1, v0, v1, ledge)
            else:
                walls.append((u0, u1, v0, v1, ledge))
    local = [[(u0, 0, v0), (u1, 0, v0), (u1, 0, v1), (u0, 0, v1)] for u0, u1, v0, v1, _ in walls]
    uv = []
    for u0, u1, v0, v1, ledge in walls:
        first = under_ledge(ledge, width + shift_m) + shift_m
        uv.append([(first + u, v) for u, v in ((u0, v0), (u1, v0), (u1, v1), (u0, v1))])
    reveals, panes = [], []
    r = reveal
    for (u0, u1, v0, v1), back in zip(openings, panes_m or [r] * len(openings), strict=True):
        reveals += [
            [(u0, 0, v0), (u0, r, v0), (u0, r, v1), (u0, 0, v1)][::-1],
            [(u1, 0, v0), (u1, 0, v1), (u1, r, v1), (u1, r, v0)][::-1],
            [(u0, 0, v0), (u1, 0, v0), (u1, r, v0), (u0, r, v0)],
            [(u0, 0, v1), (u0, r, v1), (u1, r, v1), (u1, 0, v1)],
        ]
        panes.append(rect(u0, u1, v0, v1, back))
    parts = [quads(local, slot, uv)] if local else []
    if panes:
        parts += [quads(reveals, slot), _panes(panes, _pane_uv(a, b, openings))]
    return placer(a, b)(join(parts), 0.0, 0.0)


def _wet(o: Opening) -> tuple[float, float, float]:
    """Left and right end of what an opening's sill wets, on the edges of drips, and its height."""
    return (
        DRIP_M * math.floor((o[0] - _SILL_M) / DRIP_M),
        DRIP_M * math.ceil((o[1] + _SILL_M) / DRIP_M),
        o[2],
    )


def _panes(
    faces: Sequence[Sequence[Sequence[float]]], uv: Sequence[Sequence[Sequence[float]]]
) -> Mesh:
    """Panes that nobody set quite true: each mirrors another piece of sky or street, a bit bent."""
    flat = quads(faces, "pane", uv)
    rng = np.random.default_rng(int(uv[0][0][0]))
    lean = rng.normal(0, _LEAN, (len(faces), 1, 2)) + rng.normal(0, _BENT, (len(faces), 4, 2))
    normal = np.stack([lean[..., 0], np.full(lean.shape[:2], -1.0), lean[..., 1]], -1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    turned = normal[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3, 3)
    return replace(flat, normal=turned) if len(turned) == len(flat.xyz) else flat


def _pane_uv(
    a: Sequence[float], b: Sequence[float], openings: Sequence[Opening]
) -> list[list[tuple[float, float]]]:
    """Metres across each pane, and its number: another for each pane of each wall.

    A shop's panes count from `SHOP_PANES` on.
    """
    first = int(abs(29 * a[0] + 53 * a[1] + 71 * b[0] + 97 * b[1])) % 960
    found = []
    for k, (u0, u1, v0, v1) in enumerate(openings):
        shop = SHOP_PANES if u1 - u0 > _SHOP_WIDE_M and v0 < 0.7 else 0
        left = PANE_STEP_M * (first + k % 64 + shop)
        right, top = left + u1 - u0, v1 - v0
        found.append([(left, 0.0), (right, 0.0), (right, top), (left, top)])
    return found


def placer(a: Sequence[float], b: Sequence[float]) -> Callable[[Mesh, float, float], Mesh]:
    """Moves a part drawn at (along, inward, up) on to the wall from a to b."""
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))

    def place(mesh: Mesh, u: float, v: float) -> Mesh:
        shifted = moved(mesh, (u, 0.0, v))
        return moved(shifted, (a[0], a[1], 0.0), turn)

    return place


def rect(u0: float, u1: float, v0: float, v1: float, y: float) -> list[tuple[float, float, float]]:
    """An upright face, `y` metres behind the front of a wall."""
    return [(u0, y, v0), (u1, y, v0), (u1, y, v1), (u0, y, v1)]
