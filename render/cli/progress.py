"""Progress on standard error, so that standard output stays clean for programs."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from render.load.progress import Progress, silent

__all__ = ["shown_progress"]


@contextmanager
def shown_progress() -> Iterator[Progress]:
    """Show a bar for anything that lasts over a second, on a terminal only."""
    if not sys.stderr.isatty():
        yield silent
        return

    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)

        def report(what: str, share: float) -> None:
            bar.update(task, description=what, completed=share)

        yield report
