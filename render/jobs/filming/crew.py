"""Who makes a film's segments: processes of this machine, or a Dask cluster."""

import os
import signal
import threading
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children, get_context
from typing import Protocol

from render.errors import InputError, OutputError
from render.extras import needed
from render.film.order import FilmOrder
from render.film.segments import Segment
from render.jobs.filming.segment import make_segment
from render.shot.filmwishes import FilmWishes

__all__ = ["Cluster", "Crew", "Processes", "crew_of"]

#: How often a worker may die before the film is given up.
_DEATHS = 5


class Crew(Protocol):
    """Makes segments side by side; the same function for each, so the bytes are those of one."""

    def make(self, order: FilmOrder, todo: Sequence[Segment]) -> Iterator[Segment]:
        """Make them all; yields each as it is finished."""


class Processes:
    """Workers on this machine; one that is killed is replaced, and only its segment made anew."""

    def __init__(self, count: int) -> None:
        self._count = count

    def make(self, order: FilmOrder, todo: Sequence[Segment]) -> Iterator[Segment]:
        """Make segments; see `Crew`."""
        threads = max(1, (os.cpu_count() or 1) // self._count)
        left = {each.number: each for each in todo}
        for _ in range(_DEATHS + 1):
            try:
                others = active_children()
                with ProcessPoolExecutor(self._count, mp_context=get_context("spawn")) as pool:
                    with _deaf_to_ctrl_c():  # only this process is told, and ends its workers
                        futures = [
                            pool.submit(make_segment, order, each, threads=threads)
                            for each in left.values()
                        ]
                    try:
                        for future in as_completed(futures):
                            yield left.pop(future.result())
                    except BaseException as error:
                        pool.shutdown(wait=False, cancel_futures=True)
                        if not isinstance(error, BrokenProcessPool):
                            for worker in set(active_children()).difference(others):
                                worker.terminate()
                        raise
            except BrokenProcessPool:
                continue
            return
        raise OutputError(
            f"{order.out}: {_DEATHS + 1} workers died, perhaps for want of memory; take fewer "
            "--workers, and the same command goes on"
        )


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

    def make(self, order: FilmOrder, todo: Sequence[Segment]) -> Iterator[Segment]:
        """Make segments; see `Crew`. The cluster itself makes a dead worker's segment anew."""
        distributed = needed("distributed", "a cluster")
        try:
            client = distributed.Client(self._address, timeout=self._wait_s)
        except OSError:
            raise InputError(
                f"no Dask scheduler answers at {self._address}: start one, or leave --scheduler out"
            ) from None
        left = {each.number: each for each in todo}
        with client:
            futures = [
                client.submit(make_segment, order, each, pure=False, retries=_DEATHS)
                for each in todo
            ]
            for future in distributed.as_completed(futures):
                yield left.pop(future.result())


def crew_of(wishes: FilmWishes) -> Crew | None:
    """Those who were asked for; None where this process does it alone."""
    if wishes.scheduler:
        return Cluster(wishes.scheduler)
    return Processes(wishes.workers) if wishes.workers > 1 else None
