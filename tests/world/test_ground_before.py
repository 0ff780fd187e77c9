"""The ground before a camera, against what is traced of the same view."""

import numpy as np
import pytest

from render.optics.band import ground_band, sharp_runs
from render.optics.blur import blur_field
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.optics.terrain import meets_ground, over_ground_m
from render.trace.trace import View, trace_scene
from render.world.description import (
    Description,
    Ground,
    LightWords,
    Relief,
    Suggested,
    VantageWords,
)
from render.world.place.buildings.looks import place_materials

COC_MM = 0.03


def _hills() -> Description:
    s = np.linspace(-600.0, 600.0, 97)
    x, y = np.meshgrid(s, s, indexing="ij")
    h = 22 * np.sin(x / 110) * np.cos(y / 130) + 0.05 * y + 9 * np.exp(-((x / 60) ** 2))
    return Description(
        name="hills",
        line="Bare hills.",
        things=(),
        materials=place_materials({"grass"}),
        ground=Ground(extent_m=600.0, relief=Relief(h - h[48, 48])),
        light=LightWords(),
        vantage=VantageWords(stand_m=(0.0, 0.0)),
        suggested=Suggested(),
    )


@pytest.mark.parametrize(("heading", "pitch"), [(0.0, 8.0), (205.0, 14.0)])
def test_ground_and_its_band_lie_where_they_are_traced(heading: float, pitch: float) -> None:
    """Every ray meets the ground at its traced depth; the band's ends are the traced ones."""
    view = View(
        at_m=(0.0, 0.0, 20.0), height_m=20.0, heading_deg=heading, pitch_deg=pitch, width_px=96
    )
    scene = trace_scene(_hills(), view, samples=1)
    camera, vantage = scene.camera, scene.vantage
    assert vantage is not None
    columns, rows = camera.grid()
    slopes = np.stack(np.meshgrid(columns[::8], rows[::4]), axis=-1)
    depth_m = scene.depth_m[::4, ::8]
    met = meets_ground(vantage, slopes.reshape(-1, 2)).reshape(depth_m.shape)
    np.testing.assert_allclose(met, 1.0 / depth_m, rtol=1e-3, atol=2e-5)

    focus = FocusDistance(float(np.median(scene.depth_m)))
    setting = LensSetting(focal_mm=90, f_number=2.8, tilt_deg=-8.0, focus=focus)
    lens = focus_lens(setting)
    band = ground_band(lens, camera, vantage, COC_MM, 24.5)
    (run,) = sharp_runs(blur_field(lens, camera, scene.depth_m), 24, COC_MM)
    assert band is not None
    assert (band.far_px[1], band.near_px[1]) == pytest.approx((run.first_px, run.last_px), abs=0.1)
    ends = camera.slopes([24.5, 24.5], [run.first_px, run.last_px])
    traced_m = over_ground_m(vantage, ends, [1 / run.first_m, 1 / run.last_m])
    assert (band.far_m, band.near_m) == pytest.approx(tuple(traced_m), rel=0.01)
