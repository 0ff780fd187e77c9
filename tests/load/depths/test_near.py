"""Near things of a shot in the depth of its picture."""

from dataclasses import replace

import numpy as np
import pytest

from render.depth.depthmap import DepthMap, Unsaid
from render.errors import InputError
from render.load.depths.near import with_near
from render.optics.camera import Camera
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


def test_of_two_things_the_nearer_is_seen() -> None:
    """A box at 2 m hides the rail behind it."""
    keys = DepthKeys(near=(read_near("4%,79% 96%,79% 3 m"), read_near("box 40%,60% 60%,95% 2 m")))

    made = with_near(FLAT, keys, _picture(), CAMERA)

    assert made.depth_m[63, 60] == 2
    assert made.depth_m[63, 20] == 3
