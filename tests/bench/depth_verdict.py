"""What each way of giving depth costs the verdict, on scenes whose depth is exact.

    python tests/bench/depth_verdict.py [--truth FOLDER] [--cache FOLDER] [--mistakes N]
                                        [--workers N] [--cases FILE]
                                        [--photographs] [WAY ...]

Scenes: shipped ones from several vantages, some with rails, posts, branches and wires put before
the lens, and the traced scenes of FOLDER (as `truth.py` reads them). A person is imitated: height
10 % off, horizon 1.5 % of the picture's height, focal length 5 %, marks 3 % (one standard deviation
each); outlines of whole things a pixel off, their feet too, hidden ones 1.5 % of the height;
strokes 0.3 % of the width off the middle of what they follow, their distances 20 % off. Exact depth
and the same plan stand against it; focus is a spot, at its own depth in both.

By way of depth: mean error of the score, share with the same word, share of exact scores inside
the stated range, over N mistakes spread over all settings; then the same of settings alone whose
exact score is over 40. Fair is a word that is the same, or where one of the two is "might": nobody
is sent on a journey, or kept from one, by a sure word that is wrong. --cases keeps every case as
JSON. --photographs says instead how near the
photograph of the traced scenes comes to the traced one (dB).
"""

import argparse
import json
import math
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from cutout_views import seen_things
from near_things import near_things, strokes_along
from numpy.typing import NDArray
from scipy import ndimage
from truth import traced_scene, traced_setting

from render.depth.depthmap import DepthMap, Unsaid
from render.depth.ground import ground_depth, ground_plane, horizon_row, pitch_from_horizon
from render.depth.mark import Mark, plumb_line
from render.depth.marks import spread_marks
from render.depth.near.along import thing_along
from render.depth.standing import Standing, facing_plane, foot_point, stand
from render.engine.photograph import photograph
from render.errors import HingelineError
from render.files.shipped import read_scene_table
from render.judge.case import Assessment, assess, look
from render.judge.samples import sample
from render.judge.score import Word
from render.judge.viewpoint import height_above_ground
from render.load.depths.sources import GROUND_UNCERTAINTY
from render.load.progress import silent
from render.load.scenes import prepare_scene
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.scene.scene import Scene
from render.shot.shot import Shot, merged
from render.trace.trace import View

Mask = NDArray[np.bool_]
Bars = tuple[tuple[float, str, tuple[tuple[float, float, float], ...]], ...]

WIDTH_PX = 480
STOPS = (2.8, 5.6)
STRONG = 40.0
_STANDS_M = 0.3
_OUTLINED_SHARE = 0.002
_ALIKE, _CLEAR_PX = 0.05, 6.0  # depth of the focus spot, relative, and how far from near things


def _rail(z: float, y: float, colour: str, posts: tuple[float, ...]) -> Bars:
    """A rail across the picture with its posts: slopes right and down, at a depth (m)."""
    bars = [(0.025, colour, ((-3 * z, y * z, z), (3 * z, y * z, z)))]
    bars += [(0.015, colour, ((x * z, y * z, z), (x * z, y * z + 0.9, z + 0.2))) for x in posts]
    return tuple(bars)


def _posts(z: float, radius: float, colour: str, at: tuple[float, ...]) -> Bars:
    return tuple((radius, colour, ((x * z, -1.5 * z, z), (x * z, 1.5 * z, z))) for x in at)


def _branch(z: float) -> Bars:
    main = tuple((x * z, y * z, far * z) for x, y, far in BRANCH)
    twigs = [
        (
            0.01,
            "#4c3b2c",
            (main[k], (main[k][0] + 0.06 * z, main[k][1] + way * 0.06 * z, main[k][2])),
        )
        for k, way in ((1, 1), (2, -1), (2, 1), (3, 1))
    ]
    return ((0.022, "#4c3b2c", main), *twigs)


BRANCH = ((-0.3, -0.1, 1.0), (-0.1, -0.05, 1.0), (0.02, -0.06, 1.05), (0.12, -0.01, 1.1))
WIRES: Bars = (
    (0.006, "#202020", ((-4.0, -0.4, 4.0), (4.0, -0.3, 4.0))),
    (0.006, "#202020", ((-4.0, 0.05, 4.0), (4.0, 0.12, 4.0))),
)
PARAPET: Bars = ((0.23, "#b8b2a6", ((-9.0, 0.66, 3.0), (9.0, 0.57, 3.0))),)

