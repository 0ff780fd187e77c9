"""Wishes are read once, with limits."""

import asyncio
from typing import Any

import pytest
from starlette.requests import Request

from render.errors import HingelineError, InputError
from render.live.preview import Look
from render.page.wishes import (
    read_look,
    read_number,
    read_points,
    read_texts,
    read_times,
    read_typed,
    read_view,
    read_wish,
)
from render.shot.shot import Shot
from render.units import told_in


def _request(body: bytes) -> Request:
    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    return Request({"type": "http", "method": "POST", "headers": []}, receive)


def test_a_look_is_read_with_its_switches() -> None:
    """What is not asked for is off."""
    assert read_look({"pixels": 400000, "fine": True}) == Look(400_000, fine=True)
    assert read_look({"pixels": 20000.0, "band": "yes"}) == Look(20_000)


@pytest.mark.parametrize("pixels", [None, "many", True, 1, 1e9, float("nan"), float("inf")])
def test_a_size_out_of_reach_is_refused(pixels: Any) -> None:
    """No picture of a billion pixels can be asked for."""
    with pytest.raises(InputError, match="pixels"):
        read_look({"pixels": pixels})


@pytest.mark.parametrize(
    ("name", "text", "words", "value"),
    [
        ("tilt", "up 8.25", "up 8.25", -8.25),
        ("tilt", "up 2,5", "up 2.5", -2.5),
        ("tilt", "up 8°30'", "up 8°30'", -8.5),
        ("pitch", "down 19.19", "down 19.19", 19.19),
        ("f", "f/3,5", "3.5", 3.5),
        ("focus", "147,5", "147.5 ft", 44.958),
        ("focus", "50%,60%", "50%,60%", None),
        ("focus", "5' 2\"", "5' 2\"", 1.5748),
        ("height", "82 ft 3 in", "82 ft 3 in", 25.0698),
    ],
)
def test_what_is_typed_is_read_as_an_option_and_kept(
    name: str, text: str, words: str, value: float | None
) -> None:
    """Nothing is rounded; a bare length is in the unit that lengths are told in."""
    with told_in("feet"):
        read = read_typed({"typed": [name, text]}, Shot(picture="roof.jpg"))

    told = {"words": words, "value": value if value is None else pytest.approx(value)}
    assert read == (told, None)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("tilt", "up 8°70'"),
        ("swing", "left 3 banana"),
        ("rise", "up 1e1"),
        ("pitch", "up 5 x"),
        ("focus", "banana"),
    ],
)
def test_what_an_option_refuses_a_ring_refuses(name: str, text: str) -> None:
    """No beginning of it is taken for the whole."""
    with pytest.raises(HingelineError, match=name):
        read_typed({"typed": [name, text]}, Shot(picture="roof.jpg"))


def test_a_number_lies_between_its_limits() -> None:
    """Limits themselves are allowed."""
    assert read_number({"x": 1}, "x", 0, 1) == 1.0


@pytest.mark.parametrize("view", [None, 3, "", "a/b", "x" * 41])
def test_a_view_has_a_plain_name(view: Any) -> None:
    """The name of a tab is short and plain."""
    with pytest.raises(InputError, match="which view"):
        read_view({"view": view})


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b"\xff", b"[" * 100_000])
def test_what_is_no_object_is_refused(body: bytes) -> None:
    """Broken, foreign or bottomless JSON ends in a sentence."""
    with pytest.raises(InputError, match="load the page again"):
        asyncio.run(read_wish(_request(body)))


def test_an_object_comes_through() -> None:
    """The body as it was sent."""
    assert asyncio.run(read_wish(_request(b'{"view": "a"}'))) == {"view": "a"}


def test_points_and_texts_are_read_with_their_limits() -> None:
    """Shares of the frame, and short texts."""
    assert read_points({"points": [[0, 1], [0.5, 0.25]]}) == [(0.0, 1.0), (0.5, 0.25)]
    assert read_points({}, "more", least=0) == []
    assert read_points({"more": [[0.5, 0.5]] * 9}, "more", least=0) == [(0.5, 0.5)] * 9
    assert read_texts({"sharp": ["50%,50%"]}, "sharp") == ["50%,50%"]
    assert read_texts({}, "soft") == []


def test_times_of_a_film_are_counted_from_its_length() -> None:
    """Both ends are asked for; a thousand at once are too many."""
    assert read_times({"seconds": 1, "step": 0.25}) == [0.0, 0.25, 0.5, 0.75, 1.0]
    for wish in ({"seconds": 100, "step": 0.01}, {"seconds": -1, "step": 1}, {"step": 1}):
        with pytest.raises(InputError):
            read_times(wish)


@pytest.mark.parametrize("points", [None, [], [[0.5]], [[0.5, 2]], [["a", 0]], [[0, 0]] * 4])
def test_points_outside_the_frame_are_refused(points: Any) -> None:
    """One to three pairs from 0 to 1."""
    with pytest.raises(InputError):
        read_points({"points": points})


@pytest.mark.parametrize("texts", ["50%,50%", [1], ["x" * 300], ["a"] * 50])
def test_texts_of_the_wrong_kind_are_refused(texts: Any) -> None:
    """A list of short texts, not too many."""
    with pytest.raises(InputError, match="list of texts"):
        read_texts({"sharp": texts}, "sharp")


def test_an_unknown_showing_is_refused() -> None:
    """Only what is made here can be shown."""
    with pytest.raises(InputError, match="nothing of that kind"):
        read_look({"pixels": 20_000, "showing": "everything"})
