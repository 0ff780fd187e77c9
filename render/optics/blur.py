"""The exact blur figure of a scene point: a signed ellipse on the sensor.

The aperture disc in the tilted lens plane, projected through the conjugate image point on to
the sensor, is exactly an ellipse. It is given here in picture coordinates (x right, y down).
Derived in `spots`; checked against traced rays in tests/optics and against an independent
library in tests/outside.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from render.errors import SettingError
from render.optics.camera import Camera
from render.optics.plane import FocusedLens

__all__ = [
    "BlurField",
    "Spots",
    "blur_field",
    "blur_mm",
    "blur_slope",
    "defocus",
    "slope_per_defocus",
    "spots",
]


def defocus(lens: FocusedLens, slopes: ArrayLike, inverse_depth: ArrayLike) -> NDArray[np.float64]:
    """Signed defocus d of scene points: 0 sharp, > 0 nearer, < 0 farther than the sharp plane.

    ``d = 1 + v/z - (v/f) n.D``; the blur's diameter on the sensor is nearly ``(f/N) |d|``.
    At zero tilt this is the textbook circle of confusion (Potmesil & Chakravarty 1981,
    from memory).

    Parameters
    ----------
    slopes : array_like, shape (..., 2)
    inverse_depth : array_like, shape (...)
        1/z in 1/m; 0 is infinity.

    Returns
    -------
    ndarray, shape (...), float64
    """
    sharp = lens.sharp_inverse_depth(slopes)
    return np.asarray(lens.extension_mm * (np.asarray(inverse_depth, float) - sharp) / 1000.0)


def blur_mm(lens: FocusedLens, slopes: ArrayLike, inverse_depth: ArrayLike) -> NDArray[np.float64]:
    """Diameter of the blur on the sensor, mm: ``(f/N) |d|``, shapes as in `defocus`."""
    return np.asarray(2.0 * lens.aperture_radius_mm * np.abs(defocus(lens, slopes, inverse_depth)))


def slope_per_defocus(lens: FocusedLens) -> float:
    """What turns a defocus into the blur's diameter as an angle (a slope): ``2 r / v``.

    The diameter ``2 r |d|`` on a sensor that stands ``v`` behind the lens, seen from its centre.
    """
    return 2.0 * lens.aperture_radius_mm / lens.extension_mm


def blur_slope(
    lens: FocusedLens, slopes: ArrayLike, inverse_depth: ArrayLike
) -> NDArray[np.float64]:
    """Diameter of the blur as an angle (a slope), shapes as in `defocus`."""
    return np.asarray(slope_per_defocus(lens) * np.abs(defocus(lens, slopes, inverse_depth)))


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Blur ellipses ``{chief + offset + matrix u : |u| <= 1}`` in mm on the upright picture.

    Attributes
    ----------
    matrix_mm : ndarray, shape (..., 2, 2)
        Maps the unit disc to the ellipse; negative defocus turns it by 180 degrees.
    offset_mm : ndarray, shape (..., 2)
        From the chief ray to the ellipse's centre.
    """

    matrix_mm: NDArray[np.float64]
    offset_mm: NDArray[np.float64]

    def semi_axes_mm(self) -> NDArray[np.float64]:
        """Semi-axes, longest first, shape (..., 2)."""
        return np.asarray(np.linalg.svd(self.matrix_mm, compute_uv=False))


