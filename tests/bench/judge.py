"""Judging 12 Mpx without rendering, and advising on it.

    python tests/bench/judge.py [--json] [--width PX]

Yardstick: one scipy.ndimage.gaussian_filter pass (three channels, float32, sigma a quarter of the
largest blur radius) over the same picture in the same process. The least of several runs; the
first call is warm-up.
"""

import argparse
import json
import math
import time
from collections.abc import Callable

import numpy as np
from scipy import ndimage

from render.judge.advising.advice import advise
from render.judge.case import look
from render.judge.verdict import judge
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.plan.card import plan_card
from render.plan.exposure import brightness_from_weather
from render.scene.scene import Scene

RUNS = 5


def _town(width: int) -> Scene:
    """Noise over flat ground with upright blocks, seen from 20 m, 20 degrees down, 90 mm."""
    height = width * 2 // 3
    camera = Camera.from_lens(width, height, 90.0, Sensor())
    pitch = math.radians(20)
    x, y = (part.astype(np.float32) for part in camera.grid())
    inverse = np.broadcast_to(
        ((math.sin(pitch) + y * math.cos(pitch)) / 20)[:, None], (height, width)
    ).astype(np.float32)
    rng = np.random.default_rng(3)
    for away_m in np.linspace(70, 40, 40):
        left = rng.uniform(-14, 12)
        wall = (math.cos(pitch) - y * math.sin(pitch)) / away_m
        above = 20 - (y * math.cos(pitch) + math.sin(pitch)) / wall
        rows = (above > 0) & (above < rng.uniform(3, 12))
        columns = (x * away_m > left) & (x * away_m < left + 2)
        block = np.ix_(rows, columns)
        inverse[block] = np.maximum(inverse[block], wall[rows, None])
    picture = rng.random((height, width, 3), dtype=np.float32)
    return Scene(picture, 1 / inverse, camera, vantage=Vantage(20, 20))


def _least_s(run: Callable[[], object]) -> float:
    run()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--width", type=int, default=4242)
    asked = parser.parse_args()
    scene = _town(asked.width)
    depth_m = 20 / math.sin(math.radians(20))
    setting = LensSetting(focal_mm=90, f_number=2.8, focus=FocusSpot(0, 0, depth_m), tilt_deg=-8)
    verdict, case = judge(scene, setting), look(scene)
    sigma = verdict.measures.edge_blur * scene.depth_m.shape[0] / 2 / 4
    gaussian_s = _least_s(lambda: ndimage.gaussian_filter(scene.picture, (sigma, sigma, 0)))
    sun = brightness_from_weather("sun")
    figures = {
        "megapixels": scene.depth_m.size / 1e6,
        "sigma_px": sigma,
        "gaussian_s": gaussian_s,
        "judge_s": _least_s(lambda: judge(scene, setting)),
        "advise_s": _least_s(lambda: advise(scene, case, setting)),
        "card_s": _least_s(lambda: plan_card(case, verdict, scene.picture, sun)),
        "telltales": len(verdict.telltales),
    }
    for name in ("judge", "advise", "card"):
        figures[f"{name}_to_gaussian"] = figures[f"{name}_s"] / gaussian_s
    if asked.json:
        print(json.dumps(figures, indent=1))
    else:
        print("\n".join(f"{name:>20}  {value:.4g}" for name, value in figures.items()))


if __name__ == "__main__":
    main()
