"""Things move along their paths with time."""

import numpy as np
import pytest

from render.trace.build import build
from render.trace.trace import trace_built
from render.world.description import Motion
from render.world.motion import along_path, round_s, way_done
from tests.world.worlds import described, eye_level

PATH = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0))


def test_a_walker_is_where_speed_and_time_put_him() -> None:
    """1.25 m/s for 10 s round a corner; facing the way he goes (things face -y before turning)."""
    x, y, turn = along_path(Motion(PATH, 1.25), 0, 10.0)

    assert (x, y) == pytest.approx((10.0, 2.5))
    assert turn == pytest.approx(180.0)


def test_at_the_end_he_starts_again_or_turns_round() -> None:
    """The path is 20 m: after 22 m he is 2 m along it, or 2 m before its end and looks back.

    Who returns takes half a ramp of 1.4 m/s2 longer for each start and stop, and 1.2 s to turn.
    """
    assert along_path(Motion(PATH, 1.0), 0, 22.0)[:2] == pytest.approx((2.0, 0.0))
    back_s = 22.0 + 3 * 1.0 / 1.4 / 2 + 1.2
    x, y, turn = along_path(Motion(PATH, 1.0, returns=True), 0, back_s)
    assert (x, y) == pytest.approx((10.0, 8.0))
    assert turn % 360 == pytest.approx(0.0)


def test_copies_follow_each_other() -> None:
    """Each the same distance ahead of the one before."""
    motion = Motion(PATH, 1.0, spread_m=3.0)

    assert [along_path(motion, k, 1.0)[0] for k in range(3)] == pytest.approx([1.0, 4.0, 7.0])


def test_whoever_waits_stands_until_it_is_time() -> None:
    """A car stops 50 m along at a red light, and goes on at 20 s; a round lasts 40 s."""
    car = Motion(((0.0, 0.0), (120.0, 0.0)), 10.0, waits=((50.0, 20.0),), every_s=40.0)
    run = [way_done(car, 0, t)[0] for t in np.arange(0, 40, 0.25)]
    goes = [way_done(car, 0, t)[2] for t in (1.0, 15.0, 21.0)]

    assert run[4] == pytest.approx(10.0)
    assert run[15 * 4] == run[19 * 4] == pytest.approx(50.0)
    assert goes == [True, False, True]
    assert max(np.diff(run)) <= 2.5 + 1e-9
    assert min(np.diff(run)) >= 0
    assert run[-1] == pytest.approx(120.0)
    assert way_done(car, 0, 41.0)[0] == pytest.approx(10.0)


def test_whoever_finds_it_green_does_not_stop() -> None:
    """The light is green from 3 s on, the car is there at 5 s."""
    car = Motion(((0.0, 0.0), (120.0, 0.0)), 10.0, waits=((50.0, 3.0),))

    assert round_s(car) == pytest.approx(12.0)
    assert way_done(car, 0, 6.0)[0] == pytest.approx(60.0)


@pytest.mark.parametrize(("pause_s", "turns_s"), [(2.0, 2.0), (0.0, 1.2)])
def test_at_his_ends_he_rests_and_turns_where_he_stands(pause_s: float, turns_s: float) -> None:
    """Never faster than asked, never a jump in place or in heading, also where no rest is asked."""
    stroll = Motion(((0.0, 0.0), (0.0, 6.0)), 1.2, returns=True, pause_s=pause_s)
    ways = np.array([along_path(stroll, 0, t) for t in np.arange(0, 40, 0.05)])

    assert np.abs(np.diff(ways[:, 1])).max() <= 1.2 * 0.05 + 1e-9
    turns = (np.diff(ways[:, 2]) + 180) % 360 - 180
    assert np.abs(turns).max() <= 180 * 0.05 / turns_s + 1e-6
    assert ways[:, 1].max() == pytest.approx(6.0)


def test_a_corner_is_turned_and_not_jumped() -> None:
    """At 5 cm a step the heading changes by at most a few degrees."""
    turns = [along_path(Motion(PATH, 1.0), 0, t)[2] for t in np.arange(8, 12, 0.05)]

    assert turns[0] == pytest.approx(90.0)
    assert turns[-1] == pytest.approx(180.0)
    assert np.abs(np.diff(turns)).max() < 6


def test_who_comes_back_keeps_to_the_right_of_who_goes() -> None:
    """Copies on one way to and fro never meet: 0.8 m apart where they pass."""
    lane = Motion(((0.0, 0.0), (20.0, 0.0)), 1.0, spread_m=7.0, returns=True)
    apart = [
        np.hypot(*np.subtract(*(along_path(lane, k, t, lane.aside_m)[:2] for k in (a, b))))
        for t in np.arange(0, 40, 0.2)
        for a, b in ((0, 1), (0, 2), (1, 2))
    ]

    assert min(apart) > 0.75
    ways = [along_path(lane, 0, t, lane.aside_m) for t in np.arange(0, 45, 0.05)]
    steps = np.hypot(*np.diff(np.array(ways)[:, :2], axis=0).T)
    np.testing.assert_allclose(steps, 0.05, rtol=0.02)  # he walks on, round the ends too
    assert along_path(lane, 0, 5.0, 0.4)[1] == pytest.approx(-0.4)


def test_time_moves_thing_and_shadow_and_nothing_else() -> None:
    """A post that passes in front of the camera, at 0 and at 4 seconds."""
    post = {"kind": "box", "size_m": [0.5, 0.5, 3], "at_m": [0, 0]}
    post["moves"] = {"path_m": [[-3, 12], [3, 12]], "speed_m_s": 1.0}
    d = described([post, {"kind": "box", "at_m": [0, 40], "size_m": [80, 1, 20]}])
    now, later = (trace_built(d, build(d, t), eye_level()) for t in (0.5, 4.0))

    seen = [np.nonzero(s.depth_m[33] < 13)[0].mean() for s in (now, later)]
    assert seen[1] - seen[0] == pytest.approx(3.5 / 11.75 * 100, abs=1.0)
    np.testing.assert_array_equal(now.depth_m[5], later.depth_m[5])
    # far off, only what little sky the post hides may change
    np.testing.assert_allclose(now.picture[5], later.picture[5], rtol=0.02)
    again = trace_built(d, build(d, 4.0), eye_level())
    assert again.picture.tobytes() == later.picture.tobytes()
