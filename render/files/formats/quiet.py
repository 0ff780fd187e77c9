"""Silence for libraries that write to standard output or error by themselves."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import RLock

__all__ = ["libraries_silenced"]

_lock = RLock()  # one reader may call another


@contextmanager
def libraries_silenced() -> Iterator[None]:
    """Send what C libraries print about a damaged file nowhere: we say it in one sentence.

    For short calls only: whatever else the process prints meanwhile is lost with it.
    """
    with _lock:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError, ValueError, AttributeError):
                stream.flush()
        try:
            kept = [os.dup(number) for number in (1, 2)]
        except OSError:  # a program without standard streams
            yield
            return
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            for number in (1, 2):
                os.dup2(nowhere, number)
            yield
        finally:
            os.close(nowhere)
            for number, copy in zip((1, 2), kept, strict=True):
                os.dup2(copy, number)
                os.close(copy)
