"""The page's server: what may be asked, and which job answers it."""

import asyncio
import json
import struct
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from render.errors import HingelineError, InputError
from render.files.shipped import read_scene_table, shipped_names
from render.jobs.solve import solve
from render.live.preview import Looked, Preview
from render.load.progress import silent
from render.page.desk import Desk, Paper
from render.page.guard import TooMuchError
from render.page.orders import KINDS, read_order
from render.page.saving import Saving
from render.page.wishes import read_look, read_number, read_points, read_texts, read_view, read_wish
from render.page.worker import StaleError, Worker
from render.shot.placekeys import is_map_file, plain_name

__all__ = ["Page", "most_bytes"]

_MOST_FILE_BYTES = 400_000_000
_MOST_WISH_BYTES = 400_000
_FILE_SECONDS = 180
_DEPTH_ENDINGS = (".npy", ".npz", ".pfm")
_ANSWER_SECONDS = 120
_ON_MAP = "A real place, from the map file that this page was started with."
_TYPES = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "woff2": "font/woff2",
    "jpg": "image/jpeg",
}

T = TypeVar("T")
Answer = Callable[[Request], Awaitable[Response]]


def most_bytes(path: str) -> int:
    """Longest body that is taken for a path: files are long, wishes short."""
    return _MOST_FILE_BYTES if path == "/api/files" else _MOST_WISH_BYTES


