"""A scene at the size it will be shown: light is averaged, depth is sampled."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from render.optics.camera import Window
from render.scene.scene import Behind, Scene
from render.threads import each_share

__all__ = ["averaged", "fitted", "resized", "sampled"]

T = TypeVar("T", bound=np.generic)


def resized(scene: Scene, frame_long_px: int) -> Scene:
    """Return the scene with its frame's longer side `frame_long_px` pixels, never enlarged.

    Light is averaged over the exact area of each new pixel. Depth is the depth at the new
    pixel's centre: a mean across an edge would be a surface that is not there.
    """
    frame = scene.frame
    scale = frame_long_px / max(frame.width, frame.height)
    if scale >= 1:
        return scene
    height, width = scene.depth_m.shape
    new_height, new_width = max(1, round(height * scale)), max(1, round(width * scale))
    behind = scene.behind and Behind(
        sampled(scene.behind.picture, new_height, new_width),
        sampled(scene.behind.depth_m, new_height, new_width),
    )
    return Scene(
        picture=averaged(scene.picture, new_height, new_width),
        depth_m=sampled(scene.depth_m, new_height, new_width),
        camera=scene.camera.resized(new_width, new_height),
        window=scene.window and _scaled(scene.window, scene, new_width, new_height),
        behind=behind,
        vantage=scene.vantage,
    )


def sampled(whole: NDArray[T], height: int, width: int) -> NDArray[T]:
    """Shrink an array (H, W, ...) to (height, width, ...): what was at each new pixel's centre."""
    rows, columns = _nearest(whole.shape[0], height), _nearest(whole.shape[1], width)
    return whole[rows[:, None], columns[None, :]]


def averaged(picture: NDArray[np.float32], height: int, width: int) -> NDArray[np.float32]:
    """Shrink a picture (H, W, 3) to (height, width, 3), each new pixel the mean of its area."""
    old_height, old_width = picture.shape[:2]
    (above, down), across = _shares(old_height, height), _shares(old_width, width)
    rows, made = picture.reshape(old_height, -1), np.empty((height, width, 3), picture.dtype)

    def band(first: int, last: int) -> None:
        standing = _mixed(rows, above[:, first:last], down[:, first:last])
        turned = standing.reshape(-1, old_width, 3).transpose(1, 0, 2).reshape(old_width, -1)
        made[first:last] = _mixed(turned, *across).reshape(width, -1, 3).transpose(1, 0, 2)

    each_share(height, band)
    return made


def fitted(picture: NDArray[np.float32], long_px: int) -> NDArray[np.float32]:
    """Shrink a picture (H, W, 3) until its longer side has `long_px` pixels; never enlarged."""
    height, width = picture.shape[:2]
    scale = long_px / max(height, width)
    if scale >= 1:
        return picture
    return averaged(picture, max(1, round(height * scale)), max(1, round(width * scale)))


def _shares(old: int, new: int) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Old cells that reach into each new one, and their shares of it, which sum to 1: (K, new)."""
    borders = np.linspace(0, old, new + 1)
    reach = np.arange(int(np.ceil(old / new)) + 1)
    cells = np.floor(borders[:-1]).astype(np.intp) + reach[:, None]
    overlap = np.minimum(cells + 1, borders[1:]) - np.maximum(cells, borders[:-1])
    overlap[(overlap <= 1e-9) | (cells >= old)] = 0.0
    some = overlap.any(axis=1)
    return np.minimum(cells, old - 1)[some], (overlap * (new / old)).astype(np.float32)[some]


def _mixed(
    rows: NDArray[np.float32], cells: NDArray[np.intp], shares: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Rows that are sums of others by their shares (scipy.sparse is loaded for a tenth of 1 s)."""
    mixed = np.zeros((cells.shape[1], rows.shape[1]), rows.dtype)
    one = np.empty_like(mixed)
    for which, share in zip(cells, shares, strict=True):
        rows.take(which, axis=0, out=one, mode="clip")
        one *= share[:, None]
        mixed += one
    return mixed


def _nearest(old: int, new: int) -> NDArray[np.intp]:
    return np.minimum(((np.arange(new) + 0.5) * old / new).astype(np.intp), old - 1)


def _scaled(window: Window, scene: Scene, width: int, height: int) -> Window:
    across, down = width / scene.camera.width_px, height / scene.camera.height_px
    left, top = round(window.left * across), round(window.top * down)
    return Window(
        left,
        top,
        min(max(1, round(window.width * across)), width - left),
        min(max(1, round(window.height * down)), height - top),
    )
