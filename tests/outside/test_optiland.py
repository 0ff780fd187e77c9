"""Our geometry against rays traced by optiland, an independent optics library.

Its surface type "paraxial" is the ideal thin lens, turned with rx and ry; rays are real rays to a
fixed image plane. There (x, y, z) here is (x, -y, -z): light travels along +z. It obeys the same
ideal-lens law, so this checks geometry and signs, not lens physics.
"""

import math
import warnings
from typing import Any

import numpy as np
import pytest

from render.optics.blur import defocus, spots
from render.optics.lens import FocusExtension, LensSetting
from render.optics.plane import FocusedLens, focus_lens, sharp_plane
from render.optics.solving.solve import best_plane
from render.optics.solving.targets import Target
from tests.optics.rays import ellipse, lens_plane, rim

SETTINGS = [
    (90.0, 2.8, 91.0, -8.0, 0.0),
    (45.0, 2.8, 45.4, 6.0, 0.0),
    (50.0, 2.8, 50.3, 0.0, 8.0),
    (24.0, 3.5, 24.2, -7.0, 5.0),
    (85.0, 1.4, 94.0, 12.0, -9.0),
]


def _library(part: str) -> Any:
    """A module of the library, which takes a second or two to load: where it is asked."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own imports
        return pytest.importorskip(f"optiland.{part}")


def _lens(focal: float, stop: float, extension: float, tilt: float, swing: float) -> FocusedLens:
    return focus_lens(
        LensSetting(
            focal_mm=focal,
            f_number=stop,
            focus=FocusExtension(extension),
            tilt_deg=tilt,
            swing_deg=swing,
        )
    )


def _landing_mm(
    setting: tuple[float, ...], ray: np.ndarray, inverse: float, heights: np.ndarray
) -> np.ndarray:
    """Picture positions of rays from a scene point through points of the lens plane."""
    focal, _, extension, tilt, swing = setting
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        system = _library("optic").Optic()
        system.surfaces.add(index=0, thickness=np.inf)
        system.surfaces.add(
            index=1,
            surface_type="paraxial",
            f=focal,
            z=0.0,
            rx=-math.radians(tilt),
            ry=-math.radians(swing),
            is_stop=True,
        )
        system.surfaces.add(index=2, z=extension)
        first, second = lens_plane(np.array(_lens(*setting).axis))
        aim = heights[:, :1] * first + heights[:, 1:] * second
        if inverse == 0:
            direction = np.repeat(-ray[None], len(aim), 0)
            start = aim - 1000.0 * direction
        else:
            start = np.repeat(ray[None] * 1000.0 / inverse, len(aim), 0)
            direction = aim - start
        direction /= np.linalg.norm(direction, axis=1, keepdims=True)
        flip = np.array([1.0, -1.0, -1.0])
        bundle = _library("rays").RealRays(
            *(flip * start).T, *(flip * direction).T, np.ones(len(aim)), np.full(len(aim), 0.55)
        )
        for surface in list(system.surfaces)[1:]:
            surface.trace(bundle)
    return np.stack([-np.asarray(bundle.x), np.asarray(bundle.y)], axis=1)


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("inverse", [0.0, 1 / 40, 1 / 3])
@pytest.mark.parametrize("slopes", [(0.0, -0.2), (0.3, 0.2), (-0.25, 0.05)])
def test_spot_is_the_one_the_library_traces(
    setting: tuple[float, ...], inverse: float, slopes: tuple[float, float]
) -> None:
    """Centre, shape and chief ray of the closed form are those of the library's rays."""
    lens = _lens(*setting)
    heights = np.vstack([np.zeros((1, 2)), lens.aperture_radius_mm * rim(90)])
    landed = _landing_mm(setting, np.array([*slopes, 1.0]), inverse, heights)
    centre, shape = ellipse(landed[1:])
    spot = spots(lens, slopes, inverse)

    np.testing.assert_allclose(landed[0], lens.extension_mm * np.array(slopes), atol=1e-9)
    np.testing.assert_allclose(spot.offset_mm, centre - landed[0], atol=1e-8)
    np.testing.assert_allclose(
        spot.matrix_mm @ spot.matrix_mm.T, shape, atol=1e-7 * np.abs(shape).max()
    )


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
def test_library_meets_in_one_point_on_our_plane(setting: tuple[float, ...]) -> None:
    """Rays from points of our plane of sharp focus meet on the library's image plane."""
    lens = _lens(*setting)
    normal = np.array(sharp_plane(lens).normal_per_m)
    heights = lens.aperture_radius_mm * rim(12)
    for slopes in ((0.0, 0.0), (0.02, 0.05), (-0.05, 0.03)):
        ray = np.array([*slopes, 1.0])
        inverse = float(normal @ ray)
        landed = _landing_mm(setting, ray, inverse, heights)

        assert np.ptp(landed, axis=0).max() < 1e-9


def test_solved_plane_is_sharp_in_the_library() -> None:
    """Three points solved here are points of light there; a fourth off the plane is not."""
    points = [(0.0, 1.6, 4.0), (1.0, 1.2, 15.0), (-3.0, 0.5, 40.0)]
    found = best_plane([Target.at(*point) for point in points], 45)
    setting = (45.0, 2.8, found.extension_mm, found.tilt_deg, found.swing_deg)
    heights = 45 / 5.6 * rim(16)

    assert found.exact
    for x, y, z in points:
        landed = _landing_mm(setting, np.array([x / z, y / z, 1.0]), 1 / z, heights)
        assert np.ptp(landed, axis=0).max() < 1e-9
    landed = _landing_mm(setting, np.array([0.0, 0.0, 1.0]), 1 / 10, heights)
    assert np.ptp(landed, axis=0).max() == pytest.approx(
        45 / 2.8 * abs(float(defocus(_lens(*setting), [0, 0], 1 / 10))), rel=0.05
    )
