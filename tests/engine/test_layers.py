"""What the kernels are told about lens, camera and bins, and all they do in a slow twin."""

import math

import numpy as np
import pytest
from scipy import ndimage

from render.engine.holes import Parts, part_pixels
from render.engine.layers import bin_cells, lay_layers, optic_numbers
from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW, Quality
from render.optics.blur import BlurField, blur_field, defocus, spots
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene

SETTING = LensSetting(focal_mm=60, f_number=2.8, focus=FocusDistance(9), tilt_deg=-7, swing_deg=4)
CAMERA = Camera(90, 60, 110.0, 41.0, 33.0)


def test_the_numbers_give_the_optics_own_defocus() -> None:
    """Defocus grows by so much per px right and down, and per 1/m."""
    lens = focus_lens(SETTING)
    field = blur_field(lens, CAMERA, np.full((60, 90), 12.0, np.float32))
    numbers = optic_numbers(field)

    x, y, iz = np.array([3.5, 60.5]), np.array([50.5, 10.5]), np.array([0.0, 0.3])
    at_axis = 1 - lens.extension_mm / lens.focal_mm * lens.axis[2]
    told = at_axis + numbers.right * (x - numbers.centre_x) + numbers.down * (y - numbers.centre_y)
    told += numbers.per_iz * iz
    np.testing.assert_allclose(told, defocus(lens, CAMERA.slopes(x, y), iz), rtol=1e-5, atol=1e-7)
    assert numbers.radius == pytest.approx(lens.aperture_radius_mm * field.px_per_mm, rel=1e-6)


@pytest.mark.parametrize("quality", [FINAL, PREVIEW])
def test_sharp_bins_are_never_coarse(quality) -> None:  # type: ignore[no-untyped-def]
    """Cells are 1 px for what is nearly sharp and grow with the blur, alike on both sides."""
    for cells in bin_cells(quality):
        assert np.all(cells[29:36] == 0)  # up to 2 px
        assert np.all(np.diff(cells[32:64]) >= 0)
        np.testing.assert_array_equal(cells[1:33][::-1], cells[32:64])
        assert cells.max() == 5


def test_final_is_nowhere_coarser_than_preview() -> None:
    """Bin by bin."""
    for fine, quick in zip(bin_cells(FINAL), bin_cells(PREVIEW), strict=True):
        assert np.all(fine <= quick)


#: Where bins of visible and of hidden parts end, px of radius.
_VISIBLE = (0.3, 0.7, 1.2, 2, 4, 6, 8, 8 * 2**0.5, 16, 16 * 2**0.5, 32)
_HIDDEN = (1.2, 4, 8, 16, 32)


def _slow_parts(parts: Parts, field: BlurField, scene: Scene, row: int, column: int):
    """What a pixel is made of: its light, share, inverse depth, and whether the pinhole saw it."""
    n, iz = parts.index[row, column], field.inverse_depth[row, column]
    if n < 0:
        return [(scene.picture[row, column], 1.0, iz, False)]
    near, far, hidden = (parts.record[n, k : k + 3] for k in (0, 5, 9))
    share, near_iz, far_iz, behind = parts.record[n, [3, 4, 8, 12]]
    return [
        (near, share, near_iz, False),
        (far, 1 - share, far_iz, False),
        (hidden * behind, behind, far_iz, True),
    ]


def _slow_figure(shape: np.ndarray, x: float, y: float, size: tuple[int, int]) -> np.ndarray:
    """Share of an even ellipse in each pixel, from 8 x 8 points to a pixel."""
    height, width = size
    reach = math.sqrt(np.linalg.eigvalsh(shape)[-1]) + 1
    top, bottom = max(int(y - reach), 0), min(int(y + reach) + 2, height)
    left, right = max(int(x - reach), 0), min(int(x + reach) + 2, width)
    figure = np.zeros(size)
    if top < bottom and left < right:
        v = (np.arange(8 * (bottom - top)) + 0.5)[:, None] / 8 + top - y
        u = (np.arange(8 * (right - left)) + 0.5)[None, :] / 8 + left - x
        ((a, b), (_, c)), det = shape, np.linalg.det(shape)
        inside = c * u * u - 2 * b * u * v + a * v * v <= det
        cells = inside.reshape(bottom - top, 8, right - left, 8).sum((1, 3))
        figure[top:bottom, left:right] = cells / 64 / (math.pi * math.sqrt(det))
    return figure


