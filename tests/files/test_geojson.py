"""GeoJSON: names in use, systems, credits, and damage."""

import json
from pathlib import Path
from typing import Any

import pytest

from render.errors import InputError
from render.files.maps import read_map
from tests.townlet import box, feature, write_geojson

_HOUSE = feature(box(0, 0, 10, 10), building="yes")


@pytest.mark.parametrize(
    ("properties", "tags"),
    [
        ({"height": 12.5}, {"height": "12.5", "building": "yes"}),
        ({"levels": 3}, {"building:levels": "3", "building": "yes"}),
        ({"num_floors": 4, "building": True}, {"building:levels": "4", "building": "yes"}),
        ({"building:levels": "2", "building": "house"}, {"building:levels": "2"}),
        ({"render_height": 9, "building": "yes"}, {"height": "9"}),
        ({"tags": {"building": "barn", "height": "7 m"}}, {"building": "barn", "height": "7 m"}),
        ({"landuse": "forest", "height": None}, {"landuse": "forest"}),
    ],
)
def test_usual_names_become_tags(
    tmp_path: Path, properties: dict[str, Any], tags: dict[str, str]
) -> None:
    """A polygon with a height or storeys and no other meaning is a building."""
    entry = {**_HOUSE, "properties": properties}
    path = write_geojson(tmp_path / "m.geojson", [entry])

    (found,) = read_map(path).features

    assert tags.items() <= found.tags.items()
    if "landuse" in properties:
        assert "building" not in found.tags


def test_multipolygons_third_coordinates_and_bare_geometries(tmp_path: Path) -> None:
    """Heights of single points are left out; a geometry alone is a building."""
    ring = [[-30.0, 47.0, 5], [-29.999, 47.0, 5], [-29.999, 47.001, 5], [-30.0, 47.0, 5]]
    multi = {"type": "MultiPolygon", "coordinates": [[ring], [[[x + 0.01, y] for x, y, _ in ring]]]}
    path = tmp_path / "bare.geojson"
    path.write_text(json.dumps(multi))

    (found,) = read_map(path).features

    assert not found.shape.has_z
    assert found.tags["building"] == "yes"
    assert found.shape.geom_type == "MultiPolygon"


@pytest.mark.parametrize(
    ("members", "credit"),
    [
        ({"attribution": " The  Surveyors "}, "The Surveyors"),
        ({"license": "CC BY 4.0, Town of Nowhere"}, "CC BY 4.0, Town of Nowhere"),
        ({"metadata": {"attribution": "the council"}}, "the council"),
        ({"copyright": "data from www.openstreetmap.org"}, "© OpenStreetMap contributors"),
        ({"generator": "overpass-ide"}, "© OpenStreetMap contributors"),
        ({}, ""),
    ],
)
def test_the_credit_is_taken_from_the_file(
    tmp_path: Path, members: dict[str, Any], credit: str
) -> None:
    """From the members that files use for it."""
    path = write_geojson(tmp_path / "m.geojson", [_HOUSE], **members)

    assert read_map(path).credit == credit


def test_other_systems_are_brought_to_degrees(tmp_path: Path) -> None:
    """RFC 7946 leaves the member out; older files name a system, which PROJ knows or not."""
    known = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    metric = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::25832"}}
    none = {"type": "name", "properties": {"name": "local grid 7"}}
    east, north = 500_000.0, 5_316_000.0  # on the central meridian of zone 32: 9 degrees east
    ring = [[east, north], [east + 20, north], [east + 20, north + 20], [east, north]]
    house = {
        "type": "Feature",
        "properties": {"building": "yes"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }

    assert read_map(write_geojson(tmp_path / "a.geojson", [_HOUSE], crs=known)).features
    west, south, _, _ = read_map(
        write_geojson(tmp_path / "b.geojson", [house], crs=metric)
    ).bounds_deg
    assert west == pytest.approx(9.0, abs=1e-9)
    assert 47.9 < south < 48.1
    with pytest.raises(InputError, match=r"PROJ does not know, local grid 7.*WGS 84"):
        read_map(write_geojson(tmp_path / "c.geojson", [_HOUSE], crs=none))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("{", "not readable JSON"),
        ('{"type": "FeatureCollection", "features": [NaN]}', "not readable JSON"),
        ("[1, 2]", "no GeoJSON"),
        ('{"type": "Topology"}', "no GeoJSON"),
        ('{"type": "FeatureCollection"}', "needs its list of features"),
        ('{"type": "FeatureCollection", "features": []}', "no features with a geometry"),
        ('{"type": "FeatureCollection", "features": [7]}', "feature 1"),
        (
            '{"type": "Polygon", "coordinates": [[[500000, 5200000], [500010, 5200000], '
            "[500010, 5200010], [500000, 5200000]]]}",
            "no longitudes and latitudes",
        ),
        ('{"type": "Polygon", "coordinates": [[[8.5, 52], [8.6, 52]]]}', "feature 1"),
        ('{"type": "Polygon", "coordinates": "here"}', "feature 1"),
        ('{"type": "Point", "coordinates": ["a", "b"]}', "feature 1"),
    ],
)
def test_damaged_files_end_in_a_sentence(tmp_path: Path, content: str, says: str) -> None:
    """What is wrong, and where in the file."""
    path = tmp_path / "m.geojson"
    path.write_text(content)

    with pytest.raises(InputError, match=says):
        read_map(path)


def test_features_without_a_place_are_passed_over(tmp_path: Path) -> None:
    """RFC 7946 allows null and empty geometries."""
    nowhere = {"type": "Feature", "geometry": None, "properties": {}}
    empty = {"type": "Feature", "geometry": {"type": "Polygon", "coordinates": []}}

    assert len(read_map(write_geojson(tmp_path / "m.json", [nowhere, empty, _HOUSE])).features) == 1
