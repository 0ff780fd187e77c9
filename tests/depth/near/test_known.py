"""Things along a stroke that the small network knows."""

import numpy as np

from render.depth.near.known import known_along


def _blocks() -> np.ndarray:
    """Blocks of a few greys and browns, with grain."""
    rng = np.random.default_rng(4)
    blocks = rng.uniform(0.1, 0.5, (20, 30, 1)) * rng.uniform(0.8, 1.0, (20, 30, 3))
    grain = rng.normal(0, 0.01, (200, 300, 3))
    return np.asarray(blocks.repeat(10, axis=0).repeat(10, axis=1) + grain, np.float32)


def test_a_rail_in_the_colours_behind_it_is_known_by_its_line() -> None:
    """A lit bar of a middle brown over browns, its width said three times too large."""
    picture, rail = _blocks(), np.zeros((200, 300), bool)
    rail[96:104] = True
    picture[96:104] = np.linspace(0.4, 0.16, 8)[:, None, None] * np.array([1.0, 0.9, 0.85])
    line = np.array([(10.0, 102.0), (150.0, 98.0), (290.0, 101.0)])

    found = known_along(picture, line, 24.0)

    assert found is not None
    assert (found & rail).sum() > 0.85 * (found | rail).sum()


def test_a_stroke_along_nothing_is_not_known() -> None:
    """On bare noise there is no thing to know."""
    picture = np.random.default_rng(1).uniform(0, 1, (200, 300, 3)).astype(np.float32)

    assert known_along(picture, np.array([(20.0, 100.0), (280.0, 110.0)]), 8.0) is None
