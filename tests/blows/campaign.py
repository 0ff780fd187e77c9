"""Strikes blows one after another in a process of its own, and keeps what broke."""

import contextlib
import hashlib
import multiprocessing
import os
import re
import resource
import shutil
import signal
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from render.errors import HingelineError
from render.files import memory
from tests.blows.doors import Broken, struck
from tests.blows.mutate import mutated
from tests.blows.seeds import seed_files

__all__ = ["Failure", "Tally", "campaign", "outcome"]

#: What a blow may take before it counts as a hang, s, and grow the process by when refused, MB.
HANG_S = 10.0
MOST_GROWN_MB = 300.0
#: A worker is begun anew after so many blows, and may ask for so much memory, bytes; each thread
#: reserves some beside what it uses.
_BATCH = 400
_MOST_BYTES = (6 << 30) + (os.cpu_count() or 1) * (128 << 20)
#: Memory that is free on the machine that the blows are struck on: 4 Mpx fit into it.
_FREE_BYTES = 200_000_000
#: What loading libraries and compiling before the first blow may take, s.
_WARM_S = 900
#: Tries at making a failing file smaller.
_SHRINK_TRIES, _SHRINK_S = 120, 8.0


@dataclass(frozen=True, slots=True)
class Failure:
    """A file that broke something, as small as it was made."""

    kind: str
    name: str
    seed: int
    what: str
    data: bytes


@dataclass(slots=True)
class Tally:
    """What came of the blows of one kind."""

    taken: int = 0
    refused: int = 0
    slowest_s: float = 0.0
    most_mb: float = 0.0
    failures: list[Failure] = field(default_factory=list)


class _Late(BaseException):
    """A blow took longer than it may."""


def _ring(*_: object) -> None:
    raise _Late


def outcome(kind: str, path: Path) -> tuple[str, float, float]:
    """What comes of one file: "taken", "refused", or what broke; seconds; MB grown.

    What broke is named by the error and the line of ours that it came through.
    """
    start, before = time.perf_counter(), _peak_mb()
    signal.signal(signal.SIGALRM, _ring)
    signal.setitimer(signal.ITIMER_REAL, HANG_S * _crowd())
    try:
        said = struck(kind, path)
        what = "refused" if said else "taken"
    except HingelineError as error:
        what = f"an error past its door: {error}"
    except Broken as error:
        what = f"broken: {error}"
    except _Late:
        what = f"hang over {HANG_S:g} s"
    except BaseException as error:
        what = f"{type(error).__name__} at {_where(error)}: {str(error)[:120]}"
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
    grown = _peak_mb() - before
    if what == "refused" and grown > MOST_GROWN_MB:
        what = f"broken: {grown:.0f} MB to refuse it"
    return what, time.perf_counter() - start, grown


def _crowd() -> float:
    """How many share each processor, at least one: with four, all takes four times as long."""
    return max(1.0, os.getloadavg()[0] / (os.cpu_count() or 1))


def _where(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if "/render/" in f.filename]
    if not ours:
        return "?"
    return f"{ours[-1].filename.rpartition('/render/')[2]}:{ours[-1].lineno}"


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def campaign(
    kind: str, seconds: float, first_seed: int, keep: Path | None
) -> Iterator[tuple[int, Tally]]:
    """Strike blows of one kind for some seconds; yields what came of them after every batch.

    What a batch does first (libraries load, kernels compile) comes on top.

    Parameters
    ----------
    first_seed : int
        Blow k has the seed first_seed + k.
    keep : Path or None
        Folder that failures are written to, made as small as they still fail.
    """
    tally, seed, end = Tally(), first_seed, time.perf_counter() + seconds
    known: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="blows-") as folder:
        seeds = seed_files(kind, Path(folder) / "seeds")
        while time.perf_counter() < end:
            left = end - time.perf_counter()
            for found in _batch(kind, seeds, seed, left, Path(folder) / "work"):
                seed, name, what, took, grown = found
                seed += 1
                tally.slowest_s = max(tally.slowest_s, took)
                tally.most_mb = max(tally.most_mb, grown)
                if what == "taken":
                    tally.taken += 1
                elif what == "refused":
                    tally.refused += 1
                else:
                    known[_short(what)] += 1
                    if known[_short(what)] <= 2:
                        source = next(data for n, data in seeds if n == name)
                        data = mutated(name, source, seed - 1)
                        failure = Failure(kind, name, seed - 1, what, data)
                        tally.failures.append(failure)
                        if keep is not None:
                            _keep(keep, _shrunk(failure, Path(folder) / "shrink"))
            yield seed - first_seed, tally