#: Scene, what its vantage changes, and what is put before the lens.
VANTAGES: tuple[tuple[str, dict[str, str], Bars], ...] = (
    ("market", {}, ()),
    ("market", {"height": "9", "pitch": "7", "lens": "50"}, ()),
    ("market", {"height": "45", "pitch": "30"}, ()),
    ("market", {}, _rail(2.2, 0.115, "#30343a", (-0.1, 0.02, 0.12))),
    (
        "market",
        {"height": "9", "pitch": "7", "lens": "50"},
        _posts(2.5, 0.03, "#8a8f94", (-0.2, 0.1)),
    ),
    ("corner", {}, ()),
    ("corner", {"height": "6", "pitch": "5", "lens": "50"}, ()),
    ("corner", {}, _branch(3.5)),
    ("town", {}, ()),
    ("town", {}, _posts(4.0, 0.025, "#d0d0d0", (-0.22,))),
    ("village", {}, ()),
    ("village", {}, (*_branch(3.0), *WIRES)),
    ("yard", {}, ()),
    ("yard", {}, _rail(1.8, 0.11, "#c9ccd0", (-0.2, -0.05, 0.1, 0.25))),
    ("yard", {"lens": "35"}, PARAPET),
    ("quay", {}, ()),
    ("quay", {"lens": "35"}, ()),
    ("quay", {}, PARAPET),
    ("park", {}, ()),
    ("park", {"height": "6", "pitch": "12", "lens": "35"}, ()),
    ("park", {}, (*WIRES, *_posts(3.0, 0.05, "#5a4a3a", (0.12,)))),
    ("fair", {}, ()),
    ("fair", {"height": "8", "pitch": "8", "lens": "35"}, ()),
    ("fair", {}, _rail(2.5, 0.14, "#606468", (-0.25, 0.0, 0.2))),
)


@dataclass(frozen=True, eq=False)
class Place:
    """A scene with exact depth, seen from somewhere, and a lens for it."""

    name: str
    scene: Scene
    setting: LensSetting
    spot_px: tuple[int, int]  # row and column of the focus
    things: tuple[Mask, ...] = ()  # what stands there, largest first

    def with_depth(
        self, depth_m: NDArray[np.float32], f_number: float
    ) -> tuple[Scene, LensSetting]:
        """The scene with another depth, the lens focused on its spot there."""
        row, column = self.spot_px
        camera = self.scene.camera
        slope_x, slope_y = camera.slopes(column + 0.5, row + 0.5)
        focus = FocusSpot(float(slope_x), float(slope_y), float(depth_m[row, column]))
        setting = replace(self.setting, f_number=f_number, focus=focus)
        return replace(self.scene, depth_m=depth_m), setting


def shipped_place(number: int) -> Place:
    """Trace one of `VANTAGES`."""
    name, words, bars = VANTAGES[number]
    given = {"width": str(WIDTH_PX), **words}
    with TemporaryDirectory() as folder:
        source = name
        if bars:
            shot = merged(Shot(scene=name), {**given, "width": "64"}, "{name}")
            view = prepare_scene(shot, silent, samples=1, behind=False).view
            assert view is not None
            path = Path(folder) / f"{name}.toml"
            _, text = _text_of(name)
            path.write_text(text + "".join(_bar(view, *bar) for bar in bars))
            source = str(path)
        shot = merged(Shot(scene=source), given, "{name}")
        made = prepare_scene(shot, silent, samples=8, behind=False)
    scene, frame = made.scene, made.scene.frame
    cut = Scene(
        scene.picture[frame.rows, frame.columns],
        scene.depth_m[frame.rows, frame.columns],
        scene.frame_camera,
        vantage=scene.vantage,
    )
    focus = made.setting.focus
    assert isinstance(focus, FocusSpot)
    x, y = (int(v) for v in cut.camera.positions((focus.slope_x, focus.slope_y)))
    setting = replace(made.setting, rise_mm=0.0, lateral_mm=0.0)
    assert made.built is not None
    assert made.view is not None
    numbers, names, _ = seen_things(made.built, made.view, scene.depth_m)
    things = _outlined(numbers[frame.rows, frame.columns], names, cut)
    return Place(f"{name} {number}", cut, setting, _aimed(cut, (y, x)), things)


