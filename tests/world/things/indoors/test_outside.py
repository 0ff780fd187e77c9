"""Windows of a room look out on a street, or into plain light."""

import numpy as np

from render.world.things import load_kinds
from render.world.things.kind import KINDS

load_kinds()


def test_a_room_has_a_street_before_its_windows_or_light_in_them() -> None:
    """No pane shuts the street out, which lies well beyond the wall."""
    kind = KINDS["room"]
    street, light = (
        kind.make(kind.read({"outside": outside}), np.random.default_rng(1))
        for outside in ("street", "nothing but light")
    )
    seen, shut = ({m.slots[k] for k in np.unique(m.slot)} for m in (street, light))
    beyond = street.xyz[street.slot == street.slots.index("front pane")]

    assert "pane" in shut
    assert "pane" not in seen
    assert "road" in seen - shut
    assert beyond[..., 0].max() < -5.0 - 8.0
