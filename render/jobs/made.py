"""What every job hands back."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = ["Made", "made"]


@dataclass(frozen=True, slots=True)
class Made:
    """What was written, and what is said of it.

    Attributes
    ----------
    files : tuple of Path
    lines : tuple of str
        For people; the last one names the files.
    record : dict
        The same for programs: JSON holds it as it is.
    """

    files: tuple[Path, ...]
    lines: tuple[str, ...]
    record: dict[str, Any]


def made(files: Sequence[Path], lines: Iterable[str], record: Mapping[str, Any]) -> Made:
    """Hand back what was made, with the files named in the lines and in the record."""
    if not files:
        return Made((), tuple(lines), dict(record))
    names = [str(path) for path in files]
    return Made(tuple(files), (*lines, f"Wrote: {', '.join(names)}"), {**record, "files": names})