def _aimed(scene: Scene, spot_px: tuple[int, int]) -> tuple[int, int]:
    """The spot, or the nearest as far away as it that is clear of near things.

    Nobody focuses a pixel beside a wire: a cut-out that is half a pixel too wide takes the spot.
    """
    near = np.zeros(scene.depth_m.shape, bool)
    for mask, _ in near_things(scene):
        near |= mask
    if not near.any():
        return spot_px
    alike = np.abs(scene.depth_m / scene.depth_m[spot_px] - 1.0) < _ALIKE
    clear = alike & (ndimage.distance_transform_edt(~near) >= _CLEAR_PX)
    rows, columns = np.nonzero(clear)
    nearest = int(np.argmin(np.hypot(rows - spot_px[0], columns - spot_px[1])))
    return int(rows[nearest]), int(columns[nearest])


def _outlined(numbers: NDArray[np.intp], names: list[str], scene: Scene) -> tuple[Mask, ...]:
    """Things that a person would outline, largest first: whole ones, not the ground nor rails."""
    standing = _above_ground_m(scene) > _STANDS_M
    near = np.zeros(numbers.shape, bool)
    for mask, _ in near_things(scene):
        near |= mask
    found = []
    for number in np.unique(numbers):
        pieces, count = ndimage.label(numbers == number)
        if names[number] in ("", "ground") or not count:
            continue
        mask = pieces == 1 + int(np.argmax(np.bincount(pieces.ravel())[1:]))
        whole = mask.sum() > _OUTLINED_SHARE * mask.size and standing[mask].mean() > 0.5
        if whole and not near[mask].mean() > 0.5:
            found.append(mask)
    return tuple(sorted(found, key=lambda mask: -int(mask.sum())))


def _text_of(name: str) -> tuple[str, str]:
    import render.shipped as shipped

    path = Path(str(shipped.__file__)).parent / f"{name}.toml"
    read_scene_table(name)
    return name, path.read_text()


def _bar(view: View, radius_m: float, colour: str, points: tuple[tuple[float, ...], ...]) -> str:
    h, p = math.radians(view.heading_deg), math.radians(view.pitch_deg)
    ahead = np.array([math.sin(h) * math.cos(p), math.cos(h) * math.cos(p), -math.sin(p)])
    right = np.array([math.cos(h), -math.sin(h), 0.0])
    axes = np.stack([right, np.cross(ahead, right), ahead])
    over_ground = np.array([0.0, 0.0, view.height_m])  # where the thing is put: below the lens
    world = over_ground + np.asarray(points) @ axes
    x, y, _ = view.at_m
    path = ", ".join("[{:.4f}, {:.4f}, {:.4f}]".format(*point) for point in world)
    return (
        f'\n[[things]]\nkind = "bar"\nat_m = [{x}, {y}]\nradius_m = {radius_m}\nside = "{colour}"\n'
        f"path_m = [{path}]\n"
    )


def traced_place(folder: Path, setting: str) -> Place:
    """Read one of the traced scenes."""
    meta = json.loads((folder / f"{setting}.json").read_text())
    scene = replace(
        traced_scene(folder, meta), vantage=Vantage(meta["height_m"], meta["pitch_deg"])
    )
    x, y = meta["focus_px"]
    return Place(f"{folder.name} {setting}", scene, traced_setting(meta), (y, x))


def places(truth: Path | None, cache: Path | None) -> list[Place]:
    """Every place, traced or read; kept in `cache` for the next time."""
    found = []
    for number in range(len(VANTAGES)):
        kept = cache / f"{number}.npz" if cache else None
        if kept and kept.exists():
            with np.load(kept, allow_pickle=True) as held:
                found.append(held["place"].item())
            continue
        found.append(shipped_place(number))
        if kept:
            kept.parent.mkdir(parents=True, exist_ok=True)
            np.savez(kept, place=np.array(found[-1], dtype=object))
    if truth:
        for name in ("hillside/up8_f2.8", "bench/down4_f2.8", "harbour/up8_f2.8"):
            found.append(traced_place(truth / name.split("/")[0], name.split("/")[1]))
    return found


# --- a person says things of a picture


@dataclass(frozen=True, eq=False)
class Said:
    """What a person says of a picture: each is a little wrong."""

    camera: Camera
    vantage: Vantage
    marks: list[Mark]
    outlines: list[tuple[Mask, tuple[float, float]]]
    near: list[tuple[Mask, float]]


