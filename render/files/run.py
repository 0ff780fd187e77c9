"""One run: what it reads is never replaced, and all it writes appears together, or nothing does.

Inside `one_run` a finished file waits beside its name; at the end all are put in place. Without
a run round it each file is a run of its own.
"""

import hashlib
import os
import platform
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from render.errors import OutputError

__all__ = [
    "Run",
    "goes_on",
    "is_running",
    "note_going_on",
    "note_read",
    "one_run",
    "part_beside",
    "put_in_place",
    "same_place",
    "sweep",
    "unbounded",
]

_MARK = ".hingeline-"
#: Letters of a path on Windows, unless it is marked as long.
_MOST_WINDOWS = 259
_now: ContextVar["Run | None"] = ContextVar("run", default=None)
_placed: list[Path] = []
_going_on: list[Path] = []


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A whole file beside the name it is to have."""

    beside: Path
    path: Path
    overwrite: bool


@dataclass(slots=True)
class Run:
    """What one run has read (device and number of each file) and what waits to be put in place."""

    read: set[tuple[int, int]] = field(default_factory=set)
    _waiting: list[_Waiting] = field(default_factory=list)

    def has_read(self, path: Path) -> bool:
        """Whether a file is one that was read, under whatever name."""
        found = _identity(path)
        return found is not None and found in self.read

    def awaits(self, path: Path) -> bool:
        """Whether another output of this run has that name."""
        return any(same_place(one.path, path) for one in self._waiting)

    def add(self, beside: Path, path: Path, *, overwrite: bool) -> None:
        """Keep a whole file until the run ends."""
        self._waiting.append(_Waiting(beside, path, overwrite))

    def place(self) -> None:
        """Put every file in place, or none.

        Raises
        ------
        OutputError
            If a name was taken meanwhile, or the disk refuses. What was new is taken back;
            what had to replace a file and stands already is named.
        """
        for one in self._waiting:
            if self.has_read(one.path):
                raise OutputError(
                    f"{one.path} is a file that was read; give the result another name"
                )
        done: list[_Waiting] = []
        with _undisturbed():
            try:
                for one in self._waiting:
                    _place(one)
                    done.append(one)
            except OSError as error:
                for one in done:
                    if not one.overwrite:
                        one.path.unlink(missing_ok=True)
                stands = [str(one.path) for one in done if one.overwrite]
                also = f"; written already: {', '.join(stands)}" if stands else ""
                _placed.extend(one.path for one in done if one.overwrite)
                if isinstance(error, OutputError):
                    raise OutputError(f"{error}{also}") from None
                reason = error.strerror or str(error)
                kept = also or "; nothing was kept"
                raise OutputError(
                    f"{self._waiting[len(done)].path} could not be written ({reason}){kept}"
                ) from error
            _placed.extend(one.path for one in done)

    def clear(self) -> None:
        """Remove what waits and was not put in place."""
        for one in self._waiting:
            with suppress(OSError):
                one.beside.unlink(missing_ok=True)


@contextmanager
def one_run() -> Iterator[Run]:
    """Hold back what is written inside until all of it is whole; a run inside a run is part of it.

    Yields
    ------
    Run

    Raises
    ------
    OutputError
        At the end, as `Run.place`.
    """
    outer = _now.get()
    if outer is not None:
        yield outer
        return
    run = Run()
    token = _now.set(run)
    try:
        yield run
        run.place()
    finally:
        _now.reset(token)
        run.clear()


def note_read(path: Path) -> None:
    """Note that the run at hand has read a file, so that it replaces it by none."""
    run, found = _now.get(), _identity(path)
    if run is not None and found is not None:
        run.read.add(found)


def put_in_place() -> tuple[Path, ...]:
    """Every file that this process has put in place so far."""
    return tuple(_placed)


def note_going_on(folder: Path | None) -> None:
    """Note where finished parts of long work lie, so that its end can say that they are kept.

    None: the work is done, or there is none.
    """
    _going_on[:] = [folder] if folder is not None else []


def goes_on() -> bool:
    """Whether the same command would go on with finished parts of what it is at."""
    return any(folder.is_dir() for folder in _going_on)


def part_beside(path: Path) -> Path:
    """Name for an unfinished file beside `path`: short, hidden, of this process, same ending."""
    count = 0
    while True:
        name = f"{_MARK}{_host()}-{os.getpid()}-{threading.get_native_id()}-{count}.part"
        beside = _reachable(path.with_name(f"{name}{path.suffix[:20]}"))
        if not beside.exists():
            return beside
        count += 1


def sweep(folder: Path) -> None:
    """Remove unfinished files in a folder that processes of this machine left that are no more."""
    ours = f"{_MARK}{_host()}-"
    with suppress(OSError):
        for left in folder.glob(f"{ours}*.part*"):
            number = left.name.removeprefix(ours).partition("-")[0]
            if number.isdigit() and not is_running(int(number)):
                _reachable(left).unlink(missing_ok=True)


def _reachable(path: Path) -> Path:
    """A part whose long name leads beyond what Windows takes, as Windows takes it all the same.

    The name that was asked for is shorter and fits; longer ones are for the system to allow.
    """
    return Path(unbounded(os.path.abspath(path))) if os.name == "nt" else path  # noqa: PTH100


def unbounded(whole: str) -> str:
    """A whole path of Windows, marked as one that may have more than 259 letters where it has.

    Source: "Maximum Path Length Limitation", Win32 documentation (from memory).
    """
    if len(whole) <= _MOST_WINDOWS or whole.startswith("\\\\?\\"):
        return whole
    return f"\\\\?\\UNC{whole[1:]}" if whole.startswith("\\\\") else f"\\\\?\\{whole}"


def is_running(number: int) -> bool:
    """Whether there is a process of this number, whoever's it is, on any system."""
    import psutil  # start-up: only a file left by some process asks

    try:
        return bool(psutil.pid_exists(number))
    except OverflowError:  # no number of a process: what is called so is none of ours
        return True


def same_place(path: Path, other: Path) -> bool:
    """Whether two names, there or not, are those of one file."""
    return _whole(path) == _whole(other)


def _whole(path: Path) -> str:
    return os.path.normcase(path.parent.resolve() / path.name)


def _host() -> str:
    """Short mark of this machine: numbers of processes mean nothing on another."""
    return hashlib.sha256(platform.node().encode()).hexdigest()[:8]


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_dev, found.st_ino


def _place(one: _Waiting) -> None:
    """Give a whole file its name; without `overwrite` the system itself refuses one that is taken.

    A hard link is made or refused in one step. Where there are none, the name is taken by an
    empty file of our own first; on Windows renaming itself refuses.
    """
    if one.overwrite:
        one.beside.replace(one.path)
        return
    try:
        if os.name == "nt":
            one.beside.rename(one.path)
            return
        try:
            one.path.hardlink_to(one.beside)
            one.beside.unlink()
        except FileExistsError:
            raise
        except (OSError, NotImplementedError):  # no hard links on this disk
            os.close(os.open(one.path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            one.beside.replace(one.path)
    except FileExistsError:
        raise OutputError(
            f"{one.path} appeared while this was at work and was left as it is; replace it with "
            "--overwrite, or give another name"
        ) from None


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Let Ctrl-C and a request to end wait for a few renames."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []

    def hold(number: int, _: FrameType | None) -> None:
        held.append(number)

    ends = (signal.SIGINT, signal.SIGTERM)
    before = {int(number): signal.signal(number, hold) for number in ends}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, signal.SIG_DFL if handler is None else handler)
        for number in held:
            signal.raise_signal(number)
