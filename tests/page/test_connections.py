"""Connections that send nothing don't keep the owner out."""

import asyncio
import contextlib
import time

import pytest
import uvicorn
from starlette.responses import PlainTextResponse

from render.page import connections
from render.page.connections import MOST_OPEN, PatientProtocol


async def _ask(port: int) -> bytes:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
    try:
        return await reader.read()
    finally:
        writer.close()


async def _besieged(half_open: int, wait_s: float) -> tuple[bytes, float, int]:
    """What the owner gets among silent connections, after how long, and how many of them live."""
    config = uvicorn.Config(
        PlainTextResponse("here"), port=0, http=PatientProtocol, ws="none", log_level="critical"
    )
    server = uvicorn.Server(config)
    task = asyncio.create_task(server.serve())
    while not server.started:
        await asyncio.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    silent = [await asyncio.open_connection("127.0.0.1", port) for _ in range(half_open)]
    start = time.perf_counter()
    answer = await _ask(port)
    took_s = time.perf_counter() - start
    await asyncio.sleep(wait_s)
    alive = len(server.server_state.connections)
    for _, writer in silent:
        writer.close()
        with contextlib.suppress(OSError):
            await writer.wait_closed()
    server.should_exit = True
    await task
    return answer, took_s, alive


def test_hundreds_of_silent_connections_keep_nobody_out() -> None:
    """The oldest of them are closed, and the owner is answered at once."""
    answer, took_s, alive = asyncio.run(_besieged(400, 0.1))

    assert answer.endswith(b"here")
    assert took_s < 10
    assert alive <= MOST_OPEN


def test_a_connection_must_ask_something_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """One that sends no request is closed."""
    monkeypatch.setattr(connections, "_FIRST_REQUEST_S", 0.2)

    assert asyncio.run(_besieged(3, 0.6))[2] == 0
