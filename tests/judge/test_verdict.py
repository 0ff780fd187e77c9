"""The verdict as a whole."""

import dataclasses
import math

import numpy as np
import pytest

from render.errors import InputError, SettingError
from render.judge.score import Word
from render.judge.verdict import judge
from render.optics.lens import FocusDistance


def test_stopping_down_weakens_it_step_by_step(roof, front):
    """From f/2.8 to f/22 the score falls at every stop, from "reads" to "won't"."""
    here = roof()
    scene = here.scene([front(here.foot_m, 2.0, -3.0, 3.0)])
    found = [judge(scene, here.setting(n)) for n in (2.8, 4, 5.6, 8, 11, 16, 22)]
    scores = [v.score.value for v in found]

    assert scores == sorted(scores, reverse=True)
    assert found[0].word is Word.READS
    assert found[-1].word is Word.WONT


def test_blur_that_runs_the_wrong_way_costs_more_than_two_stops(roof):
    """Orientation is crucial, rate less so (Meese, Baker & Summers 2023)."""
    here = roof()
    right, wrong = judge(here.scene(), here.setting(4)), judge(here.scene(), here.setting(4, 0, 8))
    half, double = judge(here.scene(), here.setting(8)), judge(here.scene(), here.setting(2))

    assert right.score.value - wrong.score.value > right.score.value - half.score.value > 0
    assert right.score.value - wrong.score.value > abs(double.score.value - right.score.value)
    assert wrong.reads_as is None
    assert "does not follow" in wrong.sentence


def test_votes_spread_as_published(roof, front):
    """True depth blur: no spread and C near 1; a vertical gradient a little; sideways the most.

    Ordering of Held et al. 2010, Fig. 9 (caption).
    """
    here = roof()
    houses = [
        front(45.0, 6.0, -9.0, -4.0),
        front(54.9, 6.0, -2.0, 3.0),
        front(66.0, 6.0, 6.0, 12.0),
    ]
    scene = here.scene(houses)
    plain = dataclasses.replace(here.setting(0.118, 0.0), focus=FocusDistance(here.focus_m))
    true, vertical, sideways = (
        judge(scene, s).measures for s in (plain, here.setting(4), here.setting(4, 0, 8))
    )

    assert true.spread_ln == pytest.approx(0, abs=1e-3)
    assert true.spread_ln < vertical.spread_ln < sideways.spread_ln
    assert true.follows > 0.999 > vertical.follows > 0.6 > sideways.follows
    assert true.correlation > vertical.correlation > 0.6 > sideways.correlation


def test_the_landscape_tilt_is_all_sharp_and_wont_read(roof):
    """At sin t0 = f cos p / h the whole ground is sharp: "won't", and it says why."""
    here = roof()
    t0 = math.degrees(math.asin(0.09 * math.cos(math.radians(20)) / 20))
    found = judge(here.scene(), here.setting(2.8, t0))

    assert found.measures.pupil_m < 1e-5
    assert found.word is Word.WONT
    assert "everything is sharp" in found.sentence
    assert found.reads_as is None or found.reads_as.denominator < 0.01


def test_a_plain_lens_never_does_it_from_a_roof(roof):
    """90 mm at f/2.8 without tilt reads as 1:7 at 8.4 m: won't."""
    found = judge(roof().scene(), roof().setting(2.8, 0.0), coc_mm=0.03)

    assert found.word is Word.WONT
    assert found.reads_as.denominator == pytest.approx(7, abs=0.05)
    assert found.apparent_m == pytest.approx(8.37, abs=0.01)
    assert found.strength == "none"


