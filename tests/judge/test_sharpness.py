"""Jobs that are no miniatures."""

import dataclasses

import numpy as np
import pytest

from render.judge.case import look
from render.judge.score import Word
from render.judge.sharpness import Asked, Sharpness, holds_best, is_no_miniature, sharpness
from render.judge.verdict import judge_case
from render.optics.camera import Camera, Sensor
from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.limits import usual_limits
from render.optics.solving.selective import Region
from render.optics.solving.targets import Target
from render.scene.scene import Scene
from render.words import blur_words, spell_f_number

NEAR, FAR = Target(-0.1, 0.0, 2.0, name="left sitter"), Target(0.1, 0.0, 2.6, name="right sitter")


def _pair():
    """Two sitters, 2.0 and 2.6 m away, before a wall at 5 m."""
    camera = Camera.from_lens(180, 120, 90.0, Sensor())
    depth = np.full((120, 180), 5.0, np.float32)
    depth[40:, 20:70], depth[40:, 110:160] = 2.0, 2.6
    picture = np.random.default_rng(0).random((120, 180, 3), dtype=np.float32)
    return look(Scene(picture, depth, camera))


def _setting(f_number, swing_deg=0.0):
    return LensSetting(
        focal_mm=90, f_number=f_number, focus=FocusSpot(-0.1, 0.0, 2.0), swing_deg=swing_deg
    )


def _no_miniature(case, setting, *names):
    return is_no_miniature(case, setting, judge_case(case, setting), *names)


def test_a_portrait_is_no_miniature_and_a_roof_is_one(roof):
    """By what the shot focuses on, not by its tilt."""
    case, here = _pair(), roof()
    far = look(here.scene())

    assert _no_miniature(case, _setting(2.8))
    assert not _no_miniature(far, here.setting(2.8, 0.0))
    assert not _no_miniature(far, here.setting(2.8))


def test_who_names_two_things_asks_for_those(roof, front):
    """Unless a model comes of it: then both are told."""
    here = roof()
    case = look(here.scene([front(here.foot_m, 2.0, -3.0, 3.0)]))
    reads, might = (judge_case(case, here.setting(stop)) for stop in (2.8, 9.5))

    assert reads.word is Word.READS
    assert might.word is Word.MIGHT
    assert not is_no_miniature(case, reads.setting, reads, (NEAR, FAR))
    assert is_no_miniature(case, might.setting, might, (NEAR, FAR))
    assert is_no_miniature(case, might.setting, might, (NEAR,), ("right sitter",))
    assert not is_no_miniature(case, might.setting, might, (FAR,))


def test_who_names_one_thing_before_a_straight_lens_asks_for_no_model(roof):
    """Who leaves the lens straight does not want to hear of tilts; a tilted lens asks for one."""
    here = roof()
    case = look(here.scene())

    assert _no_miniature(case, here.setting(2.8, 0.0), (FAR,))
    assert _no_miniature(case, here.setting(2.8, 0.0), (), ("fountain",))
    assert not _no_miniature(case, here.setting(16.0), (FAR,))


def test_what_lies_outside_the_frame_is_asked_for_all_the_same():
    """It counts as not sharp, and the line says to turn."""
    case, setting = _pair(), _setting(2.8)
    found = sharpness(case, setting, (NEAR,), unseen=("right sitter",))

    assert found.count == "1 of 2 sharp"
    assert not found.as_asked
    assert "right sitter not in the frame" in found.sentence
    assert found.to_do(setting).endswith("right sitter lies outside the frame")


def test_what_is_asked_for_is_sharp_or_soft_by_the_circle_of_confusion():
    """The one focused on is sharp, the other soft, and the sentence says so."""
    case = _pair()
    found = sharpness(case, _setting(2.8), (NEAR, FAR))

    assert [thing.sharp for thing in found.things] == [True, False]
    assert "left sitter sharp (0 %), right sitter soft (" in found.sentence
    assert f"sharp up to {blur_words(100 * found.circle)}," in found.sentence
    assert 0.5 < found.soft_share <= 1


def test_a_thing_that_is_sharp_in_part_is_told_so():
    """By the share of what shows of it, as `solve --only` counts it, wherever its place lies."""
    case, setting = _pair(), _setting(2.8)
    both = Region(np.array([(t.slope_x, t.slope_y) for t in (NEAR, FAR, FAR, FAR)]),
                  np.array([1.0 / t.depth_m for t in (NEAR, FAR, FAR, FAR)]))  # fmt: skip
    near = sharpness(case, setting, (NEAR,), shown={NEAR.name: both})
    far = sharpness(case, setting, (FAR,), shown={FAR.name: both})

    assert "left sitter sharp (0 % at one spot, 25 % of it sharp)" in near.sentence
    assert (near.count, near.as_asked) == ("left sitter sharp in part", True)
    assert "left sitter is sharp in part, and no stop mends that" in near.to_do(setting)
    narrow = dataclasses.replace(usual_limits(90), smallest_f_number=64.0)
    stop = spell_f_number(near.f_number)
    assert f"left sitter is sharp in part: stop down to {stop}," in near.to_do(setting, narrow)
    there = dataclasses.replace(setting, f_number=near.f_number)
    assert sharpness(case, there, (NEAR,), shown={NEAR.name: both}).things[0].share == 1.0
    assert far.things[0].in_part
    assert not sharpness(case, setting, (NEAR,)).things[0].in_part


