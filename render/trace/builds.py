"""Scenes as rays walk through them, built once: for a run, and for the runs after it.

What a scene file says fills its shapes in a second or two; the outcome is kept in the user's own
cache, under a name made of all that goes into it: the description, the moment, and the sources
that build. A map's shapes are made of the map, and are built every time.
"""

import contextlib
import dataclasses
import functools
import hashlib
import os
import pickle
import tempfile
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from render.kept import user_cache
from render.trace.build import Built, at_moment, build
from render.trace.bvh import aligned
from render.world.description import Description
from render.world.things.kind import KINDS, Kind

__all__ = ["built_scene", "fingerprint"]

#: Builds held in memory, and most bytes that all builds on disk may take.
_HELD, _MOST_BYTES = 2, 400_000_000
_PACKAGE = Path(__file__).parent.parent
_held: dict[str, Built] = {}
_one_at_a_time = threading.Lock()


def built_scene(description: Description, time_s: float = 0.0, *, moving: bool = False) -> Built:
    """What `render.trace.build.build` makes of a description, from memory or disk where it is.

    One that is `moving` serves every moment: it is kept once.

    Raises
    ------
    InputError
        As `build`.
    """
    start_s = 0.0 if moving else time_s
    name = fingerprint(description, start_s)
    if name is None:
        return build(description, time_s, moving=moving)
    name += "m" if moving else ""
    with _one_at_a_time:
        built = _held.pop(name, None) or _read(name)
        if built is None:
            built = build(description, start_s, moving=moving)
            _write(name, built)
        while len(_held) >= _HELD:
            del _held[next(iter(_held))]
        _held[name] = built
    return at_moment(built, description, time_s) if moving else built


def fingerprint(description: Description, time_s: float) -> str | None:
    """Name of everything that a build depends on; None where a thing is made on the spot."""
    key = hashlib.sha256(_sources())
    key.update(repr((time_s, np.__version__)).encode())
    try:
        _feed(key, description)
    except TypeError:
        return None
    return key.hexdigest()[:32]


def _feed(key: Any, value: Any) -> None:
    """Add a value and all inside it to a digest; TypeError for what has no lasting name."""
    if isinstance(value, Kind):
        if KINDS.get(value.name) is not value:
            raise TypeError(value.name)
        key.update(f"kind {value.name};".encode())
    elif isinstance(value, np.ndarray):
        key.update(f"{value.dtype} {value.shape};".encode())
        key.update(np.ascontiguousarray(value).tobytes())
    elif dataclasses.is_dataclass(value):
        key.update(f"{type(value).__name__}(".encode())
        for field in dataclasses.fields(value):
            _feed(key, getattr(value, field.name))
    elif isinstance(value, Mapping):
        key.update(f"map {len(value)};".encode())
        for name, inside in value.items():
            _feed(key, name)
            _feed(key, inside)
    elif isinstance(value, (list, tuple)):
        key.update(f"list {len(value)};".encode())
        for inside in value:
            _feed(key, inside)
    elif value is None or isinstance(value, (str, int, float, np.number)):
        key.update(f"{type(value).__name__} {value!r};".encode())
    else:
        raise TypeError(type(value).__name__)


@functools.cache
def _sources() -> bytes:
    """Digest of the sources that build."""
    key = hashlib.sha256()
    for folder in ("world", "trace", "scene"):
        for source in sorted((_PACKAGE / folder).rglob("*.py")):
            key.update(str(source.relative_to(_PACKAGE)).encode() + b"\0" + source.read_bytes())
    return key.digest()


def _folder() -> Path:
    return user_cache() / "scenes"


def _read(name: str) -> Built | None:
    """A kept build; None where there is none, or not a whole one."""
    try:
        path = _folder() / name
        found = memoryview(path.read_bytes())
        if hashlib.sha256(found[32:]).digest() != found[:32]:
            return None
        built: Built = pickle.loads(found[32:])
        os.utime(path)  # the longest unused goes first
    except (OSError, RuntimeError):
        return None
    world = built.world
    tables = {name: aligned(getattr(world, name)) for name in ("top", "node", "block")}
    return dataclasses.replace(built, world=world._replace(**tables))


def _write(name: str, built: Built) -> None:
    """Keep a build for the next run; where that cannot be, the next run builds again."""
    with contextlib.suppress(OSError, RuntimeError):
        folder = _folder()
        folder.mkdir(parents=True, exist_ok=True)
        data = pickle.dumps(built, protocol=5)
        others = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
        room = _MOST_BYTES - len(data)
        for path in others:
            room -= path.stat().st_size
            if room < 0:
                path.unlink(missing_ok=True)
        part, beside = tempfile.mkstemp(dir=folder)
        try:
            with os.fdopen(part, "wb") as file:
                file.write(hashlib.sha256(data).digest())
                file.write(data)
            Path(beside).replace(folder / name)
        except OSError:
            Path(beside).unlink(missing_ok=True)
            raise
