"""What is taken away: made in a process of its own, so that it can be stopped at any moment."""

import contextlib
import multiprocessing
import os
import secrets
import shutil
import signal
import tempfile
import threading
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from render.errors import HingelineError, InputError
from render.page.desk import Desk
from render.page.orders import Order, fill
from render.shot.shot import Shot

__all__ = ["Saving"]

_MOST_KEPT = 10


@dataclass(slots=True)
class _Job:
    folder: Path
    process: BaseProcess
    what: str = "starting"
    share: float = 0.0
    made: Path | None = None
    problem: str = ""


@dataclass(slots=True)
class Saving:
    """The things being made or lately made, by id. One at a time; a new one waits for none."""

    desk: Desk
    _jobs: dict[str, _Job] = field(default_factory=dict)

    def begin(self, order: Order, shots: list[Shot]) -> str:
        """Start to make something and return its id.

        Raises
        ------
        InputError
            If something else is being made.
        """
        # who has told its end is done, though its process may take a moment to go
        if any(
            not (job.made or job.problem) and job.process.is_alive() for job in self._jobs.values()
        ):
            raise InputError("something else is being made: wait for it, or stop it")
        while len(self._jobs) >= _MOST_KEPT:
            oldest = self._jobs.pop(next(iter(self._jobs)))
            shutil.rmtree(oldest.folder, ignore_errors=True)
        folder = Path(tempfile.mkdtemp(dir=self.desk.folder))
        context = multiprocessing.get_context("spawn")
        hears, tells = context.Pipe(duplex=False)
        process = context.Process(target=_make, args=(tells, order, shots, folder), daemon=True)
        process.start()
        tells.close()
        job, name = _Job(folder, process), secrets.token_urlsafe(9)
        self._jobs[name] = job
        threading.Thread(target=_follow, args=(job, hears), daemon=True).start()
        return name

    def state(self, name: str) -> dict[str, Any]:
        """How far it is: ``what``, ``share``, ``done``, ``problem``."""
        job = self._job(name)
        return {
            "what": job.what,
            "share": job.share,
            "done": job.made is not None,
            "name": job.made.name if job.made else "",
            "problem": job.problem,
        }

    def made(self, name: str) -> Path:
        """Where the finished thing lies."""
        made = self._job(name).made
        if made is None or not made.exists():
            raise InputError("that is not finished")
        return made

    def stop(self, name: str) -> None:
        """End it now; what was written so far is removed."""
        job = self._job(name)
        if job.made is None:
            job.problem = job.problem or "stopped"
        job.process.kill()
        job.process.join(timeout=5)
        if job.made is None:
            shutil.rmtree(job.folder, ignore_errors=True)

    def close(self) -> None:
        """Stop everything."""
        for name in self._jobs:
            self.stop(name)

    def _job(self, name: str) -> _Job:
        if name not in self._jobs:
            raise InputError("that is no longer kept here: make it again")
        return self._jobs[name]


def _follow(job: _Job, hears: Connection) -> None:
    """Note what the process tells, until it ends."""
    with hears, contextlib.suppress(EOFError, OSError):
        while True:
            kind, what, share = hears.recv()
            if kind == "at":
                job.what, job.share = what, share
            elif kind == "made":
                job.made, job.share = Path(what), 1.0
            else:
                job.problem = what
    if job.made is None and not job.problem:
        job.problem = "it ended before it was done: there may be too little memory for it"


def _make(tells: Connection, order: Order, shots: list[Shot], folder: Path) -> None:
    """Run in the process of its own; it ends when nobody listens any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, args=(folder.parent,), daemon=True).start()
    try:
        made = fill(order, shots, folder, lambda what, share: tells.send(("at", what, share)))
    except HingelineError as error:
        tells.send(("problem", str(error), 0.0))
    except MemoryError:
        tells.send(("problem", "there is not enough memory for that on this machine", 0.0))
    else:
        tells.send(("made", str(made), 1.0))


def _end_with_parent(desk: Path) -> None:
    """Where the page was killed, nobody wants the work any more, nor its folder."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        shutil.rmtree(desk, ignore_errors=True)
        os._exit(1)