def test_only_the_scale_changes_when_scene_and_pupil_shrink_together(roof):
    """All marks stay when distances and the pupil are divided alike.

    The sensor distance is kept, so the 1:10 copy needs the shorter lens of the same extension.
    """
    here = roof(height_m=2.0, pitch_deg=30.0, focal_mm=50.0)
    big = judge(here.scene(), here.setting(2.0, 0.0), coc_mm=0.03)
    setting = here.setting(2.0, 0.0)
    extension = 1 / (1 / 50 - 1 / (1000 * here.focus_m))
    focal = 1 / (1 / extension + 10 / (1000 * here.focus_m))
    small = dataclasses.replace(
        setting,
        focal_mm=focal,
        f_number=focal / 2.5,
        focus=dataclasses.replace(setting.focus, depth_m=here.focus_m / 10),
    )
    copy = judge(here.scene(scale=10.0), small, coc_mm=0.03)

    assert copy.marks.as_tuple()[1:] == pytest.approx(big.marks.as_tuple()[1:], abs=1e-4)
    assert copy.measures.edge_blur == pytest.approx(big.measures.edge_blur, rel=1e-5)
    assert copy.reads_as.denominator == pytest.approx(big.reads_as.denominator / 10, rel=1e-4)
    assert copy.apparent_m == pytest.approx(big.apparent_m, rel=1e-4)


def test_a_low_look_with_sky_kills_it(roof):
    """4 m up, 5 degrees down, 45 mm, wide open: the viewpoint alone makes it "won't"."""
    here = roof(height_m=4.0, pitch_deg=5.0, focal_mm=45.0)
    found = judge(here.scene(), here.setting(2.8))

    assert found.word is Word.WONT
    assert found.marks.viewpoint < 0.02
    assert found.marks.weakest == "viewpoint"


def test_an_unknown_vantage_is_found_from_the_ground(roof):
    """Without height and pitch the verdict is the same, with a remark."""
    here = roof()
    known, found = (judge(here.scene(known=k), here.setting(4)) for k in (True, False))

    assert found.score.value == pytest.approx(known.score.value, abs=0.1)
    assert "found from the depth" in found.remarks[0]


def test_same_input_same_verdict_and_the_scene_is_not_touched(roof):
    """Two runs agree to the last digit."""
    here = roof()
    scene = here.scene()
    one, two = judge(scene, here.setting(4)), judge(scene, here.setting(4))

    assert one.score == two.score
    assert one.sentence == two.sentence
    assert not scene.depth_m.flags.writeable


def test_sky_in_the_frame_is_no_trouble(roof):
    """Infinite depth, a tiny picture, a swing and a tilt together give finite marks."""
    here = roof(pitch_deg=3.0, size_px=(12, 8))
    found = judge(here.scene(), here.setting(2.8, -5, 4))

    assert 0 < found.stance.sky_share < 1
    assert np.all(np.isfinite(found.marks.as_tuple()))


@pytest.mark.parametrize(
    "wrong",
    [
        {"coc_mm": 0.0},
        {"coc_mm": math.nan},
        {"reference_pupil_mm": -1.0},
        {"visual_range_m": 0.0},
        {"small_things": -1},
        {"depth_error": math.nan},
    ],
)
def test_numbers_out_of_range_are_refused_in_one_sentence(roof, wrong):
    """Each bad number is named."""
    with pytest.raises(SettingError, match=r"must be"):
        judge(roof().scene(), roof().setting(4), **wrong)


def test_doubt_about_the_depth_widens_the_range(roof):
    """A depth map that may be 60 % off widens the ranges of score and scale."""
    here = roof()
    sure, unsure = (judge(here.scene(), here.setting(8), depth_error=e).score for e in (0, 0.6))

    assert unsure.high - unsure.low > sure.high - sure.low
    scale = judge(here.scene(), here.setting(8), depth_error=0.6).reads_as
    assert scale.high / judge(here.scene(), here.setting(8)).reads_as.high == pytest.approx(
        math.exp(0.6), rel=1e-6
    )


def test_nothing_but_sky_is_an_input_error(roof):
    """A frame of sky is refused."""
    here = roof(size_px=(6, 4))
    scene = dataclasses.replace(here.scene(), depth_m=np.full((4, 6), np.inf, np.float32))
    with pytest.raises(InputError, match="sky"):
        judge(scene, here.setting(4))


def test_diffraction_is_remarked_where_it_beats_the_circle_of_confusion(roof):
    """At f/22 every point spreads over 30 µm; at f/8 nothing is said."""
    here = roof()

    assert any("diffraction" in r for r in judge(here.scene(), here.setting(22)).remarks)
    assert not any("diffraction" in r for r in judge(here.scene(), here.setting(8)).remarks)
