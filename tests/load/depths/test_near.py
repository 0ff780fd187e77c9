"""Near things of a shot in the depth of its picture."""

from dataclasses import replace

import numpy as np
import pytest

from render.depth.depthmap import DepthMap, Unsaid
from render.errors import InputError
from render.load.depths.near import near_outside, with_near
from render.optics.camera import Camera, Window
from render.scene.scene import Scene
from render.shot.depthkeys import DepthKeys, read_near

CAMERA = Camera(120, 80, 150.0)
FLAT = DepthMap(np.full((80, 120), 50, np.float32), "ground", 0.05, (), Unsaid(near=True))


def _picture() -> np.ndarray:
    picture = np.full((80, 120, 3), 0.4, np.float32)
    picture[60:66] = 0.03
    return picture


def test_a_stroke_stands_where_it_was_drawn_at_its_distance() -> None:
    """The rail is 3 m away, all else stays, and nothing near is unsaid any more."""
    keys = DepthKeys(near=(read_near("4%,79% 96%,79% 3 m"),))

    made = with_near(FLAT, keys, _picture(), CAMERA)

    assert np.all(made.depth_m[61:65, 10:110] == 3)
    assert np.all(made.depth_m[:57] == 50)
    assert not made.unsaid.near
    assert made.typical_uncertainty == pytest.approx(0.05)
    assert "with 1 near thing" in made.how


def test_none_answers_the_question_and_changes_nothing() -> None:
    """Whoever says that nothing stands near has said it."""
    made = with_near(FLAT, DepthKeys(near=(read_near("none"),)), _picture(), CAMERA)

    np.testing.assert_array_equal(made.depth_m, FLAT.depth_m)
    assert not made.unsaid.near


def test_a_thing_that_cannot_be_cut_out_is_named_or_left_out() -> None:
    """The second is refused by its number; told to go on, the first stands and it is said."""
    keys = DepthKeys(near=(read_near("4%,79% 96%,79% 3 m"), read_near("200%,5% 300%,5% 2 m")))

    with pytest.raises(InputError, match="near thing 2: the stroke lies outside"):
        with_near(FLAT, keys, _picture(), CAMERA)
    made = with_near(FLAT, replace(keys, go_on=True), _picture(), CAMERA)

    assert made.depth_m[63, 60] == 3
    assert any("left out: near thing 2" in remark for remark in made.remarks)


def test_a_thing_outside_the_planned_frame_is_said_by_its_number() -> None:
    """Of two boxes the frame shows the second; none is said where it shows the whole picture."""
    keys = DepthKeys(
        near=(read_near("box 2%,5% 20%,25% 3 m"), read_near("box 40%,60% 60%,95% 2 m"))
    )
    made = with_near(FLAT, keys, _picture(), CAMERA)
    whole = Scene(_picture(), made.depth_m, CAMERA)
    narrow = replace(whole, window=Window(40, 40, 40, 40))

    assert near_outside(keys, whole, made.near) == []
    assert near_outside(keys, narrow, made.near) == [
        "near thing 1 lies outside the frame of this lens"
    ]


def test_of_two_things_the_nearer_is_seen() -> None:
    """A box at 2 m hides the rail behind it."""
    keys = DepthKeys(near=(read_near("4%,79% 96%,79% 3 m"), read_near("box 40%,60% 60%,95% 2 m")))

    made = with_near(FLAT, keys, _picture(), CAMERA)

    assert made.depth_m[63, 60] == 2
    assert made.depth_m[63, 20] == 3


def test_a_thing_behind_the_ground_at_its_foot_is_said() -> None:
    """At 80 m the ground at 50 m would hide it; what is cut out travels with the depth."""
    far = with_near(FLAT, DepthKeys(near=(read_near("4%,79% 96%,79% 80 m"),)), _picture(), CAMERA)
    fair = with_near(FLAT, DepthKeys(near=(read_near("4%,79% 96%,79% 55 m"),)), _picture(), CAMERA)

    assert any(
        "said to be 80.0 m away, but" in remark and "50.0 m" in remark for remark in far.remarks
    )
    assert not any("said to be" in remark for remark in fair.remarks)
    assert far.near is not None
    assert far.near[63, 60]
    assert not far.near[40, 60]


def test_a_spot_near_the_lens_is_mended_by_further_places() -> None:
    """The words of a standing thing: with a second place more is taken, without one less."""
    picture = np.full((80, 120, 3), 0.1, np.float32)
    picture[20:60, 20:60] = (0.6, 0.2, 0.2)
    picture[20:60, 60:95] = (0.2, 0.2, 0.6)

    def taken(words: str) -> float:
        made = with_near(FLAT, DepthKeys(near=(read_near(f"{words} 2 m"),)), picture, CAMERA)
        assert made.near is not None
        return float(made.near.sum()) / (40 * 40)

    assert taken("spot 33%,50% without 70%,50%") == pytest.approx(1.0, abs=0.15)
    assert taken("spot 33%,50% with 72%,50%") == pytest.approx(1.875, abs=0.3)
