"""The front door: every ending has its exit code and its words, whatever happened inside.

Exit codes: 0 done; 2 refused, in one sentence; 3 some of many refused, the others done; 70 a
fault of the program itself; 74 what it says could not be written; 130 stopped by Ctrl-C; 141
nobody listened any more; 143 told to end. (Those below 128 follow ``sysexits.h`` of BSD where it
has one, those above are 128 and the number of the signal.)

Nothing large is imported before the signals are in hand.
"""

import _thread
import atexit
import codecs
import errno
import gc
import os
import signal
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from importlib import import_module
from types import FrameType

__all__ = ["main"]

_TRACE = "--trace"
#: The same in the environment, where a command line is not one's own: HINGELINE_TRACE=1.
_TRACE_WISH = "HINGELINE_TRACE"
#: Wherever they stand, they are handed on before the command.
_BEFORE = ("--quiet", "--no-defaults")
#: Letters of ours that old code pages lack, and what stands in for them.
_PLAIN_LETTERS = {
    "→": "->",
    "←": "<-",
    "−": "-",
    "–": "-",
    "µ": "u",
    "°": " deg",
    "·": ",",
    "×": "x",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "…": "...",
    "“": '"',
    "”": '"',
    "’": "'",
    "±": "+/-",
}

#: What writing to a full, closed or broken standard output brings.
_UNHEARD = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG)


#: Matrix products run on one thread, unless the user says otherwise: ours are so thin that
#: threads would wait for each other, and their sums would depend on how many there are. Read when
#: numpy and scipy are loaded; workers inherit it.
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "VECLIB_MAXIMUM_THREADS", "MKL_NUM_THREADS")

#: What is made before Python looks for cycles to clear away, 700 by default: what start-up loads,
#: some 300,000 things, stays for good, and was looked through again and again.
_MADE_BETWEEN = 400_000

#: After this time a stop that was lost comes again, s.
_AGAIN_S = 0.02


class _Ended(BaseException):
    """The system asked the program to end (SIGTERM, SIGHUP)."""


def main() -> None:
    """Run the command line, and end as the table above says."""
    stopped: list[int] = []
    begun = False

    def stop(number: int, _: FrameType | None) -> None:
        stopped.append(number)
        if begun:
            raise _ending_of(number)

    usual = sys.unraisablehook
    sys.unraisablehook = partial(_unraised, stopped, usual)
    before = {}
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) != signal.SIG_IGN:
            before[number] = signal.signal(number, stop)
    _hold_standard_streams()
    typed, told = _TRACE in sys.argv, bool(os.environ.get(_TRACE_WISH))
    trace = typed or told
    if typed and not told:
        os.environ[_TRACE_WISH] = "1"  # for workers
    first = [word for word in _BEFORE if word in sys.argv]
    plain = [word for word in sys.argv if word not in (_TRACE, *_BEFORE)]
    sys.argv = [*plain[:1], *first, *plain[1:]]
    _speak_plainly()
    os.environ.pop("NUMBA_DISABLE_JIT", None)  # for other programs: ours has loops of light
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    gc.set_threshold(_MADE_BETWEEN, *gc.get_threshold()[1:])
    try:
        begun = True
        if stopped:  # while all that was prepared, where nobody would have caught it
            raise _ending_of(stopped[0])
        _check_folder()
        code = _run()
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0
        if isinstance(end.__context__, BrokenPipeError):  # as the library hands it on
            code = 141
    except BaseException as error:
        if stopped:  # whatever an import or a library made of it
            code = 130 if stopped[0] == signal.SIGINT else 143
            _say(f"{'stopped' if code == 130 else 'told to end'}; {_what_stands()}")
        else:
            code = _ending(error, trace=trace)
    if typed and not told:
        del os.environ[_TRACE_WISH]
    sys.unraisablehook = usual
    for number, handler in before.items():
        signal.signal(number, signal.SIG_DFL if handler is None else handler)
    atexit.unregister(_end_undisturbed)
    atexit.register(_end_undisturbed)
    _leave(code)


def _ending_of(number: int) -> type[BaseException]:
    return KeyboardInterrupt if number == signal.SIGINT else _Ended


def _unraised(
    stopped: list[int],
    usual: Callable[["sys.UnraisableHookArgs"], object],
    lost: "sys.UnraisableHookArgs",
) -> None:
    """Let a stop that came while Python cleared something away, where none is heard, come again.

    What is raised there is written to standard error and lost, and the work would go on.
    """
    if stopped and issubclass(lost.exc_type, KeyboardInterrupt | _Ended):
        _thread.start_new_thread(_stop_again, (stopped.pop(), _thread.get_ident()))
    else:
        usual(lost)


