"""Only this sharp."""

import dataclasses
import math

import numpy as np
import pytest

from render.errors import SettingError
from render.optics.blur import spots
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.selective import Leaning, Region, compare_leanings, evenly

LENS = {"focal_mm": 90.0, "f_number": 2.8, "coc_mm": 0.03, "limit_deg": 8.0}


def _face(top_m: float, bottom_m: float, back_deg: float) -> Region:
    """A strip of a face 1.5 m away, from `top_m` to `bottom_m` below the axis, leaning back."""
    x, y = np.meshgrid(np.linspace(-0.06, 0.06, 21), np.linspace(top_m, bottom_m, 21))
    z = 1.5 - y * math.tan(math.radians(back_deg))
    return Region(np.stack([x / z, y / z], -1).reshape(-1, 2), 1 / z.ravel())


EYES = _face(-0.03, 0.0, 0)
ELSEWHERE = Region(
    np.vstack([_face(-0.14, -0.07, 0).slopes, _face(0.05, 0.14, 0).slopes]),
    np.concatenate([_face(-0.14, -0.07, 0).inverse_depth, _face(0.05, 0.14, 0).inverse_depth]),
)


def test_tilting_parts_eyes_from_chin_and_hair_where_a_straight_lens_cannot() -> None:
    """On a face square to the camera only a leaning lens leaves the eyes alone sharp."""
    ways = {leaning.way: leaning for leaning in compare_leanings([EYES], ELSEWHERE, **LENS)}

    assert set(ways) == {"straight", "up", "down", "left", "right"}
    assert ways["straight"].soft_share < 0.05
    for way in ("up", "down"):
        assert ways[way].sharp_share > 0.5
        assert ways[way].soft_share > 0.7
        assert ways[way].marks > 2 * max(ways[other].marks for other in ("straight", "left"))


def test_the_lean_of_the_face_decides_between_up_and_down() -> None:
    """Leaning back, as the ground does, the face is followed by the lens down and cut by it up.

    So to single out the eyes the lens leans up, the other way from the one that would serve
    the whole face; for a face leaning forward it is the other way round.
    """
    for back, better, worse in ((15, "up", "down"), (-15, "down", "up")):
        eyes = _face(-0.03, 0.0, back)
        parts = [_face(-0.14, -0.07, back), _face(0.05, 0.14, back)]
        rest = Region(
            np.vstack([part.slopes for part in parts]),
            np.concatenate([part.inverse_depth for part in parts]),
        )
        gentle = {**LENS, "limit_deg": 3.0}
        ways = {leaning.way: leaning for leaning in compare_leanings([eyes], rest, **gentle)}

        assert ways[better].marks > ways[worse].marks * 1.2


def test_none_of_several_is_given_up_for_a_softer_rest() -> None:
    """Two sitters, 1.6 and 2.9 m away before a wall: what holds both beats what blurs the wall."""
    near, far = (
        Region(np.array([[slope, -0.02]]), np.array([1 / z]))
        for slope, z in ((-0.12, 1.6), (0.1, 2.9))
    )
    wall = Region(np.random.default_rng(1).uniform(-0.2, 0.2, (500, 2)), np.full(500, 1 / 4))
    first, *others = compare_leanings([near, far], wall, **LENS)

    assert (first.held, first.sharp_share) == (2, 1)
    assert first.sharp_blur_mm <= LENS["coc_mm"]
    assert any(other.soft_share > first.soft_share and other.held < 2 for other in others)
    assert [leaning.held for leaning in others] == sorted((o.held for o in others), reverse=True)


def test_figures_are_those_of_the_lens_position() -> None:
    """Shares and medians are what the blur circles of that position give."""
    for found in compare_leanings([EYES], ELSEWHERE, **LENS):
        lens = focus_lens(
            LensSetting(
                focal_mm=90,
                f_number=2.8,
                focus=FocusExtension(found.extension_mm),
                tilt_deg=found.tilt_deg,
                swing_deg=found.swing_deg,
            )
        )
        kept, lost = (
            2 * spots(lens, r.slopes, r.inverse_depth).semi_axes_mm()[:, 0]
            for r in (EYES, ELSEWHERE)
        )

        assert found.sharp_share == pytest.approx(np.mean(kept <= 0.03), abs=0.06)
        assert found.sharp_blur_mm == pytest.approx(float(np.median(kept)), rel=0.05)
        assert found.soft_blur_mm == pytest.approx(float(np.median(lost)), rel=0.03)
        assert found.soft_share == pytest.approx(np.mean(lost >= 0.09), abs=0.06)


