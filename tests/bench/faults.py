"""What is left behind when commands that write are killed, interrupted, or their place gives way.

Run: python tests/bench/faults.py SECONDS [COMMAND ...] [--seed N]

Every writing command is started on a small picture and struck at a random moment by a signal
(KILL, TERM, INT), or writes where the disk is full, read-only, immutable, vanishes or holds
another's file, or where the place for temporary files is full.
Counted: outputs that are there in part (of several, some; or a file that cannot be read), stray
files after the next run has swept, sentences that say what is not so, tracebacks.
"""

import argparse
import contextlib
import importlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from render.cli import door

_GROUND = ("--height", "12", "--horizon", "10%", "--focal-35", "35", "--lens", "45", "--f", "2.8")
#: Each command that writes, with names for its outputs.
COMMANDS: dict[str, tuple[list[str], list[str]]] = {
    "render": (
        ["render", "a.png", *_GROUND, "--show", "-o", "o.png", "--save-shot", "o.toml"],
        ["o.png", "o_blur.png", "o_band.png", "o_compare.png", "o.toml"],
    ),
    "judge": (["judge", "a.png", *_GROUND, "--show", "-o", "o.png"], ["o.png"]),
    "depth": (
        ["depth", "a.png", *_GROUND[:4], "--focal-35", "35", "--show", "-o", "o.tif"],
        ["o.tif", "o_shown.png"],
    ),
    "card": (["card", "a.png", *_GROUND, "--weather", "sun", "--pdf", "o.pdf"], ["o.pdf"]),
    "compare": (
        ["compare", "a.png", *_GROUND, "--page", "o.html", "-o", "o.png"],
        ["o.png", "o.html"],
    ),
    "board": (["board", "a.png", *_GROUND, "--png", "o.png", "-o", "o.pdf"], ["o.png", "o.pdf"]),
    "section": (["section", "a.png", *_GROUND, "-o", "o.svg"], ["o.svg"]),
    "loupe": (["loupe", "a.png", *_GROUND, "-o", "o.png"], ["o.png"]),
    "solve": (
        ["solve", "a.png", *_GROUND, "--sharp", "50%,80%", "--save-shot", "o.toml"],
        ["o.toml"],
    ),
    "defaults": (["defaults", "set", "--lens", "45"], ["own.toml"]),
    "gallery": (["scenes", "gallery", "--width", "48", "-o", "o.png"], ["o.png"]),
    "batch": (
        ["render", "many", *_GROUND, "-o", "out"],
        [f"out/{name}_tilted.png" for name in "abcd"],
    ),
    "workers": (
        ["render", "many", *_GROUND, "-o", "out", "--workers", "2"],
        [f"out/{name}_tilted.png" for name in "abcd"],
    ),
    "verdicts": (
        ["judge", "many", *_GROUND, "--table", "o.json", "--contact-sheet", "o.png"],
        ["o.json", "o.png"],
    ),
    "clip": (["film", "many", *_GROUND, "--strip", "s.png", "-o", "o.mkv"], ["o.mkv", "s.png"]),
    "stills": (
        ["film", "many", *_GROUND, "-o", "out/%d.png"],
        [f"out/{number}.png" for number in (1, 2, 3, 4)],
    ),
}
#: Of these one result after the other gets its name, and the same command goes on with the rest.
_PIECEWISE = ("batch", "workers", "stills")
#: These keep what is done when they are stopped, and go on to the bytes of an undisturbed run.
_GOING_ON = ("clip", "stills")
#: Within this time a command of its own process is still loading, mostly.
_LOADING_S = 4.0
_SIGNALS = {"kill": signal.SIGKILL, "term": signal.SIGTERM, "int": signal.SIGINT}


