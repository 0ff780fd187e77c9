"""The inverse: movements from points, against planes known beforehand and brute force."""

import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from render.errors import SettingError
from render.optics.blur import defocus
from render.optics.plane import FocusedLens, focus_lens, sharp_plane
from render.optics.solving.solve import best_plane, straight_plane
from render.optics.solving.targets import Freedom, Target
from tests.strategies import lenses

STREET = [
    Target.at(0, 1.6, 4.0),
    Target.at(1.0, 1.3, 12.0),
    Target.at(-3.0, 0.9, 30.0),
    Target.at(2.0, -1.0, 45.0),
    Target.at(-1.0, 1.0, 9.0),
]
spots_in_frame = st.lists(
    st.tuples(st.floats(-0.4, 0.4), st.floats(-0.3, 0.3)), min_size=3, max_size=6
)


def _on_plane(lens: FocusedLens, places: list[tuple[float, float]]) -> list[Target]:
    inverse = lens.sharp_inverse_depth(places)
    assume(np.all(inverse > 1e-3) and np.all(inverse < 1000 / lens.focal_mm / 2))
    return [Target(x, y, float(1 / i)) for (x, y), i in zip(places, inverse, strict=True)]


def _spread(places: list[tuple[float, float]]) -> float:
    q = np.array(places)
    return float(np.linalg.svd(q - q.mean(0))[1][-1])


@given(lenses(), spots_in_frame)
def test_points_of_a_known_plane_give_its_movements_back(
    lens: FocusedLens, places: list[tuple[float, float]]
) -> None:
    """Three or more points on the plane of a known lens position give that position back."""
    assume(_spread(places) > 0.02)
    found = best_plane(_on_plane(lens, places), lens.focal_mm)

    assert found.exact
    assert found.shortfall == ""
    again = focus_lens(found.setting(2.8))
    np.testing.assert_allclose(again.axis, lens.axis, atol=1e-7)
    assert again.extension_mm == pytest.approx(lens.extension_mm, rel=1e-7)


@given(lenses(), st.tuples(st.floats(-0.4, 0.4), st.floats(-0.3, 0.3)), st.floats(0.5, 200))
def test_one_point_needs_no_movement(
    lens: FocusedLens, place: tuple[float, float], depth: float
) -> None:
    """One point is focused on without moving; with movements held, by focus alone."""
    target = Target(*place, depth)
    found = best_plane([target], lens.focal_mm)
    held = best_plane(
        [target], lens.focal_mm, Freedom(tilt=False, tilt_deg=5, swing_deg=-3, swing=False)
    )

    assert (found.tilt_deg, found.swing_deg, found.exact) == (0, 0, True)
    assert held.exact
    assert (held.tilt_deg, held.swing_deg) == pytest.approx((5, -3))
    for solution in (found, held):
        at = float(defocus(focus_lens(solution.setting(4)), place, 1 / depth))
        assert at == pytest.approx(0, abs=1e-9)


@given(
    st.floats(24, 135),
    st.tuples(st.floats(-0.4, 0.4), st.floats(0.05, 0.3), st.floats(3, 20)),
    st.tuples(st.floats(-0.4, 0.4), st.floats(-0.3, 0.0), st.floats(20, 200)),
    st.floats(-10, 10),
)
def test_two_points_get_the_least_movement(
    focal: float,
    near: tuple[float, float, float],
    far: tuple[float, float, float],
    swing: float,
) -> None:
    """No exact position through two points, whatever its swing, is tilted less."""
    pair = [Target(*near), Target(*far)]
    least = best_plane(pair, focal)
    other = best_plane(pair, focal, Freedom(swing=False, swing_deg=swing))

    assert least.exact
    assert other.exact
    assert other.swing_deg == pytest.approx(swing)
    assert least.total_tilt_deg <= other.total_tilt_deg + 1e-9


def test_hinge_rule_in_side_view() -> None:
    """With tilt alone the line through both points meets z = 0 at the hinge."""
    (y1, z1), (y2, z2) = (1.5, 3.0), (1.0, 60.0)
    found = best_plane([Target.at(0.3, y1, z1), Target.at(-2.0, y2, z2)], 90, Freedom(swing=False))
    crossing = y1 - z1 * (y2 - y1) / (z2 - z1)

    assert sharp_plane(focus_lens(found.setting(4))).hinge_m[1] == pytest.approx(crossing)


