"""Connections to the page: none may wait for ever before its request, and the newest gets in."""

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

__all__ = ["MOST_OPEN", "PatientProtocol"]

#: From a connection's beginning to the end of its first request's head, s.
_FIRST_REQUEST_S = 10.0
#: More open connections than this close the oldest that is asking nothing (macOS gives a program
#: 256 files in all).
MOST_OPEN = 220


class PatientProtocol(H11Protocol):
    """HTTP with a limit on waiting: for the first request, and for room among the others.

    A browser opens six connections to a page. Whoever opens hundreds and sends nothing loses the
    oldest of them, so that the owner's next one is always taken.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._timer: asyncio.TimerHandle | None = None
        self._opened_s = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a request; make room where there is none."""
        super().connection_made(transport)
        self._timer = self.loop.call_later(_FIRST_REQUEST_S, self._close_if_idle)
        self._opened_s = self.loop.time()
        every = [one for one in self.connections if isinstance(one, PatientProtocol)]
        if len(every) > MOST_OPEN:
            every.sort(key=lambda one: one._opened_s)
            for other in every[: len(every) - MOST_OPEN]:
                other._close_if_idle()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        super().connection_lost(exc)
        if self._timer is not None:
            self._timer.cancel()

    def _close_if_idle(self) -> None:
        if self.cycle is None or self.cycle.response_complete:
            self.transport.abort()
