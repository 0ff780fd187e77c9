"""Who may talk to the page: its owner, from this machine, through the address that was printed."""

import asyncio
import secrets
from collections.abc import Callable

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from render.limits import SECONDS_UPLOAD, SECONDS_WISH, SETTING, Limit

__all__ = ["HEADERS", "Guard", "TooMuchError"]

_POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' blob: data:",
    "connect-src": "'self'",
    "font-src": "'self'",
    "base-uri": "'none'",
    "form-action": "'none'",
    "frame-ancestors": "'none'",
}
HEADERS = {
    "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in _POLICY.items()),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class TooMuchError(Exception):
    """More was sent than is taken here."""


class Guard:
    """Refuse what does not come from the page itself, before anything else looks at it.

    Parameters
    ----------
    app : ASGI application
    token : str
        The first part of every path; random, known only from the printed address.
    port : int
        Of this server: the names by which it may be called follow from it.
    most_bytes : function of str to Limit
        The longest body taken for a path without its token.
    """

    def __init__(
        self, app: ASGIApp, token: str, port: int, most_bytes: Callable[[str], Limit]
    ) -> None:
        self._app = app
        self._token = token
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._most_bytes = most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, strip the token from the path, and pass on with a limit on the body."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        status, problem = self._problem(headers, scope["path"])
        if problem:
            await PlainTextResponse(problem, status, HEADERS)(scope, receive, send)
            return
        rest = scope["path"].removeprefix(f"/{self._token}")
        most = self._most_bytes(rest)
        if _length(headers) > most.most:
            refusal = PlainTextResponse(_too_much(most), 413, {**HEADERS, "Connection": "close"})
            await refusal(scope, receive, send)
            return
        inner = {**scope, "path": rest, "raw_path": rest.encode("utf-8", "replace")}
        patience_s = (SECONDS_UPLOAD if scope["method"] == "PUT" else SECONDS_WISH).most
        await self._app(inner, _counted(receive, most, patience_s), _dressed(send))

    def _problem(self, headers: Headers, path: str) -> tuple[int, str]:
        host = headers.get("host", "")
        if host not in self._hosts:
            return 421, "This page answers only to the address that hingeline printed."
        first = path.split("/")[1] if path.startswith("/") else ""
        if not secrets.compare_digest(first.encode(), self._token.encode()):
            return 403, (
                "This page opens only with the whole address that hingeline printed: "
                "copy it from the terminal."
            )
        if headers.get("origin") not in (None, f"http://{host}"):
            return 403, "Another site asked for this page: refused."
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return 403, "Another site asked for this page: refused."
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdecimal()):
            return 400, "The request's length is not a number."
        return 200, ""


def _length(headers: Headers) -> float:
    """What a request says that its body has; a number of hundreds of digits is endless."""
    digits = headers.get("content-length") or "0"
    return int(digits) if len(digits) < 20 else float("inf")


def _too_much(limit: Limit) -> str:
    most = limit.most
    size = f"{most / 1e6:,.0f} MB" if most >= 1e6 else f"{most / 1e3:.0f} kB"
    return (
        f"That is more than is taken here: at most {size}. Make it smaller, or start the program "
        f"with {SETTING}=4 in its environment to let four times as much through."
    )


def _counted(receive: Receive, most: Limit, patience_s: float) -> Receive:
    """Stop reading a body that grows past `most`, whatever it claimed, or comes too slowly."""
    seen, whole = 0, False
    end = asyncio.get_running_loop().time() + patience_s

    async def counted() -> Message:
        nonlocal seen, whole
        if whole:  # what follows is only whether somebody still listens
            return await receive()
        async with asyncio.timeout_at(end):
            message = await receive()
        whole = not message.get("more_body", False)
        seen += len(message.get("body", b""))
        if seen > most.most:
            raise TooMuchError(_too_much(most))
        return message

    return counted


def _dressed(send: Send) -> Send:
    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
        await send(message)

    return dressed
