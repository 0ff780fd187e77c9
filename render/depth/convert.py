"""Between metric depth z and the other things that depth files hold. Numbers only."""

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.optics.camera import Camera

__all__ = [
    "KINDS",
    "RELATIVE_KINDS",
    "depth_from",
    "range_inverse",
    "range_linear",
    "ray_stretch",
    "values_of",
]

#: What a depth file may hold, each with one sentence for people.
KINDS = {
    "metres": "z in metres, along the sensor's normal",
    "millimetres": "z in millimetres",
    "inverse": "1 / z, per metre",
    "disparity": "shift between two pictures taken side by side, pixels",
    "ray": "length of the ray in metres, from the lens to the thing",
}
#: Kinds without a unit; known distances make them metric.
RELATIVE_KINDS = {
    "relative": "grows with distance, without a unit",
    "relative inverse": "grows with nearness, without a unit",
}


def depth_from(
    values: NDArray[np.floating],
    kind: str,
    camera: Camera | None = None,
    *,
    baseline_m: float | None = None,
    offset_px: float = 0.0,
) -> NDArray[np.float32]:
    """Turn what a file holds into z in metres.

    Parameters
    ----------
    values : ndarray, shape (H, W)
        In the unit of `kind`; NaN is not known.
    kind : str
        One of `KINDS`.
    camera : Camera or None
        Of these H x W pixels; needed for disparity (its focal length) and ray length.
    baseline_m : float or None
        Distance of the two cameras, for disparity.
    offset_px : float
        Added to each disparity: how far the two principal points lie apart.

    Returns
    -------
    ndarray, shape (H, W), float32
        z in metres; ``inf`` the sky, NaN not known. Infinite disparity, and disparity of 0
        or below, is not known; an inverse depth of 0 is the sky.

    Raises
    ------
    InputError
        If something needed is missing, or a value is negative.

    Notes
    -----
    Disparity: ``z = f B / (d + offset)`` (D. Scharstein et al., "High-resolution stereo
    datasets with subpixel-accurate ground truth", GCPR 2014, calibration files).
    Ray length: ``z = r / sqrt(1 + sx² + sy²)`` for a ray of slopes (sx, sy).
    """
    values = np.asarray(values, np.float32)
    if kind == "disparity":
        focal_px = _camera_for(kind, camera, values).focal_px
        if baseline_m is None or not baseline_m > 0:
            raise InputError("disparity needs the distance of the two cameras: give --baseline")
        known = np.isfinite(values) & (values + np.float32(offset_px) > 0)
        shift = np.where(known, values + np.float32(offset_px), np.float32(np.nan))
        return np.asarray(np.float32(focal_px * baseline_m) / shift, np.float32)
    if np.any(values < 0):
        raise InputError(f"a depth file of {kind} holds negative values")
    if kind == "metres":
        return values
    if kind == "millimetres":
        return values * np.float32(0.001)
    if kind == "inverse":
        with np.errstate(divide="ignore"):
            depth_m = np.float32(1) / values
        return np.where(np.isinf(values), np.float32(np.nan), depth_m)
    if kind == "ray":
        return np.asarray(values / ray_stretch(_camera_for(kind, camera, values)), np.float32)
    raise InputError(f'"{kind}" is no kind of depth: give one of {", ".join(KINDS)}')


def values_of(
    depth_m: NDArray[np.float32],
    kind: str,
    camera: Camera | None = None,
    *,
    baseline_m: float | None = None,
) -> NDArray[np.float32]:
    """Turn z in metres into what a file is to hold: the inverse of `depth_from`.

    The sky becomes ``inf``, or 0 where nearness is stored; NaN stays.
    """
    depth_m = np.asarray(depth_m, np.float32)
    if kind == "metres":
        return depth_m
    if kind == "millimetres":
        return depth_m * np.float32(1000)
    if kind == "inverse":
        return np.asarray(np.float32(1) / depth_m, np.float32)
    if kind == "ray":
        return np.asarray(depth_m * ray_stretch(_camera_for(kind, camera, depth_m)), np.float32)
    if kind == "disparity":
        if baseline_m is None or not baseline_m > 0:
            raise InputError("disparity needs the distance of the two cameras: give --baseline")
        focal_px = _camera_for(kind, camera, depth_m).focal_px
        return np.asarray(np.float32(focal_px * baseline_m) / depth_m, np.float32)
    raise InputError(f'"{kind}" is no kind of depth: give one of {", ".join(KINDS)}')


def ray_stretch(camera: Camera) -> NDArray[np.float32]:
    """Length of each pixel's ray for z = 1: ``sqrt(1 + sx² + sy²)``, shape (H, W)."""
    columns, rows = camera.grid()
    square = 1 + rows[:, None] ** 2 + columns[None, :] ** 2
    return np.asarray(np.sqrt(square), np.float32)


def range_linear(share: NDArray[np.floating], near: float, far: float) -> NDArray[np.float32]:
    """Depth of values 0 to 1 spread evenly between near and far: ``near + n (far - near)``.

    References
    ----------
    Dynamic Depth 1.0, "RangeLinear".
    """
    _check_range(near, far)
    return np.asarray(near + np.asarray(share, float) * (far - near), np.float32)


def range_inverse(share: NDArray[np.floating], near: float, far: float) -> NDArray[np.float32]:
    """Depth of values 0 to 1 spread evenly in inverse depth: ``far near / (far - n (far - near))``.

    References
    ----------
    Dynamic Depth 1.0, "RangeInverse".
    """
    _check_range(near, far)
    inverse = 1 / near + np.asarray(share, float) * (1 / far - 1 / near)
    with np.errstate(divide="ignore"):
        return np.asarray(1 / inverse, np.float32)


def _check_range(near: float, far: float) -> None:
    if not near > 0 or not far > 0 or not np.isfinite(near):
        raise InputError(f"a depth range from {near} to {far} makes no sense")
    if not far > near:
        raise InputError(f"near ({near:g}) and far ({far:g}) look swapped")


def _camera_for(kind: str, camera: Camera | None, values: NDArray[np.float32]) -> Camera:
    """Return the camera, if there is one of the size of the depth."""
    if camera is None:
        raise InputError(f"depth of kind {kind} needs the picture's focal length")
    if (camera.height_px, camera.width_px) != values.shape:
        raise InputError(
            f"the depth is {values.shape[1]} x {values.shape[0]} px, the picture "
            f"{camera.width_px} x {camera.height_px}: they must be the same"
        )
    return camera
