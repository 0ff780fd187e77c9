"""Who does many pieces of work side by side: processes of this machine, or a Dask cluster.

Each piece is done by the same function wherever it is done, so the bytes are those of one.
"""

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, connection, get_context, parent_process
from typing import Protocol, TypeVar

from render.errors import HingelineError, InputError, OutputError
from render.extras import needed
from render.units import told_in, units_told

__all__ = ["Cluster", "Crew", "Processes", "crew_of"]

Task = TypeVar("Task")
Result = TypeVar("Result")

#: How often workers may die, nothing being finished in between, before they get one piece each.
_DEATHS = 5
#: As many as a pool can wait for there (documentation of `concurrent.futures`).
_MOST_ON_WINDOWS = 61
_FEWER = "workers died at it, perhaps for want of memory: take fewer --workers"


class Crew(Protocol):
    """Does pieces of work side by side."""

    def do(
        self,
        work: Callable[[Task], Result],
        tasks: Sequence[Task],
        died: Callable[[Task, str], Result] | None = None,
    ) -> Iterator[tuple[int, Result]]:
        """Do all tasks; yields the number of each and its result as it is finished.

        Parameters
        ----------
        work : callable
            Of a module, so that workers find it; what it takes and returns can be pickled.
        died : callable or None
            Called with a task that workers died at and with why; its result stands for the
            task's. Where None, the whole is given up.

        Raises
        ------
        HingelineError
            What `work` raised, or that workers died.
        """


class Processes:
    """Workers on this machine; one that is killed is replaced, and only its piece done anew."""

    def __init__(self, count: int) -> None:
        self._count = min(count, _MOST_ON_WINDOWS) if os.name == "nt" else count

    def do(
        self,
        work: Callable[[Task], Result],
        tasks: Sequence[Task],
        died: Callable[[Task, str], Result] | None = None,
    ) -> Iterator[tuple[int, Result]]:
        """Do all tasks; see `Crew`."""
        left = dict(enumerate(tasks))
        deaths = 0
        while left:
            try:
                for done in self._round(work, left, self._count):
                    deaths = 0
                    del left[done[0]]
                    yield done
            except BrokenProcessPool:
                deaths += 1
                if deaths > _DEATHS:
                    yield from self._one_by_one(work, left, died)
                    deaths = 0

    def _round(
        self, work: Callable[[Task], Result], left: dict[int, Task], count: int
    ) -> Iterator[tuple[int, Result]]:
        """Do what is left until it is done, or a worker dies."""
        threads = max(1, (os.cpu_count() or 1) // count)
        units = units_told()
        others = active_children()
        context = get_context("spawn")
        with ProcessPoolExecutor(
            count, mp_context=context, initializer=_begin, initargs=(threads,)
        ) as pool:
            with _deaf_to_ctrl_c():  # only this process is told, and ends its workers
                futures = {
                    pool.submit(_done, work, task, units): number for number, task in left.items()
                }
            try:
                for future in as_completed(futures):
                    yield futures[future], future.result()
            except BaseException as error:
                pool.shutdown(wait=False, cancel_futures=True)
                if not isinstance(error, BrokenProcessPool):
                    for worker in set(active_children()).difference(others):
                        worker.terminate()
                raise

    def _one_by_one(
        self,
        work: Callable[[Task], Result],
        left: dict[int, Task],
        died: Callable[[Task, str], Result] | None,
    ) -> Iterator[tuple[int, Result]]:
        """Give those that were next a worker each, and find whom workers die at."""
        for number in list(left)[: 2 * self._count + 1]:
            task = left.pop(number)
            try:
                yield from self._round(work, {number: task}, 1)
            except BrokenProcessPool:
                if died is None:
                    raise OutputError(_FEWER) from None
                yield number, died(task, _FEWER)


def _done(work: Callable[[Task], Result], task: Task, units: str) -> Result:
    """Do one task here; its errors are such as every process can be told of."""
    try:
        with told_in(units):
            return work(task)
    except HingelineError as error:
        plain = next(kind for kind in type(error).__mro__ if kind.__module__ == "render.errors")
        raise plain(str(error)) from None


def _begin(threads: int) -> None:
    """Begin a worker: it uses its share of threads, and ends with the process that started it."""
    allowed = os.environ.get("NUMBA_NUM_THREADS", "")
    most = int(allowed) if allowed.isdecimal() else threads
    os.environ["NUMBA_NUM_THREADS"] = str(min(threads, most))  # read when numba is loaded
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # some systems tell every process of a console

    def watch() -> None:
        parent = parent_process()
        if parent is not None:
            connection.wait([parent.sentinel])  # even where it was killed
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Let processes that are started meanwhile ignore Ctrl-C."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


class Cluster:
    """A Dask cluster whose workers see the same folders and have Hingeline installed."""

    def __init__(self, address: str, wait_s: float = 10.0) -> None:
        self._address, self._wait_s = address, wait_s

    def do(
        self,
        work: Callable[[Task], Result],
        tasks: Sequence[Task],
        died: Callable[[Task, str], Result] | None = None,
    ) -> Iterator[tuple[int, Result]]:
        """Do all tasks; see `Crew`. The cluster itself does a dead worker's piece anew."""
        distributed, units = needed("distributed", "a cluster"), units_told()
        try:
            client = distributed.Client(self._address, timeout=self._wait_s)
        except (OSError, ValueError):
            raise InputError(
                f"no Dask scheduler answers at {self._address}: start one, or leave --scheduler out"
            ) from None
        with client:
            futures = {
                client.submit(_done, work, task, units, pure=False, retries=_DEATHS): number
                for number, task in enumerate(tasks)
            }
            for future in distributed.as_completed(futures):
                number = futures[future]
                try:
                    yield number, future.result()
                except distributed.KilledWorker:
                    if died is None:
                        raise OutputError(_FEWER) from None
                    yield number, died(tasks[number], _FEWER)


def crew_of(workers: int, scheduler: str | None) -> Crew | None:
    """Those who were asked for; None where this process does it alone."""
    if scheduler:
        return Cluster(scheduler)
    return Processes(workers) if workers > 1 else None
