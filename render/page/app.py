"""The page's server: what may be asked, and which job answers it."""

import asyncio
import json
import struct
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from typing import Any

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from render.errors import HingelineError, InputError
from render.files.shots import read_shot
from render.jobs.preview import Looked, Preview
from render.jobs.progress import silent
from render.page.desk import Desk, Paper
from render.page.guard import TooMuch
from render.page.saving import KINDS, Saving
from render.page.wishes import look_wish, view_name
from render.page.worker import Stale, Worker

__all__ = ["MOST_UPLOAD_BYTES", "Page", "most_bytes"]

MOST_UPLOAD_BYTES = 400_000_000
_MOST_WISH_BYTES = 400_000
_UPLOAD_SECONDS = 180
_ANSWER_SECONDS = 60
_TYPES = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "woff2": "font/woff2",
}

Answer = Callable[[Request], Awaitable[Response]]


def most_bytes(path: str) -> int:
    """Longest body that is taken for a path: files are long, wishes short."""
    return MOST_UPLOAD_BYTES if path.startswith("/api/files") else _MOST_WISH_BYTES


class Page:
    """One run of the page: its desk, its worker, what is being saved."""

    def __init__(self, desk: Desk, start: dict[str, Any]) -> None:
        self._desk = desk
        self._start = start
        self._preview = Preview()
        self._worker = Worker()
        self._saving = Saving(desk)
        self._files = {
            entry.name: entry.read_bytes()
            for entry in resources.files("render.page").joinpath("static").iterdir()
            if entry.is_file()
        }

    def application(self) -> Starlette:
        """Routes; the guard goes round it."""
        routes = [
            Route("/", self._static),
            Route("/static/{name}", self._static),
            Route("/api/start", _plainly(self._begin)),
            Route("/api/files", _plainly(self._take_file), methods=["PUT"]),
            Route("/api/look", _plainly(self._look), methods=["POST"]),
            Route("/api/{kind:str}/picture", _plainly(self._scene_picture)),
            Route("/api/verdict", _plainly(self._judge), methods=["POST"]),
            Route("/api/loupe", _plainly(self._loupe), methods=["POST"]),
            Route("/api/depth", _plainly(self._depth), methods=["POST"]),
            Route("/api/lay", _plainly(self._lay_band), methods=["POST"]),
            Route("/api/saves", _plainly(self._save), methods=["POST"]),
            Route("/api/saves/{id}", _plainly(self._saved), methods=["GET", "DELETE"]),
            Route("/api/saves/{id}/progress", _plainly(self._progress)),
        ]
        return Starlette(routes=routes, lifespan=self._life)

    @asynccontextmanager
    async def _life(self, _: Starlette) -> AsyncIterator[None]:
        self._worker.start()
        try:
            yield
        finally:
            self._saving.close()
            await asyncio.to_thread(self._worker.close)
            self._desk.clear()
