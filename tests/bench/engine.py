"""engine.py [--json]: time and memory of one photograph beside its yardsticks, in one run.

Yardsticks: one `scipy.ndimage.gaussian_filter` pass over the three channels, and OpenCV's
GaussianBlur, both with sigma = a quarter of the largest radius of that case. Every time is the
best of several runs after a warm-up call. Pictures are made here (ground, posts, sky, lamps), or
taken from a folder of traced scenes and enlarged (--truth FOLDER).
"""

import argparse
import json
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cv2
import numba
import numpy as np
from scipy import ndimage

from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.optics.blur import blur_field
from render.optics.camera import Camera
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene

_PX = {
    "1.1 Mpx": (1280, 853),
    "4 Mpx": (2450, 1633),
    "12 Mpx": (4243, 2828),
    "48 Mpx": (8485, 5657),
}


def made_scene(width: int, height: int) -> Scene:
    """Ground seen from 12 m, posts and a rail in front, sky, lamps, and texture at every size."""
    rng = np.random.default_rng(5)
    camera = Camera(width, height, 1.25 * width, width / 2, height * 0.1)
    columns, rows = camera.grid()
    slope = np.maximum(rows[:, None], 1e-6) + 0 * columns
    depth_m = np.where(rows[:, None] > 0.01, 12.0 / slope, np.inf).astype(np.float32)
    light = np.full((height, width), 0.3, np.float32)
    for step in (4, 16, 64, 256):
        coarse = rng.uniform(-1, 1, (height // step + 2, width // step + 2)).astype(np.float32)
        light += 0.07 * cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    picture = np.clip(light[..., None] * np.array([1.1, 1.0, 0.8], np.float32), 0.01, 1)
    for k in range(24):
        x, wide = int(width * (k + 0.5) / 24), max(2, width // 300)
        foot = int(height * rng.uniform(0.3, 0.95))
        top = max(0, foot - height // 4)
        depth_m[top:foot, x : x + wide] = depth_m[foot, x]
        picture[top:foot, x : x + wide] = rng.uniform(0.05, 0.6, 3)
    for _ in range(200):
        picture[rng.integers(height), rng.integers(width)] = 40.0
    return Scene(picture, depth_m, camera)


def traced_scene(folder: Path, name: str, width: int, height: int) -> tuple[Scene, LensSetting]:
    """One setting of a traced scene, its picture enlarged."""
    from truth import traced_scene as read
    from truth import traced_setting

    described = folder / f"{name}.json"
    meta = json.loads(described.read_text())
    small = read(described.parent, meta)
    iz = cv2.resize(1 / small.depth_m, (width, height), interpolation=cv2.INTER_NEAREST)
    picture = cv2.resize(small.picture, (width, height), interpolation=cv2.INTER_CUBIC)
    with np.errstate(divide="ignore"):
        depth_m = (1 / iz).astype(np.float32)
    camera = small.camera.resized(width, height)
    return Scene(np.maximum(picture, 0), depth_m, camera), traced_setting(meta)


def at_mean_radius(scene: Scene, setting: LensSetting, mean_px: float) -> tuple[LensSetting, float]:
    """Open or close the lens until the mean radius is `mean_px`; also the largest radius."""
    radius = np.abs(blur_field(focus_lens(setting), scene.camera, scene.depth_m).radius_px())
    factor = mean_px / float(radius.mean())
    return replace(setting, f_number=setting.f_number / factor), float(radius.max()) * factor


def best(work: Callable[[], object], runs: int) -> float:
    """Shortest time of several runs, s."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def measure(
    scene: Scene, setting: LensSetting, mean_px: float, runs: int, yardsticks: bool
) -> dict:
    """All figures of one case."""
    setting, largest_px = at_mean_radius(scene, setting, mean_px)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    photograph(scene, setting)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    pixels = scene.depth_m.size
    row = {
        "pixels": pixels,
        "mean_radius_px": mean_px,
        "largest_radius_px": round(largest_px, 1),
        "final_s": best(lambda: photograph(scene, setting, quality=FINAL), runs),
        "preview_s": best(lambda: photograph(scene, setting, quality=PREVIEW), runs),
        "planes_above_input": round(grown * 1024 / (4 * pixels), 1),
    }
    row["ns_per_pixel"] = round(row["final_s"] / pixels * 1e9, 1)
    row["preview_share"] = round(row["preview_s"] / row["final_s"], 2)
    if yardsticks:
        sigma = largest_px / 4
        picture = np.array(scene.picture)
        row["scipy_s"] = best(
            lambda: ndimage.gaussian_filter(picture, (sigma, sigma, 0)), 1 + runs // 3
        )
        cv2.setNumThreads(numba.get_num_threads())
        row["opencv_s"] = best(lambda: cv2.GaussianBlur(picture, (0, 0), sigma), runs)
        row["of_scipy"] = round(row["final_s"] / row["scipy_s"], 3)
        row["of_opencv"] = round(row["final_s"] / row["opencv_s"], 2)
    return row


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--truth", type=Path, help="folder of traced scenes to enlarge")
    parser.add_argument("--scenes", nargs="*", default=["hillside/up8_f2.8", "bench/left3_f2.8"])
    parser.add_argument("--sizes", nargs="*", default=list(_PX)[:3], help=", ".join(_PX))
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    numba.set_num_threads(min(options.threads, numba.config.NUMBA_NUM_THREADS))
    rows = {}
    for size in options.sizes:
        width, height = _PX[size]
        if options.truth:
            cases = [
                (name, *traced_scene(options.truth, name, width, height)) for name in options.scenes
            ]
        else:
            scene = made_scene(width, height)
            spot = FocusSpot(0.0, 0.2, 60.0)
            setting = LensSetting(focal_mm=45, f_number=2.8, focus=spot, tilt_deg=-8)
            cases = [("made", scene, setting)]
        for name, scene, setting in cases:
            for mean_px in (9.0,) if width < 2000 else (30.0, 60.0):
                key = f"{name} {size} mean {mean_px:g} px"
                rows[key] = measure(scene, setting, mean_px, options.runs, mean_px != 60.0)
                if not options.json:
                    print(key, json.dumps({k: v for k, v in rows[key].items() if k != "pixels"}))
    if options.json:
        print(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()
