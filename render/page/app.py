"""The page's server: what may be asked, and which job answers it."""

import asyncio
import contextlib
import functools
import json
import struct
import traceback
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from typing import Any, TypeVar

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from render.errors import HingelineError
from render.files.lenses import shipped_lenses
from render.files.shipped import read_scene_table, shipped_names
from render.jobs.depth import propose_pitch
from render.limits import SECONDS_ANSWER, SECONDS_UPLOAD, UPLOAD_BYTES, WISH_BYTES, Limit
from render.live.groundplan import ground_plan
from render.live.preview import Looked, Preview
from render.live.stages import LeftError
from render.load.progress import silent
from render.page.asks import JUDGING
from render.page.desk import Desk, Paper
from render.page.guard import TooMuchError
from render.page.intake import Intake, title_of
from render.page.keys import declared_keys, in_page_words, page_words
from render.page.orders import KINDS, read_order, with_own
from render.page.saving import Saving
from render.page.solving import solved
from render.page.wishes import (
    as_judge_wishes,
    judge_wishes,
    read_list,
    read_look,
    read_number,
    read_pair,
    read_points,
    read_times,
    read_typed,
    read_view,
    read_wish,
)
from render.page.worker import StaleError, Worker
from render.shot.declaring import Words
from render.shot.placekeys import is_map_file
from render.shot.shot import Shot
from render.units import units_told

__all__ = ["Page", "most_bytes"]

_ON_MAP = "A real place, from the map file that this page was started with."
_TYPES = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "woff2": "font/woff2",
    "avif": "image/avif",
}

T = TypeVar("T")
Answer = Callable[[Request], Awaitable[Response]]


