"""The solve job, called from Python."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import HingelineError
from render.files.shots import read_shot
from render.jobs.solve import find_answer, solve
from render.load.case import case_of
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.band import level_ground_per_m
from render.optics.blur import defocus
from render.optics.camera import Vantage
from render.optics.plane import focus_lens
from render.shot.shot import Shot, merged
from render.tell.seen import named_sharpness
from render.tell.solve_answer import chosen_setting
from render.tell.solve_lines import answer_lines
from render.words import spell_f_number
from tests.places import two_crates


def _shot(**words: str) -> Shot:
    return merged(Shot(), {name.replace("_", "-"): text for name, text in words.items()}, "{name}")


@pytest.fixture
def roof(tmp_path: Path) -> Shot:
    """A picture of ground seen from 20 m, looking 20° down."""
    path = tmp_path / "roof.png"
    rng = np.random.default_rng(2)
    Image.fromarray(rng.integers(0, 255, (120, 180, 3), dtype=np.uint8)).save(path)
    given = {"focal-35": "60", "height": "20", "pitch": "20", "lens": "90"}
    return merged(Shot(picture=str(path)), given, "{name}")


def test_ground_in_a_picture_is_solved_as_ground() -> None:
    """The plane found for level ground is the ground."""
    vantage = Vantage(1.6, 5)
    answer = find_answer(
        _shot(height="1.6", pitch="5", lens_file="long 90"),
        [("ground", "4 m to 60 m")],
        [],
        progress=silent,
    )
    assert answer.serving is not None
    tilted = answer.serving.tilted
    assert tilted is not None
    lens = focus_lens(tilted.exact.setting(2.8))
    ground = level_ground_per_m(vantage)

    assert tilted.exact.exact
    for slopes in ((0.1, 0.05), (-0.2, 0.3), (0.0, 0.0)):
        assert float(defocus(lens, slopes, ground @ [*slopes, 1])) == pytest.approx(0, abs=1e-9)


def test_points_of_a_picture_take_its_depth(roof: Shot) -> None:
    """Two spots of the ground in a picture are solved from the depth there."""
    answer = find_answer(
        roof, [("point", "a=40%,70%"), ("point", "b=60%,40%")], [], progress=silent
    )

    assert answer.serving is not None
    names = {t.name: t.depth_m for t in answer.serving.straight.solution.targets}
    assert 40 < names["a"] < names["b"] < 80
    assert answer.camera is not None
    assert answer.px_per_mm(90) == pytest.approx(answer.camera.focal_px / 90)
    assert any("no lens file" in note for note in answer.notes)


def test_only_a_spot_sharp_is_said_to_be_a_point(roof: Shot) -> None:
    """Whoever names a spot reads that a box would stand for the whole thing; with a box nobody."""
    told = [
        find_answer(
            merged(roof, {"lens-file": "long 90"}, "{name}"),
            [("point", f"face={place}")],
            [],
            only=True,
            progress=silent,
        ).notes
        for place in ("50%,60%", "30%,45%,70%,55%")
    ]

    said = [any("face one point counts" in note for note in notes) for notes in told]
    assert said == [True, False]


def test_only_this_sharp_takes_all_the_rest(roof: Shot) -> None:
    """A strip of ground is kept alone by a lens leaning up or down, not by a straight one."""
    answer = find_answer(
        merged(roof, {"lens-file": "long 90"}, "{name}"),
        [("point", "strip=30%,45%,70%,55%")],
        [],
        only=True,
        progress=silent,
    )
    best = answer.leanings[0]

    assert best.way in ("up", "down")
    assert best.sharp_share > 0.4
    assert best.soft_share > 0.5
    assert answer.serving is None
    straight = next(leaning for leaning in answer.leanings if leaning.way == "straight")
    assert best.marks > 2 * straight.marks


def test_marked_soft_is_what_must_go_soft(roof: Shot) -> None:
    """With a soft area named, only that area is judged."""
    answer = find_answer(roof, [("point", "40%,45%,60%,50%")], ["40%,70%,60%,80%"], progress=silent)

    assert answer.leanings[0].soft_share > 0.9
    assert answer.leanings[0].sharp_share > 0.5


def test_a_wish_that_fails_says_so_and_is_kept(roof: Shot, tmp_path: Path) -> None:
    """What does not go soft is the verdict, with its blur; the shot keeps the wish as a remark."""
    path = tmp_path / "kept.toml"
    made = solve(
        roof,
        [("point", "40%,45%,60%,50%")],
        ["kerb=40%,51.5%,60%,53%"],
        save_shot=path,
        progress=silent,
    )

    verdict = next(line for line in made.lines if line.startswith("So: "))
    assert "no lean does all that is asked at f/2.8" in verdict
    assert "but kerb does not go soft (blur " in verdict
    assert path.read_text().startswith("# asked to be soft: kerb\n# not met: kerb does not go soft")
    assert read_shot(path).lens.f_number == 2.8


def test_band_is_shown_on_the_centre_and_on_the_foreground(roof: Shot) -> None:
    """Laid on the foreground, the band lies lower in the picture and nearer."""
    centre, foreground = find_answer(roof, [], [], band=True, progress=silent).bands
    there = find_answer(roof, [("point", "pram=50%,35%")], [], band=True, progress=silent).bands[1]

    assert centre.setting.tilt_deg == foreground.setting.tilt_deg == -8
    grounds = [choice.summary.columns[1].ground for choice in (there, centre, foreground)]
    assert all(grounds)
    distances = [ground.sharp_m for ground in grounds if ground]
    assert distances == sorted(distances, reverse=True)
    assert there.on == "pram"


def test_a_band_laid_on_a_name_is_what_is_saved(roof: Shot, tmp_path: Path) -> None:
    """The saved shot holds the lens, its full tilt, and the name that the band lies on."""
    path = tmp_path / "band.toml"
    shot = merged(roof, {"lens-file": "long 90"}, "{name}")
    answer = find_answer(
        shot, [("point", "pram=50%,45%")], [], band=True, save_shot=path, progress=silent
    )
    made = prepare(read_shot(path), silent)

    assert answer.serving is None
    assert made.limits is not None
    assert made.limits.name == "long 90"
    assert made.setting.tilt_deg == -9
    (pram,) = made.named
    lens = focus_lens(made.setting)
    off = float(defocus(lens, (pram.slope_x, pram.slope_y), 1 / pram.depth_m))
    assert pram.name == "pram"
    assert 90 / made.setting.f_number * abs(off) < 0.029


def test_only_this_sharp_is_answered_on_marks_the_ring_reaches(roof: Shot) -> None:
    """Every lean offered is on half a degree, and the first is one the ring can focus."""
    shot = merged(roof, {"lens-file": "long 90"}, "{name}")
    answer = find_answer(shot, [("point", "strip=30%,45%,70%,55%")], [], only=True, progress=silent)
    best = answer.leanings[0]

    for leaning in answer.leanings:
        assert 2 * (leaning.tilt_deg + leaning.swing_deg) % 1 == pytest.approx(0)
    at = best.extension_mm, best.tilt_deg, best.swing_deg
    reached = [
        answer.limits.ring_reading(a.extension_mm, a.tilt_deg, a.swing_deg).reached
        for a in answer.leanings
    ]
    assert answer.limits.ring_reading(*at).reached is any(reached)


def test_moving_only_the_swing_leaves_the_tilt_alone() -> None:
    """What may be turned is a wish like any other."""
    wall = [("wall", "4 m to 12 m")]
    shot = _shot(height="1.6", lens="45")
    swung = find_answer(shot, wall, [], move="swing", progress=silent).serving
    tilted = find_answer(shot, wall, [], move="tilt", progress=silent).serving

    assert swung is not None
    assert swung.tilted is not None
    assert tilted is not None
    assert tilted.tilted is not None
    assert swung.tilted.solution.tilt_deg == 0
    assert swung.tilted.solution.swing_deg < -0.3
    assert tilted.tilted.solution.swing_deg == 0
    assert not tilted.tilted.solution.exact


def test_the_saved_shot_has_the_solved_position(roof: Shot, tmp_path: Path) -> None:
    """The shot written reads back as the position found, and renders the points sharp."""
    path = tmp_path / "plan.toml"
    wishes = [("point", "45%,55%"), ("point", "60%,42%"), ("point", "52%,48%")]
    strict = merged(roof, {"coc": "0.0005 mm"}, "{name}")
    answer = find_answer(strict, wishes, [], save_shot=path, progress=silent)
    made = prepare(read_shot(path), silent)

    assert answer.serving is not None
    tilted = answer.serving.tilted
    assert tilted is not None
    assert answer.serving.tilt_pays
    assert made.setting.tilt_deg == pytest.approx(tilted.solution.tilt_deg, abs=1e-4)
    assert made.coc_mm == answer.coc_mm == 0.0005
    lens = focus_lens(made.setting)
    for target in tilted.solution.targets:
        slopes = (target.slope_x, target.slope_y)
        assert 90 * abs(float(defocus(lens, slopes, 1 / target.depth_m))) < 1e-3
    told = solve(strict, wishes, [], save_shot=path, overwrite=True, progress=silent)
    assert told.lines[-1] == f"Wrote: {path}"
    with pytest.raises(HingelineError, match=r"plan\.toml is there already"):
        find_answer(roof, wishes, [], save_shot=path, progress=silent)
    with pytest.raises(HingelineError, match="needs a picture"):
        find_answer(_shot(lens="90"), [("face", "1 m")], [], save_shot=path, progress=silent)


def test_what_lies_outside_the_frame_is_noted() -> None:
    """A pond at one's feet is not in the picture of a level 90 mm; shifted down it may be."""
    pond = [("point", "pond=9 m, 0 m")]
    level = find_answer(_shot(height="1.6", lens="90"), pond, [], progress=silent)
    shifted = find_answer(_shot(height="1.6", lens="90", rise="down 8"), pond, [], progress=silent)

    assert any("pond lies below the frame" in note for note in level.notes)
    assert answer_lines(level)[0].startswith("Frame again: pond lies below the frame")
    assert any(line.endswith("; but pond lies below the frame") for line in answer_lines(level))
    assert not any("pond" in note for note in shifted.notes)


