"""Worked examples from handbooks and papers that are not in the table of checks."""

import math

import pytest

from render.optics.band import wedge_half_width_m
from render.optics.depth_of_field import hyperfocal_m
from render.optics.lens import FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens, hinge_distance_mm, sharp_plane
from render.optics.solving.solve import best_plane, straight_plane
from render.optics.solving.targets import Freedom, Target


@pytest.mark.parametrize(
    ("focal", "hinges"),
    [
        (24, (1.375, 0.688, 0.344, 0.230, 0.172)),
        (45, (2.578, 1.289, 0.645, 0.431, 0.323)),
        (90, (5.157, 2.579, 1.290, 0.861, 0.647)),
    ],
)
def test_hinge_table(focal: float, hinges: tuple[float, ...]) -> None:
    """J = f / sin(tilt) at 1, 2, 4, 6 and 8 degrees, found by root finding on traced rays."""
    for tilt, expected in zip((1, 2, 4, 6, 8), hinges, strict=True):
        assert float(hinge_distance_mm(focal, tilt)) / 1000 == pytest.approx(expected, abs=6e-4)


def test_wedge_is_the_hinge_distance_at_67_feet() -> None:
    """150 mm, f/11, 7°: J to each side at 67 ft (Merklinger, View Camera, Sep/Oct 1996)."""
    lens = focus_lens(LensSetting(focal_mm=150, f_number=11, focus=FocusExtension(150), tilt_deg=7))
    hyperfocal = hyperfocal_m(150, 11, 0.1)

    assert hyperfocal / 0.3048 == pytest.approx(67, abs=0.7)
    assert wedge_half_width_m(lens, 0.1, 67 * 0.3048) == pytest.approx(
        sharp_plane(lens).hinge_distance_m, rel=0.01
    )


def test_plane_through_the_horizon_lies_at_half_the_tilt() -> None:
    """Focused at infinity before tilting (v = f), plane and axis differ by half the tilt.

    So psi = 90° - t/2 (derived and traced; a large-format rule of thumb).
    """
    lens = focus_lens(LensSetting(focal_mm=90, f_number=4, focus=FocusExtension(90), tilt_deg=8))

    assert sharp_plane(lens).angle_deg == pytest.approx(86, abs=1e-9)


def test_when_tilting_costs_more_than_it_gains() -> None:
    """With tilt the larger f-number is needed once h sin(tilt) exceeds the focus spread.

    A large-format forum note on when a tilt pays; the same comparison with our functions: a
    sensor of height h is sharp all over at one depth from N = h sin(tilt) / (2 c).
    """
    height, coc = 96.0, 0.1
    for tilt in (2.0, 6.0):
        needed = height * math.sin(math.radians(tilt)) / (2 * coc)
        lens = focus_lens(
            LensSetting(focal_mm=150, f_number=needed, focus=FocusSpot(0, 0, 20), tilt_deg=tilt)
        )

        on_sensor = wedge_half_width_m(lens, coc, 20) / 20 * lens.extension_mm
        assert on_sensor == pytest.approx(height / 2)


def test_three_degrees_put_near_and_far_into_one_plane() -> None:
    """With 90 mm about three degrees serve a near and a far subject at f/2.8.

    Common practice, no source: a subject 3 m away at the bottom of the frame, another at 60 m.
    """
    pair = [Target.at(0, 1.5, 3.0), Target.at(0, 1.0, 60.0)]
    found = best_plane(pair, 90, Freedom(swing=False, limit_deg=8))

    assert found.exact
    assert found.tilt_deg == pytest.approx(3, abs=0.5)
    assert found.f_number_needed(0.03) < 2.8 < straight_plane(pair, 90).f_number_needed(0.03)


def test_two_degrees_lay_the_plane_along_a_row_on_a_table() -> None:
    """With 45 mm about two degrees serve a row that needs f/16 to f/22 untilted.

    Common practice, no source: a row of things at 1.5 to 8 m on a plane 1.2 m below the lens.
    """
    row = [Target.at(0.02 * z, 1.25, z, name=f"{z:g} m") for z in (2.0, 2.5, 3.5, 5.0, 8.0)]
    found = best_plane(row, 45, Freedom(swing=False, limit_deg=8))
    straight = straight_plane(row, 45).f_number_needed(0.02)

    assert found.tilt_deg == pytest.approx(2, abs=0.3)
    assert 15 < straight < 23
    assert found.f_number_needed(0.02) < 2.8
