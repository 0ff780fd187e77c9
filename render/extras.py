"""Libraries that only some sources need: fetched when used, missed in one sentence."""

import importlib
import sys
from typing import Any

from render.errors import InputError

__all__ = ["needed"]

_EXTRAS = {
    "cv2": ("vision", "OpenCV"),
    "onnxruntime": ("predict", "onnxruntime"),
    "laspy": ("survey", "laspy"),
    "pillow_heif": ("phone", "pillow-heif"),
    "rawpy": ("raw", "rawpy"),
    "OpenEXR": ("exr", "OpenEXR"),
    "av": ("film", "PyAV"),
    "distributed": ("cluster", "Dask"),
    "shapely": ("maps", "shapely"),
    "pyproj": ("maps", "pyproj"),
    "osmium": ("maps", "osmium"),
}


def _pip() -> str:
    """The pip of the environment that runs, as one types it."""
    return f'"{sys.executable}" -m pip' if " " in sys.executable else f"{sys.executable} -m pip"


def needed(module: str, purpose: str) -> Any:
    """Import a library of an optional extra.

    Raises
    ------
    InputError
        Naming the extra to install, if the library is not there.
    """
    try:
        return importlib.import_module(module)
    except ImportError:
        extra, name = _EXTRAS[module]
        raise InputError(
            f"{purpose} needs {name}, which is not installed: in the clone of Hingeline type "
            f'{_pip()} install ".[{extra}]" (or ".[all]")'
        ) from None
