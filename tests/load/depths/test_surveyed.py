"""The depth of a picture from a survey, as a shot asks for it."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.depth.ground import ground_depth
from render.errors import InputError
from render.jobs.compare import compare
from render.load.depths.surveyed import from_survey, relief
from render.load.progress import silent
from render.optics.camera import Camera, Vantage
from render.shot.shot import Shot, merged

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
    return from_survey(shot.depth, shot.vantage, CAMERA)[0].depth_m


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


def test_without_an_elevation_a_height_is_counted_from_the_surface(land: Path) -> None:
    """Four storeys, 12 m, over land at 10 ft: the same as its elevation in feet."""
    storeys = _depth(
        land, survey_from="450,200", survey_heading="0", pitch="30", height="4 storeys"
    )
    feet = 10 + 12 / 0.3048
    given = _depth(land, survey_from=f"450,200,{feet}", survey_heading="0", pitch="30")

    np.testing.assert_allclose(storeys, given, rtol=1e-4)


def test_a_strip_climbs_over_a_survey_and_shows_its_shape(land: Path, tmp_path: Path) -> None:
    """No picture was taken from there: relief, said as such; higher up it reads as smaller."""
    picture = tmp_path / "a.png"
    Image.new("RGB", (180, 120), (120, 110, 90)).save(picture)
    given = {"view": "50", "survey": str(land), "survey-unit": "0.3048", "survey-from": "450,200"}
    given |= {"survey-heading": "0", "pitch": "20", "tilt": "up 8", "focus": "50%,50%"}
    shot = merged(Shot(picture=str(picture)), given, "--{name}")
    made = compare(shot, tmp_path / "s.png", kind="vantages", cell_px=160, progress=silent)
    scales = [cell["reads_as"]["denominator"] for cell in made.record["cells"][:4]]

    assert scales == sorted(scales)
    assert scales[3] > 2 * scales[0]
    assert any("no picture was taken" in line for line in made.lines)


def test_relief_is_brighter_where_it_faces_the_light() -> None:
    """A slope to the upper left is lighter than one to the right, the sky paler than both."""
    depth = np.full((40, 60), np.inf, np.float32)
    x = CAMERA.grid()[0][None, :]
    depth[10:, :30] = (1 / (0.05 - 0.04 * x[:, :30])).repeat(30, axis=0)
    depth[10:, 30:] = (1 / (0.05 + 0.04 * x[:, 30:])).repeat(30, axis=0)
    light = relief(depth, CAMERA)

    assert light.shape == (40, 60, 3)
    assert np.all(light[:10] == light[0, 0])
    assert light[0, 0, 0] > light[12:].max()
    assert light[25, 10, 0] != pytest.approx(light[25, 50, 0], abs=0.02)


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