def main() -> None:
    """Strike, and print what was left."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("seconds", type=float)
    arguments.add_argument("commands", nargs="*", metavar="COMMAND")
    arguments.add_argument("--seed", type=int, default=int(time.time()))
    wish = arguments.parse_args()
    rng = random.Random(wish.seed)
    print(f"seed {wish.seed}")
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "a.png"
        y, x = np.mgrid[0:96, 0:144]
        Image.fromarray(np.stack([x, y, x ^ y], -1).astype(np.uint8)).save(picture)
        chosen = wish.commands or [*COMMANDS]
        for command in {COMMANDS[name][0][0] for name in chosen}:
            importlib.import_module(f"render.cli.{command}")
            if command not in ("defaults", "scenes"):
                importlib.import_module(f"render.jobs.{command}")
        _quicken_gallery()
        _shorten_segments()
        lasts = {name: _whole(Path(folder), name, picture) for name in chosen}
        print("; ".join(f"{name} {last:.1f} s" for name, last in lasts.items()), flush=True)
        end = time.perf_counter() + wish.seconds
        while time.perf_counter() < end:
            name, how = rng.choice(chosen), rng.choice([*_SIGNALS])
            work = Path(tempfile.mkdtemp(dir=folder))
            # half of the moments lie at the end, where files get their names
            share = rng.random() if rng.random() < 0.5 else rng.uniform(0.8, 1.1)
            forked = rng.random() < 0.9
            moment_s = share * lasts[name] if forked else rng.uniform(0.05, _LOADING_S)
            for said in _struck(work, name, how, moment_s, picture, forked=forked):
                counts[f"{how}: {said}"] += 1
            counts[how] += 1
            if sum(counts[each] for each in _SIGNALS) % 20 == 0:
                print(dict(sorted(counts.items())), flush=True)
            shutil.rmtree(work)
        for said in _refusing_places(Path(folder), picture, chosen):
            print(said, flush=True)
            counts[said] += 1
    for said, count in sorted(counts.items()):
        print(f"{count:5} {said}")
    sys.exit(1 if any(":" in said for said in counts) else 0)


def _quicken_gallery() -> None:
    """Leave the gallery one scene, judged as it is: what is struck here is how it writes."""
    import render.jobs.gallery as job

    scenes = job.list_scenes()[:1]
    vars(job).update(list_scenes=lambda: scenes, as_judged=lambda shot, prepared, part: prepared)


def _shorten_segments() -> None:
    """Cut films after every frame: there is more to go on with."""
    import render.jobs.filming.plan as plan

    vars(plan).update(_CLIP_SEGMENT=1, _STILLS_SEGMENT=1)


class _Command:
    """A command at work: a process of its own, or, much sooner, a fork of this one."""

    def __init__(self, work: Path, name: str, picture: Path, *, forked: bool) -> None:
        if not (work / "a.png").exists():
            (work / "a.png").write_bytes(picture.read_bytes())
        if "many" in COMMANDS[name][0] and not (work / "many").exists():
            (work / "many").mkdir()
            for each in "abcd":
                (work / "many" / f"{each}.png").write_bytes(picture.read_bytes())
        handle, said = tempfile.mkstemp(dir=picture.parent)  # never where the strike is
        self._said = Path(said)
        words = COMMANDS[name][0]
        own = "own.toml" if name == "defaults" else "none"
        os.environ["HINGELINE_DEFAULTS"] = own
        if not forked:
            command = [sys.executable, "-m", "render", *words]
            nowhere = subprocess.DEVNULL
            self.pid = subprocess.Popen(command, cwd=work, stdout=nowhere, stderr=handle).pid
            os.close(handle)
            return
        self.pid = os.fork()
        if self.pid == 0:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            os.dup2(handle, 2)
            os.chdir(work)
            sys.argv = ["hingeline", *words]
            code = 70
            try:
                door.main()
            except SystemExit as end:
                code = end.code if isinstance(end.code, int) else 70
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stderr.flush()
                os._exit(code)
        os.close(handle)

    def send(self, number: int) -> None:
        """Strike."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def ended(self) -> tuple[int, str]:
        """Exit code and what was said on standard error."""
        code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        said = self._said.read_text("utf-8", "replace")
        self._said.unlink()
        return code, said


def _whole(folder: Path, name: str, picture: Path) -> float:
    """How long a command takes when nothing happens to it; compiling is over then."""
    work = Path(tempfile.mkdtemp(dir=folder))
    start = time.perf_counter()
    code, said = _Command(work, name, picture, forked=True).ended()
    missing = [out for out in COMMANDS[name][1] if not (work / out).exists()]
    if code or missing:
        raise SystemExit(f"{name} does not even work: {said} {missing}")
    if name in _GOING_ON:
        shutil.copytree(work, folder / f"whole-{name}")
    return time.perf_counter() - start


def _struck(
    work: Path, name: str, how: str, moment_s: float, picture: Path, *, forked: bool
) -> list[str]:
    """Faults of one interrupted command."""
    command = _Command(work, name, picture, forked=forked)
    time.sleep(moment_s)
    command.send(_SIGNALS[how])
    said = command.ended()[1]
    outputs = [out for out in COMMANDS[name][1] if (work / out).exists()]
    faults = _unreadable(work, outputs)
    if "Traceback" in said:
        faults.append(f"traceback in {name}: {said.strip()[-300:]!r}")
    together = name not in _PIECEWISE
    if together and how != "kill" and 0 < len(outputs) < len(COMMANDS[name][1]):
        faults.append(f"{name} left {len(outputs)} of its outputs")
    if "nothing was written" in said and outputs:
        faults.append(f"{name} said that nothing was written")
    if "written already" in said and not outputs:
        faults.append(f"{name} said that something was written")
    litter = _litter(work, name)
    if litter and how != "kill" and name not in _GOING_ON:
        faults.append(f"{name} left {litter}")
    undone = name in _GOING_ON and len(outputs) < len(COMMANDS[name][1])
    if litter or undone or not together:
        for out in outputs if together else ():
            (work / out).unlink()
        again = _Command(work, name, picture, forked=True).ended()[1]
        if _litter(work, name):
            faults.append(f"{name} did not sweep {_litter(work, name)}")
        missing = [out for out in COMMANDS[name][1] if not (work / out).exists()]
        if missing:
            faults.append(f"{name} did not go on to {missing}: {again[-300:]!r}")
    for out in COMMANDS[name][1] if name in _GOING_ON else ():
        whole = picture.parent / f"whole-{name}" / out
        if not (work / out).exists() or (work / out).read_bytes() != whole.read_bytes():
            faults.append(f"{out} of {name} has other bytes than of an undisturbed run")
    return faults