def test_what_nobody_can_tell_apart_is_as_soft():
    """Shares that print the same per cent are alike, and a flat facade has none to choose from."""

    def found(*shares):
        crisp = (Asked("pot", 0.0, sharp=True),)
        return [Sharpness(crisp, share, 1e-3, 1e-3, 2.8) for share in shares]

    assert holds_best(found(0.2, 0.612, 0.608, 0.5)) == (1, 2)
    assert holds_best(found(0.001, 0.0, 0.002)) == (1, 3)
    assert holds_best(found(0.001, 0.0, 0.002), now=0) == (0, 3)  # nothing need be turned
    assert holds_best(found(0.001, 0.3, 0.002), now=0) == (1, 1)
    assert holds_best([dataclasses.replace(found(0.3)[0], unseen=("jug",))]) == (None, 0)


def test_the_stop_it_names_makes_both_sharp():
    """And a wider one does not: blur goes as 1/N."""
    case = _pair()
    wanted = sharpness(case, _setting(2.8), (NEAR, FAR)).f_number
    there = sharpness(case, _setting(wanted), (NEAR, FAR))
    wider = sharpness(case, _setting(wanted / 1.3), (NEAR, FAR))

    assert all(thing.sharp for thing in there.things)
    assert not all(thing.sharp for thing in wider.things)
    verdict = judge_case(case, _setting(wanted))
    assert there.circle == pytest.approx(verdict.measures.coc_fraction)
    assert max(thing.blur for thing in there.things) <= 1.05 * there.circle
    assert there.to_do(_setting(wanted)) == "nothing: what was asked for is sharp"

    worst = max(thing.blur for thing in there.things)
    tight = dataclasses.replace(there, circle=worst / 1.04)
    assert f"right sitter just sharp ({blur_words(100 * worst)})" in tight.sentence
    assert f", just sharp to {blur_words(105 * tight.circle)}, plainly" in tight.sentence
    assert "just sharp" not in there.sentence


def test_the_stops_it_names_are_on_the_lens():
    """Opened no wider than it goes; one that ends before the stop that helps is told so."""
    case, lens = _pair(), usual_limits(50.0)
    alone, both = (
        sharpness(case, _setting(8.0), (NEAR,)),
        sharpness(case, _setting(2.8), (NEAR, FAR)),
    )

    opened = dataclasses.replace(lens, widest_f_number=4.0)
    assert "stays so opened to f/4 if" in alone.to_do(_setting(8.0), opened)
    shut = dataclasses.replace(lens, smallest_f_number=45.0)
    assert "stop down to f/36" in both.to_do(_setting(2.8), shut)
    assert "no stop mends that" in both.to_do(_setting(2.8), lens)
    assert "stays so opened to f/2.8 if" in alone.to_do(_setting(8.0))  # a usual lens


def test_no_stop_is_named_where_none_would_do():
    """Then the tilt has to do it."""
    text = sharpness(_pair(), _setting(1.4), (dataclasses.replace(FAR, depth_m=40.0),)).to_do(
        _setting(1.4)
    )

    assert "no stop mends that" in text


@pytest.mark.parametrize("focus", [FocusSpot(-0.1, 0.0, 2.0), FocusDistance(2.0)])
def test_without_names_it_is_what_is_focused_on(focus):
    """A distance alone names no thing."""
    setting = dataclasses.replace(_setting(4), focus=focus)
    found = sharpness(_pair(), setting, ())

    assert [thing.name for thing in found.things] == (
        ["what is focused on"] if isinstance(focus, FocusSpot) else []
    )


def test_a_distance_at_which_nothing_stands_asks_for_no_face(roof):
    """Focused at half a metre from a roof all is soft, and the place is judged as a model."""
    here = roof()
    setting = dataclasses.replace(here.setting(2.8), focus=FocusDistance(0.5))

    assert not _no_miniature(look(here.scene()), setting)
    assert _no_miniature(_pair(), dataclasses.replace(_setting(2.8), focus=FocusDistance(2.0)))


@pytest.mark.parametrize("named", [(), (NEAR,)])
@pytest.mark.parametrize("swing_deg", [0.0, 4.0])
def test_an_extension_asks_for_what_the_spot_asks_for_that_it_was_solved_from(
    roof, named, swing_deg
):
    """A face stays a face, a roof a roof, whether the focus is said as a spot or an extension."""
    face, place = _pair(), roof()
    for case, setting, names, no_model in (
        (face, _setting(2.8, swing_deg), named, True),
        (look(place.scene()), place.setting(2.8), (), False),
    ):
        solved = dataclasses.replace(
            setting, focus=FocusExtension(focus_lens(setting).extension_mm)
        )
        assert _no_miniature(case, setting, names) is no_model
        assert _no_miniature(case, solved, names) is no_model


def test_where_nothing_is_named_a_name_is_asked_for():
    """A distance alone names nothing that could be sharp."""
    setting = dataclasses.replace(_setting(4), focus=FocusDistance(2.0))
    found = sharpness(_pair(), setting, ())

    assert found.sentence.startswith("For sharpness: ")
    assert "--check" in found.to_do(setting)
