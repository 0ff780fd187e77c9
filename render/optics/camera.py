"""The camera: what each pixel of a picture looks at, and the frame everything is said in.

The frame, stated once
----------------------
Origin at the lens centre; **x right, y down, z forward** along the sensor's normal.
Scene lengths are metres, lens and sensor lengths millimetres, angles degrees.
*Depth* is z, never the length of the ray; ``inf`` is the sky.
The sensor stays perpendicular to z; the lens turns about the origin.
**Positive tilt turns the lens axis down, positive swing turns it right.**
Positive rise moves the view up, positive lateral shift moves it right.
A *slope* is the pair (x/z, y/z) of a ray: right and down, no unit.
Pixel (column i, row j) has its centre at x = i + 0.5, y = j + 0.5.
"""

import math
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import SettingError
from render.optics.checked import finite

__all__ = ["Camera", "Sensor", "Terrain", "Vantage", "Window"]


@dataclass(frozen=True, slots=True)
class Sensor:
    """The light-sensitive rectangle of the planned camera, mm."""

    width_mm: float = 36.0
    height_mm: float = 24.0

    def __post_init__(self) -> None:
        for name in ("width_mm", "height_mm"):
            value = getattr(self, name)
            if not (finite(value) and value > 0):
                raise SettingError(f"sensor {name} must be a number above 0, not {value!r}")

    @property
    def diagonal_mm(self) -> float:
        """Length of the diagonal, mm."""
        return math.hypot(self.width_mm, self.height_mm)

    @property
    def portrait(self) -> "Sensor":
        """The same sensor on its side, taller than wide."""
        long, short = max(self.width_mm, self.height_mm), min(self.width_mm, self.height_mm)
        return Sensor(short, long)


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of whole pixels inside a picture: left, top, width, height."""

    left: int
    top: int
    width: int
    height: int

    def __post_init__(self) -> None:
        if min(self.left, self.top) < 0 or min(self.width, self.height) < 1:
            raise SettingError(f"a window needs left, top >= 0 and width, height >= 1: {self}")

    @property
    def rows(self) -> slice:
        """The rows as a slice of an (H, W) array."""
        return slice(self.top, self.top + self.height)

    @property
    def columns(self) -> slice:
        """The columns as a slice of an (H, W) array."""
        return slice(self.left, self.left + self.width)


class Terrain(Protocol):
    """Ground that is not level, as it lies before a camera. Hashable."""

    def rise_m(
        self, right_m: NDArray[np.float64], ahead_m: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Height (m) over the ground below the lens at level metres to the right and ahead."""


@dataclass(frozen=True, slots=True)
class Vantage:
    """Where the camera stands: height above the ground and how it is held.

    Attributes
    ----------
    height_m : float
        Height of the lens above the ground, > 0.
    pitch_deg : float
        Positive looks down; inside (-90, 90).
    roll_deg : float
        Positive turns the camera clockwise (the horizon then drops on the left).
    terrain : Terrain or None
        How the ground rises and falls round the camera; None is level ground.
    """

    height_m: float
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    terrain: Terrain | None = None

    def __post_init__(self) -> None:
        if not (finite(self.height_m) and self.height_m > 0):
            raise SettingError(f"height must be a number of metres above 0, not {self.height_m!r}")
        for name in ("pitch_deg", "roll_deg"):
            if not (finite(getattr(self, name)) and abs(getattr(self, name)) < 90):
                raise SettingError(
                    f"{name} must lie between -90 and 90, not {getattr(self, name)!r}"
                )


