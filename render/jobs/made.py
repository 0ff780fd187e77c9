"""What every job hands back."""

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = ["FORMAT", "WROTE", "Made", "made", "written_record"]

#: Of records; it changes when a key goes or means something else.
FORMAT = 2
#: Begins the line that names the files.
WROTE = "Wrote: "


@dataclass(frozen=True, slots=True)
class Made:
    """What was written, and what is said of it.

    Attributes
    ----------
    files : tuple of Path
    lines : tuple of str
        For people; the last one names the files.
    record : mapping
        The same for programs: JSON holds it as it is.
    refused : tuple of str
        What of many could not be done, one sentence each.
    code : int
        The exit code.
    """

    files: tuple[Path, ...]
    lines: tuple[str, ...]
    record: Mapping[str, Any]
    refused: tuple[str, ...] = ()
    code: int = 0


def made(files: Sequence[Path], lines: Iterable[str], record: Mapping[str, Any]) -> Made:
    """Hand back what was made, with the files named in the lines and in the record."""
    if not files:
        return Made((), tuple(lines), dict(record))
    names = [str(path) for path in files]
    return Made(tuple(files), (*lines, f"{WROTE}{', '.join(names)}"), {**record, "files": names})


def written_record(record: Mapping[str, Any]) -> str:
    """A record as strict JSON: what is endless or unknown is null; its first key is its format."""
    return json.dumps(_strict({"format": FORMAT, **record}), indent=1, allow_nan=False)


def _strict(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _strict(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_strict(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
