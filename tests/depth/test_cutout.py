"""A thing's outline found from a spot."""

import numpy as np
import pytest

from render.depth.cutout import thing_at
from render.errors import InputError

cv2 = pytest.importorskip("cv2")


def _picture() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(4)
    picture = rng.uniform(0.15, 0.3, (200, 300, 1)) * np.array([0.9, 1.0, 0.7])
    rows, columns = np.ogrid[:200, :300]
    thing = np.hypot((rows - 100) / 1.5, columns - 160) < 35
    picture[thing] = rng.uniform(0.4, 0.6, (int(thing.sum()), 1)) * np.array([1.0, 0.25, 0.2])
    return picture.astype(np.float32), thing


def test_a_spot_finds_the_thing_around_it():
    """A red oval on noise is found from any spot inside it, nine tenths of union shared."""
    picture, thing = _picture()

    for spot in ((160, 100), (150, 75)):
        found = thing_at(picture, spot, size_share=0.6)
        assert (found & thing).sum() / (found | thing).sum() > 0.9


def test_a_box_bounds_the_search():
    """Nothing outside the box belongs to the thing."""
    picture, thing = _picture()

    found = thing_at(picture, (160, 100), box_px=(115, 40, 205, 160))

    assert (found & thing).sum() / (found | thing).sum() > 0.9
    assert not found[:39].any()


def test_a_spot_on_nothing_is_refused():
    """A spot outside the picture, outside its box or on plain ground is refused."""
    picture, _ = _picture()
    plain = np.full((100, 100, 3), 0.3, np.float32)

    with pytest.raises(InputError, match="outside the 300 x 200 px"):
        thing_at(picture, (400, 10))
    with pytest.raises(InputError, match="outside its own box"):
        thing_at(picture, (10, 10), box_px=(100, 100, 150, 150))
    with pytest.raises(InputError, match="no thing stands out"):
        thing_at(plain, (50, 50))


def test_without_opencv_the_extra_is_named(monkeypatch):
    """Where OpenCV is missing the sentence names what to install."""
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)

    with pytest.raises(InputError, match=r'pip install "\.\[vision\]"'):
        thing_at(_picture()[0], (160, 100))


def test_a_second_click_adds_a_part_or_takes_one_away():
    """Two ovals of different colours become one thing, or the wrong one is left out again."""
    picture, thing = _picture()
    rows, columns = np.ogrid[:200, :300]
    other = np.hypot(rows - 100, columns - 215) < 22
    picture[other] = (0.15, 0.2, 0.7)

    both = thing_at(picture, (150, 100), more_px=[(215, 100)], size_share=0.6)
    one = thing_at(picture, (150, 100), less_px=[(215, 100)], size_share=0.6)

    assert (both & (thing | other)).sum() / (both | thing | other).sum() > 0.85
    assert not one[100, 215]
    assert one[100, 150]
