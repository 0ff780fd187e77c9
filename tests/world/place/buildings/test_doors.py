"""Front doors: one a house, on the wall towards the street, proud of it."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from render.world.place.buildings.building import Building
from render.world.place.buildings.doors import add_doors
from render.world.place.buildings.looks import Look
from render.world.place.heights import Standing
from render.world.place.soup import Soup

_STREET = shapely.box(-100, -10, 100, -5)


def _house(outline: Polygon, wall: str | None = "front #d9cbb0", low_m: float = 0.0) -> Building:
    standing = Standing(low_m=low_m, eaves_m=6.0, top_m=6.0, roof="flat", how="guessed")
    look = Look(wall, "plain #d9cbb0", "deck #6f6d69")
    return Building(outline, 1.5, standing, None, look, seed=3)


def test_the_door_is_in_the_wall_towards_the_street_and_stands_on_the_ground() -> None:
    """A house north of the street: a leaf 2.1 m high within 5 cm of its southern wall."""
    soup = Soup()
    count = add_doors(soup, [_house(shapely.box(40, 0, 50, 8))], _STREET)
    mesh = soup.mesh()
    leaf = mesh.xyz[[mesh.slots[s].startswith("door ") for s in mesh.slot]]

    assert count == 1
    assert leaf[..., 1].min() == pytest.approx(-0.05)
    assert leaf[..., 2].max() == pytest.approx(1.5 + 2.1)
    assert np.ptp(leaf[..., 0]) == pytest.approx(1.0)
    assert 40 < leaf[..., 0].min() < leaf[..., 0].max() < 50


@pytest.mark.parametrize(
    "house",
    [
        _house(shapely.box(40, 0, 50, 8), wall=None),
        _house(shapely.box(40, 0, 50, 8), low_m=3.0),
        _house(shapely.box(40, 90, 50, 98)),
        _house(shapely.box(2, 0, 9, 8)),
        _house(shapely.box(400, 0, 410, 8)),
    ],
    ids=["blind", "on stilts", "no street near", "before the lens", "too far to be seen"],
)
def test_no_door_where_none_belongs(house: Building) -> None:
    """Blind walls, raised parts, houses away from streets, before the lens or far away."""
    soup = Soup()

    assert add_doors(soup, [house], _STREET) == 0
