"""A process of its own for work on a stranger's file, with limits of time and memory.

What a damaged or hostile file makes of a library (a crash, a loop without end, tens of gigabytes)
happens there, and comes back as one `ApartError`.
"""

import contextlib
import json
import os
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from io import BufferedIOBase, BufferedReader
from pathlib import Path
from typing import IO, Any, Literal, cast

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.limits import SECONDS_APART

__all__ = ["ApartError", "answer_apart", "work_apart"]

#: Address space beside what is really held: code, stacks, and what allocators reserve and leave.
_RESERVED_BYTES = 2_000_000_000
#: Exit code of a worker that held more memory than it may, and how often it looks, s.
_FULL, _LOOK_S = 77, 0.05
#: Started without the current folder on Python's path: a stranger's files may lie there.
_START = (
    "import runpy, sys; sys.path.append(sys.argv.pop(1)); name = sys.argv.pop(1); "
    "runpy.run_module(name, run_name='__main__', alter_sys=True)"
)


class ApartError(Exception):
    """Why nothing came back.

    Attributes
    ----------
    how : str
        "late" (ended when its time was over), "full" (asked for more memory than it may have),
        "ended" (crashed, or said something that is no answer), "refused" (in a sentence of ours)
        or "failed" (in the words of a library).
    """

    def __init__(
        self, how: Literal["late", "full", "ended", "refused", "failed"], words: str = ""
    ) -> None:
        super().__init__(words)
        self.how = how


def work_apart(
    module: str,
    arguments: Sequence[str],
    *,
    most_bytes: float,
    most_numbers: int,
    given: NDArray[np.float32] | None = None,
) -> NDArray[Any]:
    """Let a module work in a process of its own.

    It takes at most `render.limits.SECONDS_APART`. Memory is limited by the system where it can
    (``RLIMIT_AS``, Linux) and watched by the worker itself on any Unix; on Windows time alone
    ends it.

    Parameters
    ----------
    module : str
        Name of a module that calls `answer_apart` when it is run.
    arguments : sequence of str
        Words for it.
    most_bytes : float
        Memory that it may hold.
    most_numbers : int
        The longest answer that is taken.
    given : ndarray of float32 or None
        Numbers for it.

    Returns
    -------
    ndarray, float32, float64 or uint8
        Its answer.

    Raises
    ------
    ApartError
        If none came.
    """
    worker = _started(module, arguments, most_bytes, given)
    late = threading.Event()

    def end() -> None:
        late.set()
        worker.kill()

    timer = threading.Timer(SECONDS_APART.most, end)
    timer.start()
    try:
        with worker:
            if worker.stdin is not None and given is not None:
                with contextlib.suppress(OSError):  # it ended before it had read all
                    worker.stdin.write(np.ascontiguousarray(given).data.cast("B"))
                    worker.stdin.close()
            answer = _received(cast("BufferedReader", worker.stdout), most_numbers)
    except BaseException:
        worker.kill()
        raise
    finally:
        timer.cancel()
    if late.is_set():
        raise ApartError("late")
    if worker.returncode == _FULL:
        raise ApartError("full")
    if isinstance(answer, ApartError):
        raise answer
    if worker.returncode:
        raise ApartError("ended")
    return answer


def _started(
    module: str, arguments: Sequence[str], most_bytes: float, given: NDArray[np.float32] | None
) -> subprocess.Popen[bytes]:
    """The process, which waits for what is given to it."""
    whole = [str(int(most_bytes)), "" if given is None else json.dumps(given.shape), *arguments]
    return subprocess.Popen(
        [sys.executable, "-P", "-c", _START, str(Path(__file__).parents[3]), module, *whole],
        stdin=subprocess.DEVNULL if given is None else subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={
            **os.environ,
            "OPENBLAS_NUM_THREADS": "1",
            "RAYON_NUM_THREADS": "2",
            "MALLOC_ARENA_MAX": "2",
        },
    )


