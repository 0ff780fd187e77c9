"""What is said beside a depth network: NAME.toml next to NAME.onnx."""

import tomllib
from pathlib import Path

from render.depth.network import NetworkUse
from render.errors import InputError

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
    if not model.is_file():
        raise InputError(f"{model} is not there: name the ONNX file of a depth network")
    beside = model.with_suffix(".toml")
    try:
        said = tomllib.loads(beside.read_text(encoding="utf-8"))
    except OSError:
        raise InputError(
            f'{beside} is not there: write width = 518, height = 392 and gives = "relative '
            'inverse" (or "relative", "metres") into it, with mean and std if the network wants '
            "them"
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{beside} is not a readable TOML file: {error}") from None
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
    except (TypeError, ValueError) as error:
        raise InputError(f"{beside}: {error}") from None


def _three(values: object) -> tuple[float, float, float]:
    red, green, blue = (float(value) for value in values)  # type: ignore[attr-defined]
    return red, green, blue
