"""What a rim leaves of the iris, against counted points."""

from dataclasses import replace

import numpy as np
import pytest

from render.engine.iris import outline, rimmed_outline
from render.engine.kernels.optics import rim_circle
from render.engine.kernels.rim import cut_outline
from render.engine.layers import optic_numbers
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import CatsEye, FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens
from render.optics.rim import rim_circles
from tests.steps import opened

EYE = CatsEye(light_left=0.45, corner_mm=21.6, widest_f_number=1.4)
OPEN = LensSetting(focal_mm=60, f_number=1.4, focus=FocusDistance(4.0), cats_eye=EYE)
#: Right of and below the foot of the straight axis.
CORNER = Camera(161, 121, 2400.0, -560.0, -330.0)


@pytest.mark.parametrize("blades", [0, 5, 6])
@pytest.mark.parametrize("tilt_deg", [0.0, 7.0])
def test_the_cut_outline_holds_what_both_let_through(blades: int, tilt_deg: float) -> None:
    """Against counting points that lie in the iris and in the rim of the optics."""
    setting = replace(OPEN, tilt_deg=tilt_deg, iris=Iris(blades, 11.0))
    lens = focus_lens(setting)
    field = blur_field(lens, CORNER, np.full((121, 161), 9.0, np.float32))
    whole, cut = rimmed_outline(setting.iris, lens), np.zeros((200, 2), np.float32)
    numbers, zero = optic_numbers(field), np.float32(0.0)
    t = (np.arange(600) + 0.5) / 300 - 1
    u, v = (part.ravel() for part in np.meshgrid(t, t))
    for row, column in ((0, 0), (60, 90), (120, 160)):
        d = field.defocus[row, column]
        x, y = np.float32(column + 0.5), np.float32(row + 0.5)
        slopes = CORNER.slopes(x, y)
        centre, radius = rim_circles(lens.rim, lens.aperture_radius_mm, lens.axis, slopes, 1 / 9)

        got = opened(rim_circle)(numbers, d, x, y)
        n, left = opened(cut_outline)(numbers, d, x, y, whole, zero, cut)

        np.testing.assert_allclose(got, [*centre, radius], atol=1e-4)
        passes = _inside(outline(setting.iris, lens), u, v)
        passes &= np.hypot(u - centre[0], v - centre[1]) <= radius
        corners = cut[:n].astype(float)
        following = np.roll(corners, -1, axis=0)
        area = (corners[:, 0] * following[:, 1] - corners[:, 1] * following[:, 0]).sum() / 2
        assert area == pytest.approx(passes.mean() * 4, rel=0.01)
        assert left == pytest.approx(area, rel=1e-4)
        drawn = _inside(cut[:n], u, v)
        assert np.mean(drawn != passes) < 0.004


def _inside(corners: np.ndarray, u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Whether points lie in a convex outline; the unit disc where it has no corners."""
    if len(corners) == 0:
        return np.hypot(u, v) <= 1
    inside = np.ones(u.shape, bool)
    for (ax, ay), (bx, by) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        inside &= (bx - ax) * (v - ay) - (by - ay) * (u - ax) >= -1e-6
    return inside