@dataclass(frozen=True, slots=True)
class Camera:
    """What the pixels of one picture look at.

    Only angles matter to the optics: a picture's rays stay as they were taken, whatever
    lens is planned for it. A shifted sensor is a principal point away from the centre.

    Attributes
    ----------
    width_px, height_px : int
        Size of the picture.
    focal_px : float
        Pixels per unit of slope (square pixels), > 0.
    centre_x_px, centre_y_px : float
        Where the z axis meets the picture; NaN (the default) means the middle.

    Raises
    ------
    SettingError
        If a size is below 1 or the focal length is not a number above 0.
    """

    width_px: int
    height_px: int
    focal_px: float
    centre_x_px: float = math.nan
    centre_y_px: float = math.nan

    def __post_init__(self) -> None:
        if min(self.width_px, self.height_px) < 1:
            raise SettingError(f"a picture of {self.width_px} x {self.height_px} px is empty")
        if not (finite(self.focal_px) and self.focal_px > 0):
            raise SettingError(f"focal_px must be a number above 0, not {self.focal_px!r}")
        if math.isnan(self.centre_x_px):
            object.__setattr__(self, "centre_x_px", self.width_px / 2)
        if math.isnan(self.centre_y_px):
            object.__setattr__(self, "centre_y_px", self.height_px / 2)

    @classmethod
    def from_lens(cls, width_px: int, height_px: int, focal_mm: float, sensor: Sensor) -> "Camera":
        """Build the camera of a picture that fills `sensor`'s width behind `focal_mm`."""
        return cls(width_px, height_px, focal_mm * width_px / sensor.width_mm)

    def slopes(self, x_px: ArrayLike, y_px: ArrayLike) -> NDArray[np.float64]:
        """Slopes (x/z, y/z) of the rays through picture positions.

        Parameters
        ----------
        x_px, y_px : array_like, shape (...)
            Positions in the picture; pixel centres lie at +0.5.

        Returns
        -------
        ndarray, shape (..., 2), float64
        """
        x, y = np.broadcast_arrays(np.asarray(x_px, float), np.asarray(y_px, float))
        return np.stack(
            [(x - self.centre_x_px) / self.focal_px, (y - self.centre_y_px) / self.focal_px],
            axis=-1,
        )

    def positions(self, slopes: ArrayLike) -> NDArray[np.float64]:
        """Picture positions (x, y) in px of rays given by their slopes, shape (..., 2)."""
        centre = np.array([self.centre_x_px, self.centre_y_px])
        return np.asarray(np.asarray(slopes, float) * self.focal_px + centre)

    def holds(self, x_px: float, y_px: float) -> bool:
        """Whether a position lies in the picture, its borders counted in."""
        return bool(0 <= x_px <= self.width_px and 0 <= y_px <= self.height_px)

    def shows(self, slope_x: float, slope_y: float) -> bool:
        """Whether the picture holds a ray given by its slopes."""
        return self.holds(*self.positions((slope_x, slope_y)))

    def grid(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Slopes of the pixel centres: x of the columns (W,), y of the rows (H,)."""
        columns = (np.arange(self.width_px, dtype=float) + 0.5 - self.centre_x_px) / self.focal_px
        rows = (np.arange(self.height_px, dtype=float) + 0.5 - self.centre_y_px) / self.focal_px
        return np.asarray(columns), np.asarray(rows)

    def cropped(self, window: Window) -> "Camera":
        """Return the camera of the part of the picture inside `window`."""
        return replace(
            self,
            width_px=window.width,
            height_px=window.height,
            centre_x_px=self.centre_x_px - window.left,
            centre_y_px=self.centre_y_px - window.top,
        )

    def resized(self, width_px: int, height_px: int) -> "Camera":
        """Return the camera of the same view in `width_px` columns and `height_px` rows."""
        scale_x, scale_y = width_px / self.width_px, height_px / self.height_px
        return Camera(
            width_px,
            height_px,
            self.focal_px * math.sqrt(scale_x * scale_y),
            self.centre_x_px * scale_x,
            self.centre_y_px * scale_y,
        )

    def sensor(self, focal_mm: float) -> Sensor:
        """Return the sensor that this picture fills behind a lens of `focal_mm`."""
        mm_per_px = focal_mm / self.focal_px
        return Sensor(self.width_px * mm_per_px, self.height_px * mm_per_px)
