"""What is seen where, by name, and how sharp is what a shot asks for."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from render.judge.case import Assessment, Case
from render.judge.sharpness import FOCUSED_ON, Sharpness, is_no_miniature, sharpness
from render.judge.telltales import Telltale
from render.judge.verdict import Verdict
from render.judge.weights import RULES
from render.load.asked.wish import Wish
from render.load.prepared import Prepared
from render.optics.blur import blur_mm
from render.optics.lens import FocusSpot
from render.optics.plane import focus_lens
from render.optics.solving.selective import Region
from render.optics.solving.targets import ELSEWHERE, Target
from render.plan.sitting import Sitters
from render.shot.things import ThingName
from render.words import is_proper_name, with_article

__all__ = [
    "asked_for",
    "drawn_soft",
    "focused_name",
    "name_of",
    "named_sharpness",
    "sharp_names",
    "sitters_of",
]

_MOST_NAMES = 2
_ON_IT = 0.02  # of the frame's height: so near a thing's middle a spot is on it (ours)
_FACE = "face"
#: Words by which people and parts of their faces are called, in the singular.
_PEOPLE = frozenset(
    (
        *("face", "eye", "eyelash", "eyebrow", "brow", "nose", "mouth", "lip", "chin", "cheek"),
        *("ear", "forehead", "head", "hair", "hand", "person", "people", "man", "men", "woman"),
        *("women", "boy", "girl", "child", "children", "kid", "baby", "sitter", "portrait"),
        *("bride", "groom", "couple", "guest", "dancer", "player", "singer", "speaker", "worker"),
        *("walker", "mother", "father", "sister", "brother", "daughter", "son", "friend"),
    )
)


def sharp_names(prepared: Prepared) -> tuple[str, ...]:
    """Names of what is sharp: what the shot names, else things of the scene nearest the focus."""
    if prepared.named:
        return tuple(thing.name for thing in prepared.named)
    return tuple(name for _, name in _sharp_things(prepared)[:_MOST_NAMES])


def focused_name(prepared: Prepared) -> str:
    """Name of the sharp thing of a scene that the spot in focus lies on; empty where none is."""
    reach_px = _ON_IT * prepared.scene.frame.height
    is_spot = isinstance(prepared.setting.focus, FocusSpot)
    found = [(away, name) for away, name in _sharp_things(prepared) if is_spot and away <= reach_px]
    return found[0][1] if found else ""


def _sharp_things(prepared: Prepared) -> list[tuple[float, str]]:
    """Sharp things of a scene by how far they are from the spot in focus, px; nearest first."""
    lens, coc_mm = focus_lens(prepared.setting), prepared.coc_mm
    focus, camera = prepared.setting.focus, prepared.scene.frame_camera
    aim = (focus.slope_x, focus.slope_y) if isinstance(focus, FocusSpot) else (0.0, 0.0)
    found = []
    for name, (x, y, z) in (prepared.things or {}).items():
        if not _shown(prepared, (x, y, z)):
            continue
        if blur_mm(lens, (x / z, y / z), 1.0 / z) <= coc_mm:
            away = math.hypot(x / z - aim[0], y / z - aim[1]) * camera.focal_px
            found.append((away, name))
    return sorted(found)


def asked_for(prepared: Prepared, case: Case, found: Verdict | Assessment) -> Sharpness | None:
    """How sharp is what was asked for; None where the shot asks for a model."""
    setting, named, unseen = prepared.setting, prepared.named, prepared.unseen
    if not is_no_miniature(case, setting, found, named, unseen):
        return None
    called = () if named or unseen else sharp_names(prepared)
    on = called[0] if called else FOCUSED_ON
    return sharpness(case, setting, named, on, unseen=unseen, shown=shown_of(prepared))


def shown_of(prepared: Prepared) -> dict[str, Region]:
    """All that the frame shows of the things of a scene that a shot names, by what it calls them.

    None of what is so small that its place is all there is, nor of a photo, whose spots are places.
    """
    seen = {target.name for target in prepared.named}
    names = {
        wish.name: wish.where.name
        for wish in prepared.shot.lens.checks
        if isinstance(wish.where, ThingName) and wish.name in seen
    }
    if not names:
        return {}
    from render.load.asked.place import site_in  # compiled kernels: only when wanted

    site = site_in(prepared)
    found = {name: site.whole(Wish("point", text, name)) for name, text in names.items()}
    return {name: whole for name, whole in found.items() if len(whole.inverse_depth) > 1}


def named_sharpness(prepared: Prepared, case: Case) -> Sharpness | None:
    """How sharp the things are that the shot names, whatever it asks for; None without any."""
    if not (prepared.named or prepared.unseen):
        return None
    setting, named, unseen = prepared.setting, prepared.named, prepared.unseen
    return sharpness(case, setting, named, unseen=unseen, shown=shown_of(prepared))


def drawn_soft(prepared: Prepared, case: Case) -> tuple[str, ...]:
    """Names of what the shot says to stand elsewhere than its picture's depth, and will be sharp.

    The picture draws it as soft as what the depth shows there, before or behind it.
    """
    said = {wish.name for wish in prepared.shot.lens.checks if wish.depth_m is not None}
    named = [target for target in prepared.named if target.name in said]
    if not named:
        return ()
    places = prepared.scene.camera.positions([(spot.slope_x, spot.slope_y) for spot in named])
    columns, rows = places.astype(np.intp).T
    shown = [
        replace(spot, depth_m=float(depth_m))
        for spot, depth_m in zip(named, prepared.scene.depth_m[rows, columns], strict=True)
    ]
    there, drawn = (sharpness(case, prepared.setting, each).things for each in (named, shown))
    pairs = zip(there, drawn, strict=True)
    return tuple(thing.name for thing, seen in pairs if thing.sharp and not seen.sharp)


def name_of(telltale: Telltale, prepared: Prepared) -> str:
    """What a telltale is: a thing of the scene by its name, else where it is in the picture."""
    box, camera = telltale.box, prepared.scene.frame_camera
    inside = []
    for name, (x, y, z) in (prepared.things or {}).items():
        if not _shown(prepared, (x, y, z)) or abs(z / telltale.depth_m - 1.0) > 2 * ELSEWHERE:
            continue
        px, py = (float(p) for p in camera.positions((x / z, y / z)))
        if box.left <= px <= box.left + box.width and box.top <= py <= box.top + box.height:
            middle = box.left + box.width / 2, box.top + box.height / 2
            inside.append((math.dist((px, py), middle), name))
    if inside:
        return with_article(min(inside)[1])
    return f"what stands {_place(telltale.place.split(', '))}"


def _place(parts: Sequence[str]) -> str:
    """Turn "left, upper third" into "at the upper left"."""
    across, down = parts[0], parts[1].split()[0]
    if across == "centre" and down == "middle":
        return "in the middle"
    words = [down if down != "middle" else "", across if across != "centre" else "middle"]
    return f"at the {' '.join(filter(None, words))}"


def _shown(prepared: Prepared, point: tuple[float, float, float]) -> bool:
    """Whether the frame shows something at a point's own depth there."""
    x, y, z = point
    if not z > 0:
        return False
    scene = prepared.scene
    px, py = (float(p) for p in scene.frame_camera.positions((x / z, y / z)))
    if not (0 <= px < scene.frame.width and 0 <= py < scene.frame.height):
        return False
    shown = float(scene.depth_m[scene.frame.top + int(py), scene.frame.left + int(px)])
    return abs(shown / z - 1.0) <= ELSEWHERE


def sitters_of(prepared: Prepared) -> Sitters:
    """The people that a shot names, or whose faces it names; else the faces that a scene shows.

    Who stands near the lens and is called by a proper name may be one of them.
    """
    things = prepared.things or {}
    named = [t for t in prepared.named if _alive(t.name) or f"{t.name} {_FACE}" in things]
    perhaps = [
        thing
        for thing in prepared.named
        if thing not in named
        and thing.name not in things
        and thing.depth_m < RULES.close_to_m
        and is_proper_name(thing.name)
    ]
    if named or perhaps:
        return Sitters((*named, *perhaps), supposed=not named)
    camera = prepared.scene.frame_camera
    faces = tuple(
        Target(x / z, y / z, z, name=name)
        for name, (x, y, z) in things.items()
        if name.split()[-1] == _FACE and z > 0 and camera.shows(x / z, y / z)
    )
    return Sitters(faces)


def _alive(name: str) -> bool:
    words = re.findall(r"[a-z]+", name.lower())
    return any(word in _PEOPLE or word.removesuffix("s") in _PEOPLE for word in words)
