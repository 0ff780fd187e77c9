"""Skin and knitwear: lips and cheeks where a face has them, detail only where it is resolved."""

import numpy as np

from render.world.surfaces.material import Material
from tests.world.surfaces.looks import looks


def _seen(material: Material, u_m: float, v_m: float, foot_m: float = 0.0005) -> np.ndarray:
    """Mean colour over 3 x 3 mm round a place, and the spread of its green."""
    spots = np.random.default_rng(1).uniform(-0.0015, 0.0015, (60, 2)) + np.array((u_m, v_m))
    seen = looks(material, spots, foot_m)[:, :3]
    return np.array([*seen.mean(axis=0), seen[:, 1].std()])


_SKIN = Material.of({"rule": "skin", "colour": "#cf9d82"})


def _red(colour: np.ndarray) -> float:
    return float(colour[0] / colour[1])


def test_lips_cheeks_and_ears_are_redder_than_the_brow() -> None:
    """In that order; a hand, far off in u, has no lips where a face has."""
    brow, cheek = _red(_seen(_SKIN, 0.0, 0.05)), _red(_seen(_SKIN, 0.036, -0.033))
    lip, hand = _red(_seen(_SKIN, 0.0, -0.071)), _red(_seen(_SKIN, 1.0, -0.071))

    assert lip > cheek > 1.08 * brow
    assert _red(_seen(_SKIN, 0.115, -0.01)) > 1.08 * brow
    assert hand < 1.1 * brow


def test_a_face_is_the_same_on_both_sides() -> None:
    """Blush and lips lie on the left as on the right; freckles and pores need not."""
    smooth = Material.of({"rule": "skin", "colour": "#cf9d82", "vary": 0.0})
    for u, v in ((0.036, -0.033), (0.010, -0.070), (0.0247, -0.003)):
        left, right = _seen(smooth, u, v, 0.02), _seen(smooth, -u, v, 0.02)
        np.testing.assert_allclose(left[:3], right[:3], rtol=0.03)


def test_pores_and_stitches_are_seen_from_near_only() -> None:
    """Both vary where the footprint resolves them, and are even where it does not."""
    knit = Material.of({"rule": "knit", "colour": "#3f5c6e", "second": "#101820"})
    for material, near, far in ((_SKIN, 0.0003, 0.01), (knit, 0.0005, 0.02)):
        spread = [_seen(material, 0.01, 0.03, foot)[3] for foot in (near, far)]
        assert spread[0] > 4 * spread[1]
        assert spread[0] > 0.003


def test_ribs_fade_to_their_mean_before_they_beat_with_pixels() -> None:
    """A stitch 5.5 mm wide has two: half as many pixels a rib as it takes, and none is left."""
    knit = Material.of({"rule": "knit", "colour": "#c0c0c0", "second": "#101010", "vary": 0.0})
    spots = np.random.default_rng(3).uniform(0, (0.055, 0.042), (600, 2))
    near, far = (looks(knit, spots, foot)[:, 1] for foot in (0.0003, 0.55 * 0.0024))

    assert far.std() < 0.2 * near.std()
    np.testing.assert_allclose(far.mean(), near.mean(), rtol=0.05)
