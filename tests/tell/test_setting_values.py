"""A lens setting as the words of a shot."""

from dataclasses import replace
from pathlib import Path

import pytest

from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot
from render.optics.plane import focus_lens
from render.shot.keyframes import read_key_frame
from render.shot.shot import Shot, merged, shot_keys
from render.tell.judged import judge_prepared, judged_lines
from render.tell.setting_values import advised_values, in_full, option_words, setting_values
from tests.places import noise, two_crates


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Noise on level ground, faintly tilted."""
    return prepare(noise(tmp_path_factory.mktemp("noise")), silent)


def _applied(prepared: Prepared, values: dict[str, str | None]) -> Prepared:
    given = {**dict(prepared.shot.written), **{k: v for k, v in values.items() if v}}
    return prepare(merged(Shot(picture=prepared.shot.picture), given, "{name}"), silent)


@pytest.mark.parametrize(
    "change",
    [
        {"tilt_deg": -7.25, "f_number": 2.8},
        {"swing_deg": 3.0, "focal_mm": 85.0},
        {"rise_mm": -4.0, "lateral_mm": 2.5},
        {"focus": FocusDistance(18.5)},
        {"focus": FocusExtension(50.6)},
        {"focus": FocusSpot(0.02, 0.05, 9.0)},
    ],
)
def test_any_setting_can_be_written_as_values(prepared: Prepared, change: dict[str, float]) -> None:
    """What is written turns the shot into the wanted setting: same movements, same extension."""
    wanted = replace(prepared.setting, **change)
    found = _applied(prepared, setting_values(wanted, prepared)).setting

    for name in ("tilt_deg", "swing_deg", "rise_mm", "lateral_mm", "f_number", "focal_mm"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name))
    if "focus" in change:
        assert focus_lens(found).extension_mm == pytest.approx(
            focus_lens(wanted).extension_mm, abs=2e-4
        )


def test_the_same_setting_needs_no_values(prepared: Prepared) -> None:
    """Nothing changes, nothing is written."""
    assert setting_values(prepared.setting, prepared) == {}


def test_a_shot_in_full_holds_what_nobody_gave(tmp_path: Path) -> None:
    """The lens, stop, turns and focus that a scene suggests: read again it is set the same."""
    scene = Shot(scene=str(two_crates(tmp_path, far_m=(3, 20))))
    bare = merged(scene, {"width": "96"}, "{name}")
    suggested = prepare(bare, silent, for_render=False)
    whole = in_full(bare, suggested)
    said = dict(whole.written)

    assert said == {
        "width": "96",
        "lens": "90",
        "f": "2.8",
        "tilt": "up 8",
        "focus": "near crate",
    }
    again = prepare(whole, silent, for_render=False)
    assert again.setting == suggested.setting
    moving = replace(bare, key_frames=(read_key_frame("0 s: tilt=0", shot_keys()),))
    assert "tilt" not in dict(in_full(moving, suggested).written)
    other = merged(bare, {"lens-file": "long 135", "focus": "50%,60%"}, "{name}")
    assert dict(in_full(other, suggested).written)["focus"] == "50%,60%"
    assert "lens" not in dict(in_full(other, suggested).written)


def test_values_are_options_to_type() -> None:
    """Quoted where a shell would split them; a turn that is taken away is 0."""
    values = {"tilt": "up 8", "f": "4", "swing": None, "focus": "50%,62%"}

    assert option_words(values) == '--tilt "up 8" --f 4 --swing 0 --focus "50%,62%"'


def test_the_first_advice_can_be_typed_and_gives_the_promised_score(prepared: Prepared) -> None:
    """A band laid elsewhere is said as an option, a spot of the picture; typed, it scores so."""
    wrong = _applied(prepared, {"tilt": "up 8", "f": "2.8", "focus": "50%,22%"})
    judged = judge_prepared(wrong)
    laid = next(line for line in judged.advice if line.text.startswith("lay the band"))
    first = replace(judged, advice=(laid,))
    values = advised_values(laid, wrong)
    typed = judge_prepared(_applied(prepared, {"tilt": "up 8", "f": "2.8", **values}))

    of = "--focus in shares of the whole picture"
    assert f"As options ({of}): {option_words(values)}" in judged_lines(first)
    assert list(values) == ["focus"]
    assert "%" in str(values["focus"])
    assert typed.verdict.score.value == pytest.approx(laid.after, abs=0.5)