def test_of_named_things_it_is_said_how_much_is_sharp(tmp_path: Path) -> None:
    """One point of a crate is solved for: the stop at which all of it is sharp is told, and kept.

    The shot names the crates, so that the verdict on it counts the same share and the same stop.
    """
    scene, path = two_crates(tmp_path, far_m=(3, 8)), tmp_path / "plan.toml"
    shot = merged(
        Shot(scene=str(scene)), {"width": "96", "lens-file": "long 90", "coc": "0.01"}, "{name}"
    )
    answer = find_answer(
        shot, [("row", "near crate to far crate")], [], save_shot=path, progress=silent
    )
    shares = {part.name: part.share for part in answer.parts}
    wholes = [line for line in answer_lines(answer) if "one point counts: f/" in line]
    stop = wholes[0].partition("one point counts: ")[2].split()[0]

    assert answer.checks[0] == "the row's first=near crate"
    assert 0.05 < shares["near crate"] < 0.95
    assert [line[:3] for line in wholes] == ["So:", "Not"]
    prepared = prepare(read_shot(path), silent, for_render=False)
    case = case_of(prepared)
    asked = named_sharpness(prepared, case)
    assert asked is not None
    assert asked.things[0].share == pytest.approx(shares["near crate"], abs=0.01)
    assert spell_f_number(asked.f_number) == stop


