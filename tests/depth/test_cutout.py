"""A thing's outline found from a spot."""

import numpy as np
import pytest

from render.depth.cutout import cutout_by_spots, outline_around
from render.depth.outline import inside_outline
from render.errors import InputError


def _picture() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(4)
    picture = rng.uniform(0.15, 0.3, (200, 300, 1)) * np.array([0.9, 1.0, 0.7])
    rows, columns = np.ogrid[:200, :300]
    thing = np.hypot((rows - 100) / 1.5, columns - 160) < 35
    picture[thing] = rng.uniform(0.4, 0.6, (int(thing.sum()), 1)) * np.array([1.0, 0.25, 0.2])
    return picture.astype(np.float32), thing


def _overlap(found: np.ndarray, thing: np.ndarray) -> float:
    return float((found & thing).sum() / (found | thing).sum())


def test_a_spot_finds_the_thing_around_it() -> None:
    """A red oval on noise is found from any spot inside it, nine tenths of union shared."""
    picture, thing = _picture()

    for spot in ((160, 100), (150, 75)):
        assert _overlap(cutout_by_spots(picture, spot).region, thing) > 0.9


def test_a_thing_cut_off_by_the_frame_ends_there() -> None:
    """Half an oval at the border is that half."""
    picture, thing = _picture()

    found = cutout_by_spots(picture[:, 150:], (20, 100)).region

    assert _overlap(found, thing[:, 150:]) > 0.85


def test_the_outline_is_found_at_every_size_of_the_picture() -> None:
    """Five times as many pixels each way, and more than are worked on, give the same thing."""
    picture, thing = _picture()
    large, whole = (part.repeat(5, axis=0).repeat(5, axis=1) for part in (picture, thing))

    found = cutout_by_spots(large, (800, 500)).region

    assert found.shape == (1000, 1500)
    assert _overlap(found, whole) > 0.9


def test_a_spot_on_nothing_is_refused() -> None:
    """A spot outside the picture, or on plain ground."""
    picture, _ = _picture()
    plain = np.full((100, 100, 3), 0.3, np.float32)

    with pytest.raises(InputError, match="outside the 300 x 200 px"):
        cutout_by_spots(picture, (400, 10))
    with pytest.raises(InputError, match="outside the 300 x 200 px"):
        cutout_by_spots(picture, (160, 100), less_px=[(160, 300)])
    with pytest.raises(InputError, match="no thing stands out"):
        cutout_by_spots(plain, (50, 50))


def test_an_outline_is_found_by_opencv_or_its_extra_is_named(monkeypatch) -> None:
    """The corners hold the region again; where OpenCV is missing the sentence says what to do."""
    pytest.importorskip("cv2")
    _, thing = _picture()

    corners = outline_around(thing)

    assert len(corners) <= 48
    assert _overlap(inside_outline(200, 300, corners), thing) > 0.95
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    with pytest.raises(InputError, match=r'pip install "\.\[vision\]"'):
        outline_around(thing)


def test_a_second_click_adds_a_part_or_takes_one_away() -> None:
    """Two ovals of different colours become one thing, or the wrong one is left out again."""
    picture, thing = _picture()
    rows, columns = np.ogrid[:200, :300]
    other = np.hypot(rows - 100, columns - 215) < 22
    picture[other] = (0.15, 0.2, 0.7)

    both = cutout_by_spots(picture, (150, 100), more_px=[(215, 100)]).region
    one = cutout_by_spots(picture, (150, 100), less_px=[(215, 100)]).region

    assert _overlap(both, thing | other) > 0.85
    assert not one[100, 215]
    assert one[100, 150]
    assert _overlap(one, thing & ~other) > 0.85


def test_plain_sky_is_no_thing_and_what_hangs_into_it_is() -> None:
    """Spots on a sky that pales downwards are refused; a sign that hangs into it is found."""
    rng = np.random.default_rng(2)
    light = np.array([0.3, 0.45, 0.68]) * (1 + 0.3 * np.arange(200)[:, None, None] / 200)
    light = np.repeat(light, 300, axis=1).astype(np.float32)
    light[100:] = rng.uniform(0.12, 0.3, (100, 300, 1)) * np.array([0.9, 1.0, 0.7])
    for spot in ((150.0, 25.0), (40.0, 60.0), (250.0, 90.0)):
        with pytest.raises(InputError, match="no thing stands out"):
            cutout_by_spots(light, spot)

    light[:40, 120:180] = [0.05, 0.05, 0.06]
    found = cutout_by_spots(light, (150.0, 20.0)).region
    sign = np.zeros((200, 300), bool)
    sign[:40, 120:180] = True

    assert _overlap(found, sign) > 0.9


@pytest.mark.parametrize("adds", [True, False])
def test_what_a_spot_asks_for_holds(adds: bool) -> None:
    """On bare noise, where nothing helps, an added place lies inside and a removed one outside."""
    picture = np.random.default_rng(1).uniform(0, 1, (120, 180, 3)).astype(np.float32)
    first, further = (60.0, 60.0), [(150.0, 100.0), (66.0, 64.0), (20.0, 10.0)]

    found = cutout_by_spots(picture, first, **{"more_px" if adds else "less_px": further}).region

    assert found[60, 60]
    assert all(found[int(y), int(x)] == adds for x, y in further)
