"""Depth by a network that the user brings, an ONNX file, run by onnxruntime.

Nothing is shipped or fetched. What the network wants and gives is said beside it, not guessed:
input size, normalisation, and whether its numbers grow with distance or with nearness.
"""

import threading
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import RELATIVE_KINDS
from render.depth.kernels import enlarge_by_colour
from render.depth.sampling import averaged, enlarged
from render.errors import InputError
from render.extras import needed

__all__ = ["NetworkUse", "predict"]

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


def predict(
    model: str,
    use: NetworkUse,
    codes: NDArray[np.float32],
    light: NDArray[np.float32],
    most_s: float = 120.0,
) -> NDArray[np.float32]:
    """What the network gives for a picture, at the picture's size, along its edges.

    Parameters
    ----------
    model : str
        Name of the ONNX file.
    use : NetworkUse
    codes : ndarray, shape (H, W, 3), float32
        sRGB code values, 0 to 1.
    light : ndarray, shape (H, W, 3), float32
        The same in linear light.
    most_s : float
        What it may take; one with a loop of its own might never end.

    Returns
    -------
    ndarray, shape (H, W), float32
        In the unit that `use` states.

    Raises
    ------
    InputError
        If onnxruntime is missing, the file is no network that takes one picture and gives one
        plane, it takes longer than it may, or its answer holds numbers that are none.
    """
    runtime = needed("onnxruntime", "a depth network")
    size = use.height_px, use.width_px
    small = _resized(codes, *size)
    wanted = (small - np.asarray(use.mean, np.float32)) / np.asarray(use.std, np.float32)
    session, name = _opened(runtime, model, size)
    batch = np.ascontiguousarray(wanted.transpose(2, 0, 1)[None])
    running, late = runtime.RunOptions(), threading.Event()

    def end() -> None:
        late.set()
        running.terminate = True

    timer = threading.Timer(most_s, end)
    timer.start()
    try:
        answer = session.run(None, {name: batch}, running)[0]
    except Exception as error:  # whatever the runtime raises, the file or its size is wrong
        if late.is_set():
            raise InputError(f"{model} was ended after {most_s:g} seconds of work") from None
        where = f"{model} could not be run on {size[1]} x {size[0]} px"
        raise InputError(f"{where}: {_first(error)}") from None
    finally:
        timer.cancel()
    plane = np.squeeze(np.asarray(answer, np.float32))
    if plane.ndim != 2:
        raise InputError(f"{model} gives {np.shape(answer)}, not one number per pixel")
    if not np.all(np.isfinite(plane)) or np.ptp(plane) == 0:
        raise InputError(f"{model} gives no usable depth: all one value, or not numbers")
    if use.gives == "metres" and not np.all(plane > 0):
        raise InputError(f"{model} is said to give metres but gives values of 0 or below")
    full = np.empty(codes.shape[:2], np.float32)
    guide = np.ascontiguousarray(_resized(light, *plane.shape))
    enlarge_by_colour(
        np.ascontiguousarray(plane), guide, np.ascontiguousarray(light), _SOFTNESS, full
    )
    return full


def _opened(runtime: Any, model: str, size: tuple[int, int]) -> tuple[Any, str]:
    try:
        session = runtime.InferenceSession(model, providers=["CPUExecutionProvider"])
    except Exception as error:  # the runtime has no common error of its own
        raise InputError(f"{model} cannot be read as an ONNX network: {_first(error)}") from None
    inputs = session.get_inputs()
    if len(inputs) != 1 or len(inputs[0].shape) != 4:
        raise InputError(f"{model} must take one picture (1, 3, height, width)")
    fixed = inputs[0].shape[2:]
    if any(isinstance(want, int) and want != have for want, have in zip(fixed, size, strict=True)):
        raise InputError(
            f"{model} takes {fixed[1]} x {fixed[0]} px, not {size[1]} x {size[0]}: correct the "
            "size that is said beside it"
        )
    return session, str(inputs[0].name)


def _resized(picture: NDArray[np.float32], rows: int, columns: int) -> NDArray[np.float32]:
    if rows <= picture.shape[0] and columns <= picture.shape[1]:
        return averaged(picture, rows, columns)
    planes = [enlarged(picture[..., c], rows, columns) for c in range(picture.shape[2])]
    return np.stack(planes, axis=-1)


def _first(error: Exception) -> str:
    return str(error).strip().splitlines()[0][:160] if str(error).strip() else "no reason given"
