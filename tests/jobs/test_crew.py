"""Who does the work: the results do not depend on it, and a worker that dies loses nothing."""

from pathlib import Path

import pytest

from render.errors import InputError, OutputError, SettingError
from render.jobs.crew import Cluster, Processes, crew_of
from render.jobs.film import film
from render.load.progress import silent
from tests.clips import street, write_clip
from tests.jobs.test_film import _shot, _wishes
from tests.pieces import one_of_many, refuse


def test_alone_unless_asked() -> None:
    """Workers from two on; a scheduler goes before them."""
    assert crew_of(1, None) is None
    assert isinstance(crew_of(2, None), Processes)
    assert isinstance(crew_of(2, "tcp://a:1"), Cluster)


def test_a_scheduler_that_does_not_answer_is_said() -> None:
    """In one sentence, quickly."""
    pytest.importorskip("distributed")

    with pytest.raises(InputError, match=r"no Dask scheduler answers at tcp://127\.0\.0\.1:9"):
        next(Cluster("tcp://127.0.0.1:9", wait_s=1).do(len, []))


def test_a_worker_that_dies_loses_nothing_but_what_it_dies_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed once, a piece is done again; a piece that kills every worker is named, others go on.

    Errors keep their kind and their sentence.
    """
    monkeypatch.setattr("render.jobs.crew._DEATHS", 1)
    tasks = [("a", ""), ("killed once", str(tmp_path / "once")), ("killed whenever", ""), ("b", "")]

    done = dict(Processes(2).do(one_of_many, tasks, lambda task, why: f"{task[0]}: {why}"))

    assert [done[number] for number in (0, 1, 3)] == ["a", "killed once", "b"]
    assert done[2].startswith("killed whenever: workers died at it")


def test_what_workers_die_at_ends_the_whole_where_it_is_needed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """In one sentence."""
    monkeypatch.setattr("render.jobs.crew._DEATHS", 0)

    with pytest.raises(OutputError, match="workers died"):
        list(Processes(2).do(one_of_many, [("killed whenever", "")]))


def test_an_error_comes_back_from_another_process() -> None:
    """As the kind that everybody knows, with its sentence."""
    with pytest.raises(SettingError, match=r"^too steep$"):
        list(Processes(1).do(refuse, ["steep"]))


def test_a_cluster_gives_the_same_bytes(tmp_path: Path) -> None:
    """A Dask cluster in this process, over its own address."""
    distributed = pytest.importorskip("distributed")
    source = write_clip(tmp_path / "a.mp4", street(60))
    film(_shot(source), out=tmp_path / "alone.mp4", progress=silent)
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        wishes = _wishes(scheduler=cluster.scheduler_address)
        film(_shot(source), wishes, tmp_path / "shared.mp4", progress=silent)

    assert (tmp_path / "shared.mp4").read_bytes() == (tmp_path / "alone.mp4").read_bytes()
