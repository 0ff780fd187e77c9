"""How long a map takes to read, to become a scene and to be built, against one gaussian pass.

Run: python tests/bench/maps.py FILE LATITUDE LONGITUDE [REACH_M]
"""

import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np
from scipy.ndimage import gaussian_filter

from render.files.maps import read_map
from render.trace.build import build
from render.world.place.place import describe_place

T = TypeVar("T")


def timed(work: Callable[[], T], tries: int = 3) -> tuple[T, float]:
    """The result, and the shortest of some times, s."""
    least = float("inf")
    for _ in range(tries):
        start = time.perf_counter()
        made = work()
        least = min(least, time.perf_counter() - start)
    return made, least


def main() -> None:
    """Print seconds and ratios."""
    path, at = Path(sys.argv[1]), (float(sys.argv[2]), float(sys.argv[3]))
    reach = float(sys.argv[4]) if len(sys.argv) > 4 else 1500.0
    plane = np.random.default_rng(1).random((853, 1280, 3), np.float32)
    _, pass_s = timed(lambda: gaussian_filter(plane, (8, 8, 0)))
    data, read_s = timed(lambda: read_map(path, (*at, reach)))
    place, describe_s = timed(lambda: describe_place(data, *at, reach))
    built, build_s = timed(lambda: build(place.description))
    print(
        f"{place.counts.total} buildings, {len(data.features)} features, "
        f"{len(built.world.tri)} triangles; gaussian pass {1000 * pass_s:.0f} ms"
    )
    for name, seconds in (("read", read_s), ("describe", describe_s), ("build", build_s)):
        print(f"{name:9}{seconds:6.2f} s = {seconds / pass_s:6.1f} passes")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
