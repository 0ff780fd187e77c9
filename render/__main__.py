"""`python -m render`, and where the command `hingeline` begins."""

# `signal` wraps this one in enumerations, whose loading is what Ctrl-C would fall into.
import _signal  # type: ignore[import-not-found]

# Until the front door has the signals in hand, Ctrl-C ends the process without a word.
if _signal.getsignal(_signal.SIGINT) is _signal.default_int_handler:
    _signal.signal(_signal.SIGINT, _signal.SIG_DFL)

from render.cli.door import main

__all__ = ["main"]

if __name__ == "__main__":
    main()
