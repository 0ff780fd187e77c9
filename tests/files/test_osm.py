"""OpenStreetMap XML and PBF, whole and damaged."""

from pathlib import Path

import pytest
import shapely

from render.errors import InputError
from render.files.maps import read_map
from render.world.place.mapdata import MapData
from tests.townlet import box, write_osm

EXTRACT = Path(__file__).parent.parent / "data" / "maps" / "extract.osm.pbf"


def _areas(data: MapData, key: str) -> list[shapely.Geometry]:
    return [f.shape for f in data.features if key in f.tags and "Polygon" in f.shape.geom_type]


def test_a_real_extract_is_read_whole() -> None:
    """Buildings, parts and heights that pyosmium itself counts in the file."""
    data = read_map(EXTRACT)

    assert len(_areas(data, "building")) == 11
    assert len(_areas(data, "building:part")) == 13
    assert sum("height" in f.tags for f in data.features if "Polygon" in f.shape.geom_type) == 9
    west, south, east, north = data.bounds_deg
    assert 24.95 < west < east < 24.96
    assert 60.169 < south < north < 60.172
    assert data.credit == "© OpenStreetMap contributors"


def test_a_multipolygon_keeps_its_courtyard(tmp_path: Path) -> None:
    """Outer and inner ring become one area with a hole."""
    path = write_osm(
        tmp_path / "yard.osm",
        [(box(0, 0, 40, 30), {}), (box(10, 10, 20, 10), {})],
        [(((1, "outer"), (2, "inner")), {"type": "multipolygon", "building": "yes"})],
    )

    (area,) = _areas(read_map(path), "building")

    assert shapely.get_num_interior_rings(shapely.get_parts(area)[0]) == 1


def test_a_building_that_crosses_itself_is_kept_to_be_mended(tmp_path: Path) -> None:
    """It makes no area for the reader, and still must not vanish."""
    path = write_osm(
        tmp_path / "hourglass.osm",
        [([(0, 0), (10, 10), (10, 0), (0, 10), (0, 0)], {"building": "yes", "height": "5"})],
    )

    (area,) = _areas(read_map(path), "building")

    assert not area.is_valid


def test_lines_and_points_are_read(tmp_path: Path) -> None:
    """A street is a line though it is closed; a tree is a point; a wall is none of both."""
    path = write_osm(
        tmp_path / "lines.osm",
        [
            (box(0, 0, 40, 30), {"highway": "residential"}),
            ([(0, 0), (5, 5)], {"barrier": "wall"}),
        ],
        points=[((3, 3), {"natural": "tree"}), ((4, 4), {"amenity": "bench"})],
    )

    kinds = sorted(
        (f.shape.geom_type, k) for f in read_map(path).features for k in f.tags if k != "amenity"
    )

    assert ("Point", "natural") in kinds
    assert ("LineString", "barrier") in kinds
    assert ("LineString", "highway") in kinds


def test_the_files_own_credit_is_kept(tmp_path: Path) -> None:
    """The first element's copyright, unless it is OpenStreetMap's own."""
    ways = [(box(0, 0, 9, 9), {"building": "yes"})]
    own = write_osm(tmp_path / "own.osm", ways, head="copyright='the town council'")
    usual = write_osm(
        tmp_path / "usual.osm", ways, head='copyright="OpenStreetMap and contributors"'
    )

    assert read_map(own).credit == "the town council"
    assert read_map(usual).credit == "© OpenStreetMap contributors"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("cut.osm.pbf", EXTRACT.read_bytes()[:3000]),
        ("noise.osm.pbf", b"\x00\x01 this is no such file" * 20),
        ("broken.osm", b"<osm version='0.6'><node id='1' lat='47' lon="),
        ("empty.osm", b""),
        ("page.osm", b"<html><body>Too many requests</body></html>"),
    ],
)
def test_damaged_files_end_in_a_sentence(tmp_path: Path, name: str, content: bytes) -> None:
    """Cut short, of another kind, or empty: what to do is said."""
    path = tmp_path / name
    path.write_bytes(content)

    with pytest.raises(InputError, match=r"cannot be read as OpenStreetMap data|holds nothing"):
        read_map(path)


def test_a_file_without_anything_to_draw_says_so(tmp_path: Path) -> None:
    """Benches alone make no place."""
    path = write_osm(tmp_path / "bench.osm", [], points=[((0, 0), {"amenity": "bench"})])

    with pytest.raises(InputError, match="holds nothing that can be drawn"):
        read_map(path)
