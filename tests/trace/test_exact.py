"""The exact lens, and the engine against it."""

import importlib
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from render.engine.photograph import photograph
from render.errors import SettingError
from render.load.scenes import one_lens
from render.optics.blur import spots
from render.optics.lens import CatsEye, FocusDistance, Iris, LensSetting
from render.optics.plane import focus_lens
from render.trace.build import build
from render.trace.exact import agreement_db, aperture_points, trace_exact
from render.trace.trace import trace_built
from tests.world.worlds import described, eye_level

WALL = {"kind": "box", "size_m": [60, 1, 20], "side": "#c0b090"}
DUSK = {
    "sun_height_deg": -5.0,
    "sky_level": 0.3,
    "lamps": [{"at_m": [0.5, 7, 3.5], "colour": "#ffd9a0", "strength": 6.0, "radius_m": 0.2}],
}

EYE = CatsEye(light_left=0.4, corner_mm=21.6, widest_f_number=1.4)

#: Tilt (degrees), f-number, distance of focus (m), and a rim before the iris.
SETTINGS = ((-8.0, 2.0, 12.0, None), (6.0, 2.8, 9.0, None), (0, 1.4, 12, EYE))

#: Small scenes, and how well the engine must at least agree with the exact lens on them, dB.
SCENES: dict[str, tuple[list[dict[str, Any]], dict[str, Any], float]] = {
    "posts": (
        [
            {"kind": "box", "at_m": [-1.2, 9], "size_m": [0.8, 0.8, 2.2], "side": "#b03020"},
            {"kind": "box", "at_m": [1.4, 14], "size_m": [1.2, 1.2, 3], "side": "#2050a0"},
            {**WALL, "at_m": [0, 40]},
        ],
        {},
        50.5,
    ),
    "dusk": (
        [
            {"kind": "box", "at_m": [-1.2, 9], "size_m": [0.8, 0.8, 2.2], "side": "#b03020"},
            {"kind": "person", "at_m": [0.9, 8]},
            {**WALL, "at_m": [0, 25]},
        ],
        {"light": DUSK},
        53,
    ),
    # leaves before leaves before leaves: one second layer does not tell of all of them
    "garden": (
        [
            {"kind": "tree", "at_m": [-1.5, 9], "height_m": 3, "leaves": 300},
            {"kind": "person", "at_m": [0.6, 7]},
            {"kind": "house", "at_m": [3, 24]},
            {"kind": "sphere", "at_m": [1.6, 10], "size_m": [1, 1, 1]},
        ],
        {},
        40,
    ),
}


@pytest.mark.parametrize("iris", [Iris(), Iris(blades=5, rotation_deg=20), Iris(7, 3.0, 0.5)])
def test_aperture_points_fill_the_iris_evenly(iris: Iris) -> None:
    """Inside the circle, centred, with the outline's own second moment."""
    grid = (np.indices((64, 64)).reshape(2, -1).T + 0.5) / 64
    points = aperture_points(iris, grid)

    assert np.hypot(*points.T).max() <= 1
    np.testing.assert_allclose(points.mean(axis=0), 0, atol=2e-3)
    if iris.blades == 5:
        moment = (2 + math.cos(2 * math.pi / 5)) / 3 / 4  # of a regular polygon, per axis
        np.testing.assert_allclose((points**2).mean(axis=0), moment, rtol=2e-2)


@pytest.mark.parametrize(("tilt_deg", "swing_deg"), [(0.0, 0.0), (-7.0, 0.0), (5.0, 4.0)])
def test_a_lamp_opens_into_the_ellipse_of_the_optics(tilt_deg: float, swing_deg: float) -> None:
    """A small bright ball's second moments agree with the closed form, to its own size."""
    ball = {"kind": "sphere", "at_m": [0.1, 1.2, 2.05], "size_m": [0.02, 0.02, 0.02]}
    ball["side"] = "glow"
    d = described(
        [ball],
        light={"sun_level": 0.0, "sky_level": 0.0, "visual_range_km": 1e6},
        materials={"glow": {"colour": "#000000", "glow": "#ffffff", "glow_level": 1000.0}},
    )
    view = eye_level(width_px=120, focal_mm=50.0)
    setting = LensSetting(
        focal_mm=50, f_number=1.2, focus=FocusDistance(30), tilt_deg=tilt_deg, swing_deg=swing_deg
    )
    light = trace_exact(build(d), view, setting, samples=512)[..., 1].astype(float)
    light[light < 1e-3 * light.max()] = 0  # what the ball lights up around it

    camera, lens = view.camera(), focus_lens(setting)
    slopes = np.array([0.1 / 1.2, -0.06 / 1.2])  # its centre, 1 cm above its foot
    spot = spots(lens, slopes, 1 / 1.2)
    px = camera.focal_px / lens.extension_mm
    x, y = np.meshgrid(np.arange(120) + 0.5, np.arange(view.height_px) + 0.5)
    weight = light / light.sum()
    centre = np.array([(weight * x).sum(), (weight * y).sum()])
    spread = np.array(
        [
            [(weight * (a - m) * (b - n)).sum() for b, n in zip((x, y), centre, strict=True)]
            for a, m in zip((x, y), centre, strict=True)
        ]
    )
    m = spot.matrix_mm * px
    ball_px = camera.focal_px * 0.01 / 1.2
    wanted = m @ m.T / 4 + np.eye(2) * (1 / 12 + ball_px**2 / 5)
    np.testing.assert_allclose(spread, wanted, atol=0.06 * np.trace(wanted))
    np.testing.assert_allclose(centre, camera.positions(slopes), atol=0.35)


