"""Whole commands: how long help takes, the first render ever, a warm render, and a batch.

    python tests/bench/commands.py [--json] [--batch | --start]

Ratios are to a yardstick in the same sitting: `python -c "import typer, rich, numpy"` for the
help, one scipy.ndimage.gaussian_filter pass (three channels, float32, sigma a quarter of the
largest blur radius, rounded to 4 px) for the renders; for 100 small photos in one command, the
same photos one command each (every tenth, run before and after), in seconds and, where other
people load the machine, in seconds of processor. Whole processes, start-up included.

`--start` is about the README's first command, in seconds of processor: what it loads beside
`python -c "import numba, scipy.ndimage"`, which its loops need; and all of it, warm, beside
gaussian passes over its picture.
"""

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

HINGELINE = [sys.executable, "-m", "render"]
RUNS = 7
PHOTOS = 100


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


def _gaussian_pass_s(
    height: int, width: int, clock: Callable[[], float] = time.perf_counter
) -> float:
    picture = np.random.default_rng(1).random((height, width, 3), dtype=np.float32)
    times = []
    for _ in range(3):
        start = clock()
        ndimage.gaussian_filter(picture, (4, 4, 0))
        times.append(clock() - start)
    return min(times)


def _cost(command: list[str], cwd: Path) -> tuple[float, float]:
    """Seconds and seconds of processor that a command and its workers took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    wall_s = _seconds(command, cwd)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall_s, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _batch(folder: Path) -> dict[str, float]:
    """100 photos of 640 x 427 px in one command, alone and by two, and one command each."""
    rng = np.random.default_rng(3)
    (folder / "day").mkdir()
    for number in range(PHOTOS):
        codes = rng.integers(20, 235, (54, 80, 3), dtype=np.uint8)
        path = folder / "day" / f"photo{number:03d}.jpg"
        Image.fromarray(codes).resize((640, 427)).save(path, quality=92)
    asked = ["--focal-35", "28", "--height", "12", "--pitch", "down 15", "--tilt", "up 8"]
    asked += ["--f", "2.8", "--overwrite", "--quiet"]

    def one(number: int) -> tuple[float, float]:
        name = f"day/photo{number:03d}.jpg"
        return _cost([*HINGELINE, "render", name, *asked, "-o", "one.jpg"], folder)

    def many(out: str, *more: str) -> tuple[float, float]:
        return _cost([*HINGELINE, "render", "day", *asked, "-o", f"{out}/", *more], folder)

    one(0)
    singles = [one(number) for number in range(0, PHOTOS, 20)]
    alone, two = many("alone"), many("two", "--workers", "2")
    singles += [one(number) for number in range(10, PHOTOS, 20)]
    wall_s, cpu_s = (PHOTOS * statistics.mean(cost[k] for cost in singles) for k in (0, 1))
    same = all(
        (folder / "alone" / path.name).read_bytes() == path.read_bytes()
        for path in (folder / "two").glob("*.jpg")
    )
    return {
        "photos_one_command_each_s": wall_s,
        "photos_in_a_batch_s": alone[0],
        "batch_to_single_commands": alone[0] / wall_s,
        "batch_to_single_commands_processor": alone[1] / cpu_s,
        "two_workers_to_one": two[0] / alone[0],
        "two_workers_to_one_processor": two[1] / alone[1],
        "two_workers_give_the_same_bytes": float(same),
    }


def _start(folder: Path) -> dict[str, float]:
    """What the README's first command loads, and all of it."""
    python = [sys.executable, "-c"]
    ours, yardstick = (
        [*python, "import render.jobs.render"],
        [*python, "import numba, scipy.ndimage"],
    )
    _cost(ours, folder), _cost(yardstick, folder)
    pairs = [(_cost(ours, folder)[1], _cost(yardstick, folder)[1]) for _ in range(RUNS)]
    first = [
        *HINGELINE,
        "render",
        "market",
        "--tilt",
        "up 8",
        "--f",
        "2.8",
        "--show",
        "--overwrite",
    ]
    _cost(first, folder)
    wall_s, cpu_s = min(_cost(first, folder) for _ in range(2))
    return {
        "loading_processor_s": statistics.median(a for a, _ in pairs),
        "loading_to_its_libraries": statistics.median(a / b for a, b in pairs),
        "first_command_warm_s": wall_s,
        "first_command_warm_processor_s": cpu_s,
        "first_command_to_gaussian": cpu_s / _gaussian_pass_s(853, 1280, time.process_time),
    }


def _said(figures: dict[str, float], *, as_json: bool) -> None:
    if as_json:
        print(json.dumps(figures, indent=1))
        return
    for key, value in figures.items():
        print(f"{key:36s} {value:8.3f}")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--batch", action="store_true", help="only 100 photos in one command")
    parser.add_argument("--start", action="store_true", help="only the README's first command")
    asked = parser.parse_args()
    as_json = asked.json
    if asked.batch or asked.start:
        with tempfile.TemporaryDirectory() as name:
            _said((_batch if asked.batch else _start)(Path(name)), as_json=as_json)
        return
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
    _said(figures, as_json=as_json)


if __name__ == "__main__":
    main()