def test_no_position_of_a_fine_search_is_much_better() -> None:
    """A search twenty times as fine finds no position with a tenth more marks."""
    best = compare_leanings([EYES], ELSEWHERE, **LENS)[0]
    finest = 0.0
    for angle in np.linspace(0.1, 8, 80):
        alone = compare_leanings([EYES], ELSEWHERE, **{**LENS, "limit_deg": float(angle)})
        finest = max(finest, alone[0].marks)

    assert best.marks > 0.9 * finest


def test_thinning_keeps_the_even_spread() -> None:
    """Thinned, a picture's pixels still fill its rows and columns alike, few or many."""
    taken = evenly(1000 * 1000)
    rows, columns = np.divmod(taken, 1000)

    assert 19_000 < len(taken) <= 20_000
    np.testing.assert_array_equal(evenly(7), np.arange(7))
    for side in (rows, columns):
        shares = np.histogram(side, 10, (0, 1000))[0] / len(taken)
        np.testing.assert_allclose(shares, 0.1, atol=0.01)


def test_a_lens_that_cannot_turn_its_axis_leans_up_and_down_only() -> None:
    """Without a turning axis left and right are not offered; without tilt only straight is."""
    fixed = compare_leanings([EYES], ELSEWHERE, **LENS, axis_turns=False)
    shift_only = compare_leanings([EYES], ELSEWHERE, **{**LENS, "limit_deg": 0.0})

    assert {leaning.way for leaning in fixed} == {"straight", "up", "down"}
    assert [leaning.way for leaning in shift_only] == ["straight"]


def test_a_subject_before_a_room_needs_no_tilt() -> None:
    """A face 1.5 m away before a room at 6 m is parted by a straight lens wide open."""
    room = Region(EYES.slopes, np.full(len(EYES.slopes), 1 / 6))
    straight: Leaning = compare_leanings([EYES], room, **LENS)[0]

    assert straight.way == "straight"
    assert straight.sharp_share == 1
    assert straight.soft_share == 1
    # a gain that is seen is no "nothing"; one that is not is, and what is sharp comes first
    seen = dataclasses.replace(straight, way="right", swing_deg=0.5, rest_mm=1.5 * straight.rest_mm)
    assert not straight.as_good_as(seen)
    assert straight.as_good_as(dataclasses.replace(seen, rest_mm=1.2 * straight.rest_mm))
    assert straight.as_good_as(dataclasses.replace(seen, kept=0.93, rest_mm=straight.rest_mm))
    assert not dataclasses.replace(seen, kept=0.93).as_good_as(straight)


def test_opening_up_never_prefers_the_gentler_lean() -> None:
    """While both eyes are held at every stop, the lean is the same, and the rest is softer."""
    eyes = [
        Region(np.array([[x, -0.015]]), np.array([1 / z])) for x, z in ((-0.02, 1.5), (0.02, 1.51))
    ]
    rest = Region(
        np.vstack([ELSEWHERE.slopes, np.random.default_rng(2).uniform(-0.2, 0.2, (500, 2))]),
        np.concatenate([ELSEWHERE.inverse_depth, np.full(500, 1 / 3)]),
    )
    stops = (8.0, 4.0, 2.8, 2.0, 1.4)
    chosen = [
        compare_leanings(eyes, rest, **{**LENS, "focal_mm": 85.0, "f_number": stop})[0]
        for stop in stops
    ]

    assert all((best.held, best.sharp_share) == (2, 1) for best in chosen)
    assert {(best.tilt_deg, best.swing_deg) for best in chosen} == {(chosen[0].tilt_deg, 0.0)}
    assert abs(chosen[0].tilt_deg) == LENS["limit_deg"]
    assert [best.rest_mm for best in chosen] == sorted(best.rest_mm for best in chosen)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Region(np.zeros((0, 2)), np.zeros(0)),
        lambda: Region(np.zeros((3, 2)), np.zeros(2)),
        lambda: Region(np.zeros((1, 2)), np.array([-1.0])),
        lambda: Region(np.zeros((1, 2)), np.array([np.nan])),
        lambda: compare_leanings([EYES], ELSEWHERE, **{**LENS, "f_number": 0.0}),
        lambda: compare_leanings([Region(np.zeros((1, 2)), np.array([50.0]))], ELSEWHERE, **LENS),
    ],
)
def test_impossible_regions_are_refused(make: object) -> None:
    """Empty regions, points behind the camera and things in the lens are refused."""
    with pytest.raises(SettingError):
        make()  # type: ignore[operator]
