"""From the exact answer to marks."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from render.optics.solving.dialling import dialled, wanted_f_number
from render.optics.solving.limits import LensLimits
from render.optics.solving.movements import total_and_azimuth
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Freedom, Target

LENS = LensLimits(
    name="long 90",
    focal_mm=90,
    widest_f_number=2.8,
    smallest_f_number=32,
    tilt_limit_deg=9,
    closest_focus_m=0.5,
)
COC = 0.029


@given(st.floats(1.5, 5), st.floats(6, 40), st.floats(-1, 1), st.floats(0.3, 1.5))
def test_the_dial_stands_on_parts_of_a_mark_and_costs_a_third_of_a_stop_at_most(
    near: float, far: float, aside: float, below: float
) -> None:
    """Angle and axis are on their steps, unless even the finest steps cannot serve."""
    targets = [Target.at(aside, below, near), Target.at(0, 0.5 * below, far)]
    freedom = LENS.freedom()
    exact = best_plane(targets, 90, freedom)
    found = dialled(exact, LENS, freedom, COC)
    total, azimuth = total_and_azimuth(found.tilt_deg, found.swing_deg)
    needed, best = found.f_number_needed(COC), exact.f_number_needed(COC)

    assert total <= LENS.tilt_limit_deg + 1e-9
    if total > 1e-6:
        assert 4 * total == pytest.approx(round(4 * total), abs=1e-6)
        assert azimuth / 5 == pytest.approx(round(azimuth / 5), abs=1e-6)
    finest = total > 0 and abs(4 * total - round(4 * total)) < 1e-6
    assert needed <= max(best, 2.8) * 2 ** (1 / 3) or finest


def test_a_hair_of_tilt_beside_a_swing_is_dropped() -> None:
    """A swing with a hair of tilt, the axis at 88°, becomes a plain swing on a quarter mark."""
    targets = [Target.at(-2, 0.1, 7.0), Target.at(2, 0.1 + 0.013, 11.0)]
    exact = best_plane(targets, 90, LENS.freedom())
    found = dialled(exact, LENS, LENS.freedom(), COC)

    assert exact.tilt_deg != 0
    assert found.tilt_deg == 0
    assert 4 * found.swing_deg == pytest.approx(round(4 * exact.swing_deg), abs=1e-9)


def test_a_whole_mark_is_not_taken_where_it_costs_a_third_of_a_stop() -> None:
    """4.49° is set half-way between two marks, though 4° would be the simpler one."""
    exact = best_plane([Target.at(0, 1.142, 3.0), Target.at(0, 1.0, 60.0)], 90, LENS.freedom())

    assert exact.tilt_deg == pytest.approx(4.49, abs=0.01)
    assert dialled(exact, LENS, LENS.freedom(), COC).tilt_deg == 4.5


def test_a_movement_that_is_not_free_is_not_dialled() -> None:
    """With tilt alone allowed, no swing is dialled; a straight answer stays as it is."""
    freedom = LENS.freedom(swing=False)
    exact = best_plane([Target.at(1, 1.0, 3.0), Target.at(-1, 0.8, 9.0)], 90, freedom)
    straight = best_plane([Target.at(0, 0, 9.0)], 90, LENS.freedom())

    assert dialled(exact, LENS, freedom, COC).swing_deg == 0
    assert dialled(straight, LENS, LENS.freedom(), COC) is straight


def test_marks_of_a_finer_scale_are_used() -> None:
    """A scale with two marks a degree is read to half a degree first."""
    fine = LensLimits(
        name="fine",
        focal_mm=90,
        widest_f_number=2.8,
        smallest_f_number=32,
        tilt_limit_deg=9,
        marks_per_degree=2,
        closest_focus_m=0.5,
    )
    exact = best_plane([Target.at(0, 1.6, 3.0), Target.at(0, 1.0, 60.0)], 90, fine.freedom())
    found = dialled(exact, fine, fine.freedom(), COC)

    assert 8 * found.tilt_deg == pytest.approx(round(8 * found.tilt_deg), abs=1e-6)


def test_the_wanted_stop_knows_no_last_stop() -> None:
    """Thirds of a stop upwards, past what any lens has."""
    assert wanted_f_number(60) == pytest.approx(2 ** (36 / 6))
    assert wanted_f_number(184) == pytest.approx(2 ** (46 / 6))
    assert wanted_f_number(8) == pytest.approx(8)
    assert math.isclose(wanted_f_number(2.9), 2 ** (10 / 6))


@pytest.mark.parametrize("turns", [True, False])
def test_brute_force_finds_nothing_better_within_the_lens(turns: bool) -> None:
    """Over every angle the lens has, on a fine grid, none needs less than the solver's answer.

    The solver leaves out that the extension, a factor of all blur, changes a little with the angle.
    """
    lens = LensLimits(
        name="short of tilt",
        focal_mm=90,
        widest_f_number=2.8,
        smallest_f_number=32,
        tilt_limit_deg=2.0,
        axis_turns=turns,
        closest_focus_m=0.5,
    )
    targets = [Target.at(-0.6, 0.9, 2.0), Target.at(0.8, 0.7, 3.5), Target.at(0.1, 0.2, 9.0)]
    best = best_plane(targets, 90, lens.freedom()).f_number_needed(COC)
    tried = math.inf
    for k in range(41):
        for azimuth in range(0, 360, 3) if turns else (90, 270):
            theta, phi = math.radians(2.0 * k / 40), math.radians(azimuth)
            n = (math.sin(theta) * math.cos(phi), math.sin(theta) * math.sin(phi))
            left = [90 / (1000 * t.depth_m) - t.slope_x * n[0] - t.slope_y * n[1] for t in targets]
            offset = (min(left) + max(left)) / 2
            v = 90 / (math.cos(theta) - offset)
            tried = min(tried, v / COC * (max(left) - min(left)) / 2)

    assert best <= tried * (1 + 1e-5)
    assert best == pytest.approx(tried, rel=2e-3)
    assert Freedom(swing=turns).swing is turns
