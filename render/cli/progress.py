"""Progress on standard error, so that standard output stays clean for programs."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from render.load.progress import Progress, silent

__all__ = ["goes_without_defaults", "is_quiet", "shown_progress"]

#: Off a terminal nothing is said of what is done sooner, s.
_WORTH_A_LINE_S = 4.0
#: A step that counts is told again after so long, s; after an hour, twelve times as long.
_AGAIN_S = 5.0
#: What begins with this is said at once, and stays: the wait after it comes once, and is long.
_AT_ONCE = "compiling"


def is_quiet() -> bool:
    """Whether the command line asks for nothing but errors (--quiet)."""
    return "--quiet" in sys.argv[1:3]  # where the front door puts it


def goes_without_defaults() -> bool:
    """Whether the command line asks to go without one's own defaults (--no-defaults)."""
    return "--no-defaults" in sys.argv[1:3]


@contextmanager
def shown_progress() -> Iterator[Progress]:
    """Show a bar for anything that lasts over a second, off a terminal a line a long step."""
    if is_quiet():
        yield silent
        return
    if not sys.stderr.isatty():
        yield _lines()
        return

    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)

        def report(what: str, share: float) -> None:
            if what.startswith(_AT_ONCE):
                bar.console.print(f"hingeline: {what} ...", highlight=False)
            bar.update(task, description=what, completed=share)

        yield report


def _lines() -> Progress:
    """A line on standard error for each new step, once the whole has lasted a while.

    A step that counts ("frame 7 of 20") is told again now and then, the more seldom the longer
    it has lasted.
    """
    start = time.monotonic()
    said, at = "", start
    at_once: set[str] = set()

    def report(what: str, share: float) -> None:
        nonlocal said, at
        now = time.monotonic()
        if what.startswith(_AT_ONCE):
            if what not in at_once:
                at_once.add(what)
                print(f"hingeline: {what} ...", file=sys.stderr, flush=True)  # noqa: T201
            return
        counts_on = what.split(" ")[0] == said.split(" ")[0]
        pause = min(_AGAIN_S * 12, max(_AGAIN_S, 0.05 * (now - start))) if counts_on else 0.0
        if what and what != said and now - start > _WORTH_A_LINE_S and now - at >= pause:
            said, at = what, now
            print(f"hingeline: {what} ...", file=sys.stderr, flush=True)  # noqa: T201

    return report
