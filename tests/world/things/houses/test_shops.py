"""What stands in shop windows, and the bands over them."""

import numpy as np

from render.world.things.houses.shops import SHOWN_M, TRADES, board, shop_display

_SHOWN = ("ware", "wrap", "flower", "leaf")


def test_what_a_shop_shows_stays_behind_its_frame() -> None:
    """Of every trade: behind the front of the wall, before its back, inside the opening."""
    for seed in range(28):
        trade = TRADES[seed % len(TRADES)]
        xyz = shop_display(2.2, 2.0, trade, np.random.default_rng(seed)).xyz
        assert np.all(xyz.min((0, 1)) >= [0.0, 0.1, 0.0])
        assert np.all(xyz.max((0, 1)) <= [2.2, SHOWN_M.get(trade, 0.16) + 1e-9, 2.0])


def test_goods_stand_in_depth_behind_a_pane() -> None:
    """Of what is shown, some stands in the front half of the display and some at its back."""
    for trade, deep in SHOWN_M.items():
        mesh = shop_display(2.2, 2.0, trade, np.random.default_rng(2))
        goods = np.isin(mesh.slot, [mesh.slots.index(s) for s in mesh.slots if s in _SHOWN])
        y = mesh.xyz[goods][..., 1]

        assert y.min() < deep * 0.52
        assert y.max() > deep * 0.7


def test_every_trade_and_every_band_looks_another() -> None:
    """No two trades show the same faces, nor two forms of band, and a seed gives the same again."""
    shown = [shop_display(2.2, 2.0, t, np.random.default_rng(4)) for t in TRADES]
    bands = [board(8.0, 2.7, form, np.random.default_rng(4)) for form in range(4)]

    for kinds in (shown, bands):
        assert len({(len(m.xyz), tuple(sorted(m.slots))) for m in kinds}) == len(kinds)
    again = shop_display(2.2, 2.0, TRADES[0], np.random.default_rng(4))
    np.testing.assert_array_equal(again.xyz, shown[0].xyz)


def test_a_band_over_a_shop_hangs_above_heads() -> None:
    """Whatever its form, with its lamps: nothing lower than 2.6 m, within its width."""
    for form in range(4):
        xyz = board(6.0, 2.72, form, np.random.default_rng(form)).xyz
        assert xyz[..., 2].min() > 2.6
        assert np.all((xyz[..., 0] > 0.0) & (xyz[..., 0] < 6.0))
