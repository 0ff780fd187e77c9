"""Dressed bodies: clothes reach where the joints are, hands are hands."""

from functools import cache

import numpy as np

from render.world.mesh import Mesh
from render.world.things.bodies import Pose, body_mesh

_POSE = Pose(
    hip_m=0.92,
    chest=np.array([0.0, 0.0, 1.36]),
    head=np.array([0.0, -0.035, 1.636]),
    knees=np.array([[0.097, -0.02, 0.49], [-0.097, -0.02, 0.49]]),
    ankles=np.array([[0.097, 0.0, 0.08], [-0.097, 0.0, 0.08]]),
    shoulders=np.array([[0.185, 0.0, 1.41], [-0.185, 0.0, 1.41]]),
    elbows=np.array([[0.23, 0.02, 1.14], [-0.23, 0.02, 1.14]]),
    hands=np.array([[0.23, -0.05, 0.90], [-0.23, -0.05, 0.90]]),
)


@cache
def _body() -> Mesh:
    return body_mesh(_POSE, False, np.random.default_rng(1))


def test_hands_have_the_length_of_hands() -> None:
    """From wrist to finger tip 18 to 20 cm, beside the hip, one on each side.

    Gordon et al. 1989, "1988 Anthropometric survey of US Army personnel", from memory: 18.0 cm
    (women), 19.4 cm (men).
    """
    mesh = _body()
    skin = mesh.xyz[mesh.slot == mesh.slots.index("skin")].reshape(-1, 3)
    for side in (1, -1):
        hand = skin[side * skin[:, 0] > 0]
        along = (_POSE.hands[0] - _POSE.elbows[0]) * [0, 1, 1]
        reach = (hand - _POSE.hands[0] * [side, 1, 1]) @ (along / np.linalg.norm(along))
        assert 0.14 < reach.max() < 0.17  # the hand's own joint lies 3 to 4 cm before the palm
        assert reach.min() < -0.06


def test_clothes_meet() -> None:
    """Top, belt, trousers and shoes reach each other; sleeves reach wrists below the belt."""
    mesh = _body()
    at = {
        slot: mesh.xyz[mesh.slot == mesh.slots.index(slot)].reshape(-1, 3)
        for slot in ("top", "bottom", "bag", "shoe")
    }
    sleeves = np.abs(at["top"][:, 0]) > 0.19
    low = at["top"][sleeves, 2].min()
    at["top"] = at["top"][~sleeves]
    z = {slot: p[:, 2] for slot, p in at.items()}

    assert low < z["top"].min()
    assert abs(low - _POSE.hands[0, 2]) < 0.03

    assert z["top"].min() < z["bag"].max()
    assert z["bottom"].min() < z["shoe"].max()
    assert z["bottom"].max() > z["bag"].min()
    assert z["shoe"].min() < 0.02
