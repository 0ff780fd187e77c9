"""Outlines that things stand on hold what stands there."""

import numpy as np
import pytest

from render.world.description import Thing
from render.world.standing import Room, Standing
from render.world.things import load_kinds
from render.world.things.feet import block, disc, path
from render.world.things.kind import KINDS, Values
from tests.world.things.shapes import corners_of

load_kinds()

#: What is wider below a person's head than where it stands: cloth, leaves, an open frame.
_WIDER = {
    "sign",
    "parasol",
    "tree",
    "shrub",
    "stall",
    "booth",
    "pot",
    "carousel",
    "house",
    "tower",
    "prism",
}


@pytest.mark.parametrize("name", sorted(k for k, v in KINDS.items() if v.feet and k not in _WIDER))
def test_what_a_kind_is_made_of_stands_on_its_feet(name: str) -> None:
    """Nine tenths of its corners from foot to head lie over its feet, to a hand's breadth."""
    kind = KINDS[name]
    assert kind.feet is not None
    values = Values({word: made.start for word, made in kind.words.items()})
    corners = corners_of(kind, values)
    low = corners[(corners[:, 2] > 0.04) & (corners[:, 2] < 1.7)]
    low = low[:: max(1, len(low) // 200)]
    standing = Standing()
    standing.add(Thing(kind, values, {}, {}, ((0.0, 0.0, 0.0, 0.0, 1.0),)))

    over = [not standing.free(p[:2], Room(0.2, 0.0, 1.8)) for p in low]
    assert np.mean(over) > 0.9


def test_a_block_a_disc_and_a_path_reach_as_far_as_they_say() -> None:
    """Half a diagonal, a radius, and the end of a wall."""
    assert block(3, 4)[0].reach_m == pytest.approx(2.5)
    assert disc(0.7)[0].reach_m == pytest.approx(0.7)
    first, last = path([(0, 0), (4, 0), (4, 3)], 0.4, 1.0)
    assert first.reach_m == pytest.approx(np.hypot(4, 0.2))
    assert last.outline_m[:, 0].min() == pytest.approx(3.8)
