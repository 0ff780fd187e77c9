"""A camera in the middle of a large flat roof: told so, and not focused on the roof itself."""

import math
import re
from pathlib import Path

import pytest

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.lens import FocusSpot
from render.shot.shot import Shot, Words, merged
from tests.townlet import AT, box, feature, write_geojson

_DECK_M, _PARAPET_M, _EYE_M, _HALF_M = 19.65, 0.35, 1.6, 20.0


@pytest.fixture
def hall(tmp_path: Path) -> Path:
    """A flat hall 40 m square under the camera, a tower 150 m north."""
    return write_geojson(
        tmp_path / "hall.geojson",
        [
            feature(
                box(-_HALF_M, -_HALF_M, 2 * _HALF_M, 2 * _HALF_M), building="retail", height=20
            ),
            feature(box(-10, 150, 20, 20), building="yes", height=24),
        ],
    )


def _prepared(hall: Path, **given: Words) -> Prepared:
    named = {"at": f"{AT[0]}, {AT[1]}", "height": "roof", "width": "96", "reach": "400 m"}
    shot = merged(Shot(scene=str(hall)), {**named, **given}, "--{name}")
    return prepare(shot, silent, for_render=False)


def _depth_m(made: Prepared) -> float:
    focus = made.setting.focus
    assert isinstance(focus, FocusSpot)
    return focus.depth_m


def test_the_own_roof_is_measured_and_its_edge_named(hall: Path) -> None:
    """By hand: the far rim of the parapet is 20 m away and 1.25 m down, 24 mm high frames."""
    made = _prepared(hall, lens="50", pitch="4")

    down = math.degrees(math.atan((_EYE_M - _PARAPET_M) / _HALF_M)) - 4
    share = 0.5 - 50 * math.tan(math.radians(down)) / 24
    (note,) = [n for n in made.notes if n.startswith("your own roof")]
    said = re.search(r'fills the lower (\d+) % .*--at "([^"]+)"', note)
    assert said is not None
    assert float(said[1]) == pytest.approx(100 * share, abs=1.5)

    there = _prepared(hall, lens="50", pitch="4", at=said[2])
    assert not any("your own roof" in n for n in there.notes)
    assert there.scene.vantage is not None
    assert there.scene.vantage.height_m == pytest.approx(_DECK_M + _EYE_M)


def test_what_nobody_focused_is_beyond_the_own_roof(hall: Path) -> None:
    """The parapet fills the middle: the default goes past it; a spot that is given stays."""
    beyond = _prepared(hall, lens="35", pitch="8")
    towards = 150 * math.cos(math.radians(8))  # the tower's front, wherever it is met
    assert _depth_m(beyond) == pytest.approx(towards, abs=1.0)
    assert any("the nearest thing beyond it" in n for n in beyond.notes)

    given = _prepared(hall, lens="35", pitch="8", focus="50%,50%")
    assert _depth_m(given) < _HALF_M


def test_a_frame_full_of_roof_keeps_its_middle_and_says_so(hall: Path) -> None:
    """Looking down at one's feet there is nothing beyond."""
    made = _prepared(hall, lens="90", pitch="60")

    assert _depth_m(made) < 3
    assert any("which is your own roof" in n for n in made.notes)


def test_lens_words_name_only_what_was_left_out(hall: Path) -> None:
    """A map suggests no lens: nothing is said where lens and f-number were given."""
    given = _prepared(hall, lens="90", f="4", tilt="up 4", heading="90")
    assert not any("suggest" in n or "lens was" in n or "f-number was" in n for n in given.notes)
    assert not any("tilt was" in n for n in given.notes)

    left = _prepared(hall)
    assert any(re.match("no tilt was given: .*up 8", n) for n in left.notes)
    assert any(n.startswith("no lens was named: ") for n in left.notes)
    assert any(n.startswith("no f-number was given: f/") for n in left.notes)


def test_heights_that_cannot_be_read_are_counted(tmp_path: Path) -> None:
    """Every one of them, right after how the heights came about."""
    path = write_geojson(
        tmp_path / "bad.geojson",
        [
            feature(box(30 * k, 20, 15, 15), building="yes", height=text)
            for k, text in enumerate(["-9", -9, "tall"])
        ],
    )
    shot = {"at": f"{AT[0] + 0.0002}, {AT[1] + 0.0003}", "width": "64", "height": "40"}
    made = prepare(merged(Shot(scene=str(path)), shot, "--{name}"), silent, for_render=False)

    at = next(k for k, n in enumerate(made.notes) if n.startswith("3 buildings: 0 heights given"))
    assert made.notes[at + 1].startswith("3 heights of the file were not understood or cannot be")
