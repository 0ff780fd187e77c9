"""Where compiled kernels are kept, so that only the first run ever has to compile them."""

import os
import sys
from pathlib import Path

import render.engine
from render.load.progress import Progress

__all__ = ["keep_compiled_kernels"]


def keep_compiled_kernels(progress: Progress) -> None:
    """Point the compiler's cache at a place that can be written, and say when it is empty.

    Kernels are kept beside their source where that can be written, else in the user's own
    cache folder; must be called before an engine module is imported.
    """
    beside = Path(render.engine.__file__).parent
    if os.access(beside, os.W_OK):
        cache = beside / "__pycache__"
    else:
        cache = Path(os.environ.setdefault("NUMBA_CACHE_DIR", str(_user_cache() / "kernels")))
    if not any(cache.rglob("*.nbc")):
        progress("compiling the engine, once on this machine (about a minute)", 0.0)


def _user_cache() -> Path:
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
        return (Path(base) if base else Path.home() / "AppData" / "Local") / "hingeline"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "hingeline"
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "hingeline"
