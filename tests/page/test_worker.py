"""One task at a time, the most urgent first, only the newest of a kind."""

import asyncio
import threading
from collections.abc import Callable, Iterator

import pytest

from render.page.worker import StaleError, Worker


@pytest.fixture
def worker() -> Iterator[Worker]:
    made = Worker()
    made.start()
    yield made
    made.close()


class _Held:
    """A task that is being done until its gate is opened."""

    def __init__(self) -> None:
        self.gate, self._begun = threading.Event(), threading.Event()

    def __call__(self) -> str:
        self._begun.set()
        self.gate.wait(60)
        return "first"

    async def begun(self) -> None:
        assert await asyncio.to_thread(self._begun.wait, 60)


def test_the_newest_of_a_kind_replaces_one_that_waits(worker: Worker) -> None:
    """While the first is worked on, only the last of those that came after it is done."""
    first = _Held()
    done: list[int] = []

    async def turn() -> list[object]:
        tasks = [asyncio.create_task(worker.run("a", "draft", 0, first))]
        await first.begun()
        for number in range(5):
            tasks.append(
                asyncio.create_task(
                    worker.run("a", "draft", 0, lambda n=number: done.append(n) or n)
                )
            )
            await asyncio.sleep(0)
        other = asyncio.create_task(worker.run("b", "draft", 0, lambda: "other tab"))
        await asyncio.sleep(0)
        first.gate.set()
        return await asyncio.gather(*tasks, other, return_exceptions=True)

    results = asyncio.run(turn())

    assert results[0] == "first"
    assert all(isinstance(result, StaleError) for result in results[1:5])
    assert results[5] == 4
    assert results[6] == "other tab"
    assert done == [4]


def test_a_task_learns_that_its_view_wants_something_newer(worker: Worker) -> None:
    """Only of its own view, as urgent as itself, and only of what is most urgent."""
    seen: list[tuple[str, bool]] = []

    async def turn() -> None:
        for rank, view, newer in ((0, "a", 0), (0, "b", 0), (0, "a", 3), (3, "a", 3)):
            first = _Held()

            def task(first: Callable[[], str] = first, view: str = view) -> None:
                first()
                seen.append((view, worker.outdated()))

            held = asyncio.create_task(worker.run("a", "draft", rank, task))
            await first.begun()
            other = asyncio.create_task(worker.run(view, "draft", newer, lambda: None))
            await asyncio.sleep(0)
            first.gate.set()
            await asyncio.gather(held, other)

    asyncio.run(turn())

    assert seen == [("a", True), ("b", False), ("a", False), ("a", False)]


def test_what_is_urgent_goes_first_and_nothing_runs_at_once(worker: Worker) -> None:
    """Ranks decide, and two tasks are never inside at the same time."""
    first = _Held()
    order: list[str] = []
    inside = threading.Semaphore(1)

    def task(name: str) -> None:
        assert inside.acquire(blocking=False)
        order.append(name)
        inside.release()

    async def turn() -> None:
        waiting = [asyncio.create_task(worker.run("a", "hold", 0, first))]
        await first.begun()
        for rank, name in ((4, "verdict"), (3, "clean"), (0, "draft")):
            waiting.append(asyncio.create_task(worker.run("a", name, rank, lambda n=name: task(n))))
            await asyncio.sleep(0)
        first.gate.set()
        await asyncio.gather(*waiting)

    asyncio.run(turn())

    assert order == ["draft", "clean", "verdict"]


def test_a_failure_belongs_to_who_asked(worker: Worker) -> None:
    """An error comes back as itself, and the worker goes on."""

    def fails() -> None:
        raise ValueError("no")

    async def turn() -> str:
        with pytest.raises(ValueError, match="no"):
            await worker.run("a", "draft", 0, fails)
        return await worker.run("a", "draft", 0, lambda: "goes on")

    assert asyncio.run(turn()) == "goes on"


def test_after_closing_nothing_is_begun() -> None:
    """A closed worker refuses at once instead of leaving somebody waiting."""
    worker = Worker()
    worker.start()
    worker.close()

    with pytest.raises(StaleError):
        asyncio.run(worker.run("a", "draft", 0, lambda: None))
