"""A whole tile as the compiled loops make it, against a slow twin in numpy."""

import math

import numpy as np
import pytest

from render.engine.holes import Parts, part_pixels
from render.engine.kernels.bins import bin_of
from render.engine.kernels.tables import (
    FAR,
    FAR_IZ,
    HIDDEN,
    HIDDEN_SHARE,
    NEAR,
    NEAR_IZ,
    NEAR_SHARE,
)
from render.engine.photograph import photograph
from render.optics.blur import BlurField, blur_field, spots
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene
from tests.steps import opened

FINE = 12


def _scene() -> Scene:
    """A post before a wall, both with texture a few px wide."""
    rng = np.random.default_rng(8)
    picture = rng.random((36, 44, 3), dtype=np.float32) * 0.3 + 0.2
    picture[:, 18:24] = (0.9, 0.3, 0.1)
    depth_m = np.full((36, 44), 5.0, np.float32)
    depth_m[:, 18:24] = 3.0
    return Scene(picture, depth_m, Camera(44, 36, 1800.0))


def _pieces(scene: Scene, field: BlurField, parts: Parts) -> list[tuple]:
    """Light, share, inverse depth, row, column and whether hidden, of every part of a pixel."""
    found = []
    for i, j in np.ndindex(scene.depth_m.shape):
        row = parts.index[i, j]
        if row < 0:
            found.append((scene.picture[i, j], 1.0, field.inverse_depth[i, j], i, j, False))
            continue
        record = parts.record[row].astype(float)
        share, hidden = record[NEAR_SHARE], record[HIDDEN_SHARE]
        found.append((record[NEAR : NEAR + 3], share, record[NEAR_IZ], i, j, False))
        found.append((record[FAR : FAR + 3], 1 - share, record[FAR_IZ], i, j, False))
        light = record[HIDDEN : HIDDEN + 3] * hidden
        found.append((light, hidden, record[FAR_IZ], i, j, True))
    return found


def _figure(field: BlurField, iz: float, i: int, j: int, shape: tuple[int, int]) -> np.ndarray:
    """Share of a pixel's light in every pixel: points counted in its ellipse, less its own box."""
    spot = spots(field.lens, field.camera.slopes(j + 0.5, i + 0.5), iz)
    m = spot.matrix_mm * field.px_per_mm
    inverse = np.linalg.inv(m @ m.T - np.eye(2) / 3)
    cx, cy = np.array([j + 0.5, i + 0.5]) + spot.offset_mm * field.px_per_mm
    reach = math.ceil(np.abs(m).sum()) + 2
    t = (np.arange((2 * reach + 1) * FINE) + 0.5) / FINE - reach
    u, v = t[None, :] + j - cx, t[:, None] + i - cy
    inside = inverse[0, 0] * u * u + 2 * inverse[0, 1] * u * v + inverse[1, 1] * v * v <= 1
    near = inside.reshape(2 * reach + 1, FINE, 2 * reach + 1, FINE).sum((1, 3)) / inside.sum()
    whole = np.zeros((shape[0] + 2 * reach, shape[1] + 2 * reach))
    whole[i : i + 2 * reach + 1, j : j + 2 * reach + 1] = near
    return whole[reach:-reach, reach:-reach]


def _slow(scene: Scene, setting: LensSetting) -> np.ndarray:
    """Every part over its figure into its bin; bins laid near to far, hidden ones last."""
    lens = focus_lens(setting)
    field = blur_field(lens, scene.camera, scene.depth_m)
    shape = scene.depth_m.shape
    bins: dict[int, np.ndarray] = {}
    gain = lens.aperture_radius_mm * field.px_per_mm * lens.extension_mm / 1000
    for light, share, iz, i, j, hidden in _pieces(scene, field, part_pixels(scene, field)):
        if share <= 0:
            continue
        sharp = float(lens.sharp_inverse_depth(field.camera.slopes(j + 0.5, i + 0.5)))
        key = opened(bin_of)(np.float32(gain * (iz - sharp)), hidden)
        figure = _figure(field, iz, i, j, shape)
        layer = bins.setdefault(key, np.zeros((*shape, 4)))
        layer += figure[..., None] * np.append(light, share)
    total = np.zeros((*shape, 4))
    for key in sorted(bins):
        share = bins[key][..., 3:]
        seen = np.minimum(share, 1 - total[..., 3:])
        total += np.where(share > 1e-5, bins[key] * seen / np.maximum(share, 1e-5), 0)
    return total[..., :3] / total[..., 3:]


@pytest.mark.parametrize(("focus_m", "tilt_deg"), [(2.2, 0.0), (9.0, 0.0), (3.8, 0.0), (9.0, -0.5)])
def test_a_tile_is_what_a_slow_loop_makes(focus_m: float, tilt_deg: float) -> None:
    """A post before a wall, both behind, both before, and either side of what is sharp."""
    setting = LensSetting(
        focal_mm=60, f_number=2.8, focus=FocusDistance(focus_m), tilt_deg=tilt_deg
    )
    scene = _scene()
    radius = np.abs(blur_field(focus_lens(setting), scene.camera, scene.depth_m).radius_px())
    assert 1.2 < radius.min() < radius.max() < 8  # each pixel by itself

    light = photograph(scene, setting).light

    inner = (slice(9, -9), slice(9, -9))
    assert np.abs(light - _slow(scene, setting))[inner].max() < 0.012
