"""The ray march against the closed form."""

import numpy as np

from render.depth.survey_kernels import march


def test_rays_meet_a_sloping_plane_where_the_formula_says():
    """On heights h = 0.1 row each ray's depth solves the plane's equation; gaps are passed."""
    heights = np.repeat(0.1 * np.arange(200, dtype=np.float32)[:, None], 200, axis=1)
    heights[:, 100:] = np.nan
    turn = np.array([[1.0, 0, 0], [0, 0, 1.0], [0, -1.0, 0]])  # looks along rows
    slopes_x, slopes_y = np.array([-0.1, 0.0, 0.6]), np.array([0.2, 0.5])
    out = np.empty((2, 3), np.float32)

    march(heights, 19.9, np.array([50.0, 10.0, 8.0]), turn, slopes_x, slopes_y, 600.0, out)

    for row, down in enumerate(slopes_y):
        np.testing.assert_allclose(out[row, :2], (8.0 - 1.0) / (0.1 + down), rtol=1e-4)
    far = (8.0 - 1.0) / 0.3
    assert np.isclose(out[0, 2], far, rtol=1e-4) == (50 + 0.6 * far < 99)
