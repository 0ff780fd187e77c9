"""What the kernels are told about lens, camera and bins."""

import numpy as np
import pytest

from render.engine.layers import bin_cells, optic_numbers
from render.engine.quality import FINAL, PREVIEW
from render.optics.blur import blur_field, defocus
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens

SETTING = LensSetting(focal_mm=60, f_number=2.8, focus=FocusDistance(9), tilt_deg=-7, swing_deg=4)
CAMERA = Camera(90, 60, 110.0, 41.0, 33.0)


def test_the_numbers_give_the_optics_own_defocus() -> None:
    """Defocus grows by the first two per px right and down, and by the third per 1/m."""
    lens = focus_lens(SETTING)
    field = blur_field(lens, CAMERA, np.full((60, 90), 12.0, np.float32))
    numbers = optic_numbers(field).astype(float)

    x, y, iz = np.array([3.5, 60.5]), np.array([50.5, 10.5]), np.array([0.0, 0.3])
    at_axis = 1 - lens.extension_mm / lens.focal_mm * lens.axis[2]
    told = at_axis + numbers[0] * (x - numbers[4]) + numbers[1] * (y - numbers[5]) + numbers[2] * iz
    np.testing.assert_allclose(told, defocus(lens, CAMERA.slopes(x, y), iz), rtol=1e-5, atol=1e-7)
    assert numbers[3] == pytest.approx(lens.aperture_radius_mm * field.px_per_mm, rel=1e-6)


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