def _litter(work: Path, name: str) -> list[str]:
    known = {"a.png", "many", "out", *COMMANDS[name][1]}
    known |= {f"many/{each}.png" for each in "abcd"} | {"out/.hingeline-made.json"}
    found = (str(path.relative_to(work)) for path in work.rglob("*"))
    return sorted(path for path in found if path not in known)


def _unreadable(work: Path, outputs: list[str]) -> list[str]:
    faults = []
    for out in outputs:
        data = (work / out).read_bytes()
        ends = {".pdf": b"%%EOF", ".svg": b"</svg>", ".html": b"</html>"}.get(Path(out).suffix)
        whole = ends in data[-40:] if ends else bool(data)
        if Path(out).suffix == ".png":
            try:
                with Image.open(work / out) as image:
                    image.load()
            except OSError:
                whole = False
        if not whole:
            faults.append(f"{out} is there in part")
    return faults


def _refusing_places(folder: Path, picture: Path, chosen: list[str]) -> list[str]:
    """Faults where the place to write to gives way: each must be one sentence and exit code 2."""
    faults = []
    for name in chosen:
        for way in ("full", "read-only", "vanished", "taken", "immutable", "no temporary"):
            work = Path(tempfile.mkdtemp(dir=folder))
            with _given_way(work, way) as ready:
                if not ready:
                    continue
                command = _Command(work, name, picture, forked=True)
                if way == "vanished":
                    time.sleep(0.05)
                    moved = work.with_name(f"{work.name}-moved")
                    work.rename(moved)
                if way == "taken":
                    time.sleep(0.05)
                    (work / "out").mkdir(exist_ok=True)
                    (work / COMMANDS[name][1][0]).write_bytes(b"another's")
                code, said = command.ended()
                here = work.with_name(f"{work.name}-moved") if way == "vanished" else work
                left = [path for path in _litter(here, name) if ".part" in path]
                if "Traceback" in said or code == 70 or left:
                    faults.append(f"{way}: {name} {left} {said[-200:]!r}")
                if way == "no temporary" and code:
                    faults.append(f"{way}: {name} {code} {said[-200:]!r}")
                if (
                    way == "taken"
                    and name not in _PIECEWISE
                    and (work / COMMANDS[name][1][0]).read_bytes() != b"another's"
                ):
                    faults.append(f"taken: {name} replaced another's file")
    return faults


def _furnish(work: Path) -> None:
    """Put small pictures there before the place gives way."""
    Image.new("RGB", (144, 96)).save(work / "a.png")
    (work / "many").mkdir()
    for each in "abcd":
        shutil.copy(work / "a.png", work / "many" / f"{each}.png")


@contextlib.contextmanager
def _immutable(work: Path):  # type: ignore[no-untyped-def]
    """A folder in which nothing may be made or changed, for root too (chattr)."""
    _furnish(work)
    done = subprocess.run(["chattr", "-R", "+i", str(work)], capture_output=True)
    try:
        yield done.returncode == 0
    finally:
        subprocess.run(["chattr", "-R", "-i", str(work)], capture_output=True)


@contextlib.contextmanager
def _no_temporary(work: Path):  # type: ignore[no-untyped-def]
    """A full place for temporary files: no command that writes needs one."""
    place = work.with_name(f"{work.name}-temporary")
    place.mkdir()
    before = os.environ.get("TMPDIR")
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4k", "tmpfs", str(place)], capture_output=True
    )
    try:
        with contextlib.suppress(OSError):
            (place / "more").write_bytes(os.urandom(9000))
        os.environ["TMPDIR"] = str(place)
        yield mounted.returncode == 0
    finally:
        os.environ.pop("TMPDIR")
        if before is not None:
            os.environ["TMPDIR"] = before
        subprocess.run(["umount", "-l", str(place)], capture_output=True)


@contextlib.contextmanager
def _given_way(work: Path, way: str):  # type: ignore[no-untyped-def]
    """A folder that is full or read-only; False where this machine can't make one (mount)."""
    if way == "immutable":
        with _immutable(work) as ready:
            yield ready
        return
    if way == "no temporary":
        with _no_temporary(work) as ready:
            yield ready
        return
    options = {"full": "size=64k", "read-only": "size=1m"}.get(way)
    if options is None:
        yield True
        return
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(work)], capture_output=True
    )
    if mounted.returncode:
        yield False
        return
    try:
        if way == "read-only":
            _furnish(work)
            subprocess.run(["mount", "-o", "remount,ro", str(work)], check=True)
        else:
            _furnish(work)
            with contextlib.suppress(OSError), (work / "more").open("wb", 0) as more:
                while True:
                    more.write(os.urandom(1024))
        yield True
    finally:
        subprocess.run(["umount", "-l", str(work)], capture_output=True)


if __name__ == "__main__":
    main()