def test_sky_and_foreground_share_a_plane() -> None:
    """A point at infinity is a point like any other."""
    found = best_plane([Target(0, -0.05, math.inf), Target.at(0, 1.5, 6)], 45)

    assert found.exact
    assert found.tilt_deg > 0


def test_straight_lens_balances_nearest_and_farthest() -> None:
    """Without movement the best focus blurs the nearest and the farthest alike."""
    found = straight_plane(STREET, 45)
    nearest, farthest = found.defocus[0], found.defocus[3]

    assert (found.tilt_deg, found.swing_deg) == (0, 0)
    assert nearest == pytest.approx(-farthest)
    assert max(map(abs, found.defocus)) == pytest.approx(nearest)
    assert "one depth" in found.shortfall


def test_f_number_needed_makes_the_worst_blur_the_circle() -> None:
    """At the f-number needed the largest blur is the circle of confusion."""
    found = best_plane(STREET, 45)

    blurs = found.blur_mm(found.f_number_needed(0.03))
    assert max(blurs) == pytest.approx(0.03)
    assert min(blurs) >= 0
    assert min(found.defocus) < 0 < max(found.defocus)
    with pytest.raises(SettingError, match="circle of confusion"):
        found.f_number_needed(0)


def test_axis_focus_is_the_depth_sharp_on_the_axis() -> None:
    """The focus on the camera's axis is where the axis meets the plane of sharp focus."""
    found = best_plane(STREET, 45)
    lens = focus_lens(found.setting(4))

    assert found.axis_inverse_depth == pytest.approx(float(lens.sharp_inverse_depth([0, 0])))


@pytest.mark.parametrize(
    ("targets", "freedom", "sentence"),
    [
        (
            [Target.at(0, 0.5, 5, name="door"), Target.at(0, 1, 10, name="tower")],
            Freedom(),
            r"door \(5.00 m\) and tower \(10.0 m\) lie on one ray",
        ),
        ([Target.at(1, 0.5, 5), Target.at(-1, 1, 10)], Freedom(swing=False), "a swing can"),
        ([Target.at(0.5, 1, 5), Target.at(1, -1, 10)], Freedom(tilt=False), "a tilt can"),
        (
            [Target.at(0, 0.2, 1), Target.at(0, 0.25, 8)],
            Freedom(swing=False, limit_deg=10),
            "hinge 0.193 m from the lens .*27.8°.* stays 0.518 m.* 33.5 mm or shorter",
        ),
        (
            [Target.at(0, 0.2, 1), Target.at(0, 0.25, 8)],
            Freedom(swing=False, limit_deg=0),
            "does not tilt",
        ),
        (
            [Target.at(0, 1, 5), Target.at(0, 0, 9), Target.at(0, -1, 60)],
            Freedom(),
            "one line of the picture",
        ),
        (STREET, Freedom(), "not lie on one plane"),
        (
            [Target.at(-1, 1, 5), Target.at(1, 1, 7), Target.at(0, -1, 12)],
            Freedom(swing=False, limit_deg=10),
            r"also needs a swing \(about lens ",
        ),
        (
            [Target.at(-1, 1, 5), Target.at(1, 1, 7), Target.at(0, -1, 12)],
            Freedom(tilt=False, limit_deg=10),
            r"also needs a tilt \(about lens ",
        ),
    ],
)
def test_no_such_plane_says_why(targets: list[Target], freedom: Freedom, sentence: str) -> None:
    """Where no plane holds the points, the reason and what would help are said in words."""
    found = best_plane(targets, 90, freedom)

    assert not found.exact
    assert re.search(sentence, found.shortfall), found.shortfall


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: best_plane([], 90), "one or more points"),
        (lambda: best_plane([Target(0, 0, 5)], math.nan), "focal length"),
        (lambda: best_plane([Target(0, 0, 0.05)], 90), "within its focal length"),
        (
            lambda: best_plane(
                [Target.at(0, 0.02, 0.5), Target.at(0, 0.06, 2)], 90, Freedom(swing=False)
            ),
            "more than any lens can tilt",
        ),
    ],
)
def test_impossible_wishes_are_refused(make: object, sentence: str) -> None:
    """No points, no focal length, or points nearer than any focus are refused."""
    with pytest.raises(SettingError, match=sentence):
        make()  # type: ignore[operator]