def test_the_f_number_asked_is_the_lens_nobody_named(roof: Shot) -> None:
    """It is solved at, is among what the lens has, and is called unusual where that leans."""
    row = [("point", "8 m, 0 m"), ("point", "60 m, 3 m")]
    bare = find_answer(_shot(height="1.6", pitch="5", lens="85", f="1.2"), row, [], progress=silent)
    area = [("point", "strip=30%,45%,70%,55%")]
    seen = find_answer(merged(roof, {"f": "1.8"}, "{name}"), area, [], only=True, progress=silent)

    for answer, asked, stop in ((bare, 1.2, 2.2), (seen, 1.8, 1.8)):  # 2.2 for slack
        assert answer.limits.widest_f_number == asked
        assert chosen_setting(answer).f_number == pytest.approx(stop, rel=0.03)
        (strange,) = (note for note in answer.notes if note.startswith("no usual"))
        assert f"tilting lens has f/{stop} (usual: f/2.8 to f/22)" in strange


@pytest.mark.parametrize(
    ("given", "sharp", "options", "sentence"),
    [
        ({}, [], {}, "nothing is asked for"),
        ({}, [("face", "1 m")], {}, "say which lens"),
        ({"lens": "90", "lens_file": "wide 24"}, [("face", "1 m")], {}, "leave one of them out"),
        ({"lens_file": "wide 24", "f": "1.2"}, [("face", "1 m")], {}, "does not open to f/1.2"),
        ({"lens": "90"}, [("point", "=8 m, 0 m")], {}, "no name before its ="),
        ({"lens": "90"}, [("face", "a=1 m"), ("face", "a=2 m")], {}, 'two things are called "a"'),
        ({"lens": "90"}, [("face", "1 m")], {"move": "shift"}, "choose one of both"),
        ({"lens": "90"}, [("face", "1 m")], {"only": True}, "needs a picture"),
        ({"lens": "90"}, [], {"band": True}, "--band needs a picture"),
        ({"lens": "90"}, [], {"only": True}, "nothing is asked"),
        ({"lens": "90", "horizon": "30%"}, [("face", "1 m")], {}, "--horizon needs a picture"),
        (
            {"lens": "90", "height": "2"},
            [("point", "5 m, 1 m"), ("point", "10 m, 0 m")],
            {},
            "one ray",
        ),
    ],
)
def test_what_cannot_be_answered_is_said(
    given: dict[str, str], sharp: list[tuple[str, str]], options: dict[str, object], sentence: str
) -> None:
    """Missing, contradictory or impossible wishes end in one sentence."""
    with pytest.raises(HingelineError, match=sentence):
        find_answer(_shot(**given), sharp, [], progress=silent, **options)  # type: ignore[arg-type]
