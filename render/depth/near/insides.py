"""What belongs to the thing at a spot, as a small network tells it in a square of the picture.

The network (O. Ronneberger, P. Fischer, T. Brox, "U-Net", MICCAI 2015; its inputs after
K. Sofiiuk, I. Petrov, A. Konushin, "Reviving iterative training with mask guidance for
interactive segmentation", ICIP 2022) was trained on views of the shipped scenes, in which the
tracer knows every pixel's thing, on things of theirs laid over photographs, and on bars, branches
and wires drawn with their strokes: `tests/bench/cutout_training.py`. How well it does where it
was not trained: `render/depth/README.md`.
"""

import functools
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import IO

import numpy as np
from numpy.typing import NDArray

from render.depth.near.convolve import convolved

__all__ = ["SIDE", "Network", "Square", "likelihood", "network_from", "shipped_network"]

Plane = NDArray[np.float32]
Place = tuple[float, float]

SIDE = 128  # cells of a square, each way
_SPOT_CELLS, _STROKE_CELLS = 3.0, 1.0  # radius of a spot and of a stroke as the network sees them
_MIDDLE, _SPREAD = 0.45, 0.25  # of coded light, about
_DEEP = 5  # sizes of the square that it works at


@dataclass(frozen=True, slots=True)
class Square:
    """A square of a picture: where its middle is, and how long a side, px of the picture."""

    middle: Place
    side_px: float

    def places(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Columns x (1, SIDE) and rows y (SIDE, 1) of the cells' middles, px."""
        out = (np.arange(SIDE) + 0.5) * (self.side_px / SIDE) - self.side_px / 2
        x, y = (np.asarray(middle + out, np.float64) for middle in self.middle)
        return x[None, :], y[:, None]

    def inside(self, height: int, width: int) -> Plane:
        """1 for the cells whose middle lies in a picture of that size, else 0."""
        x, y = self.places()
        return ((x >= 0) & (x < width) & (y >= 0) & (y < height)).astype(np.float32)

    def spots(self, spots: Sequence[Place]) -> Plane:
        """1 for the cells near a spot, else 0."""
        x, y = self.places()
        reach = _SPOT_CELLS * self.side_px / SIDE
        near = np.zeros((SIDE, SIDE), np.bool_)
        for spot in spots:
            near |= (x - spot[0]) ** 2 + (y - spot[1]) ** 2 < reach * reach
        return near.astype(np.float32)

    def stroke(self, line_px: NDArray[np.float64]) -> Plane:
        """1 for the cells near a stroke (K, 2), else 0."""
        x, y = self.places()
        reach = _STROKE_CELLS * self.side_px / SIDE
        near = np.zeros((SIDE, SIDE), np.bool_)
        for (from_x, from_y), (to_x, to_y) in itertools.pairwise(line_px):
            long_x, long_y = to_x - from_x, to_y - from_y
            length2 = max(long_x * long_x + long_y * long_y, 1e-9)
            along = ((x - from_x) * long_x + (y - from_y) * long_y) / length2
            along = np.clip(along, 0.0, 1.0)
            off_x, off_y = x - from_x - along * long_x, y - from_y - along * long_y
            near |= off_x**2 + off_y**2 < reach * reach
        return near.astype(np.float32)


def likelihood(
    code: Plane, inside: Plane, more: Plane, less: Plane, before: Plane
) -> NDArray[np.float32]:
    """How likely each cell of a square belongs to the thing, 0 to 1, shape (SIDE, SIDE).

    Parameters
    ----------
    code : ndarray, shape (3, SIDE, SIDE)
        The picture there, sRGB codes 0 to 1.
    inside, more, less : ndarray, shape (SIDE, SIDE)
        Cells in the picture; spots or a stroke that belong to the thing, and spots that do not.
    before : ndarray, shape (SIDE, SIDE)
        What was found with one spot less; 0 where nothing was.
    """
    planes = [(code - _MIDDLE) / _SPREAD * inside, *(p[None] for p in (inside, more, less, before))]
    found = shipped_network()(np.concatenate(planes).astype(np.float32))
    return np.asarray(inside / (1.0 + np.exp(-np.clip(found, -30, 30))), np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """A U-Net as its weights by name; batch norms are folded into them."""

    weights: Mapping[str, Plane]

    def __call__(self, planes: Plane) -> Plane:
        """Log odds, (SIDE, SIDE), from (7, SIDE, SIDE)."""
        passed: list[Plane] = []
        for level in range(_DEEP):
            if level:
                count, height, width = planes.shape
                planes = planes.reshape(count, height // 2, 2, width // 2, 2).max(axis=(2, 4))
            planes = self._twice(planes, f"down{level}")
            passed.append(planes)
        for level in range(_DEEP - 2, -1, -1):
            larger = planes.repeat(2, axis=1).repeat(2, axis=2)
            planes = self._twice(np.concatenate([passed[level], larger]), f"up{level}")
        last = self.weights["head_weights"][:, None, None]
        return np.asarray((planes * last).sum(axis=0) + self.weights["head_bias"], np.float32)

    def _twice(self, planes: Plane, name: str) -> Plane:
        for turn in range(2):
            weights, bias = (self.weights[f"{name}_{turn}_{k}"] for k in ("weights", "bias"))
            out = np.empty((len(bias), *planes.shape[1:]), np.float32)
            convolved(np.pad(planes, ((0, 0), (1, 1), (1, 1))), weights, bias, out)
            planes = out
        return planes


def network_from(file: IO[bytes]) -> Network:
    """Read weights as `tests/bench/cutout_training.py` writes them."""
    with np.load(file) as held:
        return Network({name: held[name].astype(np.float32) for name in held.files})


@functools.cache
def shipped_network() -> Network:
    """The network that comes with the program."""
    with files("render.depth.near").joinpath("insides.npz").open("rb") as file:
        return network_from(file)
