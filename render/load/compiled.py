"""Say that inner loops will be compiled, which happens once."""

from render.compiled import is_compiled, is_lasting
from render.load.progress import Progress

__all__ = ["say_compiling"]

#: What a room's loops do, in words, and about how long compiling takes.
_WORDS = {
    "engine": "compiling the engine, once on this machine (some ten seconds)",
    "trace": "compiling the way of light through scenes, once on this machine (up to a minute)",
}

#: Where the outcome lies among the temporary files.
_FLEETING = "; no lasting place for it can be written: name one with NUMBA_CACHE_DIR"


def say_compiling(progress: Progress, room: str = "engine") -> None:
    """Report that a room's loops are going to be compiled, where they were not yet."""
    if not is_compiled(room):
        progress(_WORDS[room] + ("" if is_lasting(room) else _FLEETING), 0.0)
