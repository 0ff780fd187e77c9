"""A real place as a job: where the camera stands, ways out, credits on every sheet."""

import itertools
import re
import shlex
from pathlib import Path

import pytest
from pypdf import PdfReader

from render.errors import HingelineError, OutputError, SettingError
from render.files.shots import read_shot, write_shot
from render.jobs.board import board
from render.jobs.card import card
from render.jobs.compare import compare
from render.jobs.judge import judge
from render.jobs.section import section
from render.load.maps.mapscene import carried, map_description, place_of
from render.load.prepare import prepare
from render.load.progress import silent
from render.load.variants import axes_of
from render.shot.axes import varied
from render.shot.shot import Shot, Words, merged
from render.shot.wishes import BoardWishes, DayWishes, JudgeWishes
from tests.schemas import faults
from tests.townlet import AT, box, degrees, feature, write_geojson

_HERE = f"{AT[0]}, {AT[1]}"


@pytest.fixture
def town(tmp_path: Path) -> Path:
    """An inn over the point, a tower to the north, a street, a pond, a tree."""
    return write_geojson(
        tmp_path / "Little Marrow.geojson",
        [
            feature(box(-8, -8, 16, 16), building="yes", height=9, name="Inn"),
            feature(box(-10, 60, 20, 20), building="yes", building__levels=6, name="Tower"),
            feature(box(40, 20, 12, 9), building="house"),
            feature([(-90, 30), (90, 30)], "LineString", highway="residential"),
            feature(box(-60, 40, 30, 30), natural="water"),
            feature([(20, 25)], "Point", natural="tree", height="11 m"),
        ],
        attribution="the Marrow surveyors",
    )


def _shot(town: Path, **given: Words) -> Shot:
    usual = {"at": _HERE, "height": "roof", "width": "96", "reach": "300 m", **given}
    named = {key.replace("_", "-"): text for key, text in usual.items() if text}
    return merged(Shot(scene=str(town)), named, "--{name}")


def _says(town: Path, **given: Words) -> str:
    with pytest.raises(HingelineError) as caught:
        map_description(_shot(town, **given))
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_standing_on_the_roof_of_the_building_there(town: Path) -> None:
    """Its deck lies at 8.65 m, the lens 1.6 m higher; the heading turns the camera in place."""
    made = prepare(_shot(town, heading="90", pitch="10"), silent, for_render=False)

    assert made.scene.vantage is not None
    assert made.scene.vantage.height_m == pytest.approx(8.65 + 1.6)
    assert made.scene.vantage.pitch_deg == 10
    assert "10.2 m above the ground, 1.60 m above the roof" in made.notes[0]
    assert "heading 90°" in made.notes[0]
    assert any(note.startswith("3 buildings: 1 height given, 1 from") for note in made.notes)
    assert made.credit == "the Marrow surveyors"


def test_looking_at_a_place_turns_and_tips_the_camera(town: Path) -> None:
    """The tower's foot 60 m north, from 20 m up: heading 0, down 18.4 degrees."""
    lon, lat = degrees(0, 60)
    shot = _shot(town, height="20", look_at=f"{lat:.7f}, {lon:.7f}")

    made = prepare(shot, silent, for_render=False)

    assert made.scene.vantage is not None
    assert made.scene.vantage.pitch_deg == pytest.approx(18.435, abs=0.01)
    assert re.search("heading (0|360)°", made.notes[0])


def test_without_a_height_the_camera_stands_there(town: Path) -> None:
    """On the roof over the inn, on the ground beside it."""
    lon, lat = degrees(30, 0)

    assert map_description(_shot(town, height="")).vantage.height_m == pytest.approx(10.25)
    beside = _shot(town, height="", at=f"{lat:.7f}, {lon:.7f}")
    assert map_description(beside).vantage.height_m == pytest.approx(1.6)


def test_without_a_place_the_map_says_what_it_covers(town: Path) -> None:
    """Its range and its middle, ready to be copied."""
    text = _says(town, at="")

    assert "covers latitude 46.9999 to 47.0007 and longitude -30.0012 to -29.9988" in text
    assert "say where the camera stands with --at" in text


def test_a_place_off_the_map_is_refused_with_a_hint(town: Path) -> None:
    """Swapped numbers are recognised where both orders are on Earth."""
    assert "lies outside: Little Marrow covers" in _says(town, at="48, -30")
    swapped = _says(town, at="-30, 47")
    assert 'you may have swapped them: --at "47, -30" would lie there (latitude comes' in swapped


def test_a_height_inside_a_building_names_two_ways_out(town: Path) -> None:
    """Its roof, and a window on the side that is faced: that place is outside indeed."""
    text = _says(town, height="4 m", heading="90")

    assert "inside Inn, whose roof is 8.65 m above the ground: --height roof" in text
    out = re.search(r'--at "([^"]+)"', text)
    assert out is not None
    there = _shot(town, height="4 m", heading="90", at=out[1])
    made = prepare(there, silent, for_render=False)
    assert made.scene.vantage is not None
    assert made.scene.vantage.height_m == 4


