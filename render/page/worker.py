"""One thread for all work on pictures; what is out of date is not done at all."""

import asyncio
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

__all__ = ["StaleError", "Worker"]

T = TypeVar("T")


class StaleError(Exception):
    """Something newer was asked for before this was begun."""


@dataclass(slots=True)
class _Wish:
    task: Callable[[], Any]
    rank: int
    loop: asyncio.AbstractEventLoop
    answer: "asyncio.Future[Any]"


@dataclass(slots=True)
class Worker:
    """Runs one task at a time, the most urgent first, and only the newest of each kind.

    Parallel kernels may not be entered by two threads at once on every machine, so all work on
    pictures goes through here.
    """

    _wishes: dict[tuple[str, str], _Wish] = field(default_factory=dict)
    _changed: threading.Condition = field(default_factory=threading.Condition)
    _now: tuple[str, int] | None = None
    _closing: bool = False
    _thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to work."""
        self._thread = threading.Thread(target=self._work, name="pictures", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Let the task at hand end, drop the others."""
        with self._changed:
            self._closing = True
            dropped = list(self._wishes.values())
            self._wishes.clear()
            self._changed.notify()
        for wish in dropped:
            _tell(wish, error=StaleError())
        if self._thread:
            self._thread.join(timeout=20)

    async def run(self, view: str, kind: str, rank: int, task: Callable[[], T]) -> T:
        """Run `task` for one view of the page.

        Parameters
        ----------
        view, kind : str
            A newer task of the same view and kind replaces one that has not begun.
        rank : int
            0 is done first.

        Raises
        ------
        StaleError
            If it was replaced, or the program is ending.
        """
        loop = asyncio.get_running_loop()
        wish = _Wish(task, rank, loop, loop.create_future())
        with self._changed:
            if self._closing:
                raise StaleError
            old = self._wishes.pop((view, kind), None)
            self._wishes[view, kind] = wish
            self._changed.notify()
        if old:
            _tell(old, error=StaleError())
        result: T = await wish.answer
        return result

    def outdated(self) -> bool:
        """Whether the task at hand is a most urgent one, and a newer one of its view waits."""
        with self._changed:
            waiting = {(view, wish.rank) for (view, _), wish in self._wishes.items()}
            return self._now in waiting and self._now is not None and self._now[1] == 0

    def _work(self) -> None:
        while True:
            with self._changed:
                while not self._wishes and not self._closing:
                    self._changed.wait()
                if self._closing:
                    return
                key = min(self._wishes, key=lambda name: self._wishes[name].rank)
                wish = self._wishes.pop(key)
                self._now = key[0], wish.rank
            try:
                result = wish.task()
            except Exception as error:  # it belongs to whoever asked
                _tell(wish, error=error)
            else:
                _tell(wish, result=result)


def _tell(wish: _Wish, *, result: Any = None, error: Exception | None = None) -> None:
    def settle() -> None:
        if wish.answer.done():
            return
        if error is None:
            wish.answer.set_result(result)
        else:
            wish.answer.set_exception(error)

    if not wish.loop.is_closed():
        wish.loop.call_soon_threadsafe(settle)
