"""Shapes are made once for all that look alike."""

from dataclasses import replace

from render.trace.tree.shapes import Meshes, drawn_for, words_of
from tests.world.worlds import described

_FLAG = {"kind": "flag", "moves": {"path_m": [[0, 0], [5, 0]], "speed_m_s": 2}}


def test_equal_things_share_their_shapes_and_those_of_their_parts() -> None:
    """Another size is another shape, and so is another share of the period."""
    scene = described([{"kind": "flag"}, {"kind": "flag", "height_m": 9}])
    meshes, (one, large) = Meshes(scene), scene.things
    again = replace(one, name="flag")

    assert meshes.of(one, 0) is meshes.of(again, 0)
    assert meshes.of(one, 0) is not meshes.of(large, 0)
    assert meshes.of_part(one, 0, 0, 3) is meshes.of_part(again, 0, 0, 3)
    assert meshes.of_part(one, 0, 0, 3) is not meshes.of_part(one, 0, 0, 4)


def test_a_thing_knows_how_fast_it_goes_and_draws_the_same_numbers_again() -> None:
    """Its wake needs the speed; a variant of its own draws others."""
    going = described([_FLAG]).things[0]

    assert words_of(going)["speed_m_s"] == 2
    assert words_of(replace(going, motion=None))["speed_m_s"] == 0
    assert drawn_for(going, 0).random() == drawn_for(going, 0).random()
    assert drawn_for(going, 0).random() != drawn_for(going, 1).random()


def test_houses_of_the_same_words_differ_by_seed_and_rows_of_them_share_few_shapes() -> None:
    """Two that stand alone have a shape each; rows of any seeds draw from two between them."""
    house = {"kind": "house", "size_m": [5, 5, 3], "chimneys": 0}
    row = {"array": {"count": [2, 1], "step_m": [6, 0]}}
    things = [
        {**house, "seed": 1},
        {**house, "seed": 2, "at_m": [20, 0]},
        {**house, **row, "seed": 1, "at_m": [0, 20]},
        {**house, **row, "seed": 2, "at_m": [0, 40]},
    ]
    scene = described(things)
    meshes, (alone, other, first, second) = Meshes(scene), scene.things

    assert meshes.of(alone, 0) is not meshes.of(other, 0)
    assert meshes.of(first, 0) is meshes.of(second, 0)
    assert meshes.of(first, 1) is not meshes.of(first, 0)
