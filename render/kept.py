"""What a compiler keeps on disk, kept so that damage or a refusing disk costs only time.

Every file begins with a digest of the rest and says which function, types and machine it is for.
What does not agree is thrown away and compiled anew; where nothing can be written, loops are
compiled for this run alone.
"""

import functools
import hashlib
import importlib
import os
import pickle
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

__all__ = ["kept_safely", "user_cache", "user_settings", "writable_folder"]

_DIGEST_BYTES = 32
#: So long one waits at most while another process compiles a function, looking so often, s.
_LONGEST_S, _LOOKS_S = 120.0, 0.05


@contextmanager
def kept_safely(folder: Path) -> Iterator[None]:
    """Let numba keep what is declared inside in `folder`, under a guard against all damage.

    numba (0.60 to 0.68, the versions tried) makes what keeps a function when it is declared, by a
    name in two of its modules that is changed here and put back.
    """
    modules: list[Any] = [
        importlib.import_module(f"numba.core.{name}") for name in ("dispatcher", "ccallback")
    ]
    before = [module.FunctionCache for module in modules]
    ours = _keeper(folder)
    for module in modules:
        module.FunctionCache = ours
    try:
        yield
    finally:
        for module, usual in zip(modules, before, strict=True):
            module.FunctionCache = usual


def writable_folder(wishes: list[Path]) -> Path:
    """The first of some folders that can be made and written to, else one for this user alone.

    The last resort lies among the system's temporary files, is this user's, and no one else's.
    """
    for folder in wishes:
        if _writable(folder):
            return folder
    number = os.getuid() if hasattr(os, "getuid") else 0
    own = Path(tempfile.gettempdir()) / f"hingeline-kernels-{number}"
    with suppress(OSError):
        own.mkdir(mode=0o700, exist_ok=True)
        found = own.lstat()
        private = not hasattr(os, "getuid") or (
            found.st_uid == number and not found.st_mode & 0o077 and own.is_dir()
        )
        if private and _writable(own):
            return own
    with suppress(OSError):
        return Path(tempfile.mkdtemp(prefix="hingeline-kernels-"))
    return own  # nothing can be written anywhere: everything is compiled for this run


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _locator(folder: Path) -> type:
    class Locator:
        """Where numba keeps a function; it never refuses."""

        def __init__(self, function: Any, source: str) -> None:
            self._line = function.__code__.co_firstlineno
            self._path = folder / Path(source).parent.name

        @classmethod
        def from_function(cls, function: Any, source: str) -> "Locator":
            return cls(function, source)

        def ensure_cache_path(self) -> None:
            with suppress(OSError):
                self._path.mkdir(parents=True, exist_ok=True)

        def get_cache_path(self) -> str:
            return str(self._path)

        def get_source_stamp(self) -> str:
            return folder.name

        def get_disambiguator(self) -> str:
            return str(self._line)

    return Locator


@functools.cache
def _keeper(folder: Path) -> type:
    caching: Any = importlib.import_module("numba.core.caching")
    runtime: Any = importlib.import_module("numba.core.runtime")
    checked = _checked(caching.IndexDataCacheFile)

    unread = _unread()

    class Place(caching.CompileResultCacheImpl):  # type: ignore[misc]
        _locator_classes = (_locator(folder),)

        def reduce(self, made: Any) -> Any:
            """What is kept, and the names that its code defines."""
            library = made.library
            named = *library._final_module.functions, *library._final_module.global_variables
            return super().reduce(made), {it.name for it in named if not it.is_declaration}

        def rebuild(self, context: Any, kept: Any) -> Any:
            """Code that runs; what only other code links is parsed when that is compiled."""
            payload, names = kept
            codegen = context.codegen()
            usual = codegen._library_class
            codegen._library_class = unread
            codegen._engine._defined_symbols |= names
            try:
                return super().rebuild(context, payload)
            finally:
                codegen._library_class = usual

    class Keeper(caching.FunctionCache):  # type: ignore[misc]
        """What keeps one function."""

        _impl_class = Place

        def __init__(self, function: Any) -> None:
            super().__init__(function)
            place = self._impl.locator
            self._cache_file = checked(
                cache_path=place.get_cache_path(),
                filename_base=self._impl.filename_base,
                source_stamp=place.get_source_stamp(),
            )
            self._turn = _Turn(Path(self._cache_file._index_path).with_suffix(".turn"))

        def load_overload(self, signature: Any, context: Any) -> Any:
            """Load without what only compiling needs: numba's library of functions, scipy.linalg.

            That is a fifth of a second of every start. Who compiles brings the context up to date.
            """
            runtime.rtsys.initialize(context)
            with self._guard_against_spurious_io_errors():
                found = self._load_overload(signature, context)
                if found is None and self._turn.begin():
                    found = self._load_overload(signature, context)  # others may have had theirs
                    if found is not None:
                        self._turn.end()
                return found

        def save_overload(self, signature: Any, made: Any) -> None:
            """Keep what was compiled, and let others have it."""
            try:
                super().save_overload(signature, made)
            finally:
                self._turn.end()

    return Keeper


