"""OpenStreetMap XML and PBF, whole and damaged."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from render.errors import InputError
from render.files.apart import osm
from render.files.maps import read_map
from render.files.osm import read_osm
from render.world.place.mapdata import MapData
from render.world.place.projection import LocalFrame
from tests.townlet import AT, box, write_osm

EXTRACT = Path(__file__).parent.parent / "data" / "maps" / "extract.osm.pbf"


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that are whole are read in this process: half a second saved at each."""

    def work(_: str, words: Sequence[str], **limits: object) -> NDArray[np.uint8]:
        return osm._read(list(words), None)

    monkeypatch.setattr(osm, "work_apart", work)


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


@pytest.mark.usefixtures("here")
def test_a_multipolygon_keeps_its_courtyard(tmp_path: Path) -> None:
    """Outer and inner ring become one area with a hole."""
    path = write_osm(
        tmp_path / "yard.osm",
        [(box(0, 0, 40, 30), {}), (box(10, 10, 20, 10), {})],
        [(((1, "outer"), (2, "inner")), {"type": "multipolygon", "building": "yes"})],
    )

    (area,) = _areas(read_map(path), "building")

    assert shapely.get_num_interior_rings(shapely.get_parts(area)[0]) == 1


@pytest.mark.usefixtures("here")
def test_a_building_that_crosses_itself_is_kept_to_be_mended(tmp_path: Path) -> None:
    """It makes no area for the reader, and still must not vanish."""
    path = write_osm(
        tmp_path / "hourglass.osm",
        [([(0, 0), (10, 10), (10, 0), (0, 10), (0, 0)], {"building": "yes", "height": "5"})],
    )

    (area,) = _areas(read_map(path), "building")

    assert not area.is_valid


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
def test_a_loop_of_street_is_no_square_unless_it_says_so(tmp_path: Path) -> None:
    """Ring streets, fences and platforms: the first two are lines, what `area=yes` says is not."""
    path = write_osm(
        tmp_path / "loops.osm",
        [
            (box(0, 0, 40, 30), {"highway": "residential"}),
            (box(50, 0, 20, 20), {"barrier": "fence"}),
            (box(80, 0, 20, 20), {"highway": "pedestrian", "area": "yes"}),
            (box(110, 0, 60, 4), {"railway": "platform"}),
            (box(0, 50, 20, 20), {"leisure": "pitch", "barrier": "fence"}),
        ],
    )

    kinds = {(f.shape.geom_type, f.tags.get("highway", "")) for f in read_map(path).features}
    areas = [f.tags for f in read_map(path).features if "Polygon" in f.shape.geom_type]

    assert ("LineString", "residential") in kinds
    assert {"highway": "pedestrian", "area": "yes"} in areas
    assert {"railway": "platform"} in areas
    assert {"leisure": "pitch", "barrier": "fence"} in areas
    assert len(areas) == 3


@pytest.mark.usefixtures("here")
def test_a_pier_is_read_as_a_line_or_as_an_area_and_only_once(tmp_path: Path) -> None:
    """Most piers of the map are lines; a closed one is its area, not its outline too."""
    pier = {"man_made": "pier"}
    path = write_osm(
        tmp_path / "piers.osm",
        [([(0, 0), (0, 40)], pier), (box(20, 0, 4, 30), pier)],
    )

    kinds = sorted(f.shape.geom_type for f in read_map(path).features)

    assert kinds == ["LineString", "MultiPolygon"]


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
def test_a_file_without_anything_to_draw_says_so(tmp_path: Path) -> None:
    """Letter boxes alone make no place."""
    path = write_osm(tmp_path / "letter.osm", [], points=[((0, 0), {"amenity": "post_box"})])

    with pytest.raises(InputError, match="holds nothing that can be drawn"):
        read_map(path)


@pytest.mark.usefixtures("here")
def test_a_lake_that_the_extract_cut_is_closed_straight_and_said(tmp_path: Path) -> None:
    """Two of three shores are there: what they and one straight line enclose is water."""
    shores = [
        ([(0, 0), (100, 0), (100, 60)], {}),
        ([(0, 0), (0, 60)], {}),
        ([(300, 300), (310, 300)], {"highway": "path"}),
    ]
    lake = (
        [(1, "outer"), (2, "outer"), (99, "outer")],
        {"type": "multipolygon", "natural": "water"},
    )
    data = read_osm(write_osm(tmp_path / "cut.osm", shores, [lake]), "cut", None)

    water = [f for f in data.features if f.tags.get("natural") == "water"]
    metres = shapely.transform(water[0].shape, LocalFrame(*AT).to_metres)
    assert metres.area == pytest.approx(100 * 60, rel=1e-3)
    assert data.remarks == (
        "1 area lacks a part of the outline in the file: closed by straight lines",
    )


@pytest.mark.usefixtures("here")
def test_an_area_of_which_nothing_is_known_is_left_out_and_said(tmp_path: Path) -> None:
    """None of its ways is in the file."""
    ways = [([(0, 0), (10, 0)], {"highway": "path"})]
    lake = ([(98, "outer"), (99, "outer")], {"type": "multipolygon", "natural": "water"})
    data = read_osm(write_osm(tmp_path / "cut.osm", ways, [lake]), "cut", None)

    assert [f.tags for f in data.features] == [{"highway": "path"}]
    assert data.remarks == ("1 outline of the file lacks points and was left out",)


@pytest.mark.usefixtures("here")
def test_street_furniture_is_read_and_other_points_are_not(tmp_path: Path) -> None:
    """A lamp and a bench stand there; a pedestrian crossing does not."""
    points = [
        ((5, 5), {"highway": "street_lamp"}),
        ((6, 5), {"amenity": "bench"}),
        ((7, 5), {"highway": "crossing"}),
    ]
    path = write_osm(
        tmp_path / "street.osm", [([(0, 0), (10, 0)], {"highway": "path"})], (), points
    )
    tags = [f.tags for f in read_osm(path, "street", None).features]

    assert {"highway": "street_lamp"} in tags
    assert {"amenity": "bench"} in tags
    assert {"highway": "crossing"} not in tags
