"""Where a camera cannot stand."""

import pytest

from render.errors import SettingError
from render.trace.build import build
from render.trace.vantage import refuse_bad_vantage
from tests.world.worlds import described


def test_a_vantage_below_the_ground_or_inside_a_thing_is_refused_by_name() -> None:
    """A hill over the camera counts as ground; beside the thing, or over it, one may stand."""
    hill = described([], ground={"hills_m": [[0, 0, 30, 9]]})
    with pytest.raises(SettingError, match=r"stand 7\.\d+ m below the ground of small"):
        refuse_bad_vantage(hill, build(hill), (0.0, 0.0, 1.6), 1.6)

    mill = described([{"kind": "house", "name": "mill", "at_m": [0, 0], "size_m": [9, 8, 6]}])
    built = build(mill)
    with pytest.raises(SettingError, match=r"inside the mill of small .* go higher"):
        refuse_bad_vantage(mill, built, (0.0, 0.0, 1.6), 1.6)
    refuse_bad_vantage(mill, built, (0.0, -9.0, 1.6), 1.6)
    refuse_bad_vantage(mill, built, (0.0, 0.0, 14.0), 14.0)