@functools.cache
def _unread() -> type:
    binding: Any = importlib.import_module("llvmlite.binding")
    usual: Any = importlib.import_module("numba.core.codegen").JITCodeLibrary

    class Unread(usual):  # type: ignore[misc]
        """Loaded code whose source for the linker has not been parsed."""

        _source: bytes | None = None
        _shared_module: Any

        @classmethod
        def _unserialize(cls, codegen: Any, state: Any) -> Any:
            name, kind, data = state
            if kind != "object":
                return super()._unserialize(codegen, state)
            self = cls(codegen, name)
            code, self._source = data
            self.enable_object_caching()
            self._set_compiled_object(code)
            self._finalize_final_module()
            return self

        def _get_module_for_linking(self) -> Any:
            if self._source is not None:
                self._shared_module, self._source = binding.parse_bitcode(self._source), None
            return self._shared_module

    return Unread


class _Turn:
    """One process compiles a function while others wait; where nobody can tell, all compile it.

    The system gives the turn back if the process ends meanwhile.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: Any = None

    def begin(self) -> bool:
        """Wait for one's turn; False if none comes, and one does without."""
        self.end()
        with suppress(ImportError, OSError):
            import fcntl  # Windows has none

            self._path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self._path.open("ab")
            last = time.monotonic() + _LONGEST_S
            while time.monotonic() < last:
                with suppress(BlockingIOError):
                    fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    return True
                time.sleep(_LOOKS_S)
        return False

    def end(self) -> None:
        """Give one's turn to others."""
        if self._file is not None:
            self._file.close()
            self._file = None


def _checked(files: Any) -> type:
    class Checked(files):  # type: ignore[misc]
        """numba's pair of files, with a digest before what each holds."""

        def load(self, key: Any) -> Any:
            try:
                found = super().load(key)
                if found is None:
                    return None
                whose, data = found
                return data if whose == key else None
            except Exception:  # whatever a damaged file brings: it is compiled anew
                return None

        def save(self, key: Any, data: Any) -> None:
            with suppress(OSError):  # full, read-only, gone: it serves this run all the same
                super().save(key, (key, data))

        def _load_index(self) -> Any:
            found = _whole(Path(self._index_path), pickle.loads)
            fits = isinstance(found, tuple) and found[:2] == (self._version, self._source_stamp)
            return found[2] if fits else {}

        def _save_index(self, overloads: Any) -> None:
            _put(self, self._index_path, (self._version, self._source_stamp, overloads))

        def _load_data(self, name: str) -> Any:
            return _whole(Path(self._data_path(name)), pickle.loads)

        def _save_data(self, name: str, data: Any) -> None:
            _put(self, self._data_path(name), data)

    return Checked


def _put(files: Any, path: str, content: Any) -> None:
    data = files._dump(content)
    with files._open_for_write(path) as file:
        file.write(hashlib.sha256(data).digest() + data)


def _whole(path: Path, read: Callable[[bytes], Any]) -> Any:
    """Content of a file whose digest agrees, else None."""
    try:
        found = path.read_bytes()
    except OSError:
        return None
    digest, data = found[:_DIGEST_BYTES], found[_DIGEST_BYTES:]
    return read(data) if hashlib.sha256(data).digest() == digest else None


def user_cache() -> Path:
    """Folder of the user's own cache for this program.

    Raises
    ------
    RuntimeError
        If nobody's home is known.
    """
    return _own_folder("LOCALAPPDATA", "AppData/Local", "Caches", "XDG_CACHE_HOME", ".cache")


def user_settings() -> Path:
    """Folder of the user's own settings for this program.

    Raises
    ------
    RuntimeError
        If nobody's home is known.
    """
    return _own_folder(
        "APPDATA", "AppData/Roaming", "Application Support", "XDG_CONFIG_HOME", ".config"
    )


def _own_folder(windows: str, windows_usual: str, mac: str, xdg: str, xdg_usual: str) -> Path:
    """Where the system in hand wants it: a variable's folder, or the usual one in the home.

    Elsewhere as the XDG Base Directory Specification 0.8 has it; a relative folder is ignored,
    as it asks.
    """
    if sys.platform == "darwin":
        return Path.home() / "Library" / mac / "hingeline"
    name, usual = (windows, windows_usual) if sys.platform == "win32" else (xdg, xdg_usual)
    said = Path(os.environ.get(name, ""))
    return (said if said.is_absolute() else Path.home() / usual) / "hingeline"
