"""What the answer says to people."""

import json
import shlex
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.jobs.solve import find_answer
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.tell.solve_answer import Answer, turned_words
from render.tell.solve_lines import answer_lines
from render.tell.solve_record import answer_record


def _answer(
    *sharp: tuple[str, str], lens: str = "long 90", height: str = "1.6", **more: str
) -> Answer:
    shot = merged(Shot(), {"height": height, "lens-file": lens, **more}, "{name}")
    return find_answer(shot, list(sharp), [], progress=silent)


def test_both_lenses_and_the_verdict_are_said() -> None:
    """Tilted and straight stand side by side with what each needs, then which to take."""
    text = "\n".join(
        answer_lines(_answer(("point", "pond=3 m, 0 m"), ("point", "far=60 m, 0.6 m")))
    )

    for words in (
        "Tilted: lens down 3.25°, focus ring at 36.3 m",
        "Straight: focus ring at 5.81 m",
        "wide open will do",
        "Exactly it would be lens down 3.16°, wide open will do: the marks blur more, by 0.4 of",
        "moves the view 2.3 mm down",
        "Hinge line 1.59 m",
        "sharp to either side of it by 0.0474 m at 3.00 m and 0.948 m at 60.0 m",
        "Sharp from 3.48 m to 15.9 m",
        "even f/32 is not enough (needs f/45",
        "So: tilting pays, by 8 stops: tilted, f/2.8; straight, even f/32 is not enough",
        "and leaves 1.4 times what counts as sharp",
        "start values",
        "held level",
        "pond lies below the frame",
    ):
        assert words in text, words


def test_what_the_last_stop_misses_by_a_hair_is_just_over() -> None:
    """No "even f/32 is not enough (needs f/32)", no "1.0 times"."""
    text = "\n".join(
        answer_lines(_answer(("point", "pond=4.1 m, 0 m"), ("point", "far=60 m, 0.6 m")))
    )

    assert "needs just over f/32) and leaves just over what counts as sharp" in text


def test_a_narrower_stop_than_is_needed_is_said_to_be_given() -> None:
    """A shot that holds an older answer's f-number, asked for something else."""
    text = "\n".join(
        answer_lines(_answer(("point", "pond=8 m, 0 m"), ("point", "far=60 m, 3 m"), f="22"))
    )

    assert "f/22 as given (wide open will do; sensor" in text
    assert "f/22 as given (f/18 would do; sensor" in text


def test_a_swing_is_also_said_as_a_turn_of_the_mount() -> None:
    """Lens left is the tilt axis turned a quarter and the lens tilted."""
    text = "\n".join(answer_lines(_answer(("wall", "4 m to 12 m"), lens="standard 45")))

    assert "lens left 0.5°" in text
    assert "turn the tilt axis 90° clockwise" in text
    assert "tilt the lens down 0.5°" in text
    assert "moves the view" not in text  # by less than a shift scale tells


def test_no_plane_is_explained_and_straight_can_win() -> None:
    """Things on no one plane are told so; where tilting gains nothing that is the verdict."""
    text = "\n".join(
        answer_lines(_answer(("face", "a=1.2 m, back 20"), ("face", "b=1.3 m, left 40")))
    )

    assert "No plane holds them all: the points do not lie on one plane" in text
    faces = ("face", "a=1.2 m, back 20"), ("face", "b=1.3 m, left 40")
    sharp = "\n".join(answer_lines(_answer(*faces, coc="5 mm")))  # all of it, wide open
    assert ("wide open will do" in sharp, "No plane" in sharp) == (True, False)
    assert "So: tilting gains nothing here" in text


def test_what_the_lens_cannot_do_is_in_the_verdict() -> None:
    """Nearer than its focus ring goes, either way; and sharp neither way."""
    one = ("point", "a=0.35 m, 0.5 m")
    near = "\n".join(answer_lines(_answer(one, lens="standard 45", height="0.5")))
    deep = (("point", "a=0.35 m, 0.3 m"), ("point", "b=2 m, 0 m"))
    neither = "\n".join(answer_lines(_answer(*deep, lens="standard 45", height="0.5")))

    assert "focus ring at 0.402 m, past its near end" in near
    assert "So: the lens cannot focus so near, its ring ends at 0.450 m: step back" in near
    assert "with one it would be lens straight, f/2.8" in near
    assert "So: the lens holds them neither way, though tilting gains 1 2/3 stops" in neither


def test_blur_is_said_in_pixels_of_the_picture_and_in_per_cent(tmp_path: Path) -> None:
    """With a picture blur is given in its pixels, the same share of its height."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((120, 180, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "60", "height": "20", "pitch": "20", "lens": "90", "f": "2.8"}
    given |= {"rise": "down 2", "format": "36x24", "coc": "0.03 mm", "portrait": "false"}
    shot = merged(Shot(picture=str(path)), given, "{name}")
    answer = find_answer(
        shot, [("point", "50%,40%,60%,60%")], [], only=True, band=True, progress=silent
    )
    lines = answer_lines(answer)
    record = json.loads(json.dumps(answer_record(answer), allow_nan=False))

    assert any(
        "serves best: of the leans that hold most of what must be sharp (" in line for line in lines
    )
    short = tuple(
        replace(leaning, sharp_share=0.6, most_blur_mm=3 * answer.coc_mm)
        for leaning in answer.leanings
    )
    told = "\n".join(answer_lines(replace(answer, leanings=short)))
    assert "(60 % of it, and none holds it all at f/2.8: f/9 does)" in told
    far = tuple(replace(leaning, most_blur_mm=30 * answer.coc_mm) for leaning in short)
    told = "\n".join(answer_lines(replace(answer, leanings=far)))
    assert "none holds it all at f/2.8: no stop of the lens does" in told
    assert sum(line.startswith("Band on ") for line in lines) == 2
    assert [leaning["marks"] for leaning in record["only_this_sharp"]] == sorted(
        (leaning["marks"] for leaning in record["only_this_sharp"]), reverse=True
    )
    best = record["only_this_sharp"][0]
    assert answer.camera is not None
    assert answer.percent(best["soft_blur_mm"], best["extension_mm"]) == pytest.approx(
        100 * best["soft_blur_px"] / answer.camera.height_px
    )
    assert len(record["bands"]) == 2
    command = shlex.split(next(line for line in lines if line.startswith("To see it: ")))
    options = dict(zip(command[6::2], command[7::2], strict=True))  # nothing stands alone here
    words = {name.removeprefix("--"): text for name, text in options.items()}
    check = (words.pop("check"),)
    turned = merged(shot, turned_words(answer), "{name}")
    assert command[3:6] == ["hingeline", "render", str(path)]
    assert merged(Shot(picture=str(path)), words | {"check": check}, "{name}").lens == turned.lens
    assert words["rise"] == "down 2"
