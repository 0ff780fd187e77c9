"""How large a picture is seen."""

import math

import pytest

from render.errors import SettingError
from render.optics.viewing import VIEWINGS, viewing_of


def test_a_print_seen_from_its_diagonal_shows_the_usual_circle():
    """Diagonal / 1500 is what is just seen on an A3 print from 50 cm, its diagonal, within 4 %."""
    just_seen = VIEWINGS["A3"].just_seen(420, 297)

    assert just_seen * 297 == pytest.approx(math.hypot(420, 297) / 1500, rel=0.04)


def test_a_phone_shows_less_than_a_screen_and_a_screen_less_than_a_print():
    """The blur just seen falls with the size, upright pictures are fitted by their long side."""
    seen = [VIEWINGS[name].just_seen(3, 2) for name in ("phone", "screen", "A3")]

    assert seen == sorted(seen, reverse=True)
    assert seen[0] > 2 * seen[2]
    assert VIEWINGS["screen"].just_seen(2, 3) == pytest.approx(seen[1] * 2 / 3)


def test_the_last_stop_is_where_blur_falls_to_what_is_just_seen():
    """Blur goes as 1/N, so twice the blur just seen at f/4 is gone by f/8."""
    screen = VIEWINGS["screen"]

    assert screen.last_f_number(4.0, 2 * screen.just_seen(3, 2), 3, 2) == pytest.approx(8.0)


def test_a_viewing_nobody_knows_is_refused():
    """One sentence that names those there are."""
    with pytest.raises(SettingError, match="phone, screen, A3"):
        viewing_of("cinema")
