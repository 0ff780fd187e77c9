"""A battery for the judgement: thousands of settings on many stands, and the laws it must keep.

    python tests/bench/judgement.py [--cache FOLDER] [--json] [--part K/N | --sum N]

Stands: level ground bare and with fronts from 1.5 to 200 m, 17 to 200 mm, to straight down; walls,
sky, eye level; the shipped scenes from where they stand and from others (traced once, kept in the
cache folder).
`--part 2/6` judges every sixth stand, from the second on, and keeps the outcome in the cache
folder; `--sum 6` prints what six such parts found together.
Prints words by kind of stand, violations of each law, how often the stated range holds the score
of exact depth (where that is 20 to 95), and of the score's variance the share that sin(tilt)/N
alone explains and the share that each part adds.
"""

import argparse
import json
import math
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from itertools import pairwise, product
from pathlib import Path

import numpy as np

from render.errors import HingelineError, SettingError
from render.judge.case import Assessment, Case, assess, look
from render.judge.rule import GATES, PARTS, Evidence, drawn_rules, rule_on
from render.judge.score import Word
from render.judge.weights import RULES
from render.load.progress import silent
from render.load.scenes import list_scenes, prepare_scene
from render.optics.camera import Camera, Sensor, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.shot.shot import Shot, merged

WIDTH = 320
TILTS = (-8.0, -3.0, 0.0, 8.0)
SWINGS = (0.0, 4.0, -8.0)
STOPS = (2.8, 4.0, 5.6, 8.0, 11.0, 16.0)
ROWS = (0.4, 0.6)
STRONG = (20.0, 95.0)  # scores by which coverage and shares are told
STANDS = (
    {"height": "1.7", "pitch": "12", "lens": "24"},
    {"height": "6", "pitch": "15", "lens": "45"},
    {"height": "12", "pitch": "25", "lens": "35"},
    {"height": "60", "pitch": "35", "lens": "90"},
)
PLAN_PITCHES = (60, 70, 80, 85, 89)
OUTDOORS = ("corner", "fair", "market", "park", "quay", "town", "village", "yard")


@dataclass(frozen=True)
class Stand:
    """A case, its kind, and the lens that took its frame."""

    name: str
    kind: str
    scene: Scene
    focal_mm: float

    def setting(self, n: float, tilt: float, swing: float, row: float) -> LensSetting | None:
        """Focused on what the middle column shows at that row; None on the sky."""
        camera, frame = self.scene.frame_camera, self.scene.frame
        line, column = int(row * frame.height), frame.width // 2
        depth = float(self.scene.depth_m[frame.top + line, frame.left + column])
        if not math.isfinite(depth):
            return None
        x, y = camera.slopes(column + 0.5, line + 0.5)
        spot = FocusSpot(float(x), float(y), depth)
        return LensSetting(
            focal_mm=self.focal_mm, f_number=n, focus=spot, tilt_deg=tilt, swing_deg=swing
        )


