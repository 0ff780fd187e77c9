"""The best setting of several lenses, each its own frame."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import HingelineError, SettingError
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.shot.declaring import Words, read_wishes
from render.shot.shot import Shot, merged
from render.shot.wishes import JudgeWishes
from render.tell.best import best_record, best_shot, best_to_do
from render.tell.judged import judge_prepared
from render.words import length_words

GIVEN: dict[str, Words] = {
    "view": "74",
    "height": "20",
    "pitch": "down 20",
    "near": ("none",),
    "tilt": "up 2",
    "f": "8",
}


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Noise, seen as by a 24 mm lens."""
    path = tmp_path_factory.mktemp("noise") / "noise.png"
    coarse = np.random.default_rng(2).integers(40, 220, (40, 60, 3), dtype=np.uint8)
    Image.fromarray(coarse).resize((240, 160), Image.Resampling.NEAREST).save(path)
    return path


def _prepared(picture: Path, **more: Words) -> Prepared:
    return prepare(merged(Shot(picture=str(picture)), GIVEN | more, "{name}"), silent)


def _best(prepared: Prepared, lenses: tuple[str, ...]):
    found = judge_prepared(prepared, JudgeWishes(best=True, lenses=lenses)).best
    assert found is not None
    return found


def test_of_several_lenses_the_best_is_said_with_its_frame_and_saved_as_it_judges(picture) -> None:
    """What is saved is judged as was promised; a lens wider than the picture says so."""
    prepared = _prepared(picture, lens="135")
    best = _best(prepared, ("17", "standard 45"))
    lines = best_to_do(best).lines
    again = prepare(best_shot(best), silent)

    assert [one.name for one in best.tried] == ["135 mm", "17 mm", "standard 45"]
    assert best.tried[1].found is None
    assert "17 mm not, as " in lines[-1]
    assert best.tried[best.chosen].name == "standard 45"
    assert "wide at the band in place of" in lines[0]
    assert "cut from the same picture" in lines[0]
    assert again.limits is not None
    assert again.limits.name == "standard 45"
    judged = judge_prepared(again)
    (place,) = [note.text for note in judged.notes if note.about == "place"]
    assert f"is {length_words(best.tried[best.chosen].wide_m)} wide at the band" in place
    after = judged.verdict.score.value
    assert after == pytest.approx(best_record(best)["after"], abs=0.5)
    assert [one["lens"] for one in best_record(best)["lenses"]] == [t.name for t in best.tried]


def test_the_frame_is_as_much_wider_as_the_lens_is_shorter(picture) -> None:
    """At one distance widths go as 1 over the focal length, but for the extension."""
    ninety, other = _best(_prepared(picture, lens="90"), ("45",)).tried
    per_metre = []
    for one in (ninety, other):
        assert one.case is not None
        assert one.found is not None
        band = one.found.assessment.measures.band
        depth_m = one.case.samples.depth_towards(band.centre_x, band.centre_y)
        per_metre.append(one.wide_m / depth_m)

    assert per_metre[0] == pytest.approx(per_metre[1] / 2, rel=0.02)


def test_where_the_shot_names_no_lens_only_those_to_choose_from_are(picture) -> None:
    """The widest that fits is nobody's lens."""
    assert [one.name for one in _best(_prepared(picture), ("45",)).tried] == ["45 mm"]


def test_ties_keep_the_lens_that_is_on_the_camera(picture) -> None:
    """The same focal length and limits again is the same lens."""
    assert [one.name for one in _best(_prepared(picture, lens="45"), ("45",)).tried] == ["45 mm"]


def test_an_extension_of_the_other_lens_is_not_kept(picture) -> None:
    """It would lay the focus elsewhere."""
    prepared = _prepared(picture, lens="45", focus="extension 45.1 mm")
    best = _best(prepared, ("90",))
    other = best.tried[1].prepared

    assert other is not None
    assert other.setting.focus != prepared.setting.focus


def test_no_lens_that_can_be_is_a_refusal(picture) -> None:
    """In the sentence of the first that was tried."""
    with pytest.raises(HingelineError, match="17 mm"):
        _best(_prepared(picture), ("17",))


@pytest.mark.parametrize("text", [",", "-4", "0", "45, 0"])
def test_lenses_that_are_none_are_refused(text: str) -> None:
    """Where they are read."""
    with pytest.raises(SettingError, match="lenses"):
        read_wishes(JudgeWishes, {"lenses": text}, "{name}")


def test_for_sharp_things_no_model_s_setting_is_sought(picture) -> None:
    """Who leaves the lens straight and names a thing is sent to solve."""
    prepared = _prepared(picture, tilt="0", check=("post=50%,60%",))
    judged = judge_prepared(prepared, JudgeWishes(best=True))

    assert judged.best is None
    assert judged.sharpness is not None
    assert replace(judged.sharpness, unseen=("x",)).count == "1 of 2 sharp"
