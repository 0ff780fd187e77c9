"""Things move along their paths with time."""

import numpy as np
import pytest

from render.trace.build import build
from render.trace.trace import trace_built
from render.world.description import Motion
from render.world.motion import along_path
from tests.world.worlds import described, eye_level

PATH = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0))


def test_a_walker_is_where_speed_and_time_put_him() -> None:
    """1.25 m/s for 10 s round a corner; facing the way he goes (things face -y before turning)."""
    x, y, turn = along_path(Motion(PATH, 1.25), 0, 10.0)

    assert (x, y) == pytest.approx((10.0, 2.5))
    assert turn == pytest.approx(180.0)


def test_at_the_end_he_starts_again_or_turns_round() -> None:
    """The path is 20 m: after 22 m he is 2 m along it, or 2 m before its end and looks back."""
    assert along_path(Motion(PATH, 1.0), 0, 22.0)[:2] == pytest.approx((2.0, 0.0))
    x, y, turn = along_path(Motion(PATH, 1.0, returns=True), 0, 22.0)
    assert (x, y) == pytest.approx((10.0, 8.0))
    assert turn % 360 == pytest.approx(0.0)


def test_copies_follow_each_other() -> None:
    """Each the same distance ahead of the one before."""
    motion = Motion(PATH, 1.0, spread_m=3.0)

    assert [along_path(motion, k, 1.0)[0] for k in range(3)] == pytest.approx([1.0, 4.0, 7.0])


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
