"""Shares of the work."""

import numba
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numba.core import config
from numba.np.ufunc import parallel

from render.threads import each_share, shares, thread_count


@given(st.integers(1, 500), st.integers(1, 40))
def test_shares_cover_everything_once(total: int, parts: int) -> None:
    """Runs join without gap or overlap, and none is empty."""
    runs = shares(total, parts)

    assert [i for start, stop in runs for i in range(start, stop)] == list(range(total))
    assert len(runs) == min(parts, total)


@given(st.integers(1, 300))
def test_every_row_is_worked_on_once(total: int) -> None:
    """On as many threads as there are."""
    seen = np.zeros(total, int)

    def work(start: int, stop: int) -> None:
        seen[start:stop] += 1

    each_share(total, work)

    assert np.all(seen == 1)


def test_asking_starts_no_pool(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before anybody has used numba's own threads, its settings tell how many there would be."""
    monkeypatch.setattr(parallel, "_is_initialized", False)
    monkeypatch.setattr(config, "NUMBA_NUM_THREADS", 3)
    monkeypatch.setattr(numba, "get_num_threads", lambda: pytest.fail("a pool was started"))

    assert thread_count() == 3


def test_the_compilers_own_setting_holds() -> None:
    """Fewer threads asked of numba are fewer threads here."""
    before = numba.get_num_threads()
    try:
        numba.set_num_threads(1)
        assert thread_count() == 1
    finally:
        numba.set_num_threads(before)
