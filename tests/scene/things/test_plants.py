"""Plants."""

import pytest

from tests.scene.things.shapes import made, size


@pytest.mark.parametrize("height_m", [4, 9, 15])
def test_a_tree_is_about_as_tall_as_said(height_m: float) -> None:
    """Leaves end a little above or below."""
    assert size(made("tree", height_m=height_m))[2] == pytest.approx(height_m, rel=0.2)


def test_a_hedge_is_longer_than_deep() -> None:
    """Its long side lies along x."""
    extent = size(made("hedge"))

    assert extent[0] > 2 * extent[1]


def test_no_two_trees_are_alike_but_each_is_itself_again() -> None:
    """Shape follows the seed."""
    one, other, again = made("tree", 1), made("tree", 2), made("tree", 1)

    assert one.xyz.tobytes() == again.xyz.tobytes()
    assert one.xyz.tobytes() != other.xyz.tobytes()
