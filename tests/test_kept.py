"""What the compiler keeps: damage, refusing disks and others at work cost only time."""

import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import pytest

from render import kept
from render.kept import kept_safely, user_cache, user_settings, writable_folder


def _declared(folder: Path) -> Any:
    """The same small function, declared anew as a fresh process would."""
    with kept_safely(folder):

        @numba.njit(cache=True)
        def twice(x):  # type: ignore[no-untyped-def]
            return 2 * x

    return twice


def _hits(function: Any) -> int:
    return sum(function.stats.cache_hits.values())


def test_what_was_compiled_is_loaded(tmp_path: Path) -> None:
    """A second declaration compiles nothing, and numba's own classes are put back."""
    before = numba.core.dispatcher.FunctionCache, numba.core.ccallback.FunctionCache
    assert _declared(tmp_path)(21) == 42
    again = _declared(tmp_path)

    assert again(21) == 42
    assert _hits(again) == 1
    assert (numba.core.dispatcher.FunctionCache, numba.core.ccallback.FunctionCache) == before


def test_what_was_loaded_is_linked_into_new_code(tmp_path: Path) -> None:
    """A loop that is compiled now may call one that was compiled before."""
    _declared(tmp_path)(21)
    again = _declared(tmp_path)
    again(21)

    @numba.njit
    def twice_twice(x):  # type: ignore[no-untyped-def]
        return again(again(x))

    assert twice_twice(21) == 84
    assert _hits(again) == 1


def _middle(data: bytes) -> bytes:
    return (
        data[: len(data) // 2] + bytes([data[len(data) // 2] ^ 0x40]) + data[len(data) // 2 + 1 :]
    )


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize(
    "damage", [lambda _: b"", lambda d: d[: len(d) // 2], _middle, lambda d: b"\xff" * len(d)]
)
def test_a_damaged_file_is_compiled_anew(
    tmp_path: Path, ending: str, damage: Callable[[bytes], bytes]
) -> None:
    """Emptied, halved, one bit turned, or noise: the right answer, and a whole file again."""
    _declared(tmp_path)(21)
    (path,) = tmp_path.rglob(f"*.{ending}")
    path.write_bytes(damage(path.read_bytes()))
    found = _declared(tmp_path)

    assert found(21) == 42
    assert _hits(found) == 0
    healed = _declared(tmp_path)
    assert healed(21) == 42
    assert _hits(healed) == 1


def test_one_functions_code_never_serves_another(tmp_path: Path) -> None:
    """Files that changed places, as when two first runs number theirs differently, are not used."""
    _declared(tmp_path)(21)
    _declared(tmp_path)(1.5)
    one, two = sorted(tmp_path.rglob("*.nbc"))
    kept_one, kept_two = one.read_bytes(), two.read_bytes()
    one.write_bytes(kept_two)
    two.write_bytes(kept_one)
    found = _declared(tmp_path)

    assert found(21) == 42
    assert found(1.5) == 3.0
    assert _hits(found) == 0


def test_a_disk_that_refuses_costs_only_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Full when it is to be kept, or gone: the run goes on."""
    place = tmp_path / "gone"
    place.write_text("a file where the folder should be")
    assert _declared(place)(21) == 42

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(kept, "_put", full)
    assert _declared(tmp_path / "full")(21) == 42


def test_the_first_writable_folder_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else one of this user's own among the temporary files, open to no one else."""
    blocked = tmp_path / "file"
    blocked.touch()
    assert writable_folder([blocked / "x", tmp_path / "y"]) == tmp_path / "y"

    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
    own = writable_folder([blocked / "x"])
    assert own.parent == tmp_path
    assert own.name.startswith("hingeline-kernels-")
    if os.name == "posix":
        assert own.stat().st_mode & 0o077 == 0
        own.chmod(0o777)  # as another user might have made it, to plant something in it
        assert writable_folder([blocked / "x"]) != own


def test_two_first_runs_at_once(tmp_path: Path) -> None:
    """Both answer, one compiles and the other waits; the third loads what is left, no compiler."""
    script = textwrap.dedent(f"""
        import numba, sys
        from pathlib import Path
        from render.kept import kept_safely
        with kept_safely(Path({str(tmp_path)!r})):
            @numba.njit(cache=True)
            def twice(x):
                return 2 * x
        assert twice(21) == 42 and twice(1.5) == 3.0
        print(sum(twice.stats.cache_hits.values()), "numba.np.arraymath" in sys.modules)
    """)
    place = tmp_path / "first.py"
    place.write_text(script)
    runs = [
        subprocess.Popen([sys.executable, str(place)], stdout=subprocess.PIPE) for _ in range(2)
    ]
    said = [run.communicate()[0].split() for run in runs]
    assert [run.returncode for run in runs] == [0, 0]
    if os.name == "posix":  # nobody can tell on Windows
        assert sum(int(hits) for hits, _ in said) == 2

    third = subprocess.run([sys.executable, str(place)], capture_output=True, check=True)
    assert third.stdout.split() == [b"2", b"False"]


@pytest.mark.parametrize(
    ("folder", "system", "named", "where"),
    [
        (user_settings, "linux", {}, "{home}/.config/hingeline"),
        (user_settings, "linux", {"XDG_CONFIG_HOME": "/etc/own"}, "/etc/own/hingeline"),
        (user_settings, "linux", {"XDG_CONFIG_HOME": "own"}, "{home}/.config/hingeline"),
        (user_settings, "darwin", {}, "{home}/Library/Application Support/hingeline"),
        (user_settings, "win32", {"APPDATA": "/c/Roaming"}, "/c/Roaming/hingeline"),
        (user_settings, "win32", {}, "{home}/AppData/Roaming/hingeline"),
        (user_cache, "linux", {"XDG_CACHE_HOME": "/var/own"}, "/var/own/hingeline"),
        (user_cache, "linux", {"XDG_CACHE_HOME": "own"}, "{home}/.cache/hingeline"),
        (user_cache, "darwin", {}, "{home}/Library/Caches/hingeline"),
        (user_cache, "win32", {}, "{home}/AppData/Local/hingeline"),
    ],
)
def test_settings_and_cache_lie_where_each_system_has_them(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    folder: Callable[[], Path],
    system: str,
    named: dict[str, str],
    where: str,
) -> None:
    """XDG Base Directory Specification 0.8; the others' places are common practice, no source."""
    for name in ("XDG_CONFIG_HOME", "APPDATA", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in named.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("sys.platform", system)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)

    assert str(folder()) == where.format(home=tmp_path)
