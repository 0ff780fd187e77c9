"""The numbers a person reads first."""

import numpy as np
import pytest

from render.optics.band import SharpRun, level_ground_per_m
from render.optics.blur import BlurField, blur_field, spots
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.optics.summary import LineBand, row_blur, summarise_focus

ROOF = Vantage(20.0, 20.0)


def _field(tilt_deg: float = -8.0, swing_deg: float = 0.0) -> BlurField:
    camera = Camera.from_lens(300, 200, 90, Sensor())
    setting = LensSetting(
        focal_mm=90,
        f_number=2.8,
        focus=FocusSpot(0, 0, 58.476),
        tilt_deg=tilt_deg,
        swing_deg=swing_deg,
    )
    _, rows = camera.grid()
    a = level_ground_per_m(ROOF)
    depth = np.repeat((1 / (a[1] * rows + a[2]))[:, None], 300, 1).astype(np.float32)
    return blur_field(focus_lens(setting), camera, depth)


def test_summary_of_the_roof_top_view() -> None:
    """Lens up 8° from a roof: a narrow band across the middle, soft top and bottom."""
    summary = summarise_focus(_field(), 0.03, ROOF)

    assert summary.plane.hinge_distance_m == pytest.approx(0.647, abs=1e-3)
    assert [column.name for column in summary.columns] == ["left", "centre", "right"]
    for column in summary.columns:
        run = column.longest
        assert run is not None
        assert column.ground is not None
        assert 0 < run.first_px < 100 < run.last_px < 200
        assert run.first_px == pytest.approx(column.ground.far_px[1], abs=0.01)
    top, middle, bottom = summary.rows
    assert middle.diameter_percent < 0.2 < 2 < top.diameter_percent
    assert bottom.diameter_percent > 2
    assert summary.sharp_percent == pytest.approx(
        100 * (summary.columns[1].runs[0].last_px - summary.columns[1].runs[0].first_px) / 200,
        abs=1,
    )


def test_blur_in_pixels_and_per_cent_are_one_measure() -> None:
    """The row's figure is the spot's longest diameter in px, and that over the height in %."""
    field = _field(swing_deg=3)
    row = row_blur(field, "top", 0)
    column = np.arange(300)
    slopes = field.camera.slopes(column + 0.5, 0.5)
    axes = spots(field.lens, slopes, field.inverse_depth[0]).semi_axes_mm()

    assert row.diameter_px == pytest.approx(2 * np.median(axes[:, 0]) * field.px_per_mm, rel=1e-6)
    assert row.diameter_percent == pytest.approx(row.diameter_px / 2)


def test_swing_slants_the_band_in_the_picture() -> None:
    """With swing the band lies higher on one side of the picture than on the other."""
    summary = summarise_focus(_field(swing_deg=4), 0.03, ROOF)
    left, _, right = (column.ground for column in summary.columns)

    assert left is not None
    assert right is not None
    assert abs(left.sharp_px[1] - right.sharp_px[1]) > 20


def test_without_a_vantage_only_the_depth_map_speaks() -> None:
    """No vantage, no metres on the ground; depths and rows are still given."""
    summary = summarise_focus(_field(), 0.03)

    assert all(column.ground is None and column.runs for column in summary.columns)


def test_the_longest_run_is_the_longest() -> None:
    """Whichever comes first; without a run there is none."""
    short, long = SharpRun(0, 10, 5, 6, 5, 6), SharpRun(20, 60, 8, 9, 8, 9)

    assert LineBand("centre", 3, (short, long)).longest is long
    assert LineBand("centre", 3, (long, short)).longest is long
    assert LineBand("centre", 3, ()).longest is None
