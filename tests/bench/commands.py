"""Whole commands: how long help takes, the first render ever, and a warm render, end to end.

    python tests/bench/commands.py [--json]

Ratios are to a yardstick in the same sitting: `python -c "import typer, rich, numpy"` for the
help, one scipy.ndimage.gaussian_filter pass (three channels, float32, sigma a quarter of the
largest blur radius, rounded to 4 px) for the renders. Whole processes, start-up included.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

HINGELINE = [sys.executable, "-m", "render.cli.main"]
RUNS = 7


def _seconds(command: list[str], cwd: Path, **env: str) -> float:
    start = time.perf_counter()
    subprocess.run(command, cwd=cwd, check=True, capture_output=True, env={**os.environ, **env})
    return time.perf_counter() - start


def _pairs(a: list[str], b: list[str], cwd: Path) -> tuple[float, float, float]:
    """Median seconds of both and the median of their ratios, run in turn."""
    _seconds(a, cwd), _seconds(b, cwd)
    times = [(_seconds(a, cwd), _seconds(b, cwd)) for _ in range(RUNS)]
    return (
        statistics.median(t[0] for t in times),
        statistics.median(t[1] for t in times),
        statistics.median(t[0] / t[1] for t in times),
    )


def _gaussian_pass_s(height: int, width: int) -> float:
    picture = np.random.default_rng(1).random((height, width, 3), dtype=np.float32)
    times = []
    for _ in range(3):
        start = time.perf_counter()
        ndimage.gaussian_filter(picture, (4, 4, 0))
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    as_json = parser.parse_args().json
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        height, width = 853, 1280
        rng = np.random.default_rng(2)
        codes = rng.integers(20, 235, (height // 8, width // 8, 3), dtype=np.uint8)
        Image.fromarray(codes).resize((width, height)).save(folder / "roof.jpg", quality=92)
        render = [
            *(*HINGELINE, "render", "roof.jpg", "--focal-35", "28", "--height", "12"),
            *("--pitch", "down 15", "--tilt", "up 8", "--f", "2.8", "--overwrite"),
        ]
        first_s = _seconds(render, folder, NUMBA_CACHE_DIR=str(folder / "kernels"))
        warm_s = min(_seconds(render, folder) for _ in range(4))
        help_s, imports_s, ratio = _pairs(
            [*HINGELINE, "--help"], [sys.executable, "-c", "import typer, rich, numpy"], folder
        )
        gaussian_s = _gaussian_pass_s(height, width)
    figures = {
        "help_s": help_s,
        "imports_s": imports_s,
        "help_to_imports": ratio,
        "first_render_ever_s": first_s,
        "warm_render_1.1_mpx_s": warm_s,
        "gaussian_pass_s": gaussian_s,
        "warm_render_to_gaussian": warm_s / gaussian_s,
    }
    if as_json:
        print(json.dumps(figures, indent=1))
        return
    for key, value in figures.items():
        print(f"{key:28s} {value:8.3f}")


if __name__ == "__main__":
    main()
