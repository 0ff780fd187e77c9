"""A hand-held clip laid on its first frame; truth is a picture turned by a known rotation."""

import numpy as np
import pytest
from scipy import ndimage
from scipy.spatial.transform import Rotation

from render.errors import InputError
from render.film.steady import Steadier, best_turn
from render.film.stillness import shift_px
from render.optics.camera import Camera, Window

SIZE = (240, 360)
CAMERA = Camera(SIZE[1], SIZE[0], 500.0)
FRAME = Window(30, 20, SIZE[1] - 60, SIZE[0] - 40)


def _world() -> np.ndarray:
    """Light over slopes from -0.7 to 0.7, without detail finer than two pixels."""
    grey = np.random.default_rng(4).uniform(0, 1, (700, 700))
    grey = ndimage.gaussian_filter(grey, 2.2)
    return (grey - grey.min()) / np.ptp(grey)


WORLD = _world()


def seen(
    turn_deg: tuple[float, float, float] = (0, 0, 0), zoom: float = 1.0, layer: float = 0.0
) -> np.ndarray:
    """What a camera turned about x, y and z sees; `layer`: one half of it is shifted, slope."""
    x, y = CAMERA.grid()
    rays = np.stack([*np.meshgrid(x / zoom, y / zoom), np.ones(SIZE)], axis=-1)
    rays = rays @ Rotation.from_euler("xyz", turn_deg, degrees=True).as_matrix().T
    slopes = rays[..., :2] / rays[..., 2:]
    shift = np.where(slopes[..., 1] > 0, layer, 0.0)
    at = [350 + 500 * slopes[..., 1], 350 + 500 * (slopes[..., 0] + shift)]
    grey = ndimage.map_coordinates(WORLD, at, order=3, mode="nearest")
    return np.repeat(grey[..., None], 3, axis=2).astype(np.float32).clip(0, 1)


@pytest.mark.parametrize("turn", [(0.4, 0.0, 0.0), (0.0, -0.6, 0.0), (0.3, 0.5, -0.8)])
def test_a_turned_camera_is_turned_back(turn: tuple[float, float, float]) -> None:
    """The turn is found to 0.03°, and what stands stays to a tenth of a pixel."""
    first = seen()
    got = Steadier(first, CAMERA, FRAME).steadied(seen(turn))
    inner = (slice(24, -24), slice(36, -36))
    right, down, _ = shift_px(first[..., 0][inner], got.light[..., 0][inner])

    want = np.degrees(Rotation.from_euler("xyz", turn, degrees=True).magnitude())
    assert got.turn_deg == pytest.approx(want, abs=0.03)
    assert max(abs(right), abs(down)) < 0.1
    assert np.abs(got.light - first)[inner].mean() < 0.006
    assert got.off_px < 0.5


def test_what_crosses_turns_nothing() -> None:
    """A large thing that moves against the rest is outvoted."""
    first, other = seen(), seen((0.2, 0.3, 0.0))
    other[80:150, 100:200] = np.rot90(other[80:150, 100:200].repeat(2, axis=0)[:100, :70])
    got = Steadier(first, CAMERA, FRAME).steadied(other)

    assert got.turn_deg == pytest.approx(np.hypot(0.2, 0.3), abs=0.03)


def test_what_the_first_frame_alone_saw_is_taken_from_it() -> None:
    """A corner that the turned camera no longer sees is filled, and its share told."""
    first = seen()
    whole = Window(0, 0, SIZE[1], SIZE[0])
    got = Steadier(first, CAMERA, whole).steadied(seen((0.0, 0.8, 0.0)))

    assert 0.01 < got.missing < 0.05
    np.testing.assert_array_equal(got.light[:, 0], first[:, 0])


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (seen((0.0, 9.0, 0.0)), "turns too far"),
        (seen(layer=0.05), "moves along or zooms"),
        (seen(zoom=1.15), "moves along or zooms"),
        (np.full((*SIZE, 3), 0.5, np.float32), "0 features"),
    ],
    ids=["pan", "parallax", "zoom", "fog"],
)
def test_what_no_turn_explains_is_refused(other: np.ndarray, words: str) -> None:
    """A pan, a camera that walks, a zoom, nothing to see: one sentence each."""
    with pytest.raises(InputError, match=words):
        Steadier(seen(), CAMERA, FRAME).steadied(other)


def test_one_turn_is_found_among_many_wrong_pairs() -> None:
    """A third of the pairs are chance; the rest are met exactly."""
    rng = np.random.default_rng(2)
    first = rng.normal(0, 0.2, (60, 3)) + np.array([0, 0, 1])
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    turn = Rotation.from_euler("xyz", (2, -3, 1), degrees=True).as_matrix()
    other = first @ turn.T
    other[::3] = rng.permutation(other[::3])
    found = best_turn(first, other, 1e-3)

    assert found is not None
    np.testing.assert_allclose(found[0], turn, atol=1e-9)
    assert found[1].sum() >= 40
    assert best_turn(first[:1], other[:1], 1e-3) is None
