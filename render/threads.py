"""The compiled loops on several threads: each owns its rows, columns or tiles."""

import itertools
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, cast

import numba
from numba.core import config
from numba.np.ufunc import parallel

__all__ = ["each_share", "shares", "thread_count"]

#: Runs per thread: rows differ in what they cost, and the last run of all is worked on alone.
_RUNS = 16


def thread_count() -> int:
    """Threads to use: numba's own setting, so NUMBA_NUM_THREADS and its calls hold here too.

    To ask starts numba's own pool, which nothing here uses: before anybody did, what it would hold
    is told by its settings.
    """
    started, settings = getattr(parallel, "_is_initialized", True), cast("Any", config)
    return int(numba.get_num_threads() if started else settings.NUMBA_NUM_THREADS)


def shares(total: int, parts: int) -> list[tuple[int, int]]:
    """Cut ``range(total)`` into at most `parts` runs, as (start, stop)."""
    parts = max(1, min(parts, total))
    borders = [total * k // parts for k in range(parts + 1)]
    return list(itertools.pairwise(borders))


def each_share(total: int, work: Callable[[int, int], None]) -> None:
    """Call ``work(start, stop)`` for every thread's run of ``range(total)``."""
    runs = shares(total, _RUNS * thread_count())
    if len(runs) == 1:
        work(*runs[0])
        return
    with ThreadPoolExecutor(thread_count()) as pool:
        list(pool.map(lambda run: work(*run), runs))