def _short(what: str) -> str:
    named = what.split(": ")[0] if " at " in what else what[:50]
    return re.sub(r"\d+", "N", named) if "broken" in what else named


def _batch(
    kind: str, seeds: list[tuple[str, bytes]], seed: int, seconds: float, folder: Path
) -> Iterator[tuple[int, str, str, float, float]]:
    """Blows in a fresh process: seed, name, outcome, seconds, MB. A crash is an outcome too."""
    context = multiprocessing.get_context("fork")
    hears, tells = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(tells, kind, seeds, seed, seconds, folder))
    process.start()
    tells.close()
    at: tuple[int, str] | None = None
    while True:
        try:
            if not hears.poll(_crowd() * (HANG_S + 20 if at is not None else _WARM_S)):
                process.kill()
                if at is None:
                    raise RuntimeError("the campaign itself hangs before its first blow")
                yield (*at, "hang that no signal ends", HANG_S + 20, 0.0)
                break
            found = hears.recv()
        except EOFError:
            process.join()
            if process.exitcode and at is None:
                raise RuntimeError("the campaign itself failed between two blows") from None
            if process.exitcode:
                yield (*at, f"the process died ({process.exitcode})", 0.0, 0.0)
            break
        if len(found) == 2:
            at = found
        else:
            yield found
            at = None
    process.join()


def _work(
    tells: Connection,
    kind: str,
    seeds: list[tuple[str, bytes]],
    seed: int,
    seconds: float,
    folder: Path,
) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
    os.environ["HINGELINE_DEFAULTS"] = "none"  # nor what a developer has as defaults
    memory.free_bytes = lambda: _FREE_BYTES  # so that the same is refused on every machine
    warm = True
    parent = os.getppid()
    end = float("inf")
    for number in range(seed, seed + _BATCH):
        if time.perf_counter() > end or os.getppid() != parent:
            return
        name, data = seeds[(number // 2) % len(seeds)]
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        if warm:  # libraries load and kernels compile outside the clock
            for each, whole in seeds:
                _laid(folder, kind, each, whole, seeds)
                with contextlib.suppress(HingelineError, Broken):
                    struck(kind, folder / each)
            warm, end = False, time.perf_counter() + seconds
        path = _laid(folder, kind, name, mutated(name, data, number), seeds)
        tells.send((number, name))
        tells.send((number, name, *outcome(kind, path)))


def _laid(folder: Path, kind: str, name: str, data: bytes, seeds: list[tuple[str, bytes]]) -> Path:
    if kind == "network":  # the network and its note stand side by side
        for each, whole in seeds:
            (folder / each).write_bytes(whole)
    path = folder / name
    path.write_bytes(data)
    return path


def _shrunk(failure: Failure, folder: Path) -> Failure:
    """Leave out pieces while the same thing breaks."""
    if failure.what.startswith(("hang", "the process died")):
        return failure
    folder.mkdir(parents=True, exist_ok=True)
    wanted, data, tries = _short(failure.what), failure.data, 0
    piece, end = max(1, len(data) // 2), time.perf_counter() + _SHRINK_S
    while piece >= 1 and tries < _SHRINK_TRIES and time.perf_counter() < end:
        at = 0
        while at < len(data) and tries < _SHRINK_TRIES and time.perf_counter() < end:
            tries += 1
            less = data[:at] + data[at + piece :]
            path = folder / failure.name
            path.write_bytes(less)
            if less and _short(_apart(failure.kind, path)) == wanted:
                data = less
            else:
                at += piece
        piece //= 2
    return Failure(failure.kind, failure.name, failure.seed, failure.what, data)


def _apart(kind: str, path: Path) -> str:
    """Outcome of one file in a process of its own."""
    context = multiprocessing.get_context("fork")
    hears, tells = context.Pipe(duplex=False)
    process = context.Process(target=lambda: tells.send(outcome(kind, path)[0]))
    process.start()
    tells.close()
    try:
        return str(hears.recv()) if hears.poll(_crowd() * (HANG_S + 5)) else "hang"
    except EOFError:
        return "the process died"
    finally:
        process.kill()
        process.join()


def _keep(folder: Path, failure: Failure) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256(failure.data).hexdigest()[:8]
    (folder / f"{failure.kind}-{digest}-{failure.name}").write_bytes(failure.data)
