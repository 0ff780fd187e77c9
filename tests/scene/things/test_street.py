"""What stands in streets, at sizes people know (usual sizes, common practice)."""

import pytest

from tests.scene.things.shapes import made, size


@pytest.mark.parametrize(
    ("name", "low_m", "high_m"),
    [
        ("stall", 1.9, 3.5),
        ("parasol", 2.0, 3.8),
        ("cafe table", 0.6, 1.2),
        ("bench", 0.6, 1.2),
        ("lamp post", 3.0, 12.0),
        ("bollard", 0.5, 1.3),
        ("bin", 0.6, 1.4),
    ],
)
def test_street_furniture_has_a_believable_height(name: str, low_m: float, high_m: float) -> None:
    """A model's reading rests on such things having their true size."""
    assert low_m < size(made(name))[2] < high_m


def test_a_fence_follows_its_path() -> None:
    """Along both legs of a corner."""
    extent = size(made("fence", path_m=[[0, 0], [6, 0], [6, 4]]))

    assert extent[0] == pytest.approx(6, abs=0.3)
    assert extent[1] == pytest.approx(4, abs=0.3)
