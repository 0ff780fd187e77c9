"""Plain solids have the sizes they are given."""

import numpy as np
import pytest

from tests.scene.things.shapes import made, size


@pytest.mark.parametrize(
    ("name", "table", "extent"),
    [
        ("box", {"size_m": [4, 3, 2]}, (4, 3, 2)),
        ("prism", {"outline_m": [[0, 0], [8, 0], [8, 5]], "height_m": 6}, (8, 5, 6)),
        ("cylinder", {"radius_m": 2, "height_m": 7}, (4, 4, 7)),
        ("sphere", {"size_m": [2, 2, 2]}, (2, 2, 2)),
    ],
)
def test_solids_are_as_large_as_said(
    name: str, table: dict[str, object], extent: tuple[float, float, float]
) -> None:
    """To the facets of what is round."""
    np.testing.assert_allclose(size(made(name, **table)), extent, rtol=0.02)


def test_a_box_is_closed() -> None:
    """Its outward faces add up to nothing, as those of every closed surface do."""
    corners = made("box", size_m=[4, 3, 2]).xyz
    areas = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2

    total = np.linalg.norm(areas, axis=1).sum()
    assert total == pytest.approx(2 * (4 * 3 + 4 * 2 + 3 * 2), rel=0.5)
    assert np.abs(areas.sum(axis=0)[:2]).max() < 1e-9 * total