def test_a_roof_that_is_not_there_points_to_the_nearest(town: Path) -> None:
    """With a place well inside it."""
    lon, lat = degrees(30, 0)
    text = _says(town, at=f"{lat:.7f}, {lon:.7f}")

    out = re.search(r'the nearest is ([\d.]+) m away: --at "([^"]+)"', text)
    assert out is not None
    assert float(out[1]) == pytest.approx(22, abs=0.3)
    assert place_of(_shot(town, at=out[2])).roofs


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"distance": "30"}, "leave --distance out"),
        ({"heading": "5", "look_at": "47.001, -30"}, "given twice"),
        ({"look_at": _HERE}, "name another place"),
        ({"reach": "5 m"}, "give 20 m to 20 km"),
        ({"when": "noon"}, "--when"),
        ({"terrain": "missing.tif"}, "missing.tif is not there"),
    ],
)
def test_what_does_not_fit_is_one_sentence(town: Path, given: dict[str, str], says: str) -> None:
    """Each with what to do instead."""
    assert says in _says(town, **given)


def test_places_are_for_maps_alone(tmp_path: Path) -> None:
    """A demo scene has no latitude, a picture no reach, and neither a roof to count from."""
    for start, given in (
        (Shot(scene="market"), {"at": _HERE}),
        (Shot(picture="roof.jpg"), {"reach": "800 m"}),
    ):
        with pytest.raises(SettingError, match=r"--\w+ is for (photos and )?map files, and "):
            prepare(merged(start, given, "--{name}"), silent)
    with pytest.raises(SettingError, match="--height roof needs a map file"):
        prepare(merged(Shot(scene="market"), {"height": "roof"}, "--{name}"), silent)


def test_a_shot_file_keeps_the_place(town: Path) -> None:
    """Beside the map it names the file alone, and reads back to the same scene."""
    shot = _shot(town, heading="310", when="2026-06-21T18:30+02:00")
    path = town.parent / "plan.toml"
    write_shot(path, shot)

    back = read_shot(path)

    assert 'scene = "Little Marrow.geojson"' in path.read_text()
    assert back.place == shot.place
    assert back.stem == "Little Marrow"
    assert map_description(back).vantage == map_description(shot).vantage
    with pytest.raises(OutputError):
        write_shot(town, shot, overwrite=True)  # never over the map itself


def test_the_sun_stands_where_it_does_there_and_then(town: Path) -> None:
    """On a summer evening low in the west; in the south of the Earth it shines from the north."""
    light = map_description(_shot(town, when="2026-06-21T21:00Z")).light

    assert 270 < light.sun_heading_deg < 310
    assert 0 < light.sun_height_deg < 20


def test_the_vantage_strip_climbs_from_the_roof(town: Path) -> None:
    """Strictly, each height counted from the roof; beside the inn from the ground."""
    shot = _shot(town)
    scene = prepare(shot, silent, for_render=False).scene

    (axis,) = axes_of("vantages", shot, scene)

    heights = [map_description(made).vantage.height_m for _, made in varied(shot, (axis,))]
    assert heights[0] == pytest.approx(10.25)
    assert [carried(shot, height) for height in heights] == [True, True, False, False, False]
    assert all(low < high for low, high in itertools.pairwise(heights))
    lon, lat = degrees(30, 0)
    (beside,) = axes_of("vantages", _shot(town, height="", at=f"{lat:.7f}, {lon:.7f}"), scene)
    assert beside.values[0] == "1 storey"


def test_credit_and_hour_are_printed_on_board_card_section_and_sheet(town: Path) -> None:
    """As text in the PDFs, in the SVG, in the page, in the records; the hour on board and card."""
    folder, shot = town.parent, _shot(town, pitch="15", when="2026-06-21T18:30+02:00")
    credit = "Map data: the Marrow surveyors"

    boarded = board(shot, folder / "b.pdf", BoardWishes(), progress=silent)
    cut = section(shot, folder / "s.svg", progress=silent)
    compared = compare(
        shot,
        folder / "c.png",
        across="f=2.8,8",
        page=folder / "c.html",
        cell_px=120,
        progress=silent,
    )
    carded = card(shot, DayWishes(), folder / "d.pdf", progress=silent)
    judged = judge(shot, JudgeWishes(), progress=silent)

    for name in ("b.pdf", "d.pdf"):
        page = PdfReader(folder / name).pages[0]
        text = " ".join(page.extract_text().split())
        assert credit in text
        assert "18:30 on 21 June 2026" in text
    assert credit in (folder / "c.html").read_text()
    assert "Marrow" in (folder / "s.svg").read_text()
    assert credit in compared.lines
    assert compared.record["credit"] == "the Marrow surveyors"
    assert judged.record["credit"] == "the Marrow surveyors"
    assert judged.record["map"]["buildings"]["given"] == 1
    made = {"board": boarded, "section": cut, "compare": compared, "card": carded, "judge": judged}
    assert [f for name, each in made.items() for f in faults(name, each.record)] == []


def test_the_town_of_the_readme_is_seen_as_its_command_says() -> None:
    """The shipped example: its words are in the README, and its roof is 33 m up."""
    root = Path(__file__).parents[3]
    readme = (root / "README.md").read_text()
    found = re.search(r"hingeline render (scenes/quillby\.osm) (.*) --show", readme)
    assert found is not None
    words = shlex.split(found[2])
    given = {words[k].removeprefix("--"): words[k + 1] for k in range(0, len(words), 2)}
    shot = merged(Shot(scene=str(root / found[1])), given, "--{name}")

    description, place = map_description(shot), place_of(shot)

    assert description.vantage.height_m == pytest.approx(33 - 0.35 + 1.6)
    assert place.notes[0] in readme.replace('"', "")
    assert description.credit == "Quillby, an invented place"
    assert {"Quillby Church", "Mill", "Station"} <= description.marks.keys()
