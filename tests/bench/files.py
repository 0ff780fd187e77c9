"""How long a 12 Mpx picture takes from file to light and back, beside one Gaussian pass.

Run: python tests/bench/files.py
"""

import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.ndimage import gaussian_filter

from render.files.depths import read_depth, write_depth
from render.files.pictures import read_picture, write_picture
from render.optics.camera import Camera

HEIGHT, WIDTH = 3000, 4000


def best(work: Callable[[], object], times: int = 3) -> float:
    """Return the shortest of several runs, seconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> None:
    """Print each measure, the yardstick and their ratio."""
    generator = np.random.default_rng(0)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    waves = 0.3 + 0.2 * np.sin(x / 90) * np.cos(y / 70)
    light = np.stack([waves, waves * 0.8, waves * 0.6], axis=-1)
    light += generator.normal(0, 0.01, light.shape).astype(np.float32)
    light = np.clip(light, 0, 1)
    yardstick = best(lambda: [gaussian_filter(light[..., c], 8) for c in range(3)], 2)
    print(f"{WIDTH} x {HEIGHT} px; one gaussian_filter pass, sigma 8: {yardstick:.2f} s")
    camera = Camera(WIDTH, HEIGHT, 3500.0)
    depth_m = (4 + 0.05 * y).astype(np.float32)
    with tempfile.TemporaryDirectory() as folder:
        for name, bits in (("a.jpg", 8), ("a.png", 8), ("b.png", 16), ("a.tif", 8), ("b.tif", 16)):
            path, again = Path(folder, name), Path(folder, f"again_{name}")
            write_picture(path, light, bits=bits)
            picture = read_picture(path)
            changed = picture.light * np.float32(0.9)
            read = best(lambda path=path: read_picture(path))
            write = best(
                lambda again=again, changed=changed, picture=picture: write_picture(
                    again, changed, picture, overwrite=True
                )
            )
            size = again.stat().st_size / 1e6
            print(
                f"{name[2:]} {bits:2d} bit: read {read:.2f} s ({read / yardstick:.3f}), "
                f"write {write:.2f} s ({write / yardstick:.3f}), {size:.0f} MB"
            )
        for name in ("d.png", "d.tif", "d.npz"):
            path = Path(folder, name)
            write = best(lambda path=path: write_depth(path, depth_m, overwrite=True))
            read = best(lambda path=path: read_depth(path, camera))
            print(
                f"depth {name[2:]}: read {read:.2f} s ({read / yardstick:.3f}), "
                f"write {write:.2f} s ({write / yardstick:.3f})"
            )
        tracemalloc.start()
        read_picture(Path(folder, "a.jpg"))
        peak = tracemalloc.get_traced_memory()[1]
        print(f"peak while reading JPEG: {peak / (HEIGHT * WIDTH):.1f} bytes per pixel")


if __name__ == "__main__":
    main()
