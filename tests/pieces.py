"""Pieces of work for crews, in a module that workers load quickly."""

import os
import pickle
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from render.errors import SettingError

__all__ = ["Backwards", "one_of_many", "refuse"]


class _OddError(SettingError):
    """An error that no other process can be told of: it takes two words."""

    def __init__(self, one: str, two: str) -> None:
        super().__init__(f"{one} {two}")


def one_of_many(task: tuple[str, str]) -> str:
    """A piece of work that may kill its worker, once or whenever it is begun."""
    how, mark = task
    if how == "killed once" and not Path(mark).exists():
        Path(mark).touch()
        os._exit(9)
    if how == "killed whenever":
        os._exit(9)
    return how


def refuse(task: str) -> str:
    """A piece of work that cannot be done."""
    raise _OddError("too", task)


class Backwards:
    """A crew of strangers: all they know was sent to them, and the last piece is done first."""

    def do(
        self, work: Callable[[Any], Any], tasks: Sequence[Any], died: object = None
    ) -> Iterator[tuple[int, Any]]:
        """Do all tasks; see `render.jobs.crew.Crew`."""
        for number in reversed(range(len(tasks))):
            sent = pickle.loads(pickle.dumps((work, tasks[number])))
            yield number, pickle.loads(pickle.dumps(sent[0](sent[1])))
