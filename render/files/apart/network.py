"""Runs a depth network that the user brings, an ONNX file, by onnxruntime in its own process."""

from pathlib import Path
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.apart.process import ApartError, answer_apart, work_apart
from render.files.memory import free_bytes
from render.limits import NETWORK_MEMORY, SECONDS_APART, SETTING

__all__ = ["run_network"]

#: A network holds its weights, and while it is opened their copies, times its file's size.
_COPIES = 3
#: Numbers that it may give for each of the picture's: one plane, perhaps with others beside it.
_MOST_PLANES = 16


def run_network(model: Path, picture: NDArray[np.float32]) -> NDArray[np.float32]:
    """What a network gives for a picture.

    It may do what it likes for `SECONDS_APART`, within `NETWORK_MEMORY` and three times its own
    size, and never with more memory than is free.

    Parameters
    ----------
    model : Path
        An ONNX file that `render.files.networks.read_network_use` has let through.
    picture : ndarray, shape (1, 3, H, W), float32

    Returns
    -------
    ndarray, float32
        Its first output, of whatever shape.

    Raises
    ------
    InputError
        If onnxruntime is missing, the file is no network that takes one picture of this size,
        or it takes longer or more memory than it may, or ends its process.
    """
    needed("onnxruntime", "a depth network")
    free, own = free_bytes(), _COPIES * model.stat().st_size
    most_bytes = NETWORK_MEMORY.most + own
    if free is not None:
        most_bytes = min(most_bytes, free)
    try:
        answer = work_apart(
            "render.files.apart.network",
            [str(model)],
            most_bytes=most_bytes,
            most_numbers=_MOST_PLANES * picture.size,
            given=picture,
        )
    except ApartError as error:
        raise InputError(
            {
                "late": f"{model} was ended after {SECONDS_APART.most:g} seconds of work: take a "
                f"smaller network ({SETTING} gives it longer)",
                "full": f"{model} asked for more than the {most_bytes / 1e9:.1f} GB of memory it "
                f"may have here: give it a smaller width and height, or take a smaller network "
                f"({SETTING} raises it up to what is free)",
                "ended": f"{model} broke off the process that ran it: it is damaged, or no depth "
                "network; fetch it again",
                "failed": f"{model} could not be run: {error}",
                "refused": f"{model} {error}",
            }[error.how]
        ) from None
    return np.asarray(answer, np.float32)


def _answer(words: list[str], picture: NDArray[np.float32] | None) -> NDArray[np.float32]:
    """Open and run it: what goes wrong is said as the rest of a sentence that its name begins."""
    assert picture is not None
    runtime = needed("onnxruntime", "a depth network")
    options = runtime.SessionOptions()
    options.add_session_config_entry("session.load_model_format", "ONNX")
    try:
        session = runtime.InferenceSession(words[0], options, providers=["CPUExecutionProvider"])
    except Exception as error:  # the runtime has no common error of its own
        _refuse(error, "cannot be read as an ONNX network")
    inputs, size = session.get_inputs(), picture.shape[2:]
    if len(inputs) != 1 or len(inputs[0].shape) != 4:
        raise InputError("must take one picture (1, 3, height, width)")
    fixed = inputs[0].shape[2:]
    if any(isinstance(want, int) and want != have for want, have in zip(fixed, size, strict=True)):
        raise InputError(
            f"takes {fixed[1]} x {fixed[0]} px, not {size[1]} x {size[0]}: correct the size that "
            "is said beside it"
        )
    try:
        answer = session.run(None, {inputs[0].name: picture})[0]
    except Exception as error:
        _refuse(error, f"could not be run on {size[1]} x {size[0]} px")
    return np.asarray(answer, np.float32)


def _refuse(error: Exception, what: str) -> NoReturn:
    """Raise what the runtime says in a sentence, its want of memory as what it is."""
    said = str(error).strip()
    if isinstance(error, MemoryError) or "bad_alloc" in said or "Failed to allocate" in said:
        raise MemoryError
    raise InputError(
        f"{what}: {said.splitlines()[0][:160] if said else 'no reason given'}"
    ) from None


if __name__ == "__main__":
    answer_apart(_answer)
