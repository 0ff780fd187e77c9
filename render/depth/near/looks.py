"""Squares of a picture shown to the small network of `insides.py`, and laid back on the picture."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.near.insides import SIDE, Square, likelihood

__all__ = ["Looks"]

Plane = NDArray[np.float32]

_LEAST_PX = 48  # the coarsest size of a picture is under twice this


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """A picture at several sizes, at squares of which one can look.

    Attributes
    ----------
    levels : tuple of ndarray, shape (3, h, w)
        sRGB codes; each at half the size of the one before.
    shape : tuple of 2 ints
        Of the picture, and of what is laid on it.
    """

    levels: tuple[Plane, ...]
    shape: tuple[int, int]

    @classmethod
    def at(cls, light: Plane) -> "Looks":
        """At a picture of linear light, shape (H, W, 3)."""
        levels = [np.ascontiguousarray(np.moveaxis(_srgb(light), -1, 0))]
        while min(levels[-1].shape[1:]) >= _LEAST_PX:
            _, height, width = levels[-1].shape
            even = levels[-1][:, : height // 2 * 2, : width // 2 * 2]
            halves = even.reshape(3, height // 2, 2, width // 2, 2)
            levels.append(halves.mean(axis=(2, 4), dtype=np.float32))
        return cls(tuple(levels), (light.shape[0], light.shape[1]))

    def seen(
        self, square: Square, more: Plane, less: Plane, before: Plane | None = None
    ) -> tuple[Plane, Plane]:
        """How likely each cell belongs to the thing, and which cells lie in the picture.

        `more` and `less` are cells of the square as `likelihood` takes them; `before` is what was
        found in the picture with one spot less.
        """
        from scipy.ndimage import map_coordinates, uniform_filter

        x, y = square.places()
        step = square.side_px / SIDE
        level = int(np.clip(np.log2(max(step, 1.0)) + 0.25, 0, len(self.levels) - 1))
        at = np.broadcast_arrays(y / 2.0**level - 0.5, x / 2.0**level - 0.5)
        code = [map_coordinates(p, at, order=1, mode="nearest") for p in self.levels[level]]
        held = square.inside(*self.shape)
        earlier = np.zeros_like(held)
        if before is not None:
            blurred = uniform_filter(before, round(step)) if step > 1.5 else before
            where = np.broadcast_arrays(y - 0.5, x - 0.5)
            earlier = held * map_coordinates(blurred, where, order=1, mode="constant")
        return likelihood(np.stack(code), held, more, less, earlier), held

    def laid(self, square: Square, values: Plane, held: Plane) -> Plane:
        """Values of a square's cells in the picture; what lies beyond its border is 0."""
        from scipy.ndimage import map_coordinates

        found = np.zeros(self.shape, np.float32)
        ranges = []
        for middle, size in zip(square.middle, self.shape[::-1], strict=True):
            start, stop = middle - square.side_px / 2, middle + square.side_px / 2
            ranges.append((max(0, int(np.floor(start))), min(size, int(np.ceil(stop)))))
        (left, right), (top, bottom) = ranges
        scale = SIDE / square.side_px
        x = (np.arange(left, right) + 0.5 - square.middle[0]) * scale + SIDE / 2 - 0.5
        y = (np.arange(top, bottom) + 0.5 - square.middle[1]) * scale + SIDE / 2 - 0.5
        rows, columns = (np.flatnonzero(held.any(axis=axis)) for axis in (1, 0))
        within = np.clip(y, rows[0], rows[-1]), np.clip(x, columns[0], columns[-1])
        at = np.meshgrid(*within, indexing="ij")
        found[top:bottom, left:right] = map_coordinates(values, at, order=1, mode="nearest")
        return found


def _srgb(light: Plane) -> Plane:
    """Codes 0 to 1 of linear light (IEC 61966-2-1); depth knows nothing of scenes' colours."""
    clipped = np.clip(light, 0.0, 1.0)
    curve = 1.055 * np.power(clipped, 1 / 2.4) - 0.055
    return np.asarray(np.where(clipped <= 0.0031308, 12.92 * clipped, curve), np.float32)