class Person:
    """Says things of a place; what is slow to see is seen once in a few ways."""

    def __init__(self, place: Place) -> None:
        self.place = place
        scene = place.scene
        assert scene.vantage is not None
        self._near = near_things(scene)
        self._things = place.things or _standing_things(scene)
        self._feet = [_foot(scene, mask) for mask in self._things]
        self._cut: dict[tuple[int, int], Mask] = {}

    def says(self, rng: np.random.Generator) -> Said:
        """One way of saying it."""
        scene, vantage = self.place.scene, self.place.scene.vantage
        assert vantage is not None
        camera = scene.camera
        taken = replace(camera, focal_px=camera.focal_px * math.exp(0.05 * rng.standard_normal()))
        row = horizon_row(camera, vantage) + 0.015 * camera.height_px * rng.standard_normal()
        stood = Vantage(
            vantage.height_m * math.exp(0.1 * rng.standard_normal()),
            pitch_from_horizon(taken, row),
        )
        return Said(taken, stood, self._marks(rng), self._outlines(rng), self._strokes(rng))

    def _marks(self, rng: np.random.Generator) -> list[Mark]:
        depth_m = self.place.scene.depth_m
        inverse = 1.0 / depth_m
        down, across = np.gradient(inverse)
        smooth = np.hypot(down, across) < 0.02 * np.maximum(inverse, 1e-9)
        usable = np.argwhere(smooth & np.isfinite(depth_m))
        usable = usable[rng.permutation(len(usable))[:3000]]
        at = np.column_stack(
            [usable / depth_m.shape[1], np.log(depth_m[usable[:, 0], usable[:, 1]]) / 4]
        )
        chosen = [int(rng.integers(len(at)))]
        while len(chosen) < 6:
            apart = np.min([np.linalg.norm(at - at[k], axis=1) for k in chosen], axis=0)
            chosen.append(int(np.argmax(apart)))
        return [
            Mark(x + 0.5, y + 0.5, float(depth_m[y, x]) * math.exp(0.03 * rng.standard_normal()))
            for y, x in usable[chosen]
        ]

    def _outlines(self, rng: np.random.Generator) -> list[tuple[Mask, tuple[float, float]]]:
        height_px = self.place.scene.camera.height_px
        count = int(rng.integers(5, 10))
        said = []
        for mask, (foot, hidden) in zip(self._things[:count], self._feet[:count], strict=True):
            grown = ndimage.binary_dilation(mask) if rng.random() < 0.5 else mask
            off = rng.standard_normal() * (0.015 * height_px if hidden else 1.0)
            said.append((grown, (foot[0], min(foot[1] + off, float(height_px)))))
        return said

    def _strokes(self, rng: np.random.Generator) -> list[tuple[Mask, float]]:
        said = []
        for number, (mask, depth_m) in enumerate(self._near):
            key = number, int(rng.integers(2))
            if key not in self._cut:
                own = np.random.default_rng(key)
                cut = np.zeros(mask.shape, bool)
                for line in strokes_along(mask, own):
                    cut |= thing_along(self.place.scene.picture, line)
                self._cut[key] = cut
            said.append((self._cut[key], depth_m * math.exp(0.2 * rng.standard_normal())))
        return said


def _above_ground_m(scene: Scene) -> NDArray[np.float64]:
    """Height of every pixel over the ground below it, -inf for the sky."""
    assert scene.vantage is not None
    above = height_above_ground(sample(scene), scene.vantage)
    seen = np.isfinite(scene.depth_m)
    return np.where(seen, above.reshape(seen.shape), -np.inf)