def _stop_again(number: int, main_thread: int) -> None:
    time.sleep(_AGAIN_S)
    if sys.platform == "win32":
        _thread.interrupt_main(signal.Signals(number))
    else:  # wakes it, too, where it waits
        signal.pthread_kill(main_thread, number)


def _end_undisturbed() -> None:
    """Let a second Ctrl-C not disturb the end of the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _hold_standard_streams() -> None:
    """Put nothing in the place of standard streams that are closed.

    The next file that is opened would get the number of one of them, and what a library or a
    process of our own writes there would end up in it.
    """
    with suppress(OSError):
        while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
            os.set_inheritable(number, True)
        os.close(number)
        for name, file in (("stdout", 1), ("stderr", 2)):
            if getattr(sys, name) is None:
                setattr(sys, name, os.fdopen(file, "w", encoding="utf-8", closefd=False))


def _check_folder() -> None:
    """Refuse to work in a folder that was removed meanwhile: no name means anything there.

    Raises
    ------
    InputError
    """
    try:
        os.getcwd()  # noqa: PTH109 (pathlib is loaded later)
    except OSError:
        from render.errors import InputError

        raise InputError("the folder that you are in is gone: change into another one") from None


def _run() -> int:
    found = import_module("render.cli.main").run(sys.argv[1:])
    return found if isinstance(found, int) else 0


def _ending(error: BaseException, *, trace: bool) -> int:
    """Say what an error means, and return the exit code that goes with it."""
    from render.errors import HingelineError

    if isinstance(error, HingelineError):
        _say(str(error))
        return 2
    if isinstance(error, KeyboardInterrupt) or type(error).__name__ == "Abort":
        _say(f"stopped; {_what_stands()}")
        return 130
    if isinstance(error, BrokenPipeError):
        return 141
    if isinstance(error, OSError) and error.errno in _UNHEARD:  # files are OutputErrors by now
        _say(f"what it says could not be written ({error.strerror}); {_what_stands()}")
        return 74
    if isinstance(error, MemoryError) or _is_cramped(error):
        _say(
            "this machine has not enough memory free for that: make the picture smaller (--width), "
            "close other programs, or allow this one more (ulimit -v)"
        )
        return 2
    if trace:
        import traceback

        traceback.print_exception(error)
    _say(f"{_fault(error)}; {_what_stands()}")
    return 70


def _is_cramped(error: BaseException) -> bool:
    """Whether a library could not be loaded because this process may have too little memory."""
    return isinstance(error, ImportError | OSError) and any(
        mark in str(link)
        for link in (error, error.__cause__, error.__context__)
        for mark in ("failed to map segment", "cannot allocate memory", "Cannot allocate memory")
    )


def _fault(error: BaseException) -> str:
    """A fault of the program itself in one sentence: what, where, and what to do."""
    import traceback

    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if f"{os.sep}render{os.sep}" in f.filename] or frames
    where = ""
    if ours:
        file = ours[-1].filename.rpartition(f"{os.sep}render{os.sep}")[2]
        where = f", {file} line {ours[-1].lineno}"
    said = " ".join(str(error).split())[:160]
    return (
        f"this is a fault of the program, not of what you gave it ({type(error).__name__}"
        f"{': ' if said else ''}{said}{where}): please report it with the command and what "
        f'hingeline --version says (README, "If it breaks"); {_TRACE} shows more'
    )


def _what_stands() -> str:
    """What has been written already, if anything."""
    run = sys.modules.get("render.files.run")
    placed = run.put_in_place() if run is not None else ()
    if run is not None and run.goes_on():
        return "what is done is kept, the same command goes on"
    stands = [str(path) for path in placed if path.exists()]  # what was sent on is gone
    return f"written already: {', '.join(stands)}" if stands else "nothing was written"


def _say(sentence: str) -> None:
    with suppress(OSError, ValueError, AttributeError):
        print(f"hingeline: {sentence}", file=sys.stderr, flush=True)  # noqa: T201


def _speak_plainly() -> None:
    """Let no output fail for its letters: what a code page lacks is written in letters it has."""
    codecs.register_error("plain", _in_plain_letters)
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError, ValueError):
            stream.reconfigure(errors="plain")  # type: ignore[union-attr]


def _in_plain_letters(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_PLAIN_LETTERS.get(letter, "?") for letter in lacking), error.end


def _leave(code: int) -> None:
    """End with a code; what could not be said is dropped without a word.

    Python does not look for cycles on its way out: with all libraries loaded that takes longer
    than the rest of the way, and what they hold goes with the process.
    """
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    gc.freeze()
    sys.exit(code)
