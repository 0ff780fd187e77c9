"""A shot: one planned photograph as a person would write it down, in options or in TOML.

`Shot` is declared once, here: each field carries its option, its help and how it is read, so
the command line, the page and the TOML file cannot drift apart. A field that was not given is
None; `render.load.prepare` turns a shot into a scene and a lens setting, `render.files.shots`
writes it down and reads it back.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from pathlib import Path

from render.decimals import pointed, pointed_places
from render.errors import InputError, SettingError
from render.optics.camera import Sensor
from render.optics.depth_of_field import circle_of_confusion_mm
from render.optics.lens import FocusDistance, FocusExtension
from render.shot.declaring import (
    Key,
    PictureSpot,
    Words,
    flag,
    keys_of,
    number,
    read_spot,
    read_value,
    shot_key,
    whole,
)
from render.shot.depthkeys import DepthKeys
from render.shot.dialled import ExtensionOf, extension_words, read_extension
from render.shot.keyframes import KeyFrame
from render.shot.placekeys import PlaceKeys, is_map_file, plain_name
from render.shot.things import CheckWish, ThingName, read_check, read_thing
from render.shot.vantagekeys import VantageKeys
from render.typed import (
    length_m,
    parse_direction,
    parse_f_number,
    parse_height_m,
    parse_millimetres,
    parse_seconds,
    parse_size_mm,
)
from render.units import round_metres

__all__ = [
    "RING",
    "CameraKeys",
    "DemoKeys",
    "DepthKeys",
    "FocusWish",
    "LensKeys",
    "PictureSpot",
    "PlaceKeys",
    "Shot",
    "TakenKeys",
    "VantageKeys",
    "Words",
    "input_files",
    "is_file_name",
    "merged",
    "shot_keys",
]


def _read_focus(text: str) -> "FocusWish":
    """Read a focus: "50%,62%" or "812,640" px, "18 m", "extension 46.2 mm", or a thing's name.

    Behind an extension may stand the focal length that it was set for: "46.2 mm of 45 mm".
    """
    plain = pointed_places(text.strip().lower())
    if plain.startswith("extension"):
        return read_extension(plain.removeprefix("extension"))
    if plain in ("infinity", "inf"):
        return FocusDistance(float("inf"))
    if "," in plain:
        return read_spot(plain)
    if plain[:1].isalpha():
        return read_thing(text)
    if plain[-1:].isalpha() or length_m(plain) is not None:
        return FocusDistance(parse_height_m(plain))
    raise SettingError(
        f'focus "{text}": write a spot in the picture such as "50%,62%" or "812,640", '
        f'a distance with its unit such as "{round_metres(18.0, 2)}", "5 ft 2 in" or "infinity", '
        '"extension 46.2 mm", '
        "or the name of a thing of a scene or map"
    )


def _read_distance(text: str) -> float:
    """Read a level distance, which may be 0: straight above the subject."""
    return 0.0 if re.fullmatch(r"\s*0+(\.0*)?\s*m?\s*", text) else parse_height_m(text)


def _read_cats_eye(text: str) -> tuple[float, float]:
    """Read the light left in the corners wide open, "50% at f/2.8": share and f-number."""
    share, _, widest = text.partition("at")
    number_of = pointed(share.strip().removesuffix("%").strip())
    try:
        left = float(number_of) / 100
    except ValueError:
        left = float("nan")
    if not (0.2 <= left < 1 and "%" in share and widest.strip()):
        raise SettingError(
            f'"{text}": write the light left in the corners, from 20% to 99%, and the widest '
            "aperture, such as '50% at f/2.8'"
        )
    return left, parse_f_number(widest)


def _read_focal(text: str) -> float:
    """Read the planned focal length; a name is that of a lens with limits of its own."""
    try:
        return parse_millimetres(text)
    except SettingError as error:
        named = "" if re.match(r"[-+\d.,]", text.strip()) else "; a lens by its name is --lens-file"
        raise SettingError(f"{error}{named}") from None


def _read_coc(text: str) -> str:
    """Read a circle of confusion; its size follows from the sensor and the picture."""
    circle_of_confusion_mm(text, Sensor(), 1)
    return text


FocusWish = PictureSpot | FocusDistance | FocusExtension | ThingName


def _read_moment(text: str) -> float:
    """Read a moment, "2.4" or "2.4 s", within some days."""
    moment_s = parse_seconds(text)
    if not moment_s <= 1e6:
        raise SettingError(f'"{text}" is later than any moment here: write seconds, such as 2.4')
    return moment_s


@dataclass(frozen=True, slots=True)
class TakenKeys:
    """What took the picture; the picture's EXIF answers where nothing is given."""

    focal_mm: float | None = shot_key(
        "--focal", "Focal length the picture was taken with, mm.", parse_millimetres, shown="MM"
    )
    sensor_mm: tuple[float, float] | None = shot_key(
        "--sensor",
        "Sensor that took the picture: 36x24, or a name such as 'aps-c'.",
        parse_size_mm,
        shown="WxH",
    )
    focal_35mm: float | None = shot_key(
        "--focal-35",
        "Instead of both: the focal length as its 35 mm equivalent.",
        parse_millimetres,
        shown="MM",
    )
    field_deg: float | None = shot_key(
        "--view",
        "Instead of both: how many degrees the picture sees from left to right.",
        number(0.5, 170, "65"),
        shown="DEG",
    )
    lift_stops: float | None = shot_key(
        "--lift-highlights",
        "Small clipped spots of a picture (lamps, glints) carry up to so many stops more light "
        "where they are out of focus; usual are 3 on boards and sheets, 0 elsewhere.",
        number(0, 10, "3"),
        shown="STOPS",
    )


