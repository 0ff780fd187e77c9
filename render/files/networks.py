"""What is said beside a depth network: NAME.toml next to NAME.onnx."""

import mmap
import re
from pathlib import Path

from render.depth.network import NetworkUse
from render.errors import InputError
from render.files.inputs import input_file, read_toml
from render.limits import NETWORK_BYTES

__all__ = ["read_network_use"]

_KEYS = {"width", "height", "gives", "mean", "std"}


def read_network_use(model: Path) -> NetworkUse:
    """Read how a network is used from the TOML file of the same name.

    It holds ``width`` and ``height`` (px), ``gives`` ("metres", "relative" or "relative
    inverse"), and, if need be, ``mean`` and ``std`` (three numbers each).

    Raises
    ------
    InputError
        If one of the two files is not there, or a value is missing or cannot be.
    """
    input_file(model, what="depth network (ONNX)", most=NETWORK_BYTES)
    _refuse_other_files(model)
    beside = model.with_suffix(".toml")
    if not beside.exists():
        raise InputError(
            f'{beside} is not there: write width = 518, height = 392 and gives = "relative '
            'inverse" (or "relative", "metres") into it, with mean and std if the network wants '
            "them"
        )
    said = read_toml(beside, "network's note")
    unknown = set(said) - _KEYS
    if unknown:
        raise InputError(f"{beside}: {sorted(unknown)[0]} is not known; it takes {sorted(_KEYS)}")
    try:
        return NetworkUse(
            width_px=int(said["width"]),
            height_px=int(said["height"]),
            gives=str(said["gives"]),
            mean=_three(said.get("mean", (0, 0, 0))),
            std=_three(said.get("std", (1, 1, 1))),
        )
    except KeyError as error:
        raise InputError(f"{beside} does not say {error.args[0]}") from None
    except (TypeError, ValueError, OverflowError) as error:
        raise InputError(f"{beside}: {error}") from None


def _refuse_other_files(model: Path) -> None:
    """Refuse a network that keeps weights in other files: it would name which are read.

    In ONNX's form each such file is an entry with the key "location": the tag of the key, its
    length, the word; tag and length may be written longer than they need to be.
    """
    if not model.stat().st_size:
        raise InputError(f"{model} is empty: name the ONNX file of a depth network")
    with model.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        if re.search(rb"(?:\n|\x8a\x80*\0)(?:\x08|\x88\x80*\0)location", data):
            raise InputError(
                f"{model} keeps its weights in other files, which are not followed: save the "
                "network as one file"
            )


def _three(values: object) -> tuple[float, float, float]:
    red, green, blue = (float(value) for value in values)  # type: ignore[attr-defined]
    return red, green, blue
