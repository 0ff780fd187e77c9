"""Where shapes stand at a moment."""

import numpy as np
import pytest

from render.trace.tree.placed import STEPS, part_share, share_of, stand
from tests.world.worlds import described

_SLOPE = {"profile_deg": 0, "profile_m": [[-100, 20], [100, -20]], "extent_m": 200}


def test_a_skier_lies_along_the_slope() -> None:
    """Downhill he points down as the slope does, across it he is level; a box stands upright."""
    skiers = [{"kind": "skier", "turn_deg": turn} for turn in (180, 0, 90)]
    scene = described([*skiers, {"kind": "box"}], ground=_SLOPE)
    ahead = [(stand(scene, thing, 0, 0.0)[:3, :3] @ [0, -1, 0])[2] for thing in scene.things]

    assert ahead[:2] == pytest.approx([-np.sin(np.arctan(0.2)), np.sin(np.arctan(0.2))], abs=1e-3)
    assert ahead[2:] == pytest.approx([0, 0], abs=1e-3)


def test_whoever_waits_stands_and_whoever_walks_steps() -> None:
    """The standing shape comes after those of the two steps."""
    way = {"path_m": [[0, 0], [20, 0]], "speed_m_s": 1.0, "waits": [[10, 30]]}
    thing = described([{"kind": "person", "moves": way}]).things[0]
    shares = [share_of(thing, 0, t) for t in (5.0, 5.5, 20.0, 35.0)]

    assert shares[2] == STEPS
    assert all(s is not None and s < STEPS for s in (shares[0], shares[1], shares[3]))
    assert shares[0] != shares[1]
    assert share_of(described([{"kind": "person"}]).things[0], 0, 5.0) is None


def test_strides_are_as_long_as_the_way() -> None:
    """As many steps as the way walked asks for, whatever the speed and whichever way it goes."""
    for speed in (0.7, 1.4):
        way = {"path_m": [[0, 0], [30, 0]], "speed_m_s": speed, "returns": True, "pause_s": 1}
        thing = described([{"kind": "person", "moves": way}]).things[0]
        gait = thing.kind.gait
        assert gait is not None
        times = np.arange(2, 30 / speed - 2, 0.05)
        shares = np.array([share_of(thing, 0, float(t)) for t in times])
        steps = np.sum((np.diff(shares) % STEPS).astype(int))

        walked = speed * (times[-1] - times[0])
        assert steps / STEPS == pytest.approx(walked / gait.length_m(thing.values), abs=0.15)


def test_copies_do_not_wave_in_step() -> None:
    """Flags in a row show different parts of their period."""
    part = described([{"kind": "flag"}]).things[0].kind.parts[0]

    assert len({part_share(part, copy, 3.0) for copy in range(6)}) > 3
    assert part_share(part, 0, 0.0) == part_share(part, 0, part.period_s) == 0
