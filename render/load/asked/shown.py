"""How much of a scene's thing with a name the frame shows, and how much its edges cut off."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from render.optics.camera import Camera
from render.optics.solving.selective import Region

__all__ = ["cut_off", "seen_in"]

#: A thing is looked for at so many places across the frame, and is seen as a whole where it shows
#: at so many of all; of less its one place counts.
_ACROSS, _LEAST = 96, 12

DepthsOf = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def seen_in(camera: Camera, depths_of: DepthsOf) -> tuple[Region, NDArray[np.bool_]] | None:
    """What the frame shows of a thing, and its pixels, shape (H, W); None of one too small.

    Asked on a grid, whose every place stands for the pixels round it.

    Parameters
    ----------
    depths_of : callable
        Depths (N,) at which rays of given slopes (N, 2) show it, ``inf`` elsewhere.
    """
    step = _step(camera)
    columns = np.arange(step // 2, camera.width_px, step)
    rows = np.arange(step // 2, camera.height_px, step)
    slopes = _slopes(camera, columns, rows)
    depths = depths_of(slopes)
    shown = np.isfinite(depths)
    if shown.sum() < _LEAST:
        return None
    cells = np.kron(shown.reshape(len(rows), len(columns)), np.ones((step, step), bool))
    pixels = np.zeros((camera.height_px, camera.width_px), bool)
    cells = cells[: pixels.shape[0], : pixels.shape[1]]
    pixels[: cells.shape[0], : cells.shape[1]] = cells
    return Region(slopes[shown], 1.0 / depths[shown]), pixels


def cut_off(camera: Camera, depths_of: DepthsOf) -> tuple[float, tuple[str, ...]]:
    """Share of a thing that lies beyond the frame's edges, and past which of them.

    Of what would show of it, were the frame twice as wide and twice as high. Nothing more is
    asked of a thing that does not cross an edge.

    Parameters
    ----------
    depths_of : callable
        As of `seen_in`.

    Returns
    -------
    share, sides : float, tuple of {"left of", "right of", "above", "below"}
    """
    step = _step(camera)
    width, height = camera.width_px, camera.height_px
    columns, rows = np.arange(step // 2, width, step), np.arange(step // 2, height, step)
    just_past = {
        "left of": _slopes(camera, np.array([-1]), rows),
        "right of": _slopes(camera, np.array([width]), rows),
        "above": _slopes(camera, columns, np.array([-1])),
        "below": _slopes(camera, columns, np.array([height])),
    }
    sides = tuple(side for side, rays in just_past.items() if np.isfinite(depths_of(rays)).any())
    if not sides:
        return 0.0, ()
    columns, rows = (
        np.arange(-size // 2 + step // 2, size + size // 2, step) for size in (width, height)
    )
    shown = np.isfinite(depths_of(_slopes(camera, columns, rows))).reshape(len(rows), len(columns))
    inside = (columns >= 0) & (columns < width) & ((rows >= 0) & (rows < height))[:, None]
    return 1.0 - float(shown[inside].sum()) / max(float(shown.sum()), 1.0), sides


def _step(camera: Camera) -> int:
    return max(1, round(camera.width_px / _ACROSS))


def _slopes(
    camera: Camera, columns: NDArray[np.int_], rows: NDArray[np.int_]
) -> NDArray[np.float64]:
    """Rays through the middles of all these pixels, row by row, be they beyond the frame."""
    y, x = np.meshgrid(rows, columns, indexing="ij")
    return np.asarray(camera.slopes(x.ravel() + 0.5, y.ravel() + 0.5))
