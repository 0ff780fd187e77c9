"""Scenes are built once, and kept builds are what building makes."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from render.trace import builds as kept
from render.trace.build import build
from render.trace.builds import built_scene, fingerprint
from render.trace.trace import trace_built
from tests.world.worlds import described, eye_level

HOUSE = described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])


@pytest.fixture(autouse=True)
def folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setattr(kept, "_folder", lambda: tmp_path)
    monkeypatch.setattr(kept, "_held", {})
    return tmp_path


def _seen(built: object) -> bytes:
    return trace_built(HOUSE, built, eye_level(), samples=1).picture.tobytes()  # type: ignore[arg-type]


def test_a_kept_build_shows_the_same_bytes(folder: Path) -> None:
    """Built, held in memory, and read from disk by the next run."""
    first = built_scene(HOUSE)
    held = built_scene(HOUSE)
    kept._held.clear()
    read = built_scene(HOUSE)

    assert held is first
    assert read is not first
    assert _seen(read) == _seen(build(HOUSE))
    assert dict(read.spots) == dict(first.spots)
    assert [path.name for path in folder.iterdir()] == [fingerprint(HOUSE, 0.0)]


def test_what_a_file_says_is_read_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The next run finds the same description; another table, or a damaged file, is read again."""
    table = {"line": "One house", "things": [{"kind": "house", "at_m": [0, 18]}]}
    first = kept.described("one.toml", table)
    reads: list[object] = []

    def read(_name: str, asked: object) -> object:
        reads.append(asked)
        return HOUSE

    monkeypatch.setattr(kept, "read_description", read)
    again = kept.described("one.toml", table)
    other = table | {"line": "Another house"}
    kept.described("one.toml", other)
    (folder / min(path.name for path in folder.iterdir())).write_bytes(b"")
    (folder / max(path.name for path in folder.iterdir())).write_bytes(b"nonsense")
    kept.described("one.toml", table)

    assert fingerprint(again, 0.0) == fingerprint(first, 0.0)
    assert again.line == "One house"
    assert reads == [other, table]


@pytest.mark.parametrize("damage", [b"", b"nonsense", None])
def test_a_damaged_build_is_built_again(folder: Path, damage: bytes | None) -> None:
    """Emptied, overwritten, or cut: the scene is as ever, and kept whole again."""
    built_scene(HOUSE)
    (path,) = folder.iterdir()
    whole = path.read_bytes()
    path.write_bytes(whole[:-9] if damage is None else damage)
    kept._held.clear()

    assert _seen(built_scene(HOUSE)) == _seen(build(HOUSE))
    assert path.read_bytes()[:32] == whole[:32]


def test_one_moving_build_is_kept_for_every_moment(folder: Path) -> None:
    """What walks is where a build of that moment has it, from one file on disk."""
    way = {"path_m": [[-6, 14], [6, 14]], "speed_m_s": 1.4}
    walk = described([{"kind": "person", "at_m": [0, 14], "moves": way}])
    for time_s in (0.0, 1.7):
        there = built_scene(walk, time_s, moving=True)
        want = build(walk, time_s)
        light = [trace_built(walk, each, eye_level(), samples=1).picture for each in (there, want)]
        assert np.array_equal(*light)

    assert len(list(folder.iterdir())) == 1


def test_another_scene_moment_or_light_has_another_name() -> None:
    """Whatever goes into a build goes into its name; a thing made on the spot has none."""
    brighter = replace(HOUSE, light=replace(HOUSE.light, exposure_ev=1.0))
    thing = HOUSE.things[0]
    moved = replace(HOUSE, things=(replace(thing, seed=thing.seed + 1), *HOUSE.things[1:]))
    made = replace(HOUSE, things=(replace(thing, kind=replace(thing.kind)), *HOUSE.things[1:]))
    names = [fingerprint(d, 0.0) for d in (HOUSE, brighter, moved)] + [fingerprint(HOUSE, 1.0)]

    assert len(set(names)) == 4
    assert fingerprint(made, 0.0) is None
    assert np.array_equal(built_scene(made).world.tri, build(HOUSE).world.tri)


def test_old_builds_make_room(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The longest unused goes first; a disk that refuses costs nothing but time."""
    built_scene(HOUSE)
    (first,) = folder.iterdir()
    monkeypatch.setattr(kept, "_MOST_BYTES", int(1.5 * first.stat().st_size))
    built_scene(HOUSE, 1.0)
    monkeypatch.setattr(kept, "_folder", lambda: folder / "file" / "in" / "the way")
    (folder / "file").write_bytes(b"")

    assert not first.exists()
    assert (folder / fingerprint(HOUSE, 1.0)).exists()  # type: ignore[operator]
    assert len(built_scene(HOUSE, 2.0).world.tri) == len(build(HOUSE).world.tri)
