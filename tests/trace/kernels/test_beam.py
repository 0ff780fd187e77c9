"""Eight rays at once against each of them alone."""

import math

import numpy as np

from render.trace.build import build
from render.trace.columns import Eye
from render.trace.kernels.pixels import depth_pass
from render.trace.rays import first_hit, over_rows
from tests.world.worlds import described


def test_a_beam_finds_what_each_of_its_rays_finds_alone() -> None:
    """From within leaves, along the axes, upward and with a run of pixels that ends short."""
    built = build(
        described([{"kind": "house", "at_m": [0, 18]}, {"kind": "tree", "at_m": [6, 14]}])
    )
    rng, tables = np.random.default_rng(3), (built.world, built.surfaces, built.light)
    turns = [np.eye(3), np.eye(3)[[1, 2, 0]], *np.linalg.qr(rng.normal(size=(4, 3, 3)))[0]]
    places = [[0, 0, 1.6], [0.4, 0.2, 3], [6, 13, 2.5], [0, 10, 4], [12, 16, 2], [-6, 14, 30]]
    found = 0
    for (right, down, ahead), place in zip(turns, places, strict=True):
        axes = np.concatenate([place, right, down, ahead]).tolist()
        eye = Eye(*axes, 15.0, 10.5, 8.0, 1 / 15)
        beams, alone = np.empty((16, 21), np.float32), np.empty((16, 21))
        over_rows(depth_pass, *tables, 16, eye, beams)
        for i, j in np.ndindex(alone.shape):
            way = (j + 0.5 - 10.5) / 15 * right + (i + 0.5 - 8) / 15 * down + ahead
            t, placement, _triangle = first_hit(built.world, np.array(place, float), way, 1e-3)
            alone[i, j] = t if placement >= 0 else math.inf

        found += int(np.isfinite(alone).sum())
        same = np.isclose(beams, alone, rtol=1e-4)
        assert same.mean() > 0.99  # a ray that grazes an edge goes either way
    assert found > 200
