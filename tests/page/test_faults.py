"""What goes wrong behind the page is one sentence, whatever it was; no folder of this machine."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from starlette.requests import Request
from starlette.responses import Response

from render.errors import InputError
from render.page.app import Page
from render.page.desk import Desk
from render.page.wishes import read_list


def _answered(error: BaseException) -> Response:
    """What the page answers where something raised this error."""

    async def broken(_: Request) -> Response:
        raise error

    request = Request({"type": "http", "query_string": b"name=a.jpg"})
    page: Any = Page(Desk(), None)
    plainly: Callable[[Any], Callable[[Any], Awaitable[Response]]] = page._plainly
    answer: Response = asyncio.run(plainly(broken)(request))
    return answer


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (OSError(28, "No space left on device"), 507, "disk refused it (No space left on device)"),
        (MemoryError(), 503, "not enough memory"),
        (TimeoutError(), 503, "took too long"),
        (ZeroDivisionError("division"), 500, "fault of the program, not of yours (ZeroDivision"),
        (InputError("a.jpg is damaged"), 422, "a.jpg is damaged."),
        (InputError("the map is empty"), 422, "The map is empty."),
    ],
)
def test_every_fault_has_its_number_and_its_words(
    error: BaseException, status: int, words: str
) -> None:
    """A full disk, no memory, a fault of our own, a refusal."""
    answer = _answered(error)

    assert answer.status_code == status
    assert words in bytes(answer.body).decode()


def test_lists_are_lists() -> None:
    """What should be a list and is none, or has no end, is refused in words."""
    assert read_list({"shots": [1]}, "shots") == [1]
    assert read_list({}, "shots") == []
    for wrong in (5, "abc", {"a": 1}, [0] * 1000):
        with pytest.raises(InputError, match="no list of shots"):
            read_list({"shots": wrong}, "shots")