@dataclass(frozen=True, slots=True)
class DemoKeys:
    """What only a demo scene can answer: it may be seen from anywhere, at any time."""

    heading_deg: float | None = shot_key(
        "--heading",
        "Scenes, maps and panoramas: compass heading of the camera's look, 0 north, 90 east. In a "
        "scene it moves round the subject, elsewhere it turns where it stands; in a panorama "
        "without a compass it counts from its middle.",
        number(-360, 360, "340"),
        shown="DEG",
    )
    distance_m: float | None = shot_key(
        "--distance",
        "Level distance from the camera to the scene's subject: '60 m'.",
        _read_distance,
        shown="LENGTH",
    )
    time_s: float | None = shot_key(
        "--time",
        "Moment of the scene, seconds: people, vehicles and boats move on; of a clip, which frame.",
        _read_moment,
        shown="SECONDS",
    )
    width_px: int | None = shot_key(
        "--width", "Width of the picture, pixels; 1280 otherwise.", whole(16, 20000), shown="PX"
    )


@dataclass(frozen=True, slots=True)
class CameraKeys:
    """The planned camera."""

    sensor_mm: tuple[float, float] | None = shot_key(
        "--format",
        "Sensor or film of the planned camera: 36x24 mm (usual), a name such as 'aps-c', or "
        "'4x5 in', '6x7 cm'.",
        parse_size_mm,
        shown="WxH",
    )
    portrait: bool | None = shot_key(
        "--portrait", "Hold the planned camera upright.", flag, shown="flag"
    )


@dataclass(frozen=True, slots=True)
class LensKeys:
    """The planned lens and how it is set."""

    focal_mm: float | None = shot_key(
        "--lens", "Focal length of the planned lens, mm.", _read_focal, shown="MM"
    )
    lens_file: str | None = shot_key(
        "--lens-file",
        "The lens: a lens file (.toml), or one that comes with the program, such as 'long 90'. Its "
        "limits then hold: f-numbers, tilt, shift, focus.",
        shown="LENS",
        names_file=".toml",
    )
    f_number: float | None = shot_key(
        "--f", "f-number, any: 2.8, 3.2, 5.6.", parse_f_number, shown="N"
    )
    tilt_deg: float | None = shot_key(
        "--tilt",
        "Tilt: 'up 8' turns the lens up, 'down 8' down.",
        lambda text: parse_direction("tilt", text),
        shown="'up 8'",
    )
    swing_deg: float | None = shot_key(
        "--swing",
        "Swing: 'left 3' or 'right 3'.",
        lambda text: parse_direction("swing", text),
        shown="'left 3'",
    )
    rise_mm: float | None = shot_key(
        "--rise",
        "Shift the view up or down: 'up 6' or 'down 6' mm.",
        lambda text: parse_direction("rise", text),
        shown="'up 6'",
    )
    lateral_mm: float | None = shot_key(
        "--shift",
        "Shift the view sideways: 'left 4' or 'right 4' mm.",
        lambda text: parse_direction("lateral", text),
        shown="'left 4'",
    )
    focus: FocusWish | None = shot_key(
        "--focus",
        "What is sharp: a spot in the picture '50%,62%' or '812,640' (pixels), a distance along "
        "the camera's axis '18 m', a thing of a scene or map by its name, or 'extension 46.2 mm'.",
        _read_focus,
        shown="FOCUS",
    )
    coc: str | None = shot_key(
        "--coc",
        "Circle of confusion, the blur that still passes for sharp: 'diagonal/1500' (usual), "
        "'traditional', 'cinema', '2 px' or '0.03 mm'.",
        _read_coc,
        shown="CIRCLE",
    )
    checks: tuple[CheckWish, ...] = shot_key(
        "--check",
        "A thing that must be sharp, to look at on site: 'left face=42%,38%', or a thing of a "
        "scene by its name. Card, board and sheets speak of it by name.",
        read_check,
        shown="NAME=SPOT",
        many=True,
    )
    blades: int | None = shot_key(
        "--blades", "Blades of the iris; 0 is a disc.", whole(0, 32), shown="N"
    )
    blade_turn_deg: float | None = shot_key(
        "--blade-turn",
        "Turn of the iris, degrees clockwise in the picture of a near highlight.",
        number(-360, 360, "15"),
        shown="DEG",
    )
    roundness: float | None = shot_key(
        "--roundness",
        "Rounding of the blades: 0 straight, 1 a full circle.",
        number(0, 1, "0.5"),
        shown="0..1",
    )
    cats_eye: tuple[float, float] | None = shot_key(
        "--cats-eye",
        "Cat's-eyes towards the corners: the light left there and the widest aperture, "
        "'50% at f/2.8'. The picture keeps its brightness (see --fall-off).",
        _read_cats_eye,
        shown="'SHARE at F'",
    )