def _received(stream: BufferedIOBase, most_numbers: int) -> NDArray[Any] | ApartError:
    """An answer as `_tell` wrote it."""
    try:
        head = json.loads(stream.read(struct.unpack("<I", stream.read(4))[0]))
        if "how" in head:
            return ApartError(head["how"], str(head["words"]))
        kind, shape = np.dtype(head["kind"]), tuple(int(size) for size in head["shape"])
        if kind.char not in "fdB" or min(shape, default=1) < 0:
            return ApartError("ended")
        if int(np.prod(shape, dtype=object)) > most_numbers:
            return ApartError("refused", "it gives more numbers than were asked for")
        return _filled(stream, np.empty(shape, kind))
    except (struct.error, ValueError, TypeError, KeyError, EOFError):
        return ApartError("ended")


def _filled(stream: BufferedIOBase, numbers: NDArray[Any]) -> NDArray[Any]:
    """Read numbers into an array, whole."""
    plain: Any = numbers.reshape(-1)
    into, at = memoryview(plain).cast("B"), 0
    while at < len(into):
        got = stream.readinto(into[at:])
        if not got:
            raise EOFError("the numbers did not all arrive")
        at += got
    return numbers


def answer_apart(work: Callable[[list[str], NDArray[np.float32] | None], NDArray[Any]]) -> None:
    """Answer `work_apart` on the other side: called by a module that is run.

    Parameters
    ----------
    work : callable
        Takes the words and the numbers handed over; what it raises is told as a refusal.
    """
    most_bytes, shape = int(sys.argv[1]), sys.argv[2]
    out = os.fdopen(os.dup(1), "wb")
    with Path(os.devnull).open("wb") as nowhere:  # libraries may print; this pipe is for the answer
        os.dup2(nowhere.fileno(), 1)
    try:
        given = None
        if shape:
            given = _filled(
                cast("BufferedReader", sys.stdin.buffer), np.empty(json.loads(shape), np.float32)
            )
        _limit(most_bytes)
        found = np.ascontiguousarray(work(sys.argv[3:], given))
    except MemoryError:
        _tell(out, {"how": "full", "words": ""})
    except InputError as error:
        _tell(out, {"how": "refused", "words": str(error)})
    except Exception as error:  # the library's own, struct's, zlib's: whatever a bad file brings
        words = " ".join(str(error).split())[:160] or type(error).__name__
        _tell(out, {"how": "failed", "words": words})
    else:
        _tell(out, {"kind": found.dtype.str, "shape": found.shape}, found)


def _tell(out: IO[bytes], head: dict[str, Any], numbers: NDArray[Any] | None = None) -> None:
    text = json.dumps(head).encode()
    out.write(struct.pack("<I", len(text)) + text)
    if numbers is not None:
        plain: Any = numbers.reshape(-1)
        out.write(memoryview(plain).cast("B"))
    out.flush()


def _limit(most_bytes: int) -> None:
    """Bound the memory of this process, and let it end with the one that asked."""
    if sys.platform == "win32":
        return
    import resource

    space = most_bytes + _RESERVED_BYTES
    with contextlib.suppress(ValueError, OSError):  # macOS knows the limit, and may not take it
        resource.setrlimit(resource.RLIMIT_AS, (space, space))
    parent = os.getppid()

    def held_bytes() -> int:
        try:  # the peak that Linux tells by getrusage is that of the process forked from, too
            pages = int(Path("/proc/self/statm").read_text().split()[1])
            return pages * resource.getpagesize()
        except (OSError, ValueError):
            unit = 1 if sys.platform == "darwin" else 1024
            return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit

    def watch() -> None:
        while True:
            if held_bytes() > most_bytes:
                os._exit(_FULL)
            if os.getppid() != parent:
                os._exit(1)
            time.sleep(_LOOK_S)

    threading.Thread(target=watch, daemon=True).start()