def test_the_engine_agrees_with_the_exact_lens() -> None:
    """With the margin and what lies behind known: 48 dB on the mean, on each its floor."""
    found = []
    for name, (things, more, floor) in SCENES.items():
        d = described(things, **more)
        wide, margin = (160, 24) if name == "posts" else (120, 18)
        built, view = build(d), eye_level(width_px=wide, margin_px=margin)
        scene = trace_built(d, built, view, samples=64, behind_px=margin)
        for tilt_deg, f_number, focus_m, eye in SETTINGS if name == "posts" else SETTINGS[:1]:
            setting = LensSetting(
                focal_mm=36,
                f_number=f_number,
                focus=FocusDistance(focus_m),
                tilt_deg=tilt_deg,
                cats_eye=eye,
            )
            rays = 1024 if eye else 768 if name == "dusk" else 384  # lamps: its own noise counts
            exact = trace_exact(built, view, setting, samples=rays)
            found.append(agreement_db(photograph(scene, setting).light, exact))
            assert found[-1] > floor, (name, setting)

    assert np.mean(found) > 48


def test_quarters_of_pixels_bring_the_engine_nearer_to_the_exact_lens() -> None:
    """Where the lens is nearly sharp; the plain picture beside them stays as it is."""
    things, _, _ = SCENES["garden"]
    d = described(things)
    built, view = build(d), eye_level(width_px=120, margin_px=8)
    setting = LensSetting(focal_mm=36, f_number=1.4, focus=FocusDistance(9), tilt_deg=-8)
    exact = trace_exact(built, view, setting, samples=256)
    fine = trace_built(d, built, view, samples=64, only=one_lens(setting, view.camera()))
    assert fine.finer is not None
    plain = photograph(replace(fine, finer=None), setting).light

    gain_db = agreement_db(photograph(fine, setting).light, exact) - agreement_db(plain, exact)
    assert gain_db > 3.0  # 4.2 here
    quarters = fine.finer.picture.reshape(view.height_px + 16, 2, 136, 2, 3).mean(axis=(1, 3))
    np.testing.assert_allclose(quarters, fine.picture, rtol=1e-5, atol=1e-6)


def test_both_parts_of_the_account_have_the_same_light() -> None:
    """The plain pictures of `tests/bench/exact.py`, of a roof seen from below, to 0.6 %.

    0.3 % is their noise; when soft rays of the second left from the depth of its first samples
    straight behind the pixels' centres, many within the roof, 2.1 % of its light was lost.
    """
    roof = {"kind": "box", "at_m": [0, 20, 4], "size_m": [12, 30, 0.3], "side": "#c0b090"}
    d = described([{**roof, "top": "#c0b090"}])
    setting = LensSetting(focal_mm=36, f_number=1.4, focus=FocusDistance(60))
    shown = SimpleNamespace(description=d, built=build(d), view=eye_level(), setting=setting)
    account: Any = importlib.import_module("tests.bench.exact")
    scenes = [account.plain_part(shown, part, samples=4) for part in range(2)]
    lights = [scene.picture[scene.frame.rows, scene.frame.columns].mean() for scene in scenes]

    assert lights[1] == pytest.approx(lights[0], rel=0.006)


def test_no_samples_are_refused() -> None:
    """One sentence."""
    setting = LensSetting(focal_mm=36, f_number=4, focus=FocusDistance(9))
    with pytest.raises(SettingError, match="at least 1 sample"):
        trace_exact(build(described([])), eye_level(), setting, samples=0)
