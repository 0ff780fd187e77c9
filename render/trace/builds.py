"""Scenes as rays walk through them, built once: for a run, and for the runs after it.

What a scene file says fills its shapes in a second or two; the outcome is kept in the user's own
cache, under a name made of all that goes into it: the description, the moment, and the sources
that build; and beside it what reading the file made of its words. A map's shapes are made of the
map, and are built every time.
"""

import contextlib
import dataclasses
import functools
import hashlib
import mmap
import os
import pickle
import sys
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import IO, Any

import numpy as np

from render.kept import user_cache
from render.trace.build import Built, at_moment, build
from render.trace.kernels.beam import beam_address
from render.trace.walk import load_walks
from render.world.description import Description
from render.world.scenefile import read_description
from render.world.things.kind import KINDS, Kind

__all__ = ["built_scene", "described", "fingerprint"]

#: Builds held in memory, and most bytes that all builds on disk may take.
_HELD, _MOST_BYTES = 2, 400_000_000
#: Of a digest, and of a cache line.
_DIGEST, _LINE = 32, 64
#: Rooms whose sources read a scene and build it, with those that lie in none.
_BUILDERS = ("world", "trace", "scene", "optics")
_PLAIN = frozenset({str, int, float, bool, type(None)})
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


def described(name: str, table: Mapping[str, Any]) -> Description:
    """What `read_description` makes of a scene's table, from disk where it was read before.

    Raises
    ------
    InputError
        As `read_description`.
    """
    versions = (sys.version_info, np.__version__)
    key = hashlib.sha256(_sources() + repr((name, table, versions)).encode()).hexdigest()[:32]
    with contextlib.suppress(OSError, RuntimeError):
        kept = (_folder() / f"{key}.words").read_bytes()
        if hashlib.sha256(kept[_DIGEST:]).digest() == kept[:_DIGEST]:
            os.utime(_folder() / f"{key}.words")
            found: Description = pickle.loads(kept[_DIGEST:])
            return found
    made = read_description(name, table)
    data = pickle.dumps(made, protocol=5)
    whole = hashlib.sha256(data).digest() + data
    _put(f"{key}.words", len(whole), lambda file: file.write(whole))
    return made


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
    elif isinstance(value, (list, tuple)) and _PLAIN.issuperset(map(type, value)):
        key.update(f"{list(value)!r};".encode())
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
    """Digest of the sources that read and build."""
    key = hashlib.sha256()
    folders = (_PACKAGE.glob("*.py"), *((_PACKAGE / it).rglob("*.py") for it in _BUILDERS))
    for source in (path for folder in folders for path in sorted(folder)):
        key.update(str(source.relative_to(_PACKAGE)).encode() + b"\0" + source.read_bytes())
    return key.digest()


def _folder() -> Path:
    return user_cache() / "scenes"


def _read(name: str) -> Built | None:
    """A kept build, its arrays where the file is mapped; None where there is none, or no whole one.

    What walks it is loaded meanwhile.
    """
    try:
        path = _folder() / name
        with path.open("rb") as file:
            whole = memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ))
        with ThreadPoolExecutor(1) as aside:
            digest = aside.submit(hashlib.sha256, whole[_DIGEST:])
            load_walks()
            beam_address()
        if digest.result().digest() != whole[:_DIGEST]:
            return None
        os.utime(path)  # the longest unused goes first
    except (OSError, ValueError, RuntimeError):
        return None
    head, at = _part(whole, _LINE)
    data, sizes = pickle.loads(head)
    tables = []
    for size in sizes:
        tables.append(whole[at : at + size])
        at += size + -size % _LINE
    built: Built = pickle.loads(data, buffers=tables)
    return built


def _part(whole: memoryview, at: int) -> tuple[memoryview, int]:
    """A part that begins with its own size, and where the next cache line begins."""
    start = at + 8
    end = start + int.from_bytes(whole[at:start], "little")
    return whole[start:end], end + -end % _LINE


def _write(name: str, built: Built) -> None:
    """Keep a build for the next run; where that cannot be, the next run builds again.

    A digest of the rest; from the second cache line on what it is, then its arrays, each from a
    cache line on.
    """
    tables: list[pickle.PickleBuffer] = []
    data = pickle.dumps(built, protocol=5, buffer_callback=tables.append)
    raw = [table.raw() for table in tables]
    head = pickle.dumps((data, [table.nbytes for table in raw]), protocol=5)
    parts: list[bytes | memoryview] = [len(head).to_bytes(8, "little") + head, *raw]

    def fill(file: IO[bytes]) -> None:
        key = hashlib.sha256()
        file.write(bytes(_DIGEST))
        for content in (bytes(_LINE - _DIGEST), *_padded(parts)):
            key.update(content)
            file.write(content)
        file.seek(0)
        file.write(key.digest())

    _put(name, sum(len(part) for part in parts), fill)


def _put(name: str, size: int, fill: Callable[[IO[bytes]], object]) -> None:
    """A file that takes its place when it is whole; where it cannot be written, nothing is kept."""
    with contextlib.suppress(OSError, RuntimeError):
        folder = _folder()
        folder.mkdir(parents=True, exist_ok=True)
        _make_room(folder, size)
        part, beside = tempfile.mkstemp(dir=folder)
        try:
            with os.fdopen(part, "wb") as file:
                fill(file)
            Path(beside).replace(folder / name)
        except OSError:
            Path(beside).unlink(missing_ok=True)
            raise


def _padded(parts: Iterable[bytes | memoryview]) -> Iterator[bytes | memoryview]:
    for part in parts:
        yield part
        yield bytes(-len(part) % _LINE)


def _make_room(folder: Path, size: int) -> None:
    """Remove what was unused longest, where there would be too much."""
    others = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    room = _MOST_BYTES - size
    for path in others:
        room -= path.stat().st_size
        if room < 0:
            with contextlib.suppress(PermissionError):  # in use, where the system minds that
                path.unlink(missing_ok=True)
