"""What hands leave of a lens position."""

from render.optics.solving.hands import in_hand
from render.optics.solving.serving import serve
from render.optics.solving.targets import Target
from tests.lenses import LONG

NEAR, FAR = Target.at(0, 1.6, 3.0, name="pond"), Target.at(0, 1.0, 60.0, name="chapel")


def test_what_hands_cannot_set_is_stopped_down() -> None:
    """With all of a circle taken wide open, the next thirds leave a twentieth of a mark again."""
    coc_mm = 1.05 * serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4).chosen.worst_blur_mm
    tight = serve([NEAR, FAR], LONG, LONG.freedom(), coc_mm, 1e-4).chosen

    assert tight.narrowed
    assert tight.slack
    assert tight.f_number_bare == 2.8
    assert tight.f_number < tight.f_number_for_hands * 2 ** (1 / 6) * 1.01


def test_hands_keep_a_twentieth_of_a_mark_and_half_a_thousandth() -> None:
    """The ring counts, and each turn by itself."""
    assert in_hand(LONG, 90.0, 0.046, [0.051])
    assert not in_hand(LONG, 90.0, 0.044, [0.051])
    assert not in_hand(LONG, 90.0, 0.046, [0.051, 0.015])
