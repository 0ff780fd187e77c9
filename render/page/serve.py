"""Run the page: one socket on this machine, one random address, and a clean end."""

import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Mapping
from pathlib import Path

import uvicorn

from render.errors import InputError, OutputError
from render.load.footage import is_footage, open_footage
from render.page.app import Page, most_bytes
from render.page.connections import MOST_OPEN, PatientProtocol
from render.page.desk import Desk
from render.page.guard import Guard
from render.shot.declaring import Words
from render.shot.shot import Shot

__all__ = ["serve"]

#: What a browser keeps belongs to an address, so the page comes back at the same port if it can.
_USUAL_PORT = 8746
#: More requests than this at once are told to come back later.
_MOST_AT_ONCE = 2 * MOST_OPEN


def serve(
    shot: Shot | None,
    *,
    own: Mapping[str, Words],
    port: int | None,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serve the page until the program is stopped.

    Parameters
    ----------
    shot : Shot or None
        What lies on the desk at the start.
    own : mapping of name to words
        Defaults of whoever opens it.
    port : int or None
        None: the usual one, or any that is free.
    browser : bool
        Open the owner's browser.
    say : callable
        Told the address.

    Raises
    ------
    InputError, OutputError
        If there is nothing to look at, or the port cannot be had.
    """
    if shot is not None:
        _check(shot)
    listener = _listen(port)
    number = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    address = f"http://127.0.0.1:{number}/{token}/"
    desk = Desk(own=own)
    page = Page(desk, desk.sheet(shot) if shot else None)
    guarded = Guard(page.application(), token, number, most_bytes)
    server = uvicorn.Server(
        uvicorn.Config(
            guarded,
            log_level="critical",
            access_log=False,
            server_header=False,
            http=PatientProtocol,
            ws="none",
            limit_concurrency=_MOST_AT_ONCE,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=2,
            h11_max_incomplete_event_size=32_000,
        )
    )
    say(address)
    if browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    try:
        server.run(sockets=[listener])
    except KeyboardInterrupt:
        pass  # uvicorn raises it again once everything is closed: that is the way to stop
    finally:
        listener.close()
        desk.clear()


def _check(shot: Shot) -> None:
    if not (shot.picture or shot.scene):
        raise InputError("settings alone show nothing: name a picture or a demo scene too")
    for name in (shot.picture, shot.scene if shot.on_map else None, shot.depth.file):
        if name and not Path(name).is_file() and not (name == shot.picture and is_footage(name)):
            raise InputError(f"{name} is not there: check the name")
    if shot.picture and is_footage(shot.picture):
        open_footage(shot.picture, None).close()


def _listen(port: int | None) -> socket.socket:
    wanted = [port] if port is not None else [_USUAL_PORT, 0]
    for number in wanted:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform == "win32":  # where reusing would let another program share the port
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind(("127.0.0.1", number))
            listener.listen(256)
        except OSError:
            listener.close()
        else:
            return listener
    raise OutputError(
        f"port {port} is taken or not allowed: choose another with --port, or leave it out"
    )
