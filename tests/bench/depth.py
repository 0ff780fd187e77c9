"""How long depth takes on 12 Mpx, beside one Gaussian pass, and how near it comes to the truth.

Run: python tests/bench/depth.py
"""

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from scipy.ndimage import gaussian_filter

from render.depth.depthmap import DepthMap
from render.depth.ground import ground_depth
from render.depth.mark import Mark
from render.depth.marks import spread_marks
from render.depth.mending import mend
from render.depth.sky import guess_sky
from render.optics.camera import Camera, Vantage

HEIGHT, WIDTH = 3000, 4000
MARKS = 12


def beside(
    work: Callable[[], object], yardstick: Callable[[], object], rounds: int = 3
) -> tuple[float, float]:
    """Return the shortest of several runs of both, seconds, taken in turn."""
    found = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        middle = time.perf_counter()
        yardstick()
        found.append((middle - start, time.perf_counter() - middle))
    return min(a for a, _ in found), min(b for _, b in found)


def peak_bytes(work: Callable[[], object]) -> int:
    """Most memory that Python's allocators held during a run."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def picture() -> np.ndarray:
    """A noisy picture of soft waves with hard-edged boxes in it, linear light."""
    generator = np.random.default_rng(0)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    waves = 0.3 + 0.2 * np.sin(x / 90) * np.cos(y / 70)
    light = np.stack([waves, waves * 0.8, waves * 0.6], axis=-1)
    for _ in range(200):
        top, left = generator.integers(0, HEIGHT - 200), generator.integers(0, WIDTH - 200)
        light[top : top + 200, left : left + 120] = generator.uniform(0.05, 0.9, 3)
    light += generator.normal(0, 0.01, light.shape).astype(np.float32)
    return np.clip(light, 0, 1)


def main() -> None:
    """Print each measure, the yardstick and their ratio."""
    light = picture()
    generator = np.random.default_rng(1)
    camera, vantage = Camera(WIDTH, HEIGHT, 3000.0), Vantage(20.0, 18.0)
    ground = ground_depth(camera, vantage)
    marks = [
        Mark(float(x), float(y), float(d))
        for x, y, d in zip(
            generator.uniform(0, WIDTH, MARKS),
            generator.uniform(0.2 * HEIGHT, HEIGHT, MARKS),
            generator.uniform(20, 150, MARKS),
            strict=True,
        )
    ]
    holed = np.minimum(ground, 400)
    holed[generator.random(holed.shape) < 0.02] = np.nan
    holed[1000:1300, 1500:1900] = np.nan
    for top in range(200, HEIGHT - 300, 400):
        holed[top : top + 250, 600:900] = 15.0
    broken = DepthMap(holed, "a bench", 0.1)

    def whole_pass() -> object:
        return gaussian_filter(light, (4, 4, 0))

    jobs: tuple[tuple[str, Callable[[], object], Callable[[], object]], ...] = (
        (
            "ground",
            lambda: ground_depth(camera, vantage),
            lambda: gaussian_filter(light[..., 0], 4),
        ),
        (f"{MARKS} marks", lambda: spread_marks(light, camera, marks), whole_pass),
        ("  over ground", lambda: spread_marks(light, camera, marks, ground_m=ground), whole_pass),
        ("mending", lambda: mend(broken, light), whole_pass),
        ("sky by colour", lambda: guess_sky(light), whole_pass),
    )
    for name, work, yardstick in jobs:
        work()  # compile
        seconds, passed = beside(work, yardstick)
        memory = peak_bytes(work) / light[..., 0].size
        ratio = f"{seconds:.3f} s beside {passed:.3f} s = {seconds / passed:.2f}"
        print(f"{name}: {ratio}, {memory:.0f} bytes a pixel")


if __name__ == "__main__":
    main()