def spots(lens: FocusedLens, slopes: ArrayLike, inverse_depth: ArrayLike) -> Spots:
    """Exact blur ellipses of scene points.

    With lens points ``A = R (a u1 + b u2)``, u1 in the lens plane and parallel to the sensor, u2
    the steepest direction, the ray from A to the image point meets the sensor at
    ``chief + d R B (a, b) / (1 - k b)``. The last division turns the unit disc into an ellipse
    with centre ``(0, k / (1 - k^2))`` and semi-axes ``1 / sqrt(1 - k^2)`` and ``1 / (1 - k^2)``.

    Parameters
    ----------
    slopes : array_like, shape (..., 2)
    inverse_depth : array_like, shape (...)
        1/z in 1/m; 0 is infinity.

    Raises
    ------
    SettingError
        If a point images inside the depth of the tilted aperture (|k| >= 1): too near.
    """
    q = np.asarray(slopes, float)
    nx, ny, nz = lens.axis
    sine = np.hypot(nx, ny)
    hx, hy = (nx / sine, ny / sine) if sine > 0 else (0.0, 1.0)
    d = defocus(lens, q, inverse_depth)
    g = (1.0 - d) / lens.extension_mm
    k = g * lens.aperture_radius_mm * sine
    if not np.all(np.abs(k) < 1.0):
        raise SettingError("a point lies so near the tilted lens that its blur has no edge")
    b = np.empty((*d.shape, 2, 2))
    b[..., 0, 0] = hy
    b[..., 1, 0] = -hx
    b[..., 0, 1] = hx * nz + q[..., 0] * sine
    b[..., 1, 1] = hy * nz + q[..., 1] * sine
    size = (d * lens.aperture_radius_mm)[..., None]
    shrink = 1.0 - k * k
    stretch = np.stack([1.0 / np.sqrt(shrink), 1.0 / shrink], axis=-1)
    matrix = size[..., None] * b * stretch[..., None, :]
    offset = -size * b[..., :, 1] * (k / shrink)[..., None]
    return Spots(matrix_mm=matrix, offset_mm=offset)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BlurField:
    """The signed blur of every pixel of a picture.

    Attributes
    ----------
    lens : FocusedLens
    camera : Camera
    inverse_depth : ndarray, shape (H, W), float32
        1/z in 1/m, 0 for the sky.
    defocus : ndarray, shape (H, W), float32
        Signed defocus; > 0 nearer than the plane of sharp focus.
    """

    lens: FocusedLens
    camera: Camera
    inverse_depth: NDArray[np.float32]
    defocus: NDArray[np.float32]

    def __repr__(self) -> str:
        """Size and lens, without the pixels."""
        size = f"{self.camera.width_px} x {self.camera.height_px} px"
        return f"BlurField({size}, {self.lens})"

    @property
    def px_per_mm(self) -> float:
        """Pixels per mm of sensor; the sensor is scaled with the extension to hold the framing."""
        return self.camera.focal_px / self.lens.extension_mm

    def radius_px(self) -> NDArray[np.float32]:
        """Signed radius ``R d`` in pixels, shape (H, W): a circle in place of the ellipse."""
        return np.asarray(
            self.defocus * np.float32(self.lens.aperture_radius_mm * self.px_per_mm), np.float32
        )

    def spots_at(self, rows: ArrayLike, columns: ArrayLike) -> Spots:
        """Exact ellipses (mm) of the pixels at `rows`, `columns`."""
        r, c = np.broadcast_arrays(np.asarray(rows), np.asarray(columns))
        slopes = self.camera.slopes(c + 0.5, r + 0.5)
        return spots(self.lens, slopes, self.inverse_depth[r, c])


def blur_field(lens: FocusedLens, camera: Camera, depth_m: NDArray[np.float32]) -> BlurField:
    """Signed blur of every pixel.

    Parameters
    ----------
    depth_m : ndarray, shape (H, W)
        z in metres, > 0; ``inf`` is the sky.
    """
    inverse = np.asarray(np.reciprocal(depth_m.astype(np.float32, copy=False)), np.float32)
    columns, rows = camera.grid()
    nx, ny, nz = lens.axis
    ratio = lens.extension_mm / lens.focal_mm
    field = np.asarray(np.float32(lens.extension_mm / 1000.0) * inverse, np.float32)
    field += ((1.0 - ratio * nz) - ratio * ny * rows).astype(np.float32)[:, None]
    field -= (ratio * nx * columns).astype(np.float32)[None, :]
    return BlurField(lens=lens, camera=camera, inverse_depth=inverse, defocus=field)
