"""An order tells its film from any other."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from render.film.order import FilmOrder, fingerprint
from render.film.segments import cut
from render.film.timing import Moment
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot, merged

SHOT = merged(Shot(picture="a.mp4"), {"tilt": "up 8", "f": "4"}, "{name}")
MOMENTS = tuple(Moment(Fraction(k, 25), Fraction(k, 25), (k,)) for k in range(5))
ORDER = FilmOrder(
    SHOT, FilmWishes(), Path("b.mp4"), Path(".b.parts"), MOMENTS, cut(5, 2), Fraction(25),
    Fraction(1, 25),
)  # fmt: skip
SOURCES = [("a.mp4", 1000, 5)]


def test_whatever_changes_a_frame_changes_the_mark() -> None:
    """Setting, source, moments, program; who works and in which order options were typed do not."""
    mark = fingerprint(ORDER, SOURCES, "1")
    other = merged(Shot(picture="a.mp4"), {"f": "4", "tilt": "up 8"}, "{name}")
    same = (
        replace(ORDER, wishes=FilmWishes(workers=4)),
        replace(ORDER, wishes=FilmWishes(scheduler="tcp://a:1")),
        replace(ORDER, shot=other),
    )
    different = (
        replace(ORDER, shot=merged(SHOT, {"f": "5.6"}, "{name}")),
        replace(ORDER, moments=MOMENTS[:4]),
        replace(ORDER, gains=(1.0,) * 5),
        replace(ORDER, wishes=FilmWishes(side_by_side=True)),
    )

    assert {fingerprint(each, SOURCES, "1") for each in same} == {mark}
    assert mark not in {fingerprint(each, SOURCES, "1") for each in different}
    assert fingerprint(ORDER, [("a.mp4", 1000, 6)], "1") != mark
    assert fingerprint(ORDER, SOURCES, "2") != mark


def test_stamps_count_in_ticks() -> None:
    """Frame 3 of 25 a second is tick 3."""
    assert ORDER.stamp(3) == 3
    assert replace(ORDER, tick=Fraction(1, 100)).stamp(3) == 12
