"""What covers the ground: layers, widths, and nothing in another's plane."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from render.world.place.grounds.cover import (
    LAYERS,
    WIDTHS_M,
    area_layer,
    cover_of,
    lift_m,
    strip_of,
)
from render.world.place.mapdata import Feature

_DISC = shapely.Point(0, 0).buffer(500)
_LINE = LineString([(-100, 0), (100, 0)])


@pytest.mark.parametrize(
    ("tags", "strip"),
    [
        ({"highway": "residential"}, ("street", 5.5)),
        ({"highway": "residential", "width": "7.5 m"}, ("street", 7.5)),
        ({"highway": "primary", "lanes": "4"}, ("street", 13.0)),
        ({"highway": "residential", "width": "wide"}, ("street", 5.5)),
        ({"highway": "residential", "width": "4000"}, ("street", 5.5)),
        ({"highway": "footway"}, ("pavement", 1.8)),
        ({"highway": "track"}, ("track", 2.8)),
        ({"railway": "rail"}, ("gravel bed", 3.6)),
        ({"waterway": "stream"}, ("water", 2.0)),
        ({"highway": "proposed"}, None),
        ({"railway": "abandoned"}, None),
        ({}, None),
    ],
)
def test_lines_are_as_wide_as_they_say_or_as_their_class(
    tags: dict[str, str], strip: tuple[str, float] | None
) -> None:
    """`width`, else lanes of 3.25 m, else the class; a width that cannot be is passed over."""
    assert strip_of(tags) == strip


@pytest.mark.parametrize(
    ("tags", "layer"),
    [
        ({"landuse": "forest"}, "wood"),
        ({"natural": "water", "water": "lake"}, "water"),
        ({"leisure": "park"}, "grass"),
        ({"amenity": "parking"}, "parking"),
        ({"amenity": "parking", "parking": "underground"}, None),
        ({"highway": "pedestrian"}, "square"),
        ({"building": "yes", "leisure": "park"}, None),
        ({"amenity": "cafe"}, None),
    ],
)
def test_areas_have_their_layer(tags: dict[str, str], layer: str | None) -> None:
    """Buildings and underground things cover no ground."""
    assert area_layer(tags) == layer


def test_a_straight_street_covers_length_times_width() -> None:
    """With round ends; two that cross are united, not laid twice."""
    street = Feature({"highway": "residential"}, _LINE)
    other = Feature({"highway": "residential"}, LineString([(0, -100), (0, 100)]))

    one, two = cover_of([street], _DISC), cover_of([street, other], _DISC)

    ends = np.pi * (5.5 / 2) ** 2
    assert one.shapes["street"].area == pytest.approx(200 * 5.5 + ends, rel=5e-3)
    assert two.shapes["street"].area == pytest.approx(2 * (200 * 5.5 + ends) - 5.5**2, rel=5e-3)


def test_tunnels_and_bridges_cover_no_ground() -> None:
    """What is below the ground is not drawn on it; what is above is, and that is known."""
    ways = [
        Feature({"highway": "primary", "tunnel": "yes"}, _LINE),
        Feature({"highway": "primary", "bridge": "yes"}, _LINE),
        Feature({"natural": "coastline"}, _LINE),
    ]

    cover = cover_of(ways, _DISC)

    assert (cover.tunnels, cover.coastlines) == (1, 1)
    assert cover_of(ways[:1], _DISC).shapes.keys().isdisjoint({"street"})


def test_nothing_lies_beyond_reach() -> None:
    """A long street ends where the disc does."""
    street = Feature({"highway": "trunk"}, LineString([(-5000, 0), (5000, 0)]))

    assert cover_of([street], _DISC).shapes["street"].bounds[2] == pytest.approx(500, abs=0.1)


def test_no_layer_lies_in_the_plane_of_another() -> None:
    """A meadow with a park with a pond with a street across: 5 mm apart or more, 40 times
    what single precision tells apart at 1.5 km.
    """
    features = [
        Feature({"landuse": "meadow"}, shapely.box(-90, -90, 90, 90)),
        Feature({"leisure": "park"}, shapely.box(-60, -60, 60, 60)),
        Feature({"natural": "water"}, shapely.box(-20, -20, 20, 20)),
        Feature({"highway": "service"}, _LINE),
    ]

    mesh = cover_of(features, _DISC).mesh()

    heights = [np.unique(mesh.xyz[mesh.slot == s][..., 2]) for s in range(len(mesh.slots))]
    sheets = {name: h for name, h in zip(mesh.slots, heights, strict=True) if name != "limestone"}
    assert all(len(h) == 1 for h in sheets.values())
    assert np.diff(np.sort(np.concatenate(list(sheets.values())))).min() > 0.005
    assert set(sheets) == {"meadow", "grass", "water", "asphalt"}


def test_a_kerb_closes_the_edge_of_a_street_near_by_and_none_far_away() -> None:
    """The street's edge is walled down to the ground within 250 m, and open beyond."""
    far = Feature({"highway": "service"}, LineString([(-80, 300), (80, 300)]))
    mesh = cover_of(
        [Feature({"highway": "service"}, _LINE), far], shapely.box(-400, -400, 400, 400)
    ).mesh()
    kerb = mesh.xyz[[mesh.slots[s] == "limestone" for s in mesh.slot]]

    assert len(kerb) > 4
    assert kerb[..., 1].max() < 250
    assert np.unique(kerb[..., 2]).tolist() == [-0.05, lift_m("street")]


def test_outlines_that_cross_themselves_are_no_trouble() -> None:
    """A lawn like an hourglass covers both its halves."""
    lawn = Feature({"landuse": "grass"}, Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))

    assert cover_of([lawn], _DISC).shapes["grass"].area == pytest.approx(50)


def test_every_class_has_a_width_and_every_layer_a_material() -> None:
    """Widths are those of streets, not of slips."""
    assert all(1 <= width <= 12 for width in WIDTHS_M.values())
    assert all(LAYERS.values())
