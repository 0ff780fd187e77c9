"""Tilted and straight, side by side, within one lens's limits."""

import math
from dataclasses import replace

import pytest

from render.errors import SettingError
from render.optics.solving.serving import serve
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Freedom, Target
from render.words import spell_f_number
from tests.lenses import LONG

NEAR, FAR = Target.at(0, 1.6, 3.0, name="pond"), Target.at(0, 1.0, 60.0, name="chapel")


def test_tilting_pays_for_near_and_far() -> None:
    """Near and far need f/45 straight and no stopping down tilted by three degrees."""
    found = serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4)
    tilted, straight = found.tilted, found.straight

    assert tilted is not None
    assert found.tilt_pays
    assert (tilted.f_number, tilted.enough, tilted.slack) == (2.8, True, True)
    assert (straight.f_number, straight.enough) == (22, False)
    assert straight.f_number_needed > 22
    assert max(straight.solution.blur_mm(22)) > 0.029


def test_what_is_dialled_lies_on_a_mark() -> None:
    """The position to set is on the tilt scale, refocused, and needs what solving there says."""
    tilted = serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4).tilted
    held = best_plane([NEAR, FAR], 90, Freedom(tilt=False, swing=False, tilt_deg=3.25))

    assert tilted is not None
    assert tilted.exact.tilt_deg == pytest.approx(3.16, abs=0.01)
    assert tilted.solution.tilt_deg == pytest.approx(3.25, abs=1e-9)
    assert tilted.circles_lost == pytest.approx(tilted.worst_blur_mm / 0.029, abs=1e-6)
    assert tilted.f_number_needed == pytest.approx(held.f_number_needed(0.029), rel=1e-6)
    assert tilted.solution.extension_mm == pytest.approx(held.extension_mm)


def test_tilting_pays_even_where_no_stop_is_small_enough() -> None:
    """Ground at arm's length needs f/60 tilted, f/184 straight and has f/32: tilting gains."""
    lens = replace(LONG, smallest_f_number=32, tilt_limit_deg=9)
    ground = [
        Target.at(side * part * ahead, *_seen(ahead))
        for ahead in (0.25, 0.6)
        for side, part in ((-1, 0.2), (1, 0.2))
    ]
    found = serve(ground, lens, lens.freedom(), 0.029, 1e-4)

    assert found.tilted is not None
    assert not found.tilted.enough
    assert not found.straight.enough
    assert found.tilted.f_number == found.straight.f_number == 32
    assert found.tilt_pays
    assert found.gain_stops > 3
    assert found.chosen is found.tilted
    assert found.tilted.worst_blur_mm < found.straight.worst_blur_mm / 3


def _seen(ahead_m: float) -> tuple[float, float]:
    """Down and forward of a camera 0.3 m up that looks down by 40 degrees."""
    cosine, sine = math.cos(math.radians(40)), math.sin(math.radians(40))
    return 0.3 * cosine - ahead_m * sine, 0.3 * sine + ahead_m * cosine


def test_framing_follows_the_pivot() -> None:
    """Leaning down about an axis behind it, the lens carries the view down; leaning left, left."""
    down = serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4).tilted
    left = serve(
        [Target.at(-1.5, 0, 3.0), Target.at(-1.0, 0, 60.0)], LONG, LONG.freedom(), 0.029, 1e-4
    ).tilted

    assert down is not None
    assert left is not None
    assert down.framing_mm == pytest.approx(40 * math.sin(math.radians(3.25)), abs=0.03)
    assert down.framing_aside_mm == pytest.approx(0, abs=1e-9)
    assert left.framing_aside_mm < -1
    assert left.framing_mm == pytest.approx(0, abs=1e-9)


def test_things_at_one_distance_gain_nothing() -> None:
    """Two things equally far are served by a straight lens wide open."""
    found = serve([Target.at(-1, 0, 9), Target.at(1, 1, 9)], LONG, LONG.freedom(), 0.029, 1e-4)

    assert not found.tilt_pays
    assert found.straight.f_number == 2.8


def test_the_wished_f_number_is_kept_where_it_is_enough() -> None:
    """Asked for f/8, the answer is not opened wider, and stopped down further where needed."""
    found = serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4, least_f_number=8)

    assert found.tilted is not None
    assert found.tilted.f_number == pytest.approx(8)
    assert found.straight.f_number == 22


@pytest.mark.parametrize("near_m", [0.5, 0.7, 0.9, 1.4, 3.0])
def test_an_answer_asked_again_with_its_own_f_number_is_the_same(near_m: float) -> None:
    """The stop as a ring is marked, 9 for 8.98, moves neither the lens nor itself nor the gain."""
    things = [Target.at(0, 0.1, near_m), Target.at(0, 0.2, 1.3 * near_m), Target.at(0.1, 0, near_m)]
    first = serve(things, LONG, LONG.freedom(), 0.029, 1e-4)
    marked = float(spell_f_number(first.chosen.f_number).removeprefix("f/"))
    again = serve(things, LONG, LONG.freedom(), 0.029, 1e-4, least_f_number=marked)

    assert again.chosen.solution == first.chosen.solution
    assert again.chosen.f_number == pytest.approx(first.chosen.f_number)
    assert again.chosen.f_number_wanted == pytest.approx(first.chosen.f_number_wanted)
    for mark in (9, 13, 18):
        asked = serve([NEAR, FAR], LONG, LONG.freedom(), 0.029, 1e-4, least_f_number=mark).tilted
        assert asked is not None
        assert spell_f_number(asked.f_number) == f"f/{mark}"


def test_focus_beyond_the_nearest_mark_is_told() -> None:
    """A thing nearer than the closest focus is served on paper and told to be out of reach."""
    found = serve([Target.at(0, 0, 0.3)], LONG, LONG.freedom(), 0.029, 1e-4)

    assert not found.straight.ring.reached
    assert found.straight.ring.too_near_mm > 1


def test_two_points_too_steep_for_the_lens_are_said_to_be_that() -> None:
    """A straight lens serves two points as well as a lean on the limit: the reason stays true."""
    points = [Target.at(0, 0.0291, 0.411, name="a"), Target.at(0, -0.0403, 0.805, name="b")]
    tilted = serve(points, LONG, LONG.freedom(), 0.029, 5e-5).tilted

    assert tilted is not None
    assert tilted.exact.total_tilt_deg == 0
    assert "the plane wanted has its hinge" in tilted.exact.shortfall


def test_out_of_reach_of_any_tilt_leaves_the_straight_lens() -> None:
    """Where the tilted lens cannot even be focused, the straight one is still offered."""
    near, far = Target.at(0, 0.02, 0.5), Target.at(0, 0.06, 2.0)
    found = serve([near, far], replace(LONG, tilt_limit_deg=44), Freedom(), 0.029, 1e-4)

    assert found.tilted is None
    assert "more than any lens can tilt" in found.refusal
    assert not found.tilt_pays


def test_two_things_behind_one_another_are_refused() -> None:
    """On one ray there is nothing to choose: the sentence names both."""
    with pytest.raises(SettingError, match=r"pond .* and chapel .* one ray"):
        serve(
            [Target(0.1, 0.1, 3, name="pond"), Target(0.1, 0.1, 9, name="chapel")],
            LONG,
            LONG.freedom(),
            0.029,
            1e-4,
        )
