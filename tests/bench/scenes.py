"""How long demo scenes take: a picture, a draft, many things, the exact lens; their detail.

Yardstick: one `scipy.ndimage.gaussian_filter` pass (three channels, float32, sigma 8) over a
picture of the same size.  Detail is set beside photographs named on the command line.
Run: ``python tests/bench/scenes.py [PHOTO ...]``.
"""

import math
import sys
import time
from collections.abc import Callable

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from render.load.scenes import list_scenes, load_scene
from render.optics.lens import FocusDistance, LensSetting
from render.scene.colour import SRGB
from render.trace.build import build
from render.trace.exact import trace_exact
from render.trace.trace import trace_built, view_of
from render.world.scenefile import read_description


def _least(work: Callable[[], object], turns: int = 3) -> tuple[float, float]:
    """Least wall time and least processor time of some turns after a first one, seconds."""
    work()
    walls, cpus = [], []
    for _ in range(turns):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return min(walls), min(cpus)


def _yardstick(width: int, height: int) -> float:
    picture = np.random.default_rng(0).random((height, width, 3), np.float32)
    return _least(lambda: gaussian_filter(picture, (8, 8, 0)))[0]


def _strewn(count: int) -> float:
    """Processor time of a picture of people on a square, seen from a roof."""
    person = {"kind": "person", "scatter": {"outline_m": _SQUARE, "count": count}}
    d = read_description("strewn", {"line": "People.", "things": [person]})
    built, view = build(d), view_of(d, width_px=640)
    return _least(lambda: trace_built(d, built, view, samples=4))[1]


def _houses(count: int) -> float:
    """The same for houses of their own, each another, on one field: the camera sees them all."""
    side = math.ceil(math.sqrt(count))
    step = 240 / side
    things = [
        {
            "kind": "box",
            "at_m": [step * (n % side) - 120, step * (n // side) - 120],
            "size_m": [0.5 * step, (0.4 + 0.3 * (n % 7) / 7) * step, step],
        }
        for n in range(count)
    ]
    stand = {"stand_m": [0, -260], "height_m": 90, "look_at_m": [0, 0, 0], "focal_mm": 36}
    d = read_description("houses", {"line": "Houses.", "things": things, "vantage": stand})
    built, view = build(d), view_of(d, width_px=640)
    return _least(lambda: trace_built(d, built, view, samples=4))[1]


def _exact(name: str) -> tuple[float, float]:
    """Processor time of a plain picture, and of the exact lens at 256 samples."""
    d = load_scene(name)
    built, view = build(d), view_of(d, width_px=320)
    setting = LensSetting(
        focal_mm=view.focal_mm, f_number=2.8, focus=FocusDistance(40), tilt_deg=-6
    )
    plain = _least(lambda: trace_built(d, built, view))[1]
    return plain, _least(lambda: trace_exact(built, view, setting, samples=256), 1)[1]


_SQUARE = [[-60, -60], [60, -60], [60, 60], [-60, 60]]


def _detail(grey: np.ndarray, side: int = 8) -> float:
    """Local contrast, codes: the median over squares of the spread of codes in each."""
    height, width = (n // side * side for n in grey.shape)
    squares = grey[:height, :width].reshape(height // side, side, width // side, side)
    return float(np.median(squares.std(axis=(1, 3))))


def _details(photos: list[str]) -> None:
    for path in photos:
        with Image.open(path) as opened:
            photo = opened.convert("L")
        photo = photo.resize((1280, round(photo.height * 1280 / photo.width)))
        print(f"{path}: local contrast {_detail(np.asarray(photo, float)):.1f} codes")
    for name in (scene.name for scene in list_scenes()):
        d = load_scene(name)
        picture = trace_built(d, build(d), view_of(d, width_px=1280)).picture
        grey = Image.fromarray(np.asarray(SRGB.codes(picture, 8), np.uint8)).convert("L")
        print(f"{name}: local contrast {_detail(np.asarray(grey, float)):.1f} codes")


def main() -> None:
    """Print every figure with its ratio."""
    _details(sys.argv[1:])
    for name in ("market", "village", "hall", "fair"):
        d = load_scene(name)
        start = time.perf_counter()
        built = build(d)
        print(f"{name}: built in {time.perf_counter() - start:.2f} s")
        for width, samples in ((1280, 16), (320, 4)):
            view = view_of(d, width_px=width)
            wall, cpu = _least(
                lambda b=built, v=view, n=samples, d=d: trace_built(d, b, v, samples=n), 2
            )
            ratio = wall / _yardstick(width, view.height_px)
            print(
                f"  {width} x {view.height_px}, up to {samples} samples: {wall:.2f} s, "
                f"{cpu:.2f} s of processor, {ratio:.0f} gaussian passes"
            )
    for what, bench in (("people", _strewn), ("houses", _houses)):
        few, many = bench(100), bench(10_000)
        print(f"10,000 {what} take {many / few:.2f} times as long as 100, 4 samples a pixel")
    for name in ("market", "hall"):
        plain, exact = _exact(name)
        print(f"{name}: the exact lens at 256 samples takes {exact / plain:.1f} plain pictures")


if __name__ == "__main__":
    main()
