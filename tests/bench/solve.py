"""Solving: how long one question takes, and "only this sharp" on a scene of 1 Mpx.

    python tests/bench/solve.py [--json]

The ratio is to the yardstick in the same process: one scipy.ndimage.gaussian_filter pass over
1 Mpx (three channels, float32, sigma 4 px).
"""

import argparse
import json
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy import ndimage

from render.load.asked.site import Site
from render.load.asked.wish import parse_wish
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.solving.selective import compare_leanings
from render.optics.solving.serving import serve
from render.optics.solving.targets import Target
from tests.lenses import LONG as LENS

STIFF = replace(LENS, tilt_limit_deg=0.5)
STREET = [
    Target.at(0, 1.6, 4.0),
    Target.at(1.0, 1.3, 12.0),
    Target.at(-3.0, 0.9, 30.0),
    Target.at(2.0, -1.0, 45.0),
    Target.at(-1.0, 1.0, 9.0),
]


def _best_s(call: Callable[[], object], runs: int = 7) -> float:
    call()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def _site() -> Site:
    """A head before a room, 1 Mpx."""
    camera = Camera.from_lens(1200, 834, 90, Sensor())
    y, x = np.mgrid[0:834, 0:1200]
    depth = np.full(x.shape, 4.0, np.float32)
    head = ((x - 600) / 180) ** 2 + ((y - 417) / 260) ** 2 < 1
    depth[head] = (1.5 + 0.0003 * (y - 417))[head]
    return Site((-0.2, -0.14, 0.2, 0.14), camera, depth, whole_px=(1200, 834), vantage=Vantage(1.6))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    as_json = parser.parse_args().json
    picture = np.random.default_rng(1).random((834, 1200, 3), dtype=np.float32)
    yardstick = _best_s(lambda: ndimage.gaussian_filter(picture, (4, 4, 0)), 5)
    site, eyes = _site(), parse_wish("point", "eyes=45%,44%,55%,50%")
    figures = {
        "five points, tilted and straight": _best_s(
            lambda: serve(STREET, LENS, LENS.freedom(), 0.029, 1e-4)
        ),
        "five points, the limit in the way": _best_s(
            lambda: serve(STREET, STIFF, STIFF.freedom(), 0.029, 1e-4)
        ),
        "only this sharp, 205 positions, 1 Mpx": _best_s(
            lambda: compare_leanings(
                [site.region(eyes)],
                site.everything_but([eyes]),
                focal_mm=90,
                f_number=2.8,
                coc_mm=0.029,
                limit_deg=8,
            ),
            3,
        ),
    }
    if as_json:
        print(json.dumps({name: {"s": s, "ratio": s / yardstick} for name, s in figures.items()}))
        return
    print(f"yardstick: one gaussian pass over 1 Mpx {yardstick * 1000:.1f} ms")
    for name, seconds in figures.items():
        print(f"{name}: {seconds * 1000:.1f} ms, {seconds / yardstick:.2f} times the yardstick")


if __name__ == "__main__":
    main()
