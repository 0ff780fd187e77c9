"""Who makes a film: the bytes do not depend on it."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.jobs.film import film
from render.jobs.filming.crew import Cluster, Processes, crew_of
from render.load.progress import silent
from render.shot.filmwishes import FilmWishes
from tests.clips import street, write_clip
from tests.jobs.test_film import _shot, _wishes


def test_alone_unless_asked() -> None:
    """Workers from two on; a scheduler goes before them."""
    assert crew_of(FilmWishes()) is None
    assert isinstance(crew_of(FilmWishes(workers=2)), Processes)
    assert isinstance(crew_of(FilmWishes(workers=2, scheduler="tcp://a:1")), Cluster)


def test_a_scheduler_that_does_not_answer_is_said() -> None:
    """In one sentence, quickly."""
    pytest.importorskip("distributed")

    with pytest.raises(InputError, match=r"no Dask scheduler answers at tcp://127\.0\.0\.1:9"):
        next(Cluster("tcp://127.0.0.1:9", wait_s=1).make(None, []))  # type: ignore[arg-type]


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
