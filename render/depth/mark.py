"""`Mark`: a place in the picture whose distance somebody knows."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes
from render.words import length_words

__all__ = [
    "Mark",
    "Measured",
    "depth_at",
    "marked_depths",
    "marked_slopes",
    "passed_over",
    "pixel_of",
]

#: "axis": z along the camera axis; "range": straight line from the lens, as a rangefinder reads
#: it; "map": level distance, as read from a map.
Measured = Literal["axis", "range", "map"]


_TYPED = 0.02  # log ratio within which a typed distance holds: how finely one is typed


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in the picture at a known distance.

    Attributes
    ----------
    x_px, y_px : float
        Picture position, x right and y down from the top left corner.
    distance_m : float
        > 0; how it was measured says `measured`.
    measured : {"axis", "range", "map"}
        Along the camera axis, straight from the lens, or level on the map.
    """

    x_px: float
    y_px: float
    distance_m: float
    measured: Measured = "axis"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.x_px) and math.isfinite(self.y_px)):
            raise InputError("a mark needs a place in the picture")
        if not (math.isfinite(self.distance_m) and self.distance_m > 0):
            raise InputError(
                f"{self._place()}: a marked distance must be a number of metres above 0; "
                "the sky is given by its outline"
            )
        if self.measured not in ("axis", "range", "map"):
            raise InputError(
                f'{self._place()}: measured must be "axis", "range" or "map", not "{self.measured}"'
            )

    def __str__(self) -> str:
        return f"{self._place()}, {length_words(self.distance_m)}"

    def _place(self) -> str:
        return f"mark at ({self.x_px:.0f}, {self.y_px:.0f})"


def marked_slopes(camera: Camera, marks: tuple[Mark, ...]) -> NDArray[np.float64]:
    """Slopes of the rays through marks, shape (K, 2).

    Raises
    ------
    InputError
        If a mark lies outside the picture.
    """
    for mark in marks:
        if not camera.holds(mark.x_px, mark.y_px):
            raise InputError(
                f"the {mark} lies outside the picture of {camera.width_px} x {camera.height_px} px"
            )
    return camera.slopes([m.x_px for m in marks], [m.y_px for m in marks])


def marked_depths(
    camera: Camera, marks: tuple[Mark, ...], vantage: Vantage | None = None
) -> NDArray[np.float64]:
    """Depth z of marks in metres, shape (K,), whichever way they were measured.

    A ray is ``D = (x/z, y/z, 1)``: a straight distance r gives ``z = r / |D|``. A level distance
    g is ``z`` times the part of D across the plumb line n: ``z = g / sqrt(|D|^2 - (n.D)^2)``.

    Raises
    ------
    InputError
        If a mark lies outside the picture, or was measured on a map and no vantage tells which
        way is down.
    """
    slopes = marked_slopes(camera, marks)
    rays = np.concatenate([slopes, np.ones((len(marks), 1))], axis=1)
    squared = np.sum(rays**2, axis=1)
    level = squared
    if any(mark.measured == "map" for mark in marks):
        if vantage is None:
            raise InputError(
                "distances from a map need to know which way the camera looks: "
                "give the pitch (or the horizon) and the height"
            )
        level = squared - (rays @ plumb_line(vantage)) ** 2
    shrink = {"axis": np.ones(len(marks)), "range": squared, "map": level}
    return np.array([m.distance_m / math.sqrt(shrink[m.measured][k]) for k, m in enumerate(marks)])


def pixel_of(mark: Mark, shape: tuple[int, ...]) -> tuple[int, int]:
    """Row and column of the pixel that a mark lies in, of a picture (height, width)."""
    return min(int(mark.y_px), shape[0] - 1), min(int(mark.x_px), shape[1] - 1)


def depth_at(depth_m: NDArray[np.float32], mark: Mark) -> float:
    """Depth of the pixel that a mark lies in."""
    return float(depth_m[pixel_of(mark, depth_m.shape)])


def passed_over(
    depth_m: NDArray[np.float32],
    camera: Camera,
    marks: tuple[Mark, ...],
    vantage: Vantage | None = None,
) -> tuple[str, ...]:
    """Say of each mark where the finished depth is another than was typed, and which.

    Errors as in `marked_depths`.
    """
    typed = marked_depths(camera, marks, vantage) if marks else ()
    found = [(mark, own, depth_at(depth_m, mark)) for mark, own in zip(marks, typed, strict=True)]
    return tuple(
        f"the {mark}, does not hold at its spot: the depth there is {length_words(there)}, of what "
        "was named or drawn over it or of the depth file that the marks only scale"
        for mark, own, there in found
        if not abs(math.log(there / own)) <= _TYPED
    )


def plumb_line(vantage: Vantage) -> NDArray[np.float64]:
    """Unit vector straight down in the camera's frame, shape (3,).

    ``(sin r cos p, cos r cos p, sin p)`` for pitch p (down) and roll r (camera clockwise).
    """
    return np.asarray(level_axes(vantage)[1])
