"""The depth of a picture from a survey, as a shot asks for it."""

from pathlib import Path

import numpy as np
import pytest

from render.depth.ground import ground_depth
from render.errors import InputError
from render.files.shots import Shot, merged
from render.jobs.surveyed import from_survey
from render.optics.camera import Camera, Vantage

CAMERA = Camera(60, 40, 50.0)


@pytest.fixture
def land(tmp_path: Path) -> Path:
    """Flat land at 10 ft, 300 x 300 cells of 3 ft."""
    path = tmp_path / "land.asc"
    rows = "\n".join(" ".join(["10"] * 300) for _ in range(300))
    path.write_text(f"ncols 300\nnrows 300\nxllcorner 0\nyllcorner 0\ncellsize 3\n{rows}\n")
    return path


def _depth(path: Path, **given: object) -> np.ndarray:
    words = {name.replace("_", "-"): value for name, value in given.items()}
    shot = merged(Shot(), {"survey": str(path), "survey-unit": "0.3048", **words}, "--{name}")  # type: ignore[dict-item]
    return from_survey(shot.depth, shot.vantage, CAMERA).depth_m


def test_place_heading_and_pitch_give_the_ground(land: Path) -> None:
    """In feet: a lens at 50 ft over land at 10 ft is 40 ft high."""
    found = _depth(land, survey_from="450,200,50", survey_heading="0", pitch="30")

    expected = ground_depth(CAMERA, Vantage(40 * 0.3048, 30))
    near = expected < 40
    np.testing.assert_allclose(found[near], expected[near], rtol=2e-3)


def test_without_an_elevation_a_person_stands_there(land: Path) -> None:
    """The lens is 1.6 m over the surface."""
    found = _depth(land, survey_from="450,200", survey_heading="0", horizon="30%")

    assert found[39, 30] == pytest.approx(1.6 / ((39.5 - 12) / 50), rel=0.02)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({}, "--survey-from"),
        ({"survey_from": "450,200,50"}, "--survey-heading"),
        ({"survey_from": "450,200,50", "survey_heading": "0"}, "needs the pitch"),
        ({"survey_from": "-9,200", "survey_heading": "0", "pitch": "3"}, "outside the survey"),
        ({"survey_from": "450,200,50", "survey_pair": ("1,1 2,2,2",)}, "three marked pairs"),
    ],
)
def test_what_is_missing_is_asked_for(land: Path, given: dict[str, object], sentence: str) -> None:
    """Each missing piece is named with its option."""
    with pytest.raises(InputError, match=sentence):
        _depth(land, **given)
