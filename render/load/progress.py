"""How a job tells how far it is."""

from collections.abc import Callable

__all__ = ["Progress", "silent"]

#: Called with what is being done and the share of the whole that is done, 0 to 1.
Progress = Callable[[str, float], None]


def silent(what: str, share: float) -> None:
    """Report nothing."""
