"""Whether a camera stood still."""

import numpy as np
import pytest
from scipy import ndimage

from render.film.stillness import shift_px, stillness


def _texture(seed: int = 1, size: tuple[int, int] = (180, 260)) -> np.ndarray:
    noise = np.random.default_rng(seed).uniform(0, 1, size)
    return np.asarray(ndimage.gaussian_filter(noise, 1.5), np.float32)


def _light(grey: np.ndarray) -> np.ndarray:
    return np.repeat(grey[..., None], 3, axis=2).astype(np.float32)


@pytest.mark.parametrize(("right", "down"), [(0, 0), (3, -2), (-7, 5)])
def test_whole_shifts_are_found(right: int, down: int) -> None:
    """A picture moved by whole pixels: to a tenth of one."""
    big = _texture()
    one, other = big[20:160, 20:240], big[20 - down : 160 - down, 20 - right : 240 - right]

    found = shift_px(one, other)
    assert found[:2] == pytest.approx((right, down), abs=0.1)
    assert found[2] > 0.1


def test_a_still_camera_is_still_whoever_walks_through() -> None:
    """A quarter of the picture changes, and light flickers by a tenth: nothing moved."""
    still = _texture()
    frames = []
    for k in range(4):
        frame = still * (1 + 0.1 * (k % 2))
        frame[100:150, 20 + 50 * k : 70 + 50 * k] = 0.9
        frames.append(_light(frame))
    found = stillness(frames)

    assert found.sure
    assert found.most_px < 0.3


def test_a_pan_and_a_zoom_are_found() -> None:
    """Two pixels aside; or 3 % larger, which moves quarters apart and the middle not at all."""
    big = _texture(size=(240, 360))
    pan = stillness([_light(big[20:200, 20 : 20 + 260]), _light(big[20:200, 22 : 22 + 260])])
    zoomed = ndimage.zoom(big, 1.03, order=1)[3:243, 5:365]
    zoom = stillness([_light(big), _light(zoomed)])

    assert pan.most_px == pytest.approx(2.0, abs=0.2)
    assert zoom.most_px > 1.0


def test_where_there_is_nothing_to_hold_on_to_it_is_not_sure() -> None:
    """Fresh noise in every frame tells nothing."""
    rng = np.random.default_rng(4)
    frames = [_light(rng.uniform(0.4, 0.6, (90, 120))) for _ in range(3)]

    assert not stillness(frames).sure
