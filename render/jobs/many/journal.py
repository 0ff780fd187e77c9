"""What was made in a folder and from what, so that a command that was stopped goes on.

The journal is a hidden file in the folder of results. It is written once before the work, with
what stood under each name then, and once at the end: results are put in place whole, so whatever
stands under a name and is not what stood there before, was made.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from render.errors import OutputError
from render.files.run import part_beside
from render.limits import JOURNAL_BYTES

__all__ = ["Journal", "journal_in", "mark_of"]

_NAME = ".hingeline-made.json"
_FORMAT = 1

#: Size and time of change (ns) of a file; nothing where there is none.
Stand = list[int] | None


class Journal:
    """Results of one folder: from what each was made, and as what it stands there."""

    def __init__(self, folder: Path, known: Mapping[str, Any]) -> None:
        self._folder, self._known = folder, dict(known)

    def made(self, path: Path, mark: str) -> bool:
        """Whether a result stands there that was made from just this."""
        entry = self._known.get(path.name)
        return self.made_here(path) and isinstance(entry, dict) and entry.get("mark") == mark

    def made_here(self, path: Path) -> bool:
        """Whether a file is a result, from whatever it was made."""
        entry, stands = self._known.get(path.name), _stand(path)
        if stands is None or not isinstance(entry, dict):
            return False
        if entry.get("after"):
            return bool(entry["after"] == stands)
        return bool(entry.get("before") != stands)

    def begin(self, marks: Mapping[Path, str]) -> None:
        """Write down what is going to be made."""
        for path, mark in marks.items():
            self._known[path.name] = {"mark": mark, "before": _stand(path), "after": None}
        self._write()

    def end(self, paths: Iterable[Path]) -> None:
        """Write down as what the results stand there."""
        for path in paths:
            self._known[path.name]["after"] = _stand(path)
        with suppress(OutputError):  # the results are there all the same
            self._write()

    def _write(self) -> None:
        path = self._folder / _NAME
        beside = part_beside(path)
        try:
            beside.write_text(json.dumps({"format": _FORMAT, "made": self._known}), "utf-8")
            beside.replace(path)
        except OSError as error:
            beside.unlink(missing_ok=True)
            raise OutputError(
                f"nothing can be written in {self._folder} ({error.strerror or error})"
            ) from None


def journal_in(folder: Path) -> Journal:
    """The journal of a folder; an empty one where there is none that can be read."""
    try:
        path = folder / _NAME
        if path.stat().st_size > JOURNAL_BYTES.most:
            return Journal(folder, {})
        found = json.loads(path.read_text("utf-8"))
        known = found["made"] if found["format"] == _FORMAT else {}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        known = {}
    return Journal(folder, known if isinstance(known, dict) else {})


def mark_of(what: object, files: Iterable[Path], version: str) -> str:
    """A word that changes with anything that changes a result: what is asked for, and the files."""
    stands = [(str(path), _stand(path)) for path in files]
    return hashlib.sha256(repr((what, stands, version)).encode()).hexdigest()[:16]


def _stand(path: Path) -> Stand:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return [found.st_size, found.st_mtime_ns]
