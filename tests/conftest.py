"""What every room shares: cases that repeat on every machine, and roofs and fronts."""

import gc
import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a worker a core: more threads only wait
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # the programs that tests start, see below

from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from render.sheets.drawing import stand_in
from tests.fonts import forget_fonts
from tests.roofs import Front, Roof

# importing and compiling make millions of objects that stay: a tenth goes into looking at them
gc.set_threshold(100_000, 20, 20)
sys.dont_write_bytecode = False  # workers and programs share what one has compiled
settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=60)
settings.load_profile("repeatable")

#: Files that take long go first, so that no worker waits for one at the end. The first compiles
#: the engine's loops, `test_trace` those of the tracer, and neither the other's; what needs no
#: loops goes beside and after them, and only then what would compile them once more, itself or in
#: a browser's program.
_FIRST = (
    "engine/test_photograph.py",
    "test_house.py",
    "trace/test_trace.py",
    "world/test_standing.py",
    "world/things/test_people.py",
    "world/things/test_busts.py",
    "depth/near/test_along.py",
    "page/test_browser.py",
    "trace/test_exact.py",
    "load/test_scenes.py",
    "jobs/test_film.py",
    "test_library.py",
    "live/test_stages.py",
    "judge/test_laws.py",
    "page/test_serve.py",
)

#: So many tests are worth more than one process.
_MANY = 1000


def pytest_xdist_auto_num_workers() -> int:
    """One worker more than cores: some wait for a browser, or for a program that they started."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Workers look through folders from different ends: what one compiles, the others find."""
    report = yield
    if collector.path.is_dir():
        found, half = report.result, len(report.result) // 2
        worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
        report.result = (found, found[::-1], found[half:] + found[:half])[worker % 3]
    return report


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the long files first; all others follow by name, whoever found them."""
    place = {Path(__file__).parent / name: at for at, name in enumerate(_FIRST)}
    items.sort(key=lambda item: (place.get(item.path, len(_FIRST)), item.path))


def pytest_collection_finish(session: pytest.Session) -> None:
    """What thousands of tests are made of stays: no collection of garbage looks at it again.

    Whoever runs them all in one process learns why they take so long.
    """
    gc.freeze()
    config = session.config
    shared = hasattr(config, "workerinput") or config.getoption("numprocesses", None)
    if len(session.items) > _MANY and not shared and not config.getoption("collectonly"):
        config.get_terminal_writer().line(
            f"{len(session.items)} tests, one after another: pytest -n auto shares them among "
            "processors, and is done sooner"
        )


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Builds of scenes are kept for this run and all its workers, not in the user's own cache."""
    base = tmp_path_factory.getbasetemp()
    run = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(run / "own-cache"))
        patch.setenv("HINGELINE_DEFAULTS", "none")  # nor what a developer has as defaults
        patch.delenv(stand_in.FONT_SETTING, raising=False)
        yield


@pytest.fixture
def small_scenes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scenes are looked at 320 px wide where nobody says how wide: what is claimed holds at any."""
    for module in ("load.scenes", "live.stages"):
        monkeypatch.setattr(f"render.{module}.USUAL_WIDTH_PX", 320)


@pytest.fixture
def roof() -> Callable[..., Roof]:
    """Build a roof."""
    return Roof


@pytest.fixture
def front() -> Callable[..., Front]:
    """Build a front."""
    return Front


@pytest.fixture
def only_fonts_in(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[Path], None]]:
    """Let this system's fonts be those of one folder."""

    def only(folder: Path) -> None:
        monkeypatch.setattr(stand_in, "_font_folders", lambda: [folder])
        forget_fonts()

    yield only
    forget_fonts()


@pytest.fixture
def no_fonts(only_fonts_in: Callable[[Path], None], tmp_path: Path) -> None:
    """A system that has no fonts at all."""
    only_fonts_in(tmp_path / "none")
