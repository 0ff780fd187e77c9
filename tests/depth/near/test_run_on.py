"""What goes on beyond a stroke comes along."""

import numpy as np

from render.depth.near.run_on import running_on


def _street() -> np.ndarray:
    rng = np.random.default_rng(4)
    blocks = rng.uniform(0.35, 0.8, (20, 30, 3)).astype(np.float32)
    return np.repeat(np.repeat(blocks, 10, axis=0), 10, axis=1)


def test_a_rail_is_followed_to_the_frame_past_a_post_and_to_its_own_end() -> None:
    """Found from 100 to 160 px, it runs on over a post to the left edge and ends at 240 px."""
    picture, rail = _street(), np.zeros((200, 300), bool)
    across = np.arange(240)
    top = 90 + across // 20
    for column in across:
        rail[top[column] : top[column] + 10, column] = True
    picture[rail] = 0.1
    picture[100:, 50:58] = 0.1
    known = rail.copy()
    known[:, :100] = known[:, 160:] = False

    found = running_on(picture, np.array([(102.0, 103.0), (158.0, 99.0)]), known)

    assert (found & rail).sum() > 0.93 * (found | rail).sum()


def test_what_has_its_own_ends_stays_as_it_is() -> None:
    """A rail that was found whole, and a broad dark house in line with it."""
    picture, rail = _street(), np.zeros((200, 300), bool)
    rail[100:110, 80:200] = True
    picture[rail] = 0.1
    picture[60:150, 204:290] = 0.1

    found = running_on(picture, np.array([(82.0, 104.0), (198.0, 106.0)]), rail)

    assert (found & ~rail).sum() < 0.05 * rail.sum()
