"""How much a film costs beside the engine alone: `python tests/bench/film.py [--frames 24]`.

`--workers` measures two workers against one.

1080p from clip to clip, one depth, a mean radius of 10 px: the film against the engine on the same
frames, against one Gaussian pass a frame, against a still; memory at 4K; two workers against one.
Every figure is a ratio of one run; the engine and the pass are the yardsticks beside it.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

from render.depth.ground import LEVEL, ground_depth
from render.engine.held import hold_lens
from render.engine.photograph import photograph
from render.files.clips.kinds import clip_kind
from render.files.clips.reading import ClipReader, open_clip
from render.files.clips.tags import ColourTags
from render.files.clips.writing import ClipShape, SegmentWriter
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusDistance, LensSetting
from render.scene.scene import Scene

PLACE = ["--view=43.6", "--height=12", "--pitch=15", "--lens=45", "--focus=18 m", "--tilt=up 6"]


def clip_of(path: Path, width: int, height: int, frames: int) -> Path:
    """A still camera's clip: a textured picture, noise, and a square that crosses."""
    rng = np.random.default_rng(1)
    still = ndimage.gaussian_filter(rng.uniform(0, 1, (height, width, 3)), (2, 2, 0))
    still = (still - still.min()) / np.ptp(still)
    rate = Fraction(25)
    shape = ClipShape(width, height, rate, 1 / rate, ColourTags(1, 1, 1, False))
    writer = SegmentWriter(path, clip_kind(path, "h264"), shape)
    for k in range(frames):
        frame = (still + rng.normal(0, 0.003, (height, width, 1))).clip(0, 1).astype(np.float32)
        left = 10 + 20 * k
        frame[height // 2 : height // 2 + 60, left : left + 40] = (0.8, 0.1, 0.1)
        writer.add(frame)
    writer.close()
    return path


def timed(work: Callable[[], object], times: int = 1) -> float:
    """Seconds of the quickest of some runs."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def filmed(source: Path, out: Path, f_number: float, *more: str) -> tuple[float, float]:
    """Seconds of the frames alone, as the film tells in JSON, and its peak memory in MB."""
    out.unlink(missing_ok=True)
    command = [sys.executable, "-m", "render", "film", str(source), *PLACE, f"--f={f_number}",
               "-o", str(out), *more]  # fmt: skip
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    if status:
        raise SystemExit(status)
    return time.perf_counter() - start, used.ru_maxrss / 1024


def workers(folder: Path, count: int) -> None:
    """Two workers against one on stills, the engine single-threaded: by the clock and by CPU.

    By CPU two are as good as their work is not more: what one core does twice is lost. The first
    two figures leave out the start, as the difference of a long and a short film. The third is
    what two quiet cores would give (Amdahl, AFIPS 1967): the start of the film and of a worker,
    which nothing shortens, then the frames' CPU time by two. It holds under any load.
    """
    (folder / "stills").mkdir()
    rng = np.random.default_rng(2)
    still = ndimage.gaussian_filter(rng.uniform(0, 255, (1080, 1920, 3)), (2, 2, 0))
    for k in range(count):
        frame = (still + rng.normal(0, 3, (1080, 1920, 1))).clip(0, 255).astype(np.uint8)
        Image.fromarray(frame).save(folder / "stills" / f"s{k:03d}.jpg", quality=92)
    os.environ["NUMBA_NUM_THREADS"] = "1"
    clock, cpu, begun = {}, {}, {}
    for crew in (1, 2):
        spent = []
        for share in (0.25, 1.0):
            command = [sys.executable, "-m", "render", "film", str(folder / "stills"), *PLACE,
                       "--f=2.8", "--format=36x20.25", f"--to={share * count / 25} s",
                       f"--workers={crew}", "-o",
                       str(folder / f"out{crew}-{share}" / "%04d.jpg")]  # fmt: skip
            start = time.perf_counter()
            child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
            _, status, used = os.wait4(child.pid, 0)
            if status:
                raise SystemExit(status)
            spent.append((time.perf_counter() - start, used.ru_utime + used.ru_stime))
        clock[crew], cpu[crew] = (spent[1][k] - spent[0][k] for k in (0, 1))
        begun[crew] = spent[1][1] - cpu[crew] / 0.75
    frame_s = {crew: used / (0.75 * count) for crew, used in cpu.items()}
    whole = {n: (begun[1] + n * frame_s[1]) / (begun[1] + n * frame_s[2] / 2) for n in (72, 500)}
    print(f"a frame takes {1000 * frame_s[1]:.0f} ms of CPU with one worker, "
          f"{1000 * frame_s[2]:.0f} with two; the start {begun[1]:.1f} s, each further worker "
          f"{begun[2] - begun[1]:.1f} s more: on two quiet cores {whole[72]:.2f} times as fast "
          f"with two for 72 frames, {whole[500]:.2f} for 500")  # fmt: skip
    print(f"two workers on {count} stills of 1080p: {clock[1] / clock[2]:.2f} times one by the "
          f"clock, {2 * cpu[1] / cpu[2]:.2f} times by CPU; "
          f"load {os.getloadavg()[0]:.1f}")  # fmt: skip


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--frames", type=int, default=24)
    asked.add_argument("--workers", action="store_true", help="only two workers against one")
    given = asked.parse_args()
    frames = given.frames
    if given.workers:
        workers(Path(tempfile.mkdtemp()), 4 * frames)
        return
    folder = Path(tempfile.mkdtemp())
    width, height = 1920, 1080
    source = clip_of(folder / "a.mp4", width, height, 2 * frames)
    camera = Camera(width, height, width / (2 * np.tan(np.radians(43.6 / 2))))
    depth = ground_depth(camera, Vantage(12.0, 15.0), LEVEL).astype(np.float32)
    light = next(ClipReader(open_clip(source)).frames(0, 1))
    scene = Scene(light, depth, camera)
    setting = LensSetting(focal_mm=45, f_number=2.8, focus=FocusDistance(18.0), tilt_deg=-6)
    radius = float(np.abs(hold_lens(scene, setting).field.radius_px()).mean())
    f_number = 2.8 * radius / 10
    setting = LensSetting(focal_mm=45, f_number=f_number, focus=FocusDistance(18.0), tilt_deg=-6)
    held = hold_lens(scene, setting)
    sigma = float(np.abs(held.field.radius_px()).max()) / 4
    print(f"{os.cpu_count()} cores, {width} x {height}, mean radius 10 px at f/{f_number:.2f}")

    photograph(scene, setting)
    still = kept = float("inf")
    for _ in range(5):  # by turns, as other work may come and go
        still = min(still, timed(lambda: photograph(Scene(light, depth, camera), setting)))
        kept = min(kept, timed(lambda: held.photograph(light)))
    gauss = timed(lambda: ndimage.gaussian_filter(light, (sigma, sigma, 0)), 2)
    print(f"engine: a still {still:.3f} s, with held field and edges {kept:.3f} s "
          f"({1 - kept / still:.0%} saved); one Gaussian pass {gauss:.3f} s")  # fmt: skip
    reader = ClipReader(open_clip(source))
    read = timed(lambda: list(reader.frames(0, frames))) / frames
    print(f"decoding into linear light {read:.4f} s a frame")

    warm, _ = filmed(source, folder / "w.mp4", f_number, f"--to={2 / 25} s")
    one, memory = filmed(source, folder / "b.mp4", f_number, f"--to={frames / 25} s")
    two, _ = filmed(source, folder / "c.mp4", f_number, f"--to={2 * frames / 25} s")
    each = (two - one) / frames
    print(f"film: {each:.3f} s a frame = {each / still:.2f} of the engine's still, "
          f"{each / kept:.2f} of the held one, {each / gauss:.2f} Gaussian passes; "
          f"start {warm:.1f} s; peak memory {memory:.0f} MB")  # fmt: skip

    large = clip_of(folder / "large.mp4", 3840, 2160, 6)
    _, memory = filmed(large, folder / "d.mp4", 2 * f_number, "--to=0.08 s")
    _, more = filmed(large, folder / "e.mp4", 2 * f_number)
    print(f"4K: peak memory {memory:.0f} MB for 2 frames, {more:.0f} MB for 6")


if __name__ == "__main__":
    main()