def _foot(scene: Scene, mask: Mask) -> tuple[tuple[float, float], bool]:
    """Where a thing stands (x, y px), and whether that is hidden: below its lowest pixels."""
    assert scene.vantage is not None
    row = int(np.flatnonzero(mask.any(axis=1))[-1])
    columns = np.flatnonzero(mask[row])
    column = int(columns[len(columns) // 2])
    above = max(0.0, float(_above_ground_m(scene)[row, column]))
    ray = np.append(scene.camera.slopes(column + 0.5, row + 0.5), 1.0)
    foot = float(scene.depth_m[row, column]) * ray + above * plumb_line(scene.vantage)
    x, y = (float(part) for part in scene.camera.positions(foot[:2] / foot[2]))
    return (x, y), above > _STANDS_M


def _standing_things(scene: Scene) -> list[Mask]:
    """The same where only depth is known, parted at its edges: largest first."""
    inverse = 1.0 / scene.depth_m.astype(float)
    above = _above_ground_m(scene)
    standing = np.isfinite(scene.depth_m) & (above > _STANDS_M)
    for axis in (0, 1):
        step = np.abs(np.diff(inverse, axis=axis, append=inverse.take([-1], axis)))
        standing &= step < 0.04 * inverse
    labels, count = ndimage.label(standing)
    sizes = np.asarray(ndimage.sum_labels(standing, labels, np.arange(1, count + 1)))
    order = np.argsort(-sizes)[:12] + 1
    return [labels == k for k in order if sizes[k - 1] > _OUTLINED_SHARE * standing.size]


# --- ways of giving depth


def _ground(place: Place, said: Said) -> DepthMap:
    depth_m = ground_depth(said.camera, said.vantage)
    return DepthMap(depth_m, "ground", GROUND_UNCERTAINTY, (), Unsaid(near=True, standing=True))


def _marks(place: Place, said: Said) -> DepthMap:
    sky = np.isinf(place.scene.depth_m)
    made = spread_marks(place.scene.picture, said.camera, said.marks, sky=sky).depth
    return replace(made, unsaid=Unsaid(near=True, view=True))


def _marks_over_ground(place: Place, said: Said) -> DepthMap:
    ground = ground_depth(said.camera, said.vantage)
    made = spread_marks(
        place.scene.picture, said.camera, said.marks, ground_m=ground, vantage=said.vantage
    ).depth
    return replace(made, unsaid=Unsaid(near=True, standing=True))


def _things(place: Place, said: Said) -> DepthMap:
    base = _ground(place, said)
    ground, plumb = ground_plane(said.vantage), plumb_line(said.vantage)
    things = []
    for number, (mask, foot_px) in enumerate(said.outlines):
        if ground @ np.append(said.camera.slopes(*foot_px), 1.0) > 1e-6:
            foot = foot_point(said.camera, ground, foot_px, str(number))
            things.append(Standing(mask, facing_plane(foot, plumb), str(number)))
    return replace(base, depth_m=stand(base.depth_m, said.camera, things))


def _with_near(way: Callable[[Place, Said], DepthMap]) -> Callable[[Place, Said], DepthMap]:
    def made(place: Place, said: Said) -> DepthMap:
        base = way(place, said)
        nearest = np.full(base.depth_m.shape, np.inf, np.float32)
        for mask, depth_m in said.near:
            nearest[mask] = np.minimum(nearest[mask], np.float32(depth_m))
        depth = np.where(np.isfinite(nearest), nearest, base.depth_m)
        return replace(base, depth_m=depth, unsaid=replace(base.unsaid, near=False))

    return made


WAYS: dict[str, Callable[[Place, Said], DepthMap]] = {
    "ground": _ground,
    "marks": _marks,
    "marks over ground": _marks_over_ground,
    "things": _things,
    "ground, near": _with_near(_ground),
    "marks over ground, near": _with_near(_marks_over_ground),
    "things, near": _with_near(_things),
}


def judged(
    place: Place, depth: DepthMap, camera: Camera, vantage: Vantage | None, stop: float
) -> Assessment:
    """The verdict's numbers with a depth, as `render.load.case` hands it over."""
    scene, setting = place.with_depth(depth.depth_m, stop)
    scene = replace(scene, camera=camera, vantage=vantage)
    unsure = depth.typical_uncertainty
    case = look(scene, depth_error=min(unsure, 0.5) if unsure > 0 else 0.0, unsaid=depth.unsaid)
    return assess(case, setting)


@dataclass(frozen=True)
class Case:
    """One verdict on a mistaken depth against that on the exact one."""

    place: str
    stop: float
    way: str
    exact: float
    exact_word: str
    value: float
    word: str
    low: float
    high: float

    @property
    def off(self) -> float:
        """Exact less said, points."""
        return self.exact - self.value

    @property
    def wide(self) -> float:
        """Width of the stated range, points."""
        return self.high - self.low

    @property
    def same(self) -> bool:
        """Whether the word is the same."""
        return self.exact_word == self.word

    @property
    def inside(self) -> bool:
        """Whether the stated range holds the exact score."""
        return self.low - 0.5 <= self.exact <= self.high + 0.5

    @property
    def fair(self) -> bool:
        """Whether the words are the same, or one of them leaves it open."""
        return self.same or Word.MIGHT in (self.exact_word, self.word)


def _figures(cases: list[Case]) -> str:
    if not cases:
        return "none"
    error = np.mean([abs(case.off) for case in cases])
    same, inside, fair = (
        100 * np.mean([getattr(c, k) for c in cases]) for k in ("same", "inside", "fair")
    )
    wide = np.mean([case.wide for case in cases])
    return f"{len(cases):5} {error:6.1f} {same:4.0f}% {inside:5.0f}% {wide:5.1f} {fair:4.0f}%"


def _cases(place: Place, ways: list[str], each: int) -> list[Case]:
    """Every case of a place: each stop, each mistake, each way."""
    row, column = place.spot_px
    if not np.isfinite(place.scene.depth_m[row, column]):
        return []
    person, found = Person(place), []
    for stop in STOPS:
        exact_depth = DepthMap(place.scene.depth_m, "exact", 0.0)
        exact = judged(place, exact_depth, place.scene.camera, place.scene.vantage, stop).score
        for turn in range(each):
            said = person.says(np.random.default_rng((turn, int(10 * stop))))
            for way in ways:
                depth = WAYS[way](place, said)
                stood = None if way == "marks" else said.vantage
                try:
                    got = judged(place, depth, said.camera, stood, stop).score
                except HingelineError as error:  # a mistake too gross to be judged is no case
                    print(place.name, way, error)
                    continue
                words = exact.value, exact.word, got.value, got.word, got.low, got.high
                found.append(Case(place.name, stop, way, *words))
    return found


def table(
    found_places: list[Place], ways: list[str], mistakes: int, workers: int, kept: Path | None
) -> None:
    """Print a row for each way of giving depth."""
    each = -(-mistakes // (len(found_places) * len(STOPS)))
    if workers > 1:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            turns = [pool.submit(_cases, place, ways, each) for place in found_places]
            found = [case for turn in turns for case in turn.result()]
    else:
        found = [case for place in found_places for case in _cases(place, ways, each)]
    if kept:
        kept.write_text(json.dumps([asdict(case) for case in found]))
    heads = "cases  error  same inside  wide  fair"
    print(f"{'way':26} {heads}   exact-said: 10, 50, 90 %   strong alone: {heads}")
    for way in ways:
        cases = [case for case in found if case.way == way]
        off = np.array([case.off for case in cases])
        low, middle, high = np.quantile(off, (0.1, 0.5, 0.9))
        strong = [case for case in cases if case.exact > STRONG]
        print(
            f"{way:26} {_figures(cases)}   {low:+.0f} {middle:+.0f} {high:+.0f}   "
            f"{_figures(strong)}"
        )
        worst: dict[str, list[float]] = {}
        for case in cases:
            worst.setdefault(case.place, []).append(abs(case.off))
        ranked = sorted(worst.items(), key=lambda item: -float(np.mean(item[1])))[:6]
        print("    worst:", ", ".join(f"{name} {np.mean(v):.0f}" for name, v in ranked))


def photographs(truth: Path) -> None:
    """Print how near the photographs of the traced scenes come to the traced ones, dB."""
    for name in ("hillside/up8_f2.8", "bench/down4_f2.8", "harbour/up8_f2.8"):
        folder, setting = truth / name.split("/")[0], name.split("/")[1]
        place = traced_place(folder, setting)
        with np.load(folder / f"{setting}.npz") as held:
            traced = _codes(held["linear"].astype(np.float32))
        said = Person(place).says(np.random.default_rng(1))
        figures = {"exact": place.scene.depth_m}
        figures |= {way: WAYS[way](place, said).depth_m for way in WAYS}
        found = []
        for depth_m in figures.values():
            photo = photograph(replace(place.scene, depth_m=depth_m), place.setting)
            error = np.mean((_codes(photo.light) - traced) ** 2)
            found.append(-10 * math.log10(float(error)))
        print(name, *(f"{way} {db:.1f}" for way, db in zip(figures, found, strict=True)))


def _codes(light: NDArray[np.float32]) -> NDArray[np.float64]:
    clipped = np.clip(light, 0, 1).astype(float)
    return np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--truth", type=Path)
    parser.add_argument("--cache", type=Path, help="keep the traced scenes here")
    parser.add_argument("--mistakes", type=int, default=500)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--cases", type=Path, help="keep every case here, as JSON")
    parser.add_argument("--photographs", action="store_true")
    parser.add_argument("ways", nargs="*", default=list(WAYS))
    asked = parser.parse_args()
    if asked.photographs:
        photographs(asked.truth)
        return
    seen = places(asked.truth, asked.cache)
    table(seen, asked.ways, asked.mistakes, asked.workers, asked.cases)


if __name__ == "__main__":
    main()
