"""What is filmed, opened."""

from fractions import Fraction
from pathlib import Path

import pytest

from render.film.order import FilmOrder
from render.jobs.filming.opening import open_film
from render.load.progress import silent
from render.shot.filmwishes import FilmWishes
from tests.clips import street, write_clip
from tests.jobs.test_film import _shot


def test_a_clip_is_filmed_whole_unless_a_format_is_given(tmp_path: Path) -> None:
    """16:9 on 36 mm of width; upright clips on their side; a format that is given holds."""
    for size, words in (((128, 72), "36 x 20.25"), ((72, 128), "36 x 20.25")):
        source = write_clip(tmp_path / f"{size[0]}.mp4", street(2, *size))
        order = FilmOrder(
            _shot(source, lens="60"), FilmWishes(), tmp_path / "b.mp4", tmp_path, (), (),
            Fraction(25), Fraction(1, 25),
        )  # fmt: skip
        prepared = open_film(order, silent).prepared
        frame = prepared.scene.frame
        assert frame.width / frame.height == pytest.approx(size[0] / size[1], rel=0.03)
        assert words in prepared.notes[0]
