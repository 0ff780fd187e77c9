"""What a render says."""

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.band import GroundBand
from render.optics.plane import focus_lens
from render.scene.field import frame_field
from render.shot.shot import Shot, merged
from render.tell.summary import (
    fact_lines,
    ground_words,
    setting_words,
    summary_lines,
    summary_of,
    summary_record,
)


def _prepared(folder: Path, **options: str) -> Prepared:
    path = folder / "roof.png"
    Image.new("RGB", (300, 200), (90, 120, 150)).save(path)
    given = {"view": "43", "height": "20", "pitch": "down 20", "f": "4", **options}
    return prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)


def test_the_band_is_said_in_the_picture_and_on_the_ground(tmp_path: Path) -> None:
    """The ground distance of the sharpest line is where the focus spot meets the ground."""
    made = _prepared(tmp_path, tilt="up 8", focus="50%,50%")
    summary = summary_of(made, frame_field(made.scene, made.setting))

    record = summary_record(made, summary)

    assert record["band"]["centre"]["ground_sharpest_m"] == pytest.approx(
        20 / math.tan(math.radians(20)), rel=0.01
    )
    assert record["band"]["centre"]["ground_near_m"] < record["band"]["centre"]["ground_far_m"]
    assert record["hinge_m"][1] == pytest.approx(-record["hinge_distance_m"])
    assert json.loads(json.dumps(record, allow_nan=False)) == record


def test_ground_that_the_frame_cuts_off_is_told_with_both_ends() -> None:
    """A band that begins below the frame runs from its edge; to the horizon it is all there is."""
    band = GroundBand((150, 40), (150, 90), (150, 260), 60.0, 30.0, 8.0)
    assert ground_words(band, 200) == "from the frame's lower edge to 60.0 m along the ground"
    assert ground_words(replace(band, far_m=math.inf), 200) == "all of the ground"


def test_an_upright_band_is_said_across(tmp_path: Path) -> None:
    """Where swing outweighs tilt the lines tell how far across the frame it is sharp."""
    made = _prepared(tmp_path, swing="right 8", focus="50%,60%")
    lens, summary = (
        focus_lens(made.setting),
        summary_of(made, frame_field(made.scene, made.setting)),
    )

    lines, record = summary_lines(made, lens, summary), summary_record(made, summary)

    said = [line for line in lines if line.startswith("Sharp across the ")]
    assert [line.split(":")[0] for line in said] == [
        "Sharp across the top",
        "Sharp across the middle",
        "Sharp across the bottom",
    ]
    run = record["band_across"]["middle"]["runs"][0]
    shares = f"{run['left_px'] / 3:.0f} to {run['right_px'] / 3:.0f} % from the left"
    assert shares in said[1]
    assert 0 < run["left_px"] < run["right_px"] < 300


def test_where_nothing_is_sharp_is_said_once(tmp_path: Path) -> None:
    """A strip through one thing alone: not a line for each side that it misses."""
    made = _prepared(tmp_path, tilt="up 8", focus="50%,60%")
    summary = summary_of(made, frame_field(made.scene, made.setting))
    left, centre, right = summary.columns
    alone = replace(centre, runs=tuple(run for run in centre.runs for _ in range(3)))
    missed = replace(
        summary, columns=(replace(left, runs=()), alone, replace(right, runs=())), upright=False
    )

    said = [s for s in fact_lines(made, focus_lens(made.setting), missed) if "Sharp" in s]

    assert len(said) == 2
    assert said[0].startswith("Sharp down the centre: ")
    assert "% from the top and 2 shorter stretches; depth " in said[0]
    assert said[1] == "Sharp down the left and the right: nothing"


def test_without_tilt_there_is_no_hinge_line(tmp_path: Path) -> None:
    """It is said in words, and is null for programs."""
    made = _prepared(tmp_path)
    lens, summary = (
        focus_lens(made.setting),
        summary_of(made, frame_field(made.scene, made.setting)),
    )

    lines = summary_lines(made, lens, summary)

    assert any("without tilt there is no hinge line" in line for line in lines)
    assert summary_record(made, summary)["hinge_distance_m"] is None


@pytest.mark.parametrize(
    ("movement", "where"),
    [
        ({"tilt": "up 8"}, "above the lens"),
        ({"tilt": "down 8"}, "below the lens"),
        ({"swing": "left 8"}, "left of the lens"),
        ({"tilt": "down 5", "swing": "right 5"}, "below and right of the lens"),
    ],
)
def test_the_hinge_line_is_placed_in_words(
    tmp_path: Path, movement: dict[str, str], where: str
) -> None:
    """It lies to the side that the lens is turned to."""
    made = _prepared(tmp_path, **movement)
    lens, summary = (
        focus_lens(made.setting),
        summary_of(made, frame_field(made.scene, made.setting)),
    )

    assert any(where in line for line in summary_lines(made, lens, summary))


def test_the_setting_is_said_in_words(tmp_path: Path) -> None:
    """Zero movements are left out, but tilt is always named."""
    made = _prepared(tmp_path, tilt="up 8", lens="90", rise="up 2", shift="left 3")

    assert setting_words(made) == "90 mm, f/4, lens up 8°, rise 2 mm, shift left 3 mm"
