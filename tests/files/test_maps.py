"""Map files: which they are, what they are called, what is left out."""

from pathlib import Path

import numpy as np
import pytest

from render import extras
from render.errors import InputError
from render.files.maps import read_map
from render.shot.placekeys import is_map_file, plain_name
from tests.townlet import AT, box, feature, write_geojson

EXTRACT = Path(__file__).parent.parent / "data" / "maps" / "extract.osm.pbf"


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("maps/town.osm.pbf", "town"),
        ("town.osm", "town"),
        ("a.b.geojson", "a.b"),
        ("x/Town.OSM", "Town"),
        ("plan.json", "plan"),
    ],
)
def test_map_files_are_known_by_their_ending(name: str, plain: str) -> None:
    """And are called without it."""
    assert is_map_file(name)
    assert plain_name(name) == plain
    assert not is_map_file("roof.jpg")
    assert not is_map_file("town.toml")


def test_far_features_are_left_out_and_bounds_are_those_of_the_file(tmp_path: Path) -> None:
    """Within 300 m of the point one of two houses; the bounds hold both."""
    path = write_geojson(
        tmp_path / "two.geojson",
        [
            feature(box(0, 0, 10, 10), building="yes"),
            feature(box(3000, 0, 10, 10), building="yes"),
        ],
    )

    near, every = read_map(path, (*AT, 300.0)), read_map(path)

    assert (len(near.features), len(every.features)) == (1, 2)
    assert near.bounds_deg == every.bounds_deg


def test_a_credit_of_ones_own_goes_first() -> None:
    """In place of what the file says."""
    assert read_map(EXTRACT).credit == "© OpenStreetMap contributors"
    assert read_map(EXTRACT, credit="the surveyors").credit == "the surveyors"


def test_a_missing_file_is_one_sentence(tmp_path: Path) -> None:
    """It names the file."""
    with pytest.raises(InputError, match=r"town\.osm is not there"):
        read_map(tmp_path / "town.osm")


def test_a_missing_library_names_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the command that brings it."""

    def missing(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(extras.importlib, "import_module", missing)

    with pytest.raises(InputError, match=r'shapely.*pip install "\.\[maps\]"'):
        read_map(EXTRACT)


def test_tangles_that_nobody_can_mend_are_left_out_and_said(tmp_path: Path) -> None:
    """A star of thousands of points crosses itself millions of times; a long round one does not."""
    turns = 2.4 * np.arange(3001)
    star = [(300 * np.sin(t), 300 * np.cos(1.7 * t)) for t in turns]
    angles = np.linspace(0, 2 * np.pi, 3001)[:-1]
    ring = [(90 * np.sin(a), 90 * np.cos(a)) for a in angles]
    entries = [
        feature(star, "LineString", highway="path"),
        feature(ring, building="yes"),
        feature([*star, star[0]], building="yes"),
    ]
    data = read_map(write_geojson(tmp_path / "star.geojson", entries))

    assert [f.tags.get("building") for f in data.features] == ["yes"]
    assert data.remarks == (
        "2 outlines that cross themselves and have more than the 2,000 points taken here "
        "(HINGELINE_LIMITS raises it) were left out",
    )
