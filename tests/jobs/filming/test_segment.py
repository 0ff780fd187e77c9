"""One segment made whole."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from render.errors import OutputError
from render.files.clips.reading import open_clip
from render.film.order import FilmOrder
from render.film.segments import cut
from render.film.timing import as_taken
from render.jobs.filming import segment as filming
from render.jobs.filming.opening import open_film
from render.jobs.filming.segment import make_segment, segment_path
from render.load.progress import silent
from render.shot.filmwishes import FilmWishes
from tests.clips import street, write_clip
from tests.jobs.test_film import _shot


@pytest.fixture
def order(tmp_path: Path) -> FilmOrder:
    """A clip of ten frames in segments of four."""
    source = write_clip(tmp_path / "a.mp4", street(10))
    found = as_taken(open_clip(source).times, Fraction(0), Fraction(1))
    (tmp_path / "parts").mkdir()
    return FilmOrder(
        _shot(source), FilmWishes(), tmp_path / "b.mp4", tmp_path / "parts", found, cut(10, 4),
        Fraction(25), Fraction(1, 25), mark="b",
    )  # fmt: skip


def test_a_segment_is_there_whole_or_not_at_all(
    order: FilmOrder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its frames are its own; where the disk fails nothing is left, and what to do is said."""
    film = open_film(order, silent)
    path = segment_path(order, order.segments[1])
    with monkeypatch.context() as broken:

        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        broken.setattr(filming, "_make_clip", full)
        with pytest.raises(OutputError, match=r"No space left.*the same command goes on"):
            make_segment(order, order.segments[1], film=film)
    assert list(order.parts.iterdir()) == []

    assert make_segment(order, order.segments[1], film=film) == 1
    assert len(open_clip(path).times) == 4
    assert [p.name for p in order.parts.iterdir()] == [path.name]


def test_a_folder_that_was_removed_keeps_nothing(order: FilmOrder) -> None:
    """Nobody is told that what was done is there, nor sent to make room."""
    film = open_film(order, silent)
    order.parts.rmdir()
    with pytest.raises(OutputError, match=r"its folder was removed.*begins anew"):
        make_segment(order, order.segments[1], film=film)


def test_a_segment_that_is_there_is_not_made_again(order: FilmOrder) -> None:
    """It is left as it is."""
    film = open_film(order, silent)
    path = segment_path(order, order.segments[2])
    path.write_text("made before")

    make_segment(order, order.segments[2], film=film)
    assert path.read_text() == "made before"


def test_a_process_opens_a_film_once(order: FilmOrder, monkeypatch: pytest.MonkeyPatch) -> None:
    """Worker's way: without a film that is open; another order opens its own."""
    opened: list[str] = []

    def counted(one: FilmOrder, progress: object) -> object:
        opened.append(one.mark)
        return open_film(one, silent)

    monkeypatch.setattr(filming, "open_film", counted)
    for segment in order.segments:
        make_segment(order, segment)
    assert opened == ["b"]

    make_segment(replace(order, mark="c", segments=cut(10, 4)), order.segments[0])
    assert opened == ["b"]  # it was there: nothing to open for
