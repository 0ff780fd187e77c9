"""How long from a turned ring to the new picture, in a real headless Chromium.

Prints the time to the first picture of a 12 Mpx photo, the median and the 95th percentile from
a key on the tilt ring to the picture shown (0.4 Mpx), from a moved pointer to the band drawn
there, the page's weight and the program's peak memory with 24 Mpx; beside them one pass of
`scipy.ndimage.gaussian_filter` over 0.4 Mpx. With `long`: how the memory grows over 2,000
pictures.

    python tests/bench/page.py [long]
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Page, sync_playwright
from scipy.ndimage import gaussian_filter

TURNS = 60
TURN = """async (key) => {
  const frame = document.getElementById("frame");
  const ring = document.querySelector("[aria-label='Tilt ring']");
  const before = frame.dataset.shown, start = performance.now();
  ring.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
  while (frame.dataset.shown === before) await new Promise(requestAnimationFrame);
  return performance.now() - start;
}"""
BAND = """async () => {
  const handle = document.querySelectorAll(".handle")[1], box = handle.getBoundingClientRect();
  const x = box.x + 22, y = box.y + 22, times = [];
  const send = (kind, at) => handle.dispatchEvent(new PointerEvent(kind,
    { bubbles: true, pointerId: 1, button: 0, buttons: 1, clientX: x, clientY: at }));
  handle.setPointerCapture = () => {};
  send("pointerdown", y);
  for (let step = 1; step <= 30; step += 1) {
    const start = performance.now();
    send("pointermove", y + step);
    while (Math.abs(handle.getBoundingClientRect().y + 22 - y - step) > 1.5) {
      await new Promise(requestAnimationFrame);
    }
    times.push(performance.now() - start);
    await new Promise(requestAnimationFrame);
  }
  send("pointerup", y + 30);
  return Math.max(...times);
}"""


def main() -> None:
    """Measure and print."""
    chromium = shutil.which("chromium") or sys.exit("no chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for width, height in ((4240, 2832), (6000, 4000)):
            photo = _photo(Path(folder), width, height)
            measure(browser.new_page(viewport={"width": 1440, "height": 900}), photo)
        browser.close()
    static = Path(__file__).parents[2] / "render" / "page" / "static"
    print(f"page weight {sum(file.stat().st_size for file in static.iterdir()) / 1000:.0f} kB")


def measure(page: Page, photo: Path) -> None:
    """One photo: first picture, turns, memory."""
    command = [sys.executable, "-m", "render", "page", str(photo), "--no-browser"]
    given = ["--focal-35", "28", "--height", "12", "--horizon", "10%"]
    start = time.perf_counter()
    server = subprocess.Popen([*command, *given], stdout=subprocess.PIPE, text=True)
    try:
        address = next(line.strip() for line in server.stdout or [] if line.startswith("http"))
        page.goto(address)
        page.wait_for_function(
            "() => document.getElementById('frame').dataset.shown", timeout=120_000
        )
        first = time.perf_counter() - start
        page.wait_for_timeout(6000)
        times = []
        for turn in range(TURNS):
            times.append(page.evaluate(TURN, "ArrowUp" if turn % 30 < 15 else "ArrowDown"))
        times = sorted(times[5:])
        page.click("[data-switch=band]")
        page.wait_for_function("() => !document.querySelectorAll('.handle')[1].hidden")
        drawn = page.evaluate(BAND)
        yardstick = _yardstick()
        median, late = statistics.median(times), times[int(0.95 * len(times))]
        print(
            f"{photo.stem}: first picture {first:.2f} s; turned to shown median {median:.0f} ms "
            f"({median / yardstick:.1f} x), 95 % {late:.0f} ms ({late / yardstick:.1f} x); "
            f"one gaussian_filter pass {yardstick:.0f} ms; "
            f"band drawn under the pointer within {drawn:.0f} ms; "
            f"peak memory {_gb(server.pid, 'VmHWM'):.2f} GB"
        )
        if "long" in sys.argv[1:]:
            before = _gb(server.pid, "VmRSS")
            for turn in range(2000):
                page.evaluate(TURN, "ArrowUp" if turn % 30 < 15 else "ArrowDown")
            after = _gb(server.pid, "VmRSS")
            print(f"2,000 pictures: {before:.3f} GB, then {after:.3f} GB")
    finally:
        server.send_signal(2)
        server.wait(timeout=30)
        page.close()


def _photo(folder: Path, width: int, height: int) -> Path:
    coarse = np.random.default_rng(3).integers(30, 230, (height // 16, width // 16, 3), np.uint8)
    path = folder / f"{width * height / 1e6:.0f}_Mpx.jpg"
    Image.fromarray(coarse).resize((width, height)).save(path, quality=90)
    return path


def _yardstick() -> float:
    picture = np.random.default_rng(1).random((516, 775, 3), np.float32)
    runs = []
    for _ in range(5):
        start = time.perf_counter()
        gaussian_filter(picture, (6, 6, 0))
        runs.append(1000 * (time.perf_counter() - start))
    return min(runs)


def _gb(process: int, what: str) -> float:
    status = Path(f"/proc/{process}/status").read_text()
    line = next(line for line in status.splitlines() if line.startswith(what))
    return float(line.split()[1]) / 1e6


if __name__ == "__main__":
    main()