def ground(height: float, pitch: float, focal: float, what: str, width: int = WIDTH) -> Stand:
    """Level ground with what stands on it: nothing, low fronts, a terrace, or a wall alone."""
    camera = Camera.from_lens(width, width * 2 // 3, focal, Sensor())
    p = math.radians(pitch)
    x, y = np.meshgrid(*camera.grid())
    inverse = np.maximum((math.sin(p) + y * math.cos(p)) / height, 0.0)
    foot = height / math.tan(max(p, 0.02))
    fronts: list[tuple[float, float, float, float]] = []  # away, height, left, right
    if what == "fronts":
        rng = np.random.default_rng(7)
        reach = foot * 18 / focal
        for away in foot * np.linspace(0.7, 1.7, 14):
            left = rng.uniform(-reach, reach)
            fronts.append((away, height * rng.uniform(0.05, 0.3), left, left + 0.25 * reach))
    if what == "terrace":
        fronts.append((foot, 0.8 * height, -1e4, 1e4))
    if what == "street":  # an eye-level wall that hides the sky
        fronts.append((max(foot, 12.0), 1e3, -1e4, 1e4))
    for away, high, left, right in fronts:
        wall = (math.cos(p) - y * math.sin(p)) / away
        with np.errstate(divide="ignore"):
            z = 1.0 / np.maximum(wall, 1e-9)
        above = height - (y * math.cos(p) + math.sin(p)) * z
        hit = (above >= 0) & (above <= high) & (wall > inverse) & (x * z > left) & (x * z < right)
        inverse = np.where(hit, wall, inverse)
    if what == "wall":
        inverse = np.full_like(inverse, 1.0 / 12.0)
    rng = np.random.default_rng(1)
    cells = rng.random((120, 180, 3))  # texture that has the same grain at any size
    rows = np.arange(inverse.shape[0]) * 120 // inverse.shape[0]
    columns = np.arange(width) * 180 // width
    picture = cells[np.ix_(rows, columns)].astype(np.float32)
    with np.errstate(divide="ignore"):
        depth = (1.0 / inverse).astype(np.float32)
    scene = Scene(picture, depth, camera, vantage=Vantage(height, pitch))
    return Stand(f"{what} {height:g} m {pitch:g} deg {focal:g} mm", what, scene, focal)


def stands(cache: Path) -> Iterator[Stand]:
    """Everything the battery looks at."""
    for height, (pitch, focal) in product((1.6, 5, 25, 200), ((15, 45), (20, 90), (40, 35))):
        for what in ("bare", "fronts", "terrace"):
            yield ground(height, pitch, focal, what)
    for height, pitch, focal in ((1.7, 12, 24), (1.7, 3, 45), (1.7, 22, 24), (1.6, 8, 35)):
        for what in ("bare", "fronts", "street", "wall"):
            stand = ground(height, pitch, focal, what)
            yield replace(stand, kind="eye level")
    yield replace(ground(20, 20, 200, "fronts"), kind="tele")
    for pitch, focal in product(PLAN_PITCHES, (24, 45)):
        yield replace(ground(30, pitch, focal, "fronts"), kind=f"down {pitch}")
    for name in (scene.name for scene in list_scenes()):
        for number, given in enumerate(({}, *(STANDS if name in OUTDOORS else ()))):
            try:
                scene, focal = _traced(cache, name, number, given)
            except HingelineError:  # no camera can stand there
                continue
            low = scene.vantage is not None and scene.vantage.height_m < 2
            kind = "scene" if not low else "eye level" if name in OUTDOORS else "indoors, close"
            yield Stand(f"{name} {' '.join(given.values())}", kind, scene, focal)


def _traced(cache: Path, name: str, number: int, given: dict[str, str]) -> tuple[Scene, float]:
    path = cache / f"{name}{number}.npz"
    if not path.exists():
        shot = merged(Shot(scene=name), {"width": str(WIDTH), **given}, "{name}")
        made = prepare_scene(shot, silent, samples=1, behind=False)
        frame, camera = made.scene.frame, made.scene.frame_camera
        held = made.scene.vantage
        np.savez_compressed(
            path,
            picture=made.scene.picture[frame.rows, frame.columns],
            depth=made.scene.depth_m[frame.rows, frame.columns],
            camera=[camera.focal_px, camera.centre_x_px, camera.centre_y_px],
            vantage=[held.height_m, held.pitch_deg, held.roll_deg] if held else [],
            focal=made.setting.focal_mm,
        )
    kept = np.load(path)
    high, wide = kept["depth"].shape
    camera = Camera(wide, high, *(float(value) for value in kept["camera"]))
    vantage = Vantage(*(float(v) for v in kept["vantage"])) if kept["vantage"].size else None
    return Scene(kept["picture"], kept["depth"], camera, vantage=vantage), float(kept["focal"])


@dataclass
class Tally:
    """What was found on some of the stands; parts of a battery add up."""

    settings: int
    swung: int
    words: dict[str, dict[str, int]]
    broken: dict[str, list[str]]
    rows: list[tuple[float, float, str]]
    evidence: list[Evidence]
    everywhere: list[Evidence]
    held: dict[str, list[bool]]

    def kept(self) -> str:
        """As text that `read` takes back."""
        return json.dumps(asdict(self))

    @classmethod
    def read(cls, text: str) -> "Tally":
        """Take back what `kept` wrote."""
        found = json.loads(text)
        for name in ("evidence", "everywhere"):
            found[name] = [Evidence(**one) for one in found[name]]
        found["rows"] = [tuple(row) for row in found["rows"]]
        return cls(**found)

    def add(self, other: "Tally") -> None:
        """Add another part."""
        self.settings += other.settings
        self.swung += other.swung
        self.rows += other.rows
        self.evidence += other.evidence
        self.everywhere += other.everywhere
        for kind, words in other.words.items():
            mine = self.words.setdefault(kind, {})
            for word, count in words.items():
                mine[word] = mine.get(word, 0) + count
        for law, cases in other.broken.items():
            self.broken.setdefault(law, []).extend(cases)
        for what, hits in other.held.items():
            self.held.setdefault(what, []).extend(hits)

    def told(self) -> dict[str, object]:
        """Laws, shares and coverage."""
        return {
            "settings": self.settings,
            "words": self.words,
            "swung pairs that lose agreement": self.swung,
            "broken": self.broken,
            "explained by sin(tilt)/N": explained(self.rows),
            "of strong ones": explained([row for row in self.rows if row[1] > STRONG[0]]),
            "each part adds": added(self.evidence),
            "and over all kinds": added(self.everywhere),
            "held by the range": {
                what: f"{np.mean(hits):.3f} of {len(hits)}" for what, hits in self.held.items()
            },
        }


def run(every: list[Stand]) -> Tally:
    """Judge all of it and count."""
    words: dict[str, dict[str, int]] = {}
    broken: dict[str, list[str]] = {
        "stop": [],
        "agreement": [],
        "eye level": [],
        "word": [],
        "plan": [],
    }
    rows: list[tuple[float, float, str]] = []
    evidence: list[Evidence] = []
    everywhere: list[Evidence] = []
    count = 0
    swung = 0
    for stand in every:
        case = look(stand.scene)
        for tilt, row in product(TILTS, ROWS):
            found: dict[tuple[float, float], Assessment] = {}
            for swing, stop in product(SWINGS, STOPS):
                setting = stand.setting(stop, tilt, swing, row)
                if setting is None:
                    continue
                try:
                    found[swing, stop] = assess(case, setting)
                except SettingError:
                    continue
            count += len(found)
            where = f"{stand.name}, tilt {tilt:g}, row {row:g}"
            for (swing, stop), one in found.items():
                of_kind = words.setdefault(stand.kind, {})
                of_kind[str(one.score.word)] = of_kind.get(str(one.score.word), 0) + 1
                if one.score.agreement < 0.5 and one.score.word is not Word.MIGHT:
                    broken["word"].append(f"{where}, f/{stop:g}")
                reads = one.score.word is Word.READS
                if stand.kind == "eye level" and one.stance.above_share > 0.01 and reads:
                    broken["eye level"].append(f"{where}, f/{stop:g}")
                if reads and one.stance.depression_deg > 80:
                    broken["plan"].append(f"{where}, f/{stop:g}")
                everywhere.append(one.evidence)
                if swing == 0 and stand.kind in ("bare", "fronts", "scene"):
                    rows.append((abs(math.sin(math.radians(tilt))) / stop, one.score.value, where))
                    evidence.append(one.evidence)
                straight = found.get((0.0, stop))
                if swing != 0 and straight:
                    lost = straight.evidence.correlation - one.evidence.correlation
                    swung += lost > 0.01
                    if lost > 0.01 and one.score.value > straight.score.value + 0.5:
                        gain = one.score.value - straight.score.value
                        broken["agreement"].append(
                            f"{where}, f/{stop:g}, swing {swing:g}: C -{lost:.2f}, +{gain:.1f}"
                        )
            for swing in SWINGS:
                line = [found[swing, stop] for stop in STOPS if (swing, stop) in found]
                for wide, narrow in pairwise(line):
                    broad = wide.evidence.sharp_share > 1 / 3
                    if broad and narrow.score.value > wide.score.value + 0.01:
                        broken["stop"].append(f"{where}, swing {swing:g}")
    return Tally(count, swung, words, broken, rows, evidence, everywhere, coverage(every))


def explained(rows: list[tuple[float, float, str]]) -> float:
    """Share of the variance of the score between the values of sin(tilt)/N."""
    strength = np.array([round(row[0], 6) for row in rows])
    score = np.array([row[1] for row in rows])
    between = np.zeros_like(score)
    for value in np.unique(strength):
        same = strength == value
        between[same] = score[same].mean()
    return float(between.var() / score.var())


def added(evidence: list[Evidence]) -> dict[str, float]:
    """Share of the score's variance that is lost where a part or gate is the same everywhere."""
    rules = drawn_rules().taken(np.arange(RULES.draws) < 50)
    found = [rule_on(one, rules) for one in evidence]
    marks = np.array([np.median(one.marks, axis=0) for one in found])
    logs = np.log(np.maximum(marks, RULES.mark_floor))
    gates = np.array([np.median(one.gates, axis=0) for one in found])
    weights = np.asarray(RULES.weights)

    def scores(logs: np.ndarray, gates: np.ndarray) -> np.ndarray:
        return np.exp(logs @ weights) * gates.prod(axis=1)

    whole = scores(logs, gates)
    shares = {}
    for place, name in enumerate((*PARTS, *GATES)):
        other_logs, other_gates = logs.copy(), gates.copy()
        if place < len(PARTS):
            other_logs[:, place] = logs[:, place].mean()
        else:
            other_gates[:, place - len(PARTS)] = 1.0
        shares[name] = float(np.var(whole - scores(other_logs, other_gates)) / whole.var())
    return shares


def coverage(every: list[Stand], tries: int = 2) -> dict[str, list[bool]]:
    """How often the range stated from mistaken depth holds the score of the exact one."""
    rng = np.random.default_rng(5)
    held: dict[str, list[bool]] = {}
    for stand in every:
        if stand.kind not in ("scene", "fronts", "terrace", "bare", "eye level"):
            continue
        exact = look(stand.scene)
        for stop, row in ((2.8, 0.6), (5.6, 0.4), (8.0, 0.6), (11.0, 0.6)):
            setting = stand.setting(stop, -8.0, 0.0, row)
            if setting is None:
                continue
            true = assess(exact, setting).score.value
            if not STRONG[0] < true < STRONG[1]:
                continue  # a score near 0 is held by any range
            for _, what in product(range(tries), ("height", "horizon", "focal", "noise", "all")):
                wrong = mistaken(stand, rng, what)
                if wrong is None or (other := wrong[0].setting(stop, -8.0, 0.0, row)) is None:
                    continue
                other = replace(other, focal_mm=setting.focal_mm)
                case: Case = look(wrong[0].scene, depth_error=wrong[1])
                score = assess(case, other).score
                held.setdefault(what, []).append(score.low <= true <= score.high)
    return held


def mistaken(stand: Stand, rng: np.random.Generator, what: str) -> tuple[Stand, float] | None:
    """The stand with a wrong height, horizon, focal length or noisy depth, and the stated doubt."""
    scene = stand.scene
    camera, vantage = scene.frame_camera, scene.vantage
    assert vantage is not None
    depth = scene.depth_m[scene.frame.rows, scene.frame.columns].astype(float)
    picture = scene.picture[scene.frame.rows, scene.frame.columns]
    height, pitch, focal_px = vantage.height_m, vantage.pitch_deg, camera.focal_px
    doubt = 0.0
    if what in ("height", "all"):
        factor = rng.uniform(0.7, 1.3)
        height, depth, doubt = height * factor, depth * factor, 0.15
    if what in ("horizon", "all"):
        off = rng.uniform(-0.03, 0.03) * camera.height_px / camera.focal_px
        turned = math.degrees(math.atan(math.tan(math.radians(pitch)) + off))
        # what stands on the ground is read from it: depths change as the ground's do
        _, y = np.meshgrid(*camera.grid())
        was = math.sin(math.radians(pitch)) + y * math.cos(math.radians(pitch))
        now = math.sin(math.radians(turned)) + y * math.cos(math.radians(turned))
        ratio = np.where((was > 0.02) & (now > 0.02), was / np.where(now > 0.02, now, 1.0), 1.0)
        depth, pitch = depth * ratio, turned
    if what in ("focal", "all"):
        focal_px *= rng.uniform(0.8, 1.2)
    if what in ("noise", "all"):
        depth = depth * np.maximum(
            1.0 + rng.uniform(0, 0.2) * rng.standard_normal(depth.shape), 0.1
        )
    if not abs(pitch) < 89:
        return None
    high, wide = depth.shape
    seen = Camera(wide, high, focal_px, camera.centre_x_px, camera.centre_y_px)
    wrong = Scene(picture, depth.astype(np.float32), seen, vantage=Vantage(height, pitch))
    return replace(stand, scene=wrong), doubt


def sizes() -> dict[str, float]:
    """Largest change of the score between 120 and 3000 px, and when mirrored."""
    worst = mirrored = 0.0
    for stop, (height, pitch, focal) in product((2.8, 8.0), ((20, 20, 90), (12, 30, 45))):
        scores = []
        for width in (120, 240, 480, 960, 3000):
            stand = ground(height, pitch, focal, "fronts", width)
            setting = stand.setting(stop, -8.0, 0.0, 0.6)
            assert setting is not None
            scores.append(assess(look(stand.scene), setting).score.value)
        worst = max(worst, max(scores) - min(scores))
        stand = ground(height, pitch, focal, "fronts")
        scene = stand.scene
        other = replace(
            scene,
            picture=scene.picture[:, ::-1].copy(),
            depth_m=scene.depth_m[:, ::-1].copy(),
        )
        setting = stand.setting(stop, -8.0, 3.0, 0.6)
        assert setting is not None
        assert isinstance(setting.focus, FocusSpot)
        turned = replace(
            setting,
            swing_deg=-3.0,
            focus=replace(setting.focus, slope_x=-setting.focus.slope_x),
        )
        one, two = assess(look(scene), setting), assess(look(other), turned)
        mirrored = max(mirrored, abs(one.score.value - two.score.value))
    return {"size": worst, "mirror": mirrored}


def main() -> None:
    """Run it and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cache", type=Path)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--part", help="K/N: only every Nth stand, kept for --sum")
    parser.add_argument("--sum", type=int, help="N: what N parts found together")
    asked = parser.parse_args()
    cache = asked.cache or Path(tempfile.gettempdir()) / "judgement"
    cache.mkdir(exist_ok=True)
    start = time.process_time()
    if asked.part:
        part, parts = (int(number) for number in asked.part.split("/"))
        tally = run(list(stands(cache))[part - 1 :: parts])
        (cache / f"part-{part}-of-{parts}.json").write_text(tally.kept())
        print(f"part {asked.part}: {tally.settings} settings, {time.process_time() - start:.0f} s")
        return
    if asked.sum:
        first, *others = (
            Tally.read((cache / f"part-{part + 1}-of-{asked.sum}.json").read_text())
            for part in range(asked.sum)
        )
        for other in others:
            first.add(other)
    else:
        first = run(list(stands(cache)))
    found = first.told() | {"moves by": sizes(), "CPU seconds": time.process_time() - start}
    if asked.json:
        print(json.dumps(found, indent=1))
        return
    for name, value in found.items():
        if name == "broken":
            for law, cases in value.items():
                print(f"broken, {law}: {len(cases)}")
                for line in cases[:8]:
                    print(f"    {line}")
        elif isinstance(value, dict):
            print(name)
            for key, part in value.items():
                print(f"    {key}: {part}")
        else:
            print(f"{name}: {value}")


if __name__ == "__main__":
    main()