def most_bytes(path: str) -> Limit:
    """Longest body that is taken for a path: files are long, wishes short."""
    return UPLOAD_BYTES if path in ("/api/files", "/api/stills") else WISH_BYTES


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
        self._worker = Worker()
        self._preview = Preview(self._worker.outdated)
        self._saving = Saving(desk)
        self._intake = Intake(desk, self._preview)
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
                *(
                    Route(f"/api/{path}", self._plainly(answer), methods=list(methods))
                    for path, answer, *methods in (
                        ("start", self._begin, "GET"),
                        ("at", self._at, "GET"),
                        ("files", self._take_file, "PUT"),
                        ("stills", self._take_still, "PUT"),
                        ("run", self._lay_run, "POST"),
                        ("lens", self._lens, "POST"),
                        ("read", self._read, "POST"),
                        ("look", self._look, "POST"),
                        ("loupe", self._loupe, "POST"),
                        ("plan", self._plan, "POST"),
                        ("moments", self._moments, "POST"),
                        ("lay", self._lay, "POST"),
                        ("outline", self._outline, "POST"),
                        ("propose", self._propose, "POST"),
                        ("heed", self._heed, "POST"),
                        ("solve", self._solve, "POST"),
                        ("verdict", self._judge, "POST"),
                        ("stops", self._stops, "POST"),
                        ("saves", self._save, "POST"),
                        ("saves/{id}", self._saved, "GET", "DELETE"),
                        ("saves/{id}/file", self._saved_file, "GET"),
                    )
                ),
            ],
            lifespan=self._life,
            exception_handlers={HTTPException: _nothing_there},
        )

    @asynccontextmanager
    async def _life(self, _: Starlette) -> AsyncIterator[None]:
        self._worker.start()
        opening = asyncio.create_task(self._open_ahead())
        try:
            yield
        finally:
            opening.cancel()
            self._saving.close()
            self._preview.close()  # ends what the worker may be waiting for
            await asyncio.to_thread(self._worker.close)
            self._desk.clear()

    async def _open_ahead(self) -> None:
        """Read the picture to begin with while the browser is still coming up.

        What is wrong with it is said when the page asks for it.
        """
        start = self._desk.shot(self._start) if self._start else None
        if start is not None and start.picture:
            with contextlib.suppress(HingelineError, StaleError):
                await self._worker.run("", "ahead", 0, lambda: self._preview.guess(start))

    async def _static(self, request: Request) -> Response:
        name = request.path_params.get("name", "index.html")
        content = self._static_files.get(name)
        if content is None:
            return PlainTextResponse("There is nothing of that name here.", 404)
        return Response(content, media_type=_TYPES[name.rpartition(".")[2]])

    async def _begin(self, _: Request) -> Response:
        shot, problem = self._start, ""
        if shot:
            start, guessed = self._desk.shot(shot), dict[str, Words]()
            try:
                if start.picture:
                    guessed = await self._worker.run(
                        "", "start", 1, lambda: self._intake.guess(start)
                    )
            except HingelineError as error:
                problem = self._sentence(error)
            values = {**guessed, **shot["values"]}
            if start.on_map and "at" not in values:
                values |= self._intake.on_map(self._desk.papers[shot["scene"]])
            name = self._desk.name(shot)
            shot = {**shot, "values": values, "name": name}
        return JSONResponse(
            {
                "shot": shot,
                "problem": problem,
                "papers": self._intake.papers(),
                **self._offers,
            }
        )

    @functools.cached_property
    def _offers(self) -> dict[str, Any]:
        """What the page offers, the same all the time it runs."""
        return {
            "places": [self._scene(name) for name in shipped_names()],
            "kinds": [
                with_own(kind, self._desk.own).declared(name) for name, kind in KINDS.items()
            ],
            "own": self._desk.begun(Shot())["values"],
            "keys": declared_keys(),
            "judging": [ask.declared() for ask in JUDGING if ask.label],
            "lenses": shipped_lenses(),
            "units": units_told(),
        }

    async def _at(self, _: Request) -> Response:
        return JSONResponse(self._preview.at())

    async def _take_file(self, request: Request) -> Response:
        async with asyncio.timeout(SECONDS_UPLOAD.most):
            paper = await self._desk.receive(request.query_params.get("name", ""), request.stream())
        beside = "beside" in request.query_params
        return await self._laid(paper, beside, request.query_params.get("as") == "file")

    async def _take_still(self, request: Request) -> Response:
        said = request.query_params
        async with asyncio.timeout(SECONDS_UPLOAD.most):
            await self._desk.receive_still(
                said.get("run", ""), said.get("name", ""), request.stream()
            )
        return JSONResponse({})

    async def _lay_run(self, request: Request) -> Response:
        wish = await read_wish(request)
        return await self._laid(self._desk.lay_run(str(wish.get("run"))), False, False)

    async def _laid(self, paper: Paper, beside: bool, plain: bool) -> Response:
        try:
            laid = await self._worker.run(
                paper.id, "open", 1, lambda: self._intake.understood(paper, beside, plain)
            )
        except BaseException:
            self._desk.remove(paper)
            raise
        return JSONResponse(laid)

    async def _lens(self, request: Request) -> Response:
        wish = await read_wish(request)
        return JSONResponse(self._intake.lens(wish.get("values")))

    async def _read(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        read, thing = read_typed(wish, shot)
        if thing is not None:
            await self._run(wish, "name", 1, lambda: self._preview.heed_name(shot, thing))
        return JSONResponse(read)

    async def _look(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, look = self._desk.shot(wish.get("shot")), read_look(wish)
        aside = wish.get("aside") is True
        how = "fine" if look.fine else "aside" if aside else "passing" if look.passing else "draft"
        kind, rank = f"{look.showing} {how}", 0 if how == "draft" else 3
        looked = await self._run(wish, kind, rank, lambda: self._preview.look(shot, look))
        return _pictured(looked)

    async def _loupe(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        x, y = read_number(wish, "x", 0, 1), read_number(wish, "y", 0, 1)
        return _pictured(await self._run(wish, "loupe", 2, lambda: self._preview.loupe(shot, x, y)))

    async def _plan(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, across_m = self._desk.shot(wish.get("shot")), read_number(wish, "across", 0, 1e6)
        return _pictured(await self._run(wish, "plan", 1, lambda: ground_plan(shot, across_m)))

    async def _moments(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, times_s = self._desk.shot(wish.get("shot")), read_times(wish)
        found = await self._run(wish, "moments", 1, lambda: self._preview.moments(shot, times_s))
        return JSONResponse({"moments": found})

    async def _outline(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        x, y = read_number(wish, "x", 0, 1), read_number(wish, "y", 0, 1)
        more, less = (read_points(wish, name, least=0) for name in ("more", "less"))
        corners, doubt = await self._run(
            wish, "outline", 1, lambda: self._preview.outline(shot, (x, y), more, less)
        )
        return JSONResponse({"corners": corners, "doubt": doubt})

    async def _propose(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        made = await self._run(wish, "propose", 1, lambda: propose_pitch(shot, silent))
        lines = [proposal["words"] for proposal in made.record["proposals"]]
        return JSONResponse({"lines": lines, "values": made.record["values"]})

    async def _lay(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, points = self._desk.shot(wish.get("shot")), read_points(wish)
        return JSONResponse(
            await self._run(wish, "lay", 0, lambda: self._preview.lay_band(shot, points))
        )

    async def _heed(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, (kind, text) = self._desk.shot(wish.get("shot")), read_pair(wish, "wish")
        await self._run(wish, "heed", 1, lambda: self._preview.heed(shot, kind, text))
        return JSONResponse({})

    async def _solve(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot = self._desk.shot(wish.get("shot"))
        return JSONResponse(in_page_words(await self._run(wish, "solve", 1, solved(shot, wish))))

    async def _judge(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, judging = self._desk.shot(wish.get("shot")), judge_wishes(wish, self._desk)
        wanted = as_judge_wishes(judging)
        said = await self._run(wish, "verdict", 4, lambda: self._preview.verdict(shot, wanted))
        return JSONResponse(in_page_words(said))

    async def _stops(self, request: Request) -> Response:
        wish = await read_wish(request)
        shot, judging = self._desk.shot(wish.get("shot")), judge_wishes(wish, self._desk)
        wanted = as_judge_wishes(judging)
        return JSONResponse(
            await self._run(wish, "stops", 5, lambda: self._preview.stops(shot, wanted))
        )

    async def _save(self, request: Request) -> Response:
        wish = await read_wish(request)
        shots = [self._desk.shot(shot) for shot in read_list(wish, "shots")]
        return JSONResponse({"id": self._saving.begin(read_order(wish, self._desk), shots)})

    async def _saved(self, request: Request) -> Response:
        name = request.path_params["id"]
        if request.method == "DELETE":
            self._saving.stop(name)
        state = self._saving.state(name)
        if state["problem"] not in ("", "stopped"):
            state["problem"] = self._sentence(state["problem"])
        return JSONResponse(state)

    async def _saved_file(self, request: Request) -> Response:
        path = self._saving.made(request.path_params["id"])
        return FileResponse(path, filename=path.name, content_disposition_type="attachment")

    async def _run(self, wish: dict[str, Any], kind: str, rank: int, task: Callable[[], T]) -> T:
        async with asyncio.timeout(SECONDS_ANSWER.most):
            return await self._worker.run(read_view(wish), kind, rank, task)

    def _scene(self, name: str) -> dict[str, str]:
        """A place that comes along, as the page offers it."""
        picture = f"scene-{name}.avif"
        return {
            "name": name,
            "title": title_of(name),
            "about": _ON_MAP
            if is_map_file(name)
            else str(read_scene_table(name)[1].get("line", "")),
            "picture": picture if picture in self._static_files else "",
        }

    def _sentence(self, error: HingelineError | str, handed_in: str = "") -> str:
        """What went wrong, in the page's own words: no folders, no names of options.

        A file that stands first keeps its name as it is written.
        """
        text = page_words(self._desk.plain(str(error)))
        names = [handed_in, *(paper.name for paper in self._desk.papers.values())]
        named = any(name and text.startswith(name) for name in names)
        return f"{text if named else text[:1].upper() + text[1:]}."

    def _plainly(self, answer: Answer) -> Answer:
        """Turn what can go wrong into one sentence and a fitting number."""

        async def plainly(request: Request) -> Response:
            try:
                return await answer(request)
            except HingelineError as error:
                named = request.query_params.get("name", "")
                return PlainTextResponse(self._sentence(error, named), 422)
            except (StaleError, LeftError):
                return Response(status_code=204)  # nothing to show: something newer was asked for
            except TooMuchError as error:
                return PlainTextResponse(str(error), 413, {"Connection": "close"})
            except TimeoutError:
                return PlainTextResponse("That took too long: try it smaller.", 503)
            except ClientDisconnect:
                return Response(status_code=400)
            except MemoryError:
                return PlainTextResponse(
                    "There is not enough memory for that on this machine.", 503
                )
            except OSError as error:  # of the folder that the page keeps its files in
                return PlainTextResponse(
                    f"This machine's temporary disk refused it ({error.strerror}): make room "
                    "there, then try again.",
                    507,
                )
            except Exception as error:
                with contextlib.suppress(OSError, ValueError):  # nobody may read it
                    traceback.print_exception(error)
                return PlainTextResponse(
                    f"That is a fault of the program, not of yours ({type(error).__name__}): "
                    "please report what you did last, and what stands where the page was started.",
                    500,
                )

        return plainly


async def _nothing_there(_: Request, error: Exception) -> Response:
    """Say in words that there is nothing at an address, or nothing to be done there."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    said = "There is nothing at this address: load the page again."
    return PlainTextResponse(said, status)


def _pictured(looked: Looked) -> Response:
    """Four bytes with the length of what is said, that as JSON, then the JPEG."""
    told = json.dumps(in_page_words(looked.told)).encode()
    return Response(
        struct.pack(">I", len(told)) + told + looked.jpeg, media_type="application/octet-stream"
    )
