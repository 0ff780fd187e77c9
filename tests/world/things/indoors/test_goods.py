"""Goods: what fills a shelf stays on it, and a bench's tools stay on the bench."""

from functools import cache

import numpy as np

from render.world.mesh import Mesh, join
from render.world.things.indoors.goods import GOODS, bench_goods, fill_shelf


@cache
def _shelf(seed: int) -> list[Mesh]:
    """A shelf's goods, filled once for all tests."""
    return fill_shelf(1.7, 0.38, 0.40, ("a", "b"), np.random.default_rng(seed))


def test_goods_stay_between_their_boards() -> None:
    """Whatever is drawn, it stands on its board, under the next, behind its front edge."""
    most = []
    for seed in range(25):
        goods = _shelf(seed)
        mesh = join(goods)
        low, high = mesh.xyz.min((0, 1)), mesh.xyz.max((0, 1))
        assert np.all(low >= [-0.005, -0.38, -1e-9]), low
        assert np.all(high <= [1.705, 0.005, 0.40]), high
        assert set(mesh.slots) <= {*GOODS, "a", "b"}
        most.append(sum(float(np.ptp(g.xyz[..., 0])) for g in goods) / 1.7)

    assert np.median(most) > 0.7


def test_nothing_on_a_shelf_stands_in_its_neighbour() -> None:
    """One thing ends before the next begins, but for the play of a box set down askew."""
    for seed in range(25):
        goods = _shelf(seed)
        ends = [g.xyz[..., 0].max() for g in goods]
        starts = [g.xyz[..., 0].min() for g in goods]
        assert all(b - a > -0.02 for a, b in zip(ends, starts[1:], strict=False))


def test_tools_lie_on_the_bench() -> None:
    """Nothing sinks into the top of the bench or reaches far over its edges."""
    for seed in range(10):
        mesh = join(bench_goods(2.4, 0.8, np.random.default_rng(seed)))
        assert mesh.xyz[..., 2].min() > -0.002
        assert np.abs(mesh.xyz[..., 0]).max() < 1.35
        assert np.abs(mesh.xyz[..., 1]).max() < 0.55
