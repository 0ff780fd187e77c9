"""Small real pictures with true depth; where they come from stands beside them."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from render.optics.camera import Camera, Vantage

FOLDER = Path(__file__).parents[1] / "data" / "depth"
RIVERSIDE_CAMERA = Camera(300, 200, 1458.3333 / 5)
RIVERSIDE_VANTAGE = Vantage(32.0, 20.0)


def light(name: str) -> NDArray[np.float32]:
    """Linear light of a small picture (sRGB decoded)."""
    code = np.asarray(Image.open(FOLDER / name).convert("RGB"), np.float32) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(
        np.float32
    )


def riverside_depth() -> NDArray[np.float32]:
    """True z in metres of the view of a park from 32 m, `inf` the sky."""
    with np.load(FOLDER / "riverside_depth.npz") as held:
        return np.asarray(held["depth_m"], np.float32)


def cones_disparity() -> NDArray[np.float32]:
    """True disparity in px, NaN where unknown."""
    with np.load(FOLDER / "cones_disparity.npz") as held:
        return np.asarray(held["disparity_px"], np.float32)


def inverse_error(found_m: NDArray[np.float32], true_m: NDArray[np.float32]) -> float:
    """Median relative error of inverse depth where the truth is finite."""
    known = np.isfinite(true_m)
    return float(np.median(np.abs(true_m[known] / found_m[known] - 1)))
