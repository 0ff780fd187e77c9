"""How inner loops are compiled, and where the outcome is kept.

`loop` is for what Python calls, `step` for what only other compiled code calls: it gets no door
to Python and no file of its own, which halves its compiling. Both keep IEEE arithmetic, so the
same input gives the same bytes however they are compiled.

What is kept lies in a folder named after the sources of all loops that are linked together, and of
what compiles and keeps them: an edit of any of them, in whichever file, compiles them anew.
"""

import functools
import hashlib
import importlib
import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple

from render import kept
from render.kept import kept_safely, user_cache, writable_folder

__all__ = ["Entry", "entry", "is_compiled", "is_lasting", "kept_in", "loop", "step"]

_PACKAGE = Path(__file__).parent
#: The sources that say how loops are compiled and kept.
_HOW = (Path(__file__), Path(kept.__file__))
_ONE_AT_A_TIME = threading.Lock()
#: Rooms whose loops are linked together, and the folders that hold them.
_LINKED = {
    "engine": ("engine",),
    "trace": ("trace", "world/surfaces"),
    "depth": ("depth",),
    "files": ("files/clips",),
}
#: Passes of numba's that find nothing to do in loops over numbers: what they are for (closures and
#: comprehensions, `with`, tuples of several kinds, sums of whole arrays) does not compile here.
_IDLE = frozenset(
    (
        *("WithLifting", "InlineClosureLikes", "MakeFunctionToJitFunction", "InlineInlinables"),
        *("RewriteSemanticConstants", "RewriteDynamicRaises", "DeadBranchPrune", "InlineOverloads"),
        *("FindLiterallyCalls", "LiteralUnroll", "LiteralPropagationSubPipelinePass"),
        *("NopythonRewrites", "AnnotateTypes", "DumpParforDiagnostics"),
    )
)


def loop(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Compile a loop that Python calls; it runs without Python's lock."""
    numba: Any = importlib.import_module("numba")

    def compiled(function: Callable[..., Any]) -> Any:
        with _kept_with(function.__module__):
            return numba.njit(cache=True, **_options(_compiling().Loop), **options)(function)

    return compiled


def step(**options: Any) -> Callable[[Callable[..., Any]], Any]:
    """Compile a part of loops that only they call; called from Python it raises TypeError.

    It is typed once, and optimised where it is linked in: in every loop that calls it.
    """
    numba: Any = importlib.import_module("numba")
    doorless = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}

    def compiled(function: Callable[..., Any]) -> Any:
        made = numba.njit(**_options(_compiling().Step), **doorless, **options)(function)
        made.__class__ = _compiling().Doorless
        return made

    return compiled


def _options(pipeline: type) -> dict[str, Any]:
    return {"nogil": True, "error_model": "numpy", "pipeline_class": pipeline}


class _Compiling(NamedTuple):
    """How loops and steps are compiled, and what stands for a step before it is."""

    Loop: type
    Step: type
    Doorless: type


@functools.cache
def _compiling() -> _Compiling:
    """Made of numba's own parts, 0.60 to 0.68, the versions tried."""
    compiler: Any = importlib.import_module("numba.core.compiler")
    library: Any = importlib.import_module("numba.core.codegen").JITCodeLibrary
    dispatcher: Any = importlib.import_module("numba.core.dispatcher").Dispatcher

    class Loop(compiler.Compiler):  # type: ignore[misc]
        """numba's own way, without what finds nothing to do, or looks for mistakes of its passes.

        That is a sixth of the time.
        """

        def define_pipelines(self) -> list[Any]:
            passes = compiler.DefaultPassBuilder.define_nopython_pipeline(self.state)
            passes.passes = [it for it in passes.passes if it[0].__name__ not in _IDLE]
            passes._ENFORCING = False
            return [passes]

    class Linked(library):  # type: ignore[misc]
        """Code that is only linked into other code: nothing is optimised, no machine code made."""

        def _optimize_functions(self, module: Any) -> None:
            module.data_layout = self._codegen._data_layout

        def _optimize_final_module(self) -> None:
            pass

        def _finalize_final_module(self) -> None:
            self._finalize_dynamic_globals()
            self._finalized = True

    class Step(Loop):
        """As far as code that can be linked."""

        def __init__(self, *given: Any) -> None:
            super().__init__(*given)
            self.state.flags.no_compile = True
            self.state.library = Linked(self.state.targetctx.codegen(), "step")

    class Doorless(dispatcher):  # type: ignore[misc]
        """A compiled step, which has no door to Python: numba's own call would crash."""

        def add_overload(self, made: Any) -> None:
            """Let other compiled code find it by something that stands for its address."""
            made = made._replace(entry_point=object())
            self.targetctx.insert_user_function(made.entry_point, made.fndesc, [made.library])
            self.overloads[tuple(made.signature.args)] = made

        def __call__(self, *_: object, **__: object) -> None:
            name = self.py_func.__qualname__
            raise TypeError(f"{name} is a step: only compiled loops call it (see tests/steps.py)")

    return _Compiling(Loop, Step, Doorless)


class Entry:
    """A compiled step that others call by its address, so that it is compiled once for all.

    What is called directly is linked into every caller, and compiled anew there.
    """

    def __init__(self, function: Callable[..., Any], signature: str) -> None:
        self._function, self._signature = function, signature

    @functools.cached_property
    def address(self) -> int:
        """Where it begins; it is compiled, or loaded, the first time."""
        numba: Any = importlib.import_module("numba")
        options = {"cache": True, **_options(_compiling().Loop)}
        with _ONE_AT_A_TIME, _kept_with(self._function.__module__):
            self._made = numba.cfunc(self._signature, **options)(self._function)
        return int(self._made.address)


def entry(signature: str) -> Callable[[Callable[..., Any]], Entry]:
    """Declare a step that is called by its address; numbers in, numbers out by address."""
    return functools.partial(Entry, signature=signature)


@functools.cache
def kept_in(room: str) -> Path:
    """Folder of a room's compiled loops: beside the source, else in the user's own cache.

    NUMBA_CACHE_DIR, where set, goes before both; where none of them can be written, they lie
    among the temporary files.
    """
    key = hashlib.sha256()
    for source in _HOW:
        key.update(source.read_bytes())
    for folder in _LINKED[room]:
        for source in sorted((_PACKAGE / folder).rglob("*.py")):
            text = source.read_bytes()
            if b"numba" in text or b"render.compiled" in text:
                key.update(str(source.relative_to(_PACKAGE)).encode() + b"\0" + text)
    return _root() / f"{room}-{key.hexdigest()[:12]}"


def is_compiled(room: str) -> bool:
    """Whether a room's loops were compiled before."""
    return any(kept_in(room).rglob("*.nbc"))


def is_lasting(room: str) -> bool:
    """Whether what is compiled lies in a wished place, not in a folder made for want of one."""
    return any(kept_in(room).is_relative_to(wish) for wish in _wishes())


@contextmanager
def _kept_with(module: str) -> Iterator[None]:
    """Let numba keep what is declared now in our folder, and what others declare in theirs."""
    room = module.split(".")[1]
    with kept_safely(kept_in("trace" if room == "world" else room)):
        yield


def _root() -> Path:
    return writable_folder(_wishes())


def _wishes() -> list[Path]:
    """Where compiled loops may lie, the best place first."""
    given = os.environ.get("NUMBA_CACHE_DIR")
    wishes = [Path(given)] if given else []
    if os.access(_PACKAGE, os.W_OK):
        wishes.append(_PACKAGE / "__pycache__")
    with suppress(RuntimeError):  # nobody's home is known
        wishes.append(user_cache() / "kernels")
    return wishes
