"""The engine against photographs that light made: floors that only go up.

tests/data/truth holds the hardest 96 x 72 px of three traced photographs, with 24 px of the
pinhole picture around them (see its LICENSE.md).
"""

from pathlib import Path

import numpy as np
import pytest

from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.optics.camera import Camera, Window
from render.optics.lens import FocusExtension, Iris, LensSetting
from render.scene.scene import Scene
from tests.engine import rays

TRUTH = Path(__file__).parent.parent / "data" / "truth"


@pytest.mark.parametrize(
    ("name", "final_db", "preview_db"),
    [
        ("bench_left3_f2.8", 24.6, 24.3),
        ("hillside_up8_f2.8", 43.0, 36.2),
        ("harbour_up8_blades6_f2.8", 39.3, 36.5),
    ],
)
def test_the_hardest_places_stay_as_true_as_they_were(name, final_db, preview_db):
    """PSNR on sRGB-coded values where wires, rails and lamps stand before other things."""
    with np.load(TRUTH / f"{name}.npz") as file:
        known = {key: file[key] for key in file}
    height, width = known["depth_m"].shape
    margin = int(known["margin_px"])
    camera = Camera(width, height, float(known["focal_px"]), *map(float, known["centre_px"]))
    window = Window(margin, margin, width - 2 * margin, height - 2 * margin)
    scene = Scene(known["linear"].astype(np.float32), known["depth_m"], camera, window)
    setting = LensSetting(
        focal_mm=float(known["focal_mm"]),
        f_number=float(known["f_number"]),
        focus=FocusExtension(float(known["extension_mm"])),
        tilt_deg=float(known["tilt_deg"]),
        swing_deg=float(known["swing_deg"]),
        iris=Iris(int(known["blades"]), float(known["blade_rotation_deg"])),
    )

    final, preview = (
        rays.psnr(photograph(scene, setting, quality=quality).light, known["photograph"])
        for quality in (FINAL, PREVIEW)
    )

    assert final > final_db
    assert preview > preview_db
