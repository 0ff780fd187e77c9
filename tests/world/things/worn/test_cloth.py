"""Sheets of cloth face one way, and lie on the front of what they are sewn on to."""

import numpy as np

from render.world.things.fields import ball
from render.world.things.worn.cloth import cloth, laid_on, on_front


def test_a_sheet_goes_through_its_points() -> None:
    """Corners are the grid's, and normals those of the surface."""
    u, v = np.meshgrid(np.linspace(0, 1, 4), np.linspace(0, 2, 5), indexing="ij")
    sheet = cloth(np.stack([u, v, 0 * u + 3], -1), np.stack([u, v], -1), "top")

    assert len(sheet.xyz) == 2 * 3 * 4
    np.testing.assert_allclose(sheet.normal, np.broadcast_to([0, 0, 1.0], sheet.normal.shape))
    np.testing.assert_allclose(sheet.uv, sheet.xyz[..., :2])


def test_a_strip_lies_just_before_the_front_of_a_body() -> None:
    """Sewn on to a ball of 30 cm it is 4 mm proud of it and its edges are turned in by 2 mm."""

    def body(p: np.ndarray) -> np.ndarray:
        return ball(p, (0, 0, 1.0), 0.3)

    strip = laid_on(body, (-0.05, 0.05), (0.95, 1.1))
    seen = on_front(body, strip.xyz.reshape(-1, 3) * [1, 0, 1])
    proud = seen[:, 1] - strip.xyz.reshape(-1, 3)[:, 1]

    np.testing.assert_allclose(np.unique(proud.round(5)), [-0.002, 0.004])
    assert (proud > 0).mean() > 0.7
    assert np.all(strip.normal[proud.reshape(-1, 3).min(axis=1) > 0][..., 1] < 0)
