"""Writing beside and renaming: a file is there whole, or not at all; inputs are never touched."""

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from render.errors import OutputError
from render.files.run import one_run, part_beside, same_place, sweep

__all__ = ["check_destination", "check_destinations", "written_beside"]

#: What file systems in use take for one name.
_MOST_NAME_BYTES = 255


def check_destination(
    path: Path,
    *,
    overwrite: bool = False,
    inputs: Iterable[Path | None] = (),
    allowed_by: str = "--overwrite",
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
    allowed_by : str
        What whoever asks writes to have it replaced.

    Raises
    ------
    OutputError
        If the name can't be one, the folder is missing or not writable, the name belongs to a
        folder or a device, a file is there and `overwrite` is False, or it is one of the inputs.
    """
    folder = path.parent
    _check_name(path)
    if not folder.is_dir():
        raise OutputError(f"{path}: the folder {folder} does not exist; make it first")
    if path.is_dir():
        raise OutputError(f"{path} is a folder; give the name of a file in it")
    if not os.access(folder, os.W_OK):
        raise OutputError(f"{path}: nothing may be written in the folder {folder}; choose another")
    if not path.exists():
        return
    if not path.is_file():
        raise OutputError(f"{path} is a pipe or a device; give the name of a file")
    if any(path.samefile(source) for source in inputs if source is not None and source.exists()):
        raise OutputError(f"{path} is a file that was read; give the result another name")
    if not overwrite:
        raise OutputError(
            f"{path} is there already; replace it with {allowed_by}, or give another name"
        )


def check_destinations(
    paths: Sequence[Path], *, overwrite: bool = False, inputs: Iterable[Path | None] = ()
) -> None:
    """Check every output of one run, and that no two of them are the same file.

    Raises
    ------
    OutputError
        As `check_destination`, or if two have one name.
    """
    read = list(inputs)
    for number, path in enumerate(paths):
        check_destination(path, overwrite=overwrite, inputs=read)
        for other in paths[:number]:
            if same_place(path, other):
                raise OutputError(
                    f"{path} would be written twice in one run: give the results different names"
                )


@contextmanager
def written_beside(
    path: Path, *, overwrite: bool = False, inputs: Iterable[Path | None] = ()
) -> Iterator[Path]:
    """Hand out a file name beside `path`, and give it the name `path` once it is whole.

    Parameters are those of `check_destination`. Inside a run (`render.files.run.one_run`) it
    waits for the others. Whatever goes wrong in between, the unfinished file is removed and
    what stood at `path` before stands there still; what killed processes left is removed too.

    Yields
    ------
    Path
        Where to write; it has the same ending as `path`.

    Raises
    ------
    OutputError
        As `check_destination`, if the disk refuses (full, read-only), if another output of this
        run has that name, or if a file of that name appeared meanwhile.
    """
    check_destination(path, overwrite=overwrite, inputs=inputs)
    with one_run() as run:
        if run.awaits(path):
            raise OutputError(
                f"{path} would be written twice in one run: give the results different names"
            )
        if run.has_read(path):
            raise OutputError(f"{path} is a file that was read; give the result another name")
        sweep(path.parent)
        beside = part_beside(path)
        try:
            yield beside
            run.add(beside, path, overwrite=overwrite)
        except BaseException as error:
            with suppress(OSError):
                beside.unlink(missing_ok=True)
            if isinstance(error, OSError) and not isinstance(error, OutputError):
                reason = error.strerror or str(error)
                raise OutputError(
                    f"{path} could not be written ({reason}); nothing was kept"
                ) from error
            raise


def _check_name(path: Path) -> None:
    if "\0" in str(path):
        raise OutputError("the name to write to holds a character that no name can hold")
    size = len(os.fsencode(path.name))
    if size > _MOST_NAME_BYTES:
        raise OutputError(
            f"{path.name[:40]}... has {size} bytes, and names end at {_MOST_NAME_BYTES}: give the "
            "result a shorter name with -o"
        )
    try:
        path.exists()
    except OSError as error:
        raise OutputError(
            f"{str(path)[:60]}... cannot be written to ({error.strerror}): give a shorter name"
        ) from None
