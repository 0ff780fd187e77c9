"""Where in a rectangle one focuses."""

import numpy as np

from render.load.asked.spot import to_focus_on
from render.optics.camera import Camera
from render.optics.lens import FocusDistance, LensSetting
from render.optics.plane import focus_lens
from render.optics.solving.selective import Region

LENS = focus_lens(LensSetting(focal_mm=90, f_number=2.8, focus=FocusDistance(2.0)))


def test_a_face_is_focused_on_its_sharp_eye_and_not_on_what_lies_between() -> None:
    """Of two dark marks the one in the plane; on a plain cheek the sharpest."""
    camera = Camera(60, 40, 150.0)
    depth = np.full((40, 60), 1.9)
    depth[:, 30:] = 2.0
    depth[20, 50] = 2.0001
    light = np.full((40, 60, 3), 0.5, np.float32)
    y, x = (grid.ravel() for grid in np.mgrid[15:25, 5:55])
    region = Region(camera.slopes(x + 0.5, y + 0.5), 1.0 / depth[y, x])
    marked = light.copy()
    marked[18:21, 10:13] = marked[18:21, 40:43] = 0.02

    def found(picture: np.ndarray, region: Region) -> tuple[float, float]:
        spot = to_focus_on(region, LENS, 0.03, camera, picture)
        across, down = camera.positions((spot.slope_x, spot.slope_y))
        return float(across), float(down)

    across, down = found(marked, region)
    assert 38 < across < 45
    assert 16 < down < 23
    assert found(light, region)[0] > 30
    edged = marked.copy()
    edged[15:25, 28:31] = 0.0  # the strongest contrast, where the depth steps
    edged[15:25, 54:] = 0.0  # and at the very edge
    assert 38 < found(edged, region)[0] < 45
    far = Region(region.slopes, region.inverse_depth / 3)
    assert found(marked, far)[0] < 30  # 5.7 m is less blurred than 6 m