class Page:
    """One run of the page.

    Parameters
    ----------
    desk : Desk
    start : dict or None
        The shot to begin with, as the page reads it.
    """

    def __init__(self, desk: Desk, start: dict[str, Any] | None) -> None:
        self._desk = desk
        self._start = start
        self._preview = Preview()
        self._worker = Worker()
        self._saving = Saving(desk)
        self._guesses: dict[str, dict[str, str]] = {}
        self._static_files = {
            entry.name: entry.read_bytes()
            for entry in resources.files("render.page").joinpath("static").iterdir()
            if entry.name.rpartition(".")[2] in _TYPES
        }

    def application(self) -> Starlette:
        """Routes; the guard goes round it."""
        return Starlette(
            routes=[
                Route("/", self._static),
                Route("/static/{name}", self._static),
                Route("/api/start", _plainly(self._begin)),
                Route("/api/files", _plainly(self._take_file), methods=["PUT"]),
                Route("/api/look", _plainly(self._look), methods=["POST"]),
                Route("/api/loupe", _plainly(self._loupe), methods=["POST"]),
                Route("/api/lay", _plainly(self._lay), methods=["POST"]),
                Route("/api/solve", _plainly(self._solve), methods=["POST"]),
                Route("/api/verdict", _plainly(self._judge), methods=["POST"]),
                Route("/api/saves", _plainly(self._save), methods=["POST"]),
                Route("/api/saves/{id}", _plainly(self._saved), methods=["GET", "DELETE"]),
                Route("/api/saves/{id}/file", _plainly(self._saved_file)),
            ],
            lifespan=self._life,
        )

    @asynccontextmanager
    async def _life(self, _: Starlette) -> AsyncIterator[None]:
        self._worker.start()
        try:
            yield
        finally:
            self._saving.close()
            self._preview.close()  # ends what the worker may be waiting for
            await asyncio.to_thread(self._worker.close)
            self._desk.clear()

    async def _static(self, request: Request) -> Response:
        name = request.path_params.get("name", "index.html")
        content = self._static_files.get(name)
        if content is None:
            return PlainTextResponse("There is nothing of that name here.", 404)
        return Response(content, media_type=_TYPES[name.rpartition(".")[2]])

    async def _begin(self, _: Request) -> Response:
        shot, problem = self._start, ""
        if shot:
            start = self._desk.shot(shot)
            try:
                guessed = await self._worker.run("", "start", 1, lambda: self._preview.guess(start))
            except HingelineError as error:
                guessed, problem = {}, _sentence(error)
            values = {**guessed, **shot["values"]}
            shot = {**shot, "values": values, "name": self._name(shot), "guessed": list(guessed)}
        papers = {
            paper.id: {"name": paper.name, "guessed": self._guesses.get(paper.id, {})}
            for paper in self._desk.papers.values()
        }
        return JSONResponse(
            {
                "shot": shot,
                "problem": problem,
                "papers": papers,
                "places": [self._scene(name) for name in shipped_names()],
                "kinds": list(KINDS),
            }
        )

    async def _take_file(self, request: Request) -> Response:
        async with asyncio.timeout(_FILE_SECONDS):
            paper = await self._desk.receive(request.query_params.get("name", ""), request.stream())
        try:
            beside = "beside" in request.query_params
            laid = await self._worker.run(
                paper.id, "open", 1, lambda: self._understood(paper, beside=beside)
            )
        except BaseException:
            self._desk.remove(paper)
            raise
        return JSONResponse(laid)

    def _understood(self, paper: Paper, *, beside: bool) -> dict[str, Any]:
        """Say what a dropped file is: a shot, depth beside an open picture, or a picture.

        A picture comes with what had to be guessed.
        """
        ending = paper.path.suffix.lower()
        if ending == ".toml":
            return {"kind": "shot", "shot": self._dropped_shot(paper)}
        depth = {"kind": "depth", "id": paper.id, "name": paper.name}
        if ending in _DEPTH_ENDINGS:
            if not beside:
                raise InputError(f"{paper.name} holds depth: open its picture first")
            return depth
        shot = self._desk.shot({"picture": paper.id, "scene": None, "values": {}})
        if beside and self._preview.may_be_depth(shot):
            return depth
        self._guesses[paper.id] = self._preview.guess(shot)
        return {
            "kind": "picture",
            "id": paper.id,
            "name": paper.name,
            "guessed": self._guesses[paper.id],
        }

    def _dropped_shot(self, paper: Paper) -> dict[str, Any]:
        shot = self._desk.dropped_shot(paper)
        return {**shot, "name": self._name(shot)}

    async def _look(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, look = self._desk.shot(wish.get("shot")), read_look(wish)
        aside = wish.get("aside") is True
        kind = f"{look.showing} {'fine' if look.fine else 'aside' if aside else 'draft'}"
        rank = 3 if look.fine or aside else 0
        looked = await self._run(wish, kind, rank, lambda: self._preview.look(shot, look))
        return _pictured(looked)

    async def _loupe(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        x, y = read_number(wish, "x", 0, 1), read_number(wish, "y", 0, 1)
        return _pictured(await self._run(wish, "loupe", 2, lambda: self._preview.loupe(shot, x, y)))

    async def _lay(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, points = self._desk.shot(wish.get("shot")), read_points(wish)
        return JSONResponse(
            await self._run(wish, "lay", 0, lambda: self._preview.lay_band(shot, points))
        )

    async def _solve(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, only = self._desk.shot(wish.get("shot")), wish.get("only") is True
        sharp, soft = read_texts(wish, "sharp"), read_texts(wish, "soft")

        def work() -> dict[str, Any]:
            made = solve(
                shot, [("point", text) for text in sharp], soft, only=only, progress=silent
            )
            # the page has turned the lens already: no command need be told
            lines = [line for line in made.lines if not line.startswith("To see it:")]
            return {"values": made.record["shot"], "lines": lines}

        return JSONResponse(await self._run(wish, "solve", 1, work))

    async def _judge(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        return JSONResponse(
            await self._run(wish, "verdict", 4, lambda: self._preview.verdict(shot))
        )

    async def _save(self, request: Request) -> Response:
        wish = await read_wish(request)
        shots = [self._desk.shot(shot) for shot in wish.get("shots") or []]
        return JSONResponse({"id": self._saving.begin(read_order(wish), shots)})

    async def _saved(self, request: Request) -> Response:
        name = request.path_params["id"]
        if request.method == "DELETE":
            self._saving.stop(name)
        return JSONResponse(self._saving.state(name))

    async def _saved_file(self, request: Request) -> Response:
        path = self._saving.made(request.path_params["id"])
        return FileResponse(path, filename=path.name, content_disposition_type="attachment")

    async def _run(self, wish: dict[str, Any], kind: str, rank: int, task: Callable[[], T]) -> T:
        async with asyncio.timeout(_ANSWER_SECONDS):
            return await self._worker.run(read_view(wish), kind, rank, task)

    def _scene(self, name: str) -> dict[str, str]:
        """A demo scene as the page offers it."""
        picture = f"scene-{name}.jpg"
        on_map = is_map_file(name)
        return {
            "name": name,
            "title": _title(name),
            "about": _ON_MAP if on_map else str(read_scene_table(name)[1].get("line", "")),
            "picture": picture if picture in self._static_files else "",
        }

    def _name(self, shot: dict[str, Any]) -> str:
        """What a shot's picture or scene is called."""
        paper = self._desk.papers.get(shot["picture"])
        return paper.name if paper else _title(shot["scene"])


def _title(scene: str) -> str:
    """What a demo scene is called on the page."""
    stem = plain_name(scene) if is_map_file(scene) else Path(scene).stem
    return stem.replace("-", " ").capitalize()


def _sentence(error: HingelineError) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}."


def _pictured(looked: Looked) -> Response:
    """Four bytes with the length of what is said, that as JSON, then the JPEG."""
    told = json.dumps(looked.told).encode()
    return Response(
        struct.pack(">I", len(told)) + told + looked.jpeg, media_type="application/octet-stream"
    )


def _plainly(answer: Answer) -> Answer:
    """Turn what can go wrong into one sentence and a fitting number."""

    async def plainly(request: Request) -> Response:
        try:
            return await answer(request)
        except HingelineError as error:
            return PlainTextResponse(_sentence(error), 422)
        except StaleError:
            return Response(status_code=204)  # nothing to show: something newer was asked for
        except TooMuchError as error:
            return PlainTextResponse(str(error), 413, {"Connection": "close"})
        except TimeoutError:
            return PlainTextResponse("That took too long: try it smaller.", 503)
        except ClientDisconnect:
            return Response(status_code=400)
        except MemoryError:
            return PlainTextResponse("There is not enough memory for that on this machine.", 503)

    return plainly