@dataclass(frozen=True, slots=True)
class Shot:
    """One planned photograph: a picture or a scene, and what was said about it.

    A scene is the name of a shipped one, a scene file (.toml) or a map file.
    """

    picture: str | None = None
    scene: str | None = None
    taken: TakenKeys = TakenKeys()
    vantage: VantageKeys = VantageKeys()
    demo: DemoKeys = DemoKeys()
    place: PlaceKeys = PlaceKeys()
    depth: DepthKeys = DepthKeys()
    camera: CameraKeys = CameraKeys()
    lens: LensKeys = LensKeys()
    #: How it moves in a film; `render`, `judge` and the like take it as it stands.
    key_frames: tuple[KeyFrame, ...] = ()
    #: How long that film lasts, s; to its last key frame where None.
    film_s: float | None = None
    #: The given values by name, in their owner's own words, so that a shot can be written back.
    written: tuple[tuple[str, Words], ...] = ()
    #: Those of them that came from the defaults of whoever asks; also a command's own.
    own: tuple[tuple[str, Words], ...] = field(default=(), compare=False)
    #: Written down by the program: a reader's own defaults do not change it.
    handed_on: bool = field(default=False, compare=False)
    #: What became of a focus by extension when the lens was turned another way; or empty.
    ring: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if self.picture and self.scene:
            raise InputError("a shot has a picture or a scene, not both: leave one of them out")

    @property
    def on_map(self) -> bool:
        """Whether its scene is a file of map data."""
        return self.scene is not None and is_map_file(self.scene)

    @property
    def stem(self) -> str:
        """What it is called: the name of its picture or scene, without folder and ending.

        Of numbered stills it is what all their names begin with: "IMG" of "IMG_%04d.jpg".
        """
        if self.scene is None:
            stem = Path(self.picture or "shot").stem
            return re.split(r"[ _.-]*(?:%(?:0\d+)?d|[*?])", stem)[0] or "film"
        return plain_name(self.scene) if self.on_map else Path(self.scene).stem


def shot_keys() -> dict[str, Key]:
    """Every value a shot can hold by its name, in the order people meet them."""
    keys: dict[str, Key] = {}
    for table in fields(Shot):
        if isinstance(table.type, type) and is_dataclass(table.type):
            keys |= keys_of(table.type, table.name)
    return keys


#: Values that say one thing in different words.
_SAME_THING = (frozenset({"pitch", "horizon"}), frozenset({"view", "focal-35", "focal"}))


