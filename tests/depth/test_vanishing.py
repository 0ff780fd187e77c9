"""Pitch and roll proposed from parallel lines."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.depth.ground import ground_plane
from render.depth.vanishing import Proposal, line_segments, propose_view, view_from_segments
from render.optics.camera import Camera, Vantage
from render.optics.terrain import level_axes

CAMERA = Camera(480, 320, 420.0)


def _seen(points: np.ndarray, vantage: Vantage) -> np.ndarray:
    """Picture places of points given as (right, down, ahead) of the level world."""
    inside = points @ level_axes(vantage)
    return CAMERA.positions(inside[..., :2] / inside[..., 2:])


def _segments(vantage: Vantage, upright: int, level: int, stray: int) -> np.ndarray:
    rng = np.random.default_rng(5)
    count = upright + level
    start = rng.uniform([-15, -10, 30], [15, 10, 60], (count, 3))
    step = np.zeros((count, 3))
    step[:upright, 1] = 6
    turn = np.where(np.arange(level) % 2, 0.4, 0.4 + np.pi / 2)
    step[upright:, 0], step[upright:, 2] = 7 * np.cos(turn), 7 * np.sin(turn)
    ends = np.concatenate([_seen(start, vantage), _seen(start + step, vantage)], axis=1)
    ends += rng.normal(0, 0.3, ends.shape)
    strays = rng.uniform(0, 320, (stray, 4))
    return np.concatenate([ends, strays])


@settings(max_examples=15)
@given(st.floats(-10, 35), st.floats(-7, 7))
def test_view_comes_back_within_its_doubt(pitch, roll):
    """Noisy parallel lines among strays propose the true view, within four times the doubt."""
    proposals = view_from_segments(_segments(Vantage(10, pitch, roll), 25, 30, 15), CAMERA)

    assert {p.source for p in proposals} >= {"upright lines"}
    best = proposals[0]
    assert abs(best.pitch_deg - pitch) < 4 * best.pitch_doubt_deg
    assert abs(best.roll_deg - roll) < 4 * best.roll_doubt_deg


def test_level_lines_serve_where_nothing_stands_upright():
    """Two families of level lines give the view when there are no upright ones."""
    proposals = view_from_segments(_segments(Vantage(10, 20, 3), 0, 40, 0), CAMERA)

    level = next(p for p in proposals if p.source == "level lines")
    assert level.pitch_deg == pytest.approx(20, abs=1.5)
    assert level.roll_deg == pytest.approx(3, abs=1.5)


def test_few_or_no_lines_propose_nothing():
    """No proposal is made from a handful of lines: the caller has to ask."""
    assert view_from_segments(np.empty((0, 4)), CAMERA) == ()
    assert view_from_segments(_segments(Vantage(10, 20), 2, 0, 0), CAMERA) == ()


def test_a_wrong_focal_length_is_in_the_doubt():
    """The doubt covers a focal length that is 5 % off."""
    segments = _segments(Vantage(10, 25, 0), 40, 0, 0)

    off = view_from_segments(segments, Camera(480, 320, 420.0 * 1.05))[0]

    assert 0.3 < abs(off.pitch_deg - 25) < 1.5 * off.pitch_doubt_deg


def test_lines_are_found_in_a_picture():
    """A drawn front with windows, seen looking down and rolled, proposes that view."""
    pytest.importorskip("cv2")
    vantage = Vantage(12, 14, 2)
    right, down, ahead = level_axes(vantage)
    front = ahead / 30.0  # a wall 30 m away, square to the view
    x, y = np.meshgrid(np.arange(480) + 0.5, np.arange(320) + 0.5)
    rays = np.concatenate([CAMERA.slopes(x, y), np.ones((320, 480, 1))], axis=-1)
    nearness = np.maximum(rays @ front, rays @ ground_plane(vantage))
    place = rays / nearness[..., None]
    window = ((place @ right) % 3.0 > 1.4) & ((place @ down) % 4.0 > 1.8)
    wall = rays @ front >= rays @ ground_plane(vantage)
    light = np.where(wall, np.where(window, 0.05, 0.6), 0.3).astype(np.float32)
    picture = np.repeat(light[..., None], 3, axis=2)

    best = propose_view(picture, CAMERA)[0]

    assert len(line_segments(picture)) > 20
    assert best.pitch_deg == pytest.approx(14, abs=0.7)
    assert best.roll_deg == pytest.approx(2, abs=0.5)
    assert "looking down" in best.words()


def test_a_rolled_crowd_of_lines_is_no_plumb_line() -> None:
    """Lines that lean by 20° together are another direction of the picture, and not proposed."""
    camera = Camera(600, 400, 500.0)
    rng = np.random.default_rng(2)
    feet = rng.uniform((50, 150), (550, 380), (40, 2))
    lean = np.array([math.sin(math.radians(20)), -math.cos(math.radians(20))])
    leaning = np.hstack([feet, feet + 60 * lean])

    assert view_from_segments(leaning, camera) == ()


def test_lines_that_agree_on_two_pitches_propose_neither() -> None:
    """A roll is refused with its doubt, and a second pitch with nearly as many lines counts."""
    at_limit = _segments(Vantage(10, 20, 7.9), 40, 0, 0)
    down, up = (_segments(Vantage(10, pitch), 20, 0, 0) for pitch in (25, -25))
    alone = view_from_segments(down, CAMERA)[0]

    assert view_from_segments(at_limit, CAMERA) == ()
    assert view_from_segments(np.concatenate([down, up[:18]]), CAMERA) == ()
    fewer = view_from_segments(np.concatenate([down, up[:10]]), CAMERA)[0]
    assert fewer.pitch_deg == pytest.approx(25, abs=1)
    assert fewer.pitch_doubt_deg > 3 * alone.pitch_doubt_deg


def test_no_angle_smaller_than_its_doubt_is_proposed() -> None:
    """2° ± 3° is level within its doubt, in words and as it is given; 5° ± 3° is not."""
    doubtful = Proposal(2.0, 0.4, 3.0, 0.5, 20, "upright lines")
    sure = Proposal(-5.0, 1.2, 3.0, 0.5, 20, "upright lines")

    assert "level within the doubt of ± 3.0°" in doubtful.words()
    assert "2.0°" not in doubtful.words()
    assert (doubtful.pitch, doubtful.roll) == ("0", "0")
    assert "looking up 5.0° (± 3.0°)" in sure.words()
    assert (sure.pitch, sure.roll) == ("up 5.0", "1.2")
