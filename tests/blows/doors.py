"""Where each kind of file comes in, and what may come of a blow: use, or one plain sentence."""

import asyncio
import contextlib
import io
import os
import sys
import tempfile
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from render.errors import HingelineError
from tests.blows.clips import film_clip

__all__ = ["DOORS", "Broken", "struck"]

_MOST_LETTERS = 420  # the folder left out: how deep it lies is the machine's


class Broken(Exception):  # noqa: N818 (it is what the campaign looks for, not an error of ours)
    """The answer to a blow is none that a person should get."""


def struck(kind: str, path: Path) -> str:
    """Bring one file in at its door.

    Returns
    -------
    str
        "" if it was taken, else the sentence that refused it.

    Raises
    ------
    Broken
        If the sentence is too long, of several lines, or holds what a terminal obeys.
    """
    try:
        said = DOORS[kind](path) or ""
    except HingelineError as error:
        said = str(error)
        _check_sentence(said.replace(str(path.parent), ""))
    return said


def _check_sentence(said: str) -> None:
    if not said.strip():
        raise Broken("an error without words")
    if len(said) > _MOST_LETTERS:
        raise Broken(f"a sentence of {len(said)} letters: {said[:160]!r} ...")
    if any(unicodedata.category(letter) in ("Cc", "Cf", "Cs") for letter in said):
        raise Broken(f"a sentence with lines or control characters: {said[:200]!r}")


def _picture(path: Path) -> None:
    from render.files.pictures import read_picture, write_picture

    file = read_picture(path)
    out = path.with_name("out.jpg")
    out.unlink(missing_ok=True)
    write_picture(out, file.light * np.float32(0.9), file, note="blow")


def _embedded(path: Path) -> None:
    from render.files.depths import read_depth_file

    read_depth_file(path)
    _picture(path)


def _depth(path: Path) -> None:
    from render.files.depths import metric_depth, read_depth_file
    from render.optics.camera import Camera

    file = read_depth_file(path)
    height, width = file.values.shape
    metric_depth(file, Camera(width, height, 40.0), holes=True)


def _shot(path: Path) -> None:
    from render.files.shots import read_shot, write_shot

    shot = read_shot(path)
    again = path.with_name("again.toml")
    write_shot(again, shot, overwrite=True)
    read_shot(again)


def _scene(path: Path) -> None:
    from render.load.scenes import load_scene
    from render.trace.build import build

    build(load_scene(str(path)))


def _lens(path: Path) -> None:
    from render.files.lenses import read_lens

    read_lens(str(path))


def _own(path: Path) -> None:
    from render.files.defaults import read_defaults

    before = os.environ.get("HINGELINE_DEFAULTS")
    os.environ["HINGELINE_DEFAULTS"] = str(path)
    try:
        read_defaults()
    finally:
        os.environ["HINGELINE_DEFAULTS"] = before or "none"


def _network(path: Path) -> None:
    from render.depth.network import network_depth, network_input
    from render.files.apart.network import run_network
    from render.files.networks import read_network_use

    model = path.with_suffix(".onnx")
    use = read_network_use(model)
    codes = np.full((24, 32, 3), 0.5, np.float32)
    codes[:12] = 0.1
    network_depth(str(model), use, run_network(model, network_input(use, codes)), codes)


def _survey(path: Path) -> None:
    from render.files.surveys import read_survey

    read_survey(path)


def _terrain(path: Path) -> None:
    from render.files.terrain import read_terrain

    heights = read_terrain(path, "EPSG:25832")
    heights(np.array([[9.0, 46.9], [0.0, 0.0]]))


def _map(path: Path) -> None:
    from render.files.maps import read_map
    from render.trace.build import build
    from render.world.place.place import describe_place

    data = read_map(path)
    west, south, east, north = data.bounds_deg
    place = describe_place(data, (south + north) / 2, (west + east) / 2, 300.0)
    build(place.description)


def _options(path: Path) -> str:
    """Run a command line as the front door does; its exit code and words are judged too."""
    from render.cli import door

    words = path.read_bytes().decode("utf-8", "surrogateescape").split("\n")
    out, err = io.StringIO(), io.StringIO()
    argv, sys.argv = sys.argv, ["hingeline", *words]
    here = Path.cwd()
    code: Any = 0
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                door.main()
        except SystemExit as end:
            code = end.code
        finally:
            sys.argv = argv
            os.chdir(here)
    said = err.getvalue().strip()
    if code not in (0, 2, 3):  # 3: some of many were refused, a line each
        raise Broken(f"exit {code}: {said[:300]}")
    for line in said.splitlines() if code == 3 else [said] * (code == 2 and bool(said)):
        _check_sentence(line)
    return said if code else ""


class _Page:
    """One page without a network: requests go straight to its application."""

    def __init__(self) -> None:
        from render.page.app import Page, most_bytes
        from render.page.desk import Desk
        from render.page.guard import Guard

        self._loop = asyncio.new_event_loop()
        self._desk = Desk()
        application = Page(self._desk, None).application()
        self._life = application.router.lifespan_context(application)
        self._loop.run_until_complete(self._life.__aenter__())
        self._app = Guard(application, "token", 1, most_bytes)

    def ask(self, method: str, target: str, body: bytes) -> tuple[int, bytes]:
        """Status and content of the answer."""
        path, _, query = target.partition("?")
        sent: list[Any] = []

        async def receive() -> Any:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            sent.append(message)

        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": f"/token{path}",
            "raw_path": f"/token{path}".encode("utf-8", "replace"),
            "query_string": query.encode("utf-8", "replace"),
            "root_path": "",
            "headers": [(b"host", b"127.0.0.1:1"), (b"content-type", b"application/json")],
            "client": ("127.0.0.1", 2),
            "server": ("127.0.0.1", 1),
        }
        self._loop.run_until_complete(self._app(scope, receive, send))
        for paper in list(self._desk.papers.values())[:-5]:
            self._desk.remove(paper)
        content = b"".join(m.get("body", b"") for m in sent if m["type"].endswith("body"))
        return sent[0]["status"], content


_pages: list[_Page] = []


def _page(path: Path) -> str:
    line, _, body = path.read_bytes().partition(b"\n")
    method, _, target = line.decode("utf-8", "replace").partition(" ")
    if not _pages:
        _pages.append(_Page())
    status, content = _pages[0].ask(method.strip() or "GET", target.strip() or "/", body)
    if status >= 500:
        raise Broken(f"status {status}: {content[:200]!r}")
    if status < 400:
        return ""
    said = content.decode("utf-8", "replace")
    if "/tmp/" in said or "hingeline-page" in said:
        raise Broken(f"a path of this machine in an answer: {said[:200]!r}")
    if status == 422:
        _check_sentence(said)
    return said


#: What takes a file of each kind; what it returns is a refusal in words.
DOORS: dict[str, Callable[[Path], str | None]] = {
    "picture": _picture,
    "embedded": _embedded,
    "depth": _depth,
    "shot": _shot,
    "scene": _scene,
    "lens": _lens,
    "own": _own,
    "network": _network,
    "survey": _survey,
    "terrain": _terrain,
    "map": _map,
    "clips": film_clip,
    "options": _options,
    "page": _page,
}