def _slow_small(shape: np.ndarray, row: int, column: int, size: tuple[int, int]) -> np.ndarray:
    """3 x 3 shares with the second moments of the ellipse."""
    figure = np.zeros(size)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            if 0 <= row + i < size[0] and 0 <= column + j < size[1]:
                x, y = shape[0, 0] / 4, shape[1, 1] / 4
                weight = (x / 2 if j else 1 - x) * (y / 2 if i else 1 - y)
                figure[row + i, column + j] = weight + shape[0, 1] / 16 * i * j
    return figure


def _slow_lay(scene: Scene, field: BlurField, parts: Parts) -> np.ndarray:
    """Every part of every pixel spread whole, bins laid near to far, hidden ones last."""
    height, width = size = scene.depth_m.shape
    per_mm, bins = field.px_per_mm, {}
    grow = 20
    for i in range(-grow, height + grow):
        for j in range(-grow, width + grow):
            row, column = min(max(i, 0), height - 1), min(max(j, 0), width - 1)
            slopes = field.camera.slopes(j + 0.5, i + 0.5)
            for light, share, iz, hidden in _slow_parts(parts, field, scene, row, column):
                if share <= 0:
                    continue
                if (row, column) != (i, j):
                    light = np.minimum(light, 1)
                d = float(defocus(field.lens, slopes, iz))
                r = abs(d) * field.lens.aperture_radius_mm * per_mm
                spot = spots(field.lens, slopes, iz)
                m = spot.matrix_mm * per_mm
                if r < 1.2:
                    boost = max(1, 1.85 - 0.57 * r) if light.max() <= 1 else 1
                    figure = _slow_small(boost * m @ m.T, i, j, size)
                else:
                    x, y = (j + 0.5, i + 0.5) + spot.offset_mm * per_mm
                    figure = _slow_figure(m @ m.T - np.eye(2) / 3, x, y, size)
                step = int(np.searchsorted(_HIDDEN if hidden else _VISIBLE, r, side="right"))
                key = (hidden, -step if d > 0 else step)
                drawn = bins.setdefault(key, np.zeros((*size, 4)))
                drawn += figure[..., None] * np.append(light, share)
    laid = np.zeros((*size, 4))
    for key in sorted(bins):
        share = np.maximum(bins[key][..., 3:], 1e-12)
        laid += bins[key] * np.minimum(share, 1 - laid[..., 3:]) / share
    return laid[..., :3] / laid[..., 3:]


@pytest.mark.parametrize(("f_number", "tilt_deg"), [(4.0, 0.0), (4.0, -6.0), (1.8, -6.0)])
def test_photographs_are_laid_as_a_slow_twin_lays_them(f_number: float, tilt_deg: float) -> None:
    """Edges, sky, hidden light and the outside, part by part; radii up to 6, 6 and 13 px.

    What is left is the fine points' own error, and above 8 px that cells are gathered first.
    """
    rng = np.random.default_rng(8)
    depth_m = np.repeat(np.repeat(rng.uniform(3, 30, (3, 4)), 8, 0), 8, 1).astype(np.float32)
    depth_m[:5, 20:] = np.inf
    picture = ndimage.uniform_filter(rng.random((24, 32, 3)), (2, 2, 0)).astype(np.float32)
    scene = Scene(picture, depth_m, Camera(32, 24, 4000.0))
    setting = LensSetting(
        focal_mm=90, f_number=f_number, focus=FocusDistance(8.0), tilt_deg=tilt_deg
    )
    field = blur_field(focus_lens(setting), scene.camera, scene.depth_m)
    parts = part_pixels(scene, field)

    light = lay_layers(scene, field, parts, Iris(), FINAL)

    apart = np.abs(light - _slow_lay(scene, field, parts))
    assert (parts.record[:, 12] > 0).any()
    assert apart.max() < 0.015
    assert apart.mean() < 0.0012


@pytest.mark.parametrize("quality", [FINAL, PREVIEW])
@pytest.mark.parametrize("f_number", [5.6, 2.0, 1.0])
def test_a_sky_just_above_white_is_as_smooth_as_one_below(
    quality: Quality, f_number: float
) -> None:
    """Video holds light above 1: grain that reaches it is averaged like any other."""
    rng = np.random.default_rng(0)
    grain = rng.normal(0, 0.006, (192, 192, 3)).astype(np.float32)
    camera, far = Camera(192, 192, 9000.0), np.full((192, 192), 40.0, np.float32)
    setting = LensSetting(focal_mm=45, f_number=f_number, focus=FocusDistance(8.0))

    below, above = (
        photograph(Scene(white + grain, far, camera), setting, quality=quality).light[
            48:-48, 48:-48
        ]
        for white in (np.float32(0.9), np.float32(0.99))
    )

    assert float(above.mean()) == pytest.approx(0.99, abs=1e-3)
    assert float(above.std()) < 1.15 * float(below.std())
