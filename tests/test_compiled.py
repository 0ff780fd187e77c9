"""Compiled loops are kept by what their sources say, where that can be written."""

import re
from collections.abc import Iterator
from pathlib import Path

import numba
import pytest
from numba.core import config

from render import compiled

ROOT = Path(compiled.__file__).parent


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    compiled.kept_in.cache_clear()
    yield
    compiled.kept_in.cache_clear()


def test_an_edit_of_any_loop_changes_the_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Also of one in another file, or in the textures that rays read; not of plain Python."""
    sources = ("trace/walk.py", "trace/light.py", "world/surfaces/noise.py")
    for name in sources:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("from render.compiled import step\n")
    plain = tmp_path / "trace" / "view.py"
    monkeypatch.setattr(compiled, "_PACKAGE", tmp_path)
    names = [compiled.kept_in("trace").name]
    for name in (*sources, "trace/view.py"):
        (tmp_path / name).write_text(f"{plain.exists()}\nfrom render.compiled import step\n\n")
        if name.endswith("view.py"):
            plain.write_text("import math\n")
        compiled.kept_in.cache_clear()
        names.append(compiled.kept_in("trace").name)

    assert len(set(names[:4])) == 4
    assert names[4] == names[3]


def test_every_loop_lies_where_its_source_is_counted() -> None:
    """Nothing is compiled outside the folders that name the cache."""
    counted = [ROOT / folder for folders in compiled._LINKED.values() for folder in folders]
    strays = [
        str(source.relative_to(ROOT))
        for source in ROOT.rglob("*.py")
        if re.search(r"^\s*@(njit|loop|step|cfunc|intrinsic)\b", source.read_text(), re.M)
        and not any(source.is_relative_to(folder) for folder in counted)
    ]

    assert strays == []


def test_a_read_only_package_uses_the_users_cache(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Where the package cannot be written, loops go to the user's folder, unless told where."""
    monkeypatch.setattr("os.access", lambda path, mode: False)
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    users = compiled.kept_in("engine")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "there"))
    compiled.kept_in.cache_clear()

    assert users.parent == tmp_path / "hingeline" / "kernels"
    assert compiled.kept_in("engine").parent == tmp_path / "there"


def test_other_peoples_loops_keep_their_own_place() -> None:
    """The compiler's setting is as it was once our loops are declared."""
    before = config.CACHE_DIR
    import render.engine.kernels.tiles

    assert before == config.CACHE_DIR
    assert render.engine.kernels.tiles.render_tile.stats.cache_path.startswith(
        str(compiled.kept_in("engine"))
    )


def test_a_step_called_from_python_says_so_and_not_the_interpreter() -> None:
    """It has no door; compiled loops still call it."""

    @compiled.step()
    def twice(number):
        return 2 * number

    @numba.njit
    def loop(number):
        return twice(number)

    assert loop(4) == 8
    with pytest.raises(TypeError, match=r"twice is a step: only compiled loops call it"):
        twice(4)