def merged(shot: Shot, given: Mapping[str, Words], where: str) -> Shot:
    """Return the shot with the values in `given` read and put in their places.

    Where what is given says the same thing as another value in other words, a pitch for a horizon,
    the other is taken away: what is said last holds. Where the lens is turned another way and the
    focus was an extension, which belongs to the turn it was found for, the focus is set anew on
    the first thing to check; without one it stays, and `Shot.ring` says so. Where the lens is
    another, an extension is noted as that of the lens before (`ExtensionOf`).

    Parameters
    ----------
    given : mapping of name to text
    where : str
        Begins an error's sentence; ``{name}`` is filled in.

    Raises
    ------
    SettingError
        If a value cannot be read.
    """
    keys = shot_keys()
    before, said = shot.lens, dict(shot.written)
    given = _known(shot, given)
    for group in _SAME_THING:
        for name in group - set(given) if group & set(given) else ():
            if said.pop(name, None) is not None:
                key = keys[name]
                table = replace(getattr(shot, key.table), **{key.attribute: key.usual})
                shot = replace(shot, **{key.table: table})
    for name, text in given.items():
        key = keys[name]
        table = replace(getattr(shot, key.table), **{key.attribute: read_value(key, text, where)})
        shot = replace(shot, **{key.table: table})
    if "focus" in given:
        shot = replace(shot, ring="")
    elif isinstance(before.focus, FocusExtension) and _turn(before) != _turn(shot.lens):
        shot, anew = _focused_anew(shot, before.focus)
        given = {**given, **anew}
    elif type(before.focus) is FocusExtension and {"lens", "lens-file"} & set(given):
        shot, noted = _of_its_lens(shot, before, before.focus)
        given = {**given, **noted}
    return replace(
        shot,
        written=tuple((name, words) for name, words in {**said, **given}.items() if words != ()),
        own=tuple(pair for pair in shot.own if pair[0] not in given),
    )


def _known(shot: Shot, given: Mapping[str, Words]) -> Mapping[str, Words]:
    """What is given anew, with that taken off what was only guessed."""
    guessed = shot.vantage.guessed
    if not guessed or "guessed" in given:
        return given
    said = {name for group in _SAME_THING if group & set(given) for name in group} | set(given)
    left = tuple(name for name in guessed if name not in said)
    return given if left == guessed else {**given, "guessed": left}


#: What `Shot.ring` begins with.
RING = "the focus, "


def _turn(lens: LensKeys) -> tuple[float, float]:
    return lens.tilt_deg or 0.0, lens.swing_deg or 0.0


def _beside(where: PictureSpot | ThingName) -> bool:
    return isinstance(where, PictureSpot) and where.is_beside


def _focused_anew(shot: Shot, ring: FocusExtension) -> tuple[Shot, dict[str, Words]]:
    """The shot, turned another way, with its focus on the first thing to check; and as written."""
    was = f"{RING}extension {ring.extension_mm:g} mm, was set for another tilt or swing"
    first = next((wish for wish in shot.lens.checks if not _beside(wish.where)), None)
    if first is None:
        kept = f"{was} and is kept: give --focus to set it anew"
        return replace(shot, ring=kept), {}
    words = first.where.name if isinstance(first.where, ThingName) else first.where.words
    lens = replace(shot.lens, focus=first.where)
    of = len(shot.lens.checks)
    more = f", the first of {of} to check; solve the lens anew for the best between them"
    anew = f"{was}: set anew on {first.name}{more if of > 1 else ''}"
    return replace(shot, lens=lens, ring=anew), {"focus": words}


def _of_its_lens(
    shot: Shot, before: LensKeys, ring: FocusExtension
) -> tuple[Shot, dict[str, Words]]:
    """The shot, through another lens, with its focus noted as that of the one before."""
    if before.focal_mm is None:
        kept = f"{RING}extension {ring.extension_mm:g} mm, is kept for another lens"
        return replace(shot, ring=f"{kept}: give --focus to set it anew"), {}
    focus = ExtensionOf(ring.extension_mm, before.focal_mm)
    words = extension_words(ring.extension_mm, before.focal_mm)
    return replace(shot, lens=replace(shot.lens, focus=focus)), {"focus": words}


def input_files(shot: Shot) -> list[Path]:
    """Every file that a shot is made from: nothing may be written over one of them."""
    keys = shot_keys()
    named = [text for name, text in shot.written if keys[name].is_file(text)]
    scene = shot.scene if shot.scene and is_file_name(shot.scene) else None
    every = dict.fromkeys((shot.picture, scene, shot.depth.file, *named))
    return [Path(text) for text in every if text]


def is_file_name(scene: str) -> bool:
    """Whether a scene is a file of one's own, rather than the name of a shipped one."""
    return is_map_file(scene) or scene.lower().endswith(".toml")
