"""Writing beside and renaming: a file is there whole, or not at all; inputs are never touched."""

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from render.errors import OutputError

__all__ = ["check_destination", "written_beside"]


def check_destination(
    path: Path, *, overwrite: bool = False, inputs: Iterable[Path | None] = ()
) -> None:
    """Refuse a place that can't be written to, before any work is done for it.

    Parameters
    ----------
    path : Path
        The file that is to be written.
    overwrite : bool
        Whether a file that is there already may be replaced.
    inputs : iterable of Path or None
        Files that were read; none of them is ever replaced.

    Raises
    ------
    OutputError
        If the folder is missing or not writable, the name belongs to a folder, a file is
        there and `overwrite` is False, or the file is one of the inputs.
    """
    folder = path.parent
    if not folder.is_dir():
        raise OutputError(f"{path}: the folder {folder} does not exist; make it first")
    if path.is_dir():
        raise OutputError(f"{path} is a folder; give the name of a file in it")
    if not os.access(folder, os.W_OK):
        raise OutputError(f"{path}: nothing may be written in the folder {folder}; choose another")
    if not path.exists():
        return
    if any(path.samefile(source) for source in inputs if source is not None and source.exists()):
        raise OutputError(f"{path} is a file that was read; give the result another name")
    if not overwrite:
        raise OutputError(
            f"{path} is there already; replace it with --overwrite, or give another name"
        )


@contextmanager
def written_beside(
    path: Path, *, overwrite: bool = False, inputs: Iterable[Path | None] = ()
) -> Iterator[Path]:
    """Hand out a file name beside `path`, and rename it to `path` once it is whole.

    Parameters are those of `check_destination`. Whatever goes wrong in between, the
    unfinished file is removed and what stood at `path` before stands there still.

    Yields
    ------
    Path
        Where to write; it has the same ending as `path`.

    Raises
    ------
    OutputError
        As `check_destination`, or if the disk refuses (full, read-only).
    """
    check_destination(path, overwrite=overwrite, inputs=inputs)
    beside = path.with_name(f".{path.stem}.{os.getpid()}.part{path.suffix}")
    try:
        yield beside
        beside.replace(path)
    except OutputError:
        raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(f"{path} could not be written ({reason}); nothing was kept") from error
    finally:
        beside.unlink(missing_ok=True)
