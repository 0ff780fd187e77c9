"""Sheets: what drawing and captions cost beyond the renders, and the memory they take.

    python tests/bench/sheets.py [--json]

A stop sheet of 6 from a 12 Mpx picture, against six previews of the engine at the sheet's size,
in the same process; the board's time beyond its renders; the stages of the blur map. The
yardstick is one scipy.ndimage.gaussian_filter pass, sigma 8, over the same 12 Mpx. Best of three
after a warm-up; loading the picture is timed apart.
"""

import argparse
import json
import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from scipy import ndimage

import render.jobs.board as board_job
import render.jobs.compare as compare_job
from render.engine import photograph as engine
from render.load.prepare import prepare
from render.load.progress import silent
from render.optics.blur import blur_field
from render.optics.plane import focus_lens
from render.scene.resize import resized
from render.sheets.drawing.raster import paint
from render.sheets.overlay import band_overlay, blur_map
from render.shot.shot import Shot, merged
from render.shot.wishes import BoardWishes

WIDTH, HEIGHT = 4240, 2832
GIVEN = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "focus": "50%,58%"}


def _once(task: Callable[[], Any]) -> float:
    start = time.perf_counter()
    task()
    return time.perf_counter() - start


def _best(task: Callable[[], Any], runs: int = 5) -> float:
    task()
    return min(_once(task) for _ in range(runs))


def _picture(folder: Path) -> Path:
    rng = np.random.default_rng(1)
    coarse = rng.integers(20, 235, (HEIGHT // 16, WIDTH // 16, 3), dtype=np.uint8)
    path = folder / "plain.jpg"
    Image.fromarray(coarse).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC).save(path, quality=90)
    return path


def _sheet(folder: Path, shot: Shot) -> dict[str, float]:
    """Time the stop sheet with the picture in memory, and its six previews alone, in turn."""
    base = prepare(shot, silent)
    small = resized(base.scene, 480)
    settings = [replace(base.setting, f_number=stop) for stop in (2.8, 4, 5.6, 8, 11, 16)]

    def previews() -> None:
        for setting in settings:
            engine.photograph(small, setting)

    def draw() -> None:
        compare_job.compare(shot, folder / "sheet.png", overwrite=True, progress=silent)

    loaded = compare_job.prepare
    compare_job.prepare = lambda *_: base  # type: ignore[assignment]
    try:
        pairs = [(_once(draw), _once(previews)) for _ in range(9)][1:]
    finally:
        compare_job.prepare = loaded
    return {
        "load_s": _best(lambda: prepare(shot, silent), runs=1),
        "stop_sheet_of_6_s": min(pair[0] for pair in pairs),
        "six_previews_s": min(pair[1] for pair in pairs),
        "sheet_over_six_previews": statistics.median(a / b for a, b in pairs),
    }


def _board(folder: Path, shot: Shot) -> dict[str, float]:
    """Time the board with its PNG, and of that what is not rendering or loading."""
    spent = [0.0]
    base = prepare(shot, silent)
    taken, loaded = engine.photograph, board_job.prepare

    def timed(*given: Any, **how: Any) -> Any:
        start = time.perf_counter()
        made = taken(*given, **how)
        spent[0] += time.perf_counter() - start
        return made

    def once() -> None:
        spent[0] = 0.0
        board_job.board(
            shot,
            folder / "board.pdf",
            BoardWishes(),
            png=folder / "board.png",
            overwrite=True,
            progress=silent,
        )

    engine.photograph, board_job.prepare = timed, lambda *_: base  # type: ignore[assignment]
    try:
        total = _best(once, runs=2)
    finally:
        engine.photograph, board_job.prepare = taken, loaded
    return {"board_s": total, "board_beyond_renders_s": total - spent[0]}


def _overlays(shot: Shot) -> dict[str, float]:
    base = prepare(shot, silent)
    scene = resized(base.scene, 1600)
    frame = scene.frame
    depth_m = scene.depth_m[frame.rows, frame.columns]
    field = blur_field(focus_lens(base.setting), scene.frame_camera, depth_m)
    grey = Image.new("RGB", (frame.width, frame.height), (120, 120, 120))
    return {
        "blur_map_1600px_s": _best(lambda: paint(blur_map(grey, field, 0.03))),
        "band_1600px_s": _best(lambda: paint(band_overlay(grey, field, 0.03))),
    }


def _yardstick() -> float:
    plain = np.random.default_rng(2).random((HEIGHT, WIDTH, 3), np.float32)
    return _best(lambda: ndimage.gaussian_filter(plain, (8, 8, 0)), runs=2)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    as_json = parser.parse_args().json
    yardstick = _yardstick()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shot = merged(Shot(picture=str(_picture(folder))), GIVEN, "{name}")
        found = _sheet(folder, shot) | _board(folder, shot) | _overlays(shot)
    found["yardstick_s"] = yardstick
    found |= {
        key.removesuffix("_s") + "_ratio": value / yardstick
        for key, value in list(found.items())
        if key.endswith("_s") and key != "yardstick_s"
    }
    found["peak_gb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    if as_json:
        print(json.dumps(found, indent=1))
        return
    for key, value in found.items():
        print(f"{key:32s} {value:8.3f}")


if __name__ == "__main__":
    main()
