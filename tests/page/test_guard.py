"""The guard lets only the page itself in."""

import asyncio
from typing import Any

import pytest
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import Message, Receive, Scope, Send

from render.limits import UPLOAD_BYTES, WISH_BYTES, Limit
from render.page.guard import HEADERS, Guard, TooMuchError, _counted, _too_much

TOKEN = "k" * 32
GOOD = {"host": "127.0.0.1:8746"}


async def _echo(scope: Scope, receive: Receive, send: Send) -> None:
    try:
        body = await Request(scope, receive).body()
    except TooMuchError as error:
        await PlainTextResponse(str(error), 413)(scope, receive, send)
        return
    await PlainTextResponse(f"{scope['path']} {len(body)}")(scope, receive, send)


def _most_bytes(path: str) -> Limit:
    return Limit(1000 if path == "/file" else 10, "bytes")


def _ask(
    path: str, headers: dict[str, str], chunks: tuple[bytes, ...] = (b"",)
) -> tuple[int, str, dict[str, str]]:
    guard = Guard(_echo, TOKEN, 8746, _most_bytes)
    sent: list[Message] = []
    coming = [
        {"type": "http.request", "body": chunk, "more_body": at + 1 < len(chunks)}
        for at, chunk in enumerate(chunks)
    ]
    raw = [(name.encode(), value.encode()) for name, value in headers.items()]
    scope: dict[str, Any] = {
        "type": "http",
        "method": "POST",
        "path": path,
        "headers": raw,
        "query_string": b"",
    }

    async def receive() -> Message:
        return coming.pop(0)

    async def send(message: Message) -> None:
        sent.append(message)

    asyncio.run(guard(scope, receive, send))
    kept = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], b"".join(m.get("body", b"") for m in sent[1:]).decode(), kept


def test_the_page_itself_comes_through_without_its_token() -> None:
    """What lies behind sees the path alone, and every answer is dressed."""
    status, body, headers = _ask(f"/{TOKEN}/api/look", GOOD)

    assert (status, body) == (200, "/api/look 0")
    assert {name.lower() for name in HEADERS} <= set(headers)


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [
        ("/api/look", GOOD, 403),
        ("/" + "j" * 32 + "/", GOOD, 403),
        (f"/{TOKEN}x/", GOOD, 403),
        (f"/{TOKEN}/", {"host": "hingeline.example:8746"}, 421),
        (f"/{TOKEN}/", {"host": "127.0.0.1:8747"}, 421),
        (f"/{TOKEN}/", {}, 421),
        (f"/{TOKEN}/", {**GOOD, "origin": "http://elsewhere.example"}, 403),
        (f"/{TOKEN}/", {**GOOD, "origin": "null"}, 403),
        (f"/{TOKEN}/", {**GOOD, "origin": "http://["}, 403),
        (f"/{TOKEN}/", {**GOOD, "origin": "http://localhost:8746"}, 403),
        (f"/{TOKEN}/", {**GOOD, "sec-fetch-site": "cross-site"}, 403),
        (f"/{TOKEN}/", {**GOOD, "sec-fetch-site": "same-site"}, 403),
        (f"/{TOKEN}/", {**GOOD, "content-length": "-1"}, 400),
        (f"/{TOKEN}/", {**GOOD, "content-length": "2000000000"}, 413),
    ],
)
def test_everything_else_is_refused_in_a_sentence(
    path: str, headers: dict[str, str], status: int
) -> None:
    """Missing or wrong token, foreign host or origin, another site's frame, too long a body."""
    found, body, sent = _ask(path, headers)

    assert found == status
    assert body.endswith((".", ". ")) or "at most" in body
    assert TOKEN not in body
    assert sent["content-security-policy"].startswith("default-src 'none'")


def test_its_own_origin_is_welcome() -> None:
    """The browser names the page's own origin when it posts."""
    headers = {**GOOD, "origin": "http://127.0.0.1:8746", "sec-fetch-site": "same-origin"}

    assert _ask(f"/{TOKEN}/", headers)[0] == 200


def test_a_body_that_grows_past_its_limit_is_cut_off() -> None:
    """A claimed length, or none, does not help: the bytes themselves are counted."""
    status, body, _ = _ask(f"/{TOKEN}/api/look", GOOD, (b"12345678", b"12345678"))

    assert status == 413
    assert "more than is taken here" in body
    assert _ask(f"/{TOKEN}/file", GOOD, (b"x" * 900,))[1] == "/file 900"


def test_a_body_that_does_not_come_is_not_waited_for() -> None:
    """The time for a body is limited, and what follows a whole one is not."""

    async def silent() -> Message:
        await asyncio.sleep(60)
        return {}

    async def ask() -> None:
        async with asyncio.timeout(5):
            await _counted(silent, Limit(10, "bytes"), 0.05)()

    with pytest.raises(TimeoutError):
        asyncio.run(ask())


def test_limits_are_told_in_fitting_units() -> None:
    """Never "at most 0 MB"."""
    assert "at most 400 kB. " in _too_much(WISH_BYTES)
    assert "at most 400 MB. " in _too_much(UPLOAD_BYTES)
