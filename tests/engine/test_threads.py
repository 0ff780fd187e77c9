"""The compiled loops on several threads."""

import numba

from render.engine.threads import each_share, shares, thread_count


def test_shares_cover_everything_once():
    """Runs follow each other without gap or overlap, also with more parts than items."""
    for total, parts in ((10, 3), (3, 10), (1, 1)):
        runs = shares(total, parts)
        assert [k for start, stop in runs for k in range(start, stop)] == list(range(total))


def test_every_item_is_worked_on_once():
    """The work is called for each item, on as many threads as numba is set to."""
    done = [0] * 37

    def work(start: int, stop: int) -> None:
        for k in range(start, stop):
            done[k] += 1

    each_share(37, work)

    assert done == [1] * 37
    assert thread_count() == numba.get_num_threads()
