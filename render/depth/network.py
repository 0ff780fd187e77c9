"""Depth by a network that the user brings: what it is given, and what its answer means.

Nothing is shipped or fetched (`render.files.apart.network` runs it).
What the network wants and gives is said beside it, not guessed: input size, normalisation, and
whether its numbers grow with distance or with nearness.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import RELATIVE_KINDS
from render.depth.kernels import enlarge_by_colour
from render.depth.sampling import averaged, enlarged
from render.errors import InputError

__all__ = ["NetworkUse", "network_depth", "network_input"]

_GIVES = ("metres", *RELATIVE_KINDS)
_SOFTNESS = 0.08


@dataclass(frozen=True, slots=True)
class NetworkUse:
    """What a network wants and gives.

    Attributes
    ----------
    width_px, height_px : int
        Size of its input.
    gives : str
        "metres", "relative" (grows with distance) or "relative inverse" (with nearness).
    mean, std : tuple of 3 floats
        Taken from, then divided into, the sRGB code values 0 to 1 of red, green, blue.

    Raises
    ------
    InputError
        If a value cannot be.
    """

    width_px: int
    height_px: int
    gives: str
    mean: tuple[float, float, float] = (0.0, 0.0, 0.0)
    std: tuple[float, float, float] = (1.0, 1.0, 1.0)

    def __post_init__(self) -> None:
        if not (8 <= self.width_px <= 4096 and 8 <= self.height_px <= 4096):
            raise InputError(
                f"the network's input is said to be {self.width_px} x {self.height_px} px: it "
                "must lie between 8 and 4096"
            )
        if self.gives not in _GIVES:
            raise InputError(f'the network gives "{self.gives}": write one of {", ".join(_GIVES)}')
        if not (np.all(np.isfinite(self.mean)) and np.all(np.asarray(self.std) > 0)):
            raise InputError("the network's mean must be numbers and its std above 0")


def network_input(use: NetworkUse, codes: NDArray[np.float32]) -> NDArray[np.float32]:
    """What a network is given for a picture.

    Parameters
    ----------
    use : NetworkUse
    codes : ndarray, shape (H, W, 3), float32
        sRGB code values, 0 to 1.

    Returns
    -------
    ndarray, shape (1, 3, height_px, width_px), float32
    """
    small = _resized(codes, use.height_px, use.width_px)
    wanted = (small - np.asarray(use.mean, np.float32)) / np.asarray(use.std, np.float32)
    return np.ascontiguousarray(wanted.transpose(2, 0, 1)[None], np.float32)


def network_depth(
    model: str, use: NetworkUse, answer: NDArray[np.float32], light: NDArray[np.float32]
) -> NDArray[np.float32]:
    """A network's answer at the picture's size, along its edges.

    Parameters
    ----------
    model : str
        Its name, for errors.
    use : NetworkUse
    answer : ndarray
        What it gave: one plane, with any number of axes of length 1.
    light : ndarray, shape (H, W, 3), float32
        The picture in linear light.

    Returns
    -------
    ndarray, shape (H, W), float32
        In the unit that `use` states.

    Raises
    ------
    InputError
        If the answer is no plane, or holds numbers that are no depth.
    """
    plane = np.squeeze(np.asarray(answer, np.float32))
    if plane.ndim != 2:
        raise InputError(f"{model} gives {np.shape(answer)}, not one number per pixel")
    if not np.all(np.isfinite(plane)) or np.ptp(plane) == 0:
        raise InputError(f"{model} gives no usable depth: all one value, or not numbers")
    if use.gives == "metres" and not np.all(plane > 0):
        raise InputError(f"{model} is said to give metres but gives values of 0 or below")
    full = np.empty(light.shape[:2], np.float32)
    guide = np.ascontiguousarray(_resized(light, *plane.shape))
    enlarge_by_colour(
        np.ascontiguousarray(plane), guide, np.ascontiguousarray(light), _SOFTNESS, full
    )
    return full


def _resized(picture: NDArray[np.float32], rows: int, columns: int) -> NDArray[np.float32]:
    if rows <= picture.shape[0] and columns <= picture.shape[1]:
        return averaged(picture, rows, columns)
    planes = [enlarged(picture[..., c], rows, columns) for c in range(picture.shape[2])]
    return np.stack(planes, axis=-1)
