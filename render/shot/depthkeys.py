"""What a shot says of its picture's depth: sources, marks, standing things, sky, mending."""

import math
import re
from dataclasses import dataclass

from render.decimals import pointed, pointed_places
from render.depth.convert import KINDS, RELATIVE_KINDS
from render.depth.ground import LEVEL, Slope
from render.depth.mark import Measured
from render.errors import SettingError
from render.shot.declaring import PictureSpot, flag, number, one_of, read_spot, shot_key
from render.typed import in_degrees, parse_height_m
from render.units import in_feet

__all__ = [
    "DepthKeys",
    "MarkWish",
    "NearWish",
    "PairWish",
    "SkyWish",
    "ThingWish",
    "UprightWish",
    "WallWish",
    "near_example",
    "read_mark",
    "read_near",
    "read_pair",
    "read_place_on_map",
    "read_sky",
    "read_slope",
    "read_thing",
    "read_upright",
    "read_wall",
]

_SPOT = r"[^\s,:=]+,[^\s,:=]+"


@dataclass(frozen=True, slots=True)
class MarkWish:
    """A spot of known distance."""

    spot: PictureSpot
    distance_m: float
    measured: Measured


@dataclass(frozen=True, slots=True)
class UprightWish:
    """An upright thing of known height on the ground."""

    foot: PictureSpot
    top: PictureSpot
    height_m: float


@dataclass(frozen=True, slots=True)
class ThingWish:
    """A standing thing: by a spot inside, a box or an outline.

    It stands on the ground at its foot (else its lowest place) and faces the camera, unless
    its distance is given; `flat` keeps one depth all over it. A spot may be helped by further
    places that belong to the thing (`more`) and by places that do not (`less`).
    """

    shape: str
    spots: tuple[PictureSpot, ...]
    foot: PictureSpot | None
    distance_m: float | None
    flat: bool
    more: tuple[PictureSpot, ...] = ()
    less: tuple[PictureSpot, ...] = ()


@dataclass(frozen=True, slots=True)
class NearWish:
    """A thing near the lens: a stroke along it, a spot inside, a box or an outline, and how far.

    The shape "none" says that nothing stands near. A spot may be helped as a `ThingWish`'s.
    """

    shape: str
    spots: tuple[PictureSpot, ...] = ()
    distance_m: float = math.inf
    more: tuple[PictureSpot, ...] = ()
    less: tuple[PictureSpot, ...] = ()


@dataclass(frozen=True, slots=True)
class WallWish:
    """An upright wall over the line between two feet; without a height it has no end."""

    feet: tuple[PictureSpot, PictureSpot]
    height_m: float | None


@dataclass(frozen=True, slots=True)
class PairWish:
    """A spot in the picture and its place in a survey: east, north, up in its own units."""

    spot: PictureSpot
    place: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class SkyWish:
    """The sky: by colour along the top edge, none, or outlined."""

    rule: str
    outline: tuple[PictureSpot, ...] = ()


def read_mark(text: str) -> MarkWish:
    """Read "50%,62% 18 m", with "range" (from a rangefinder) or "map" (level) behind if so.

    >>> read_mark("50%,62% 18 m range").distance_m
    18.0
    """
    match = re.fullmatch(rf"({_SPOT})\s*[:=]?\s+(.+?)(?:\s+(axis|range|map))?", _plain(text))
    if not match:
        raise SettingError(
            f'"{text}": write a spot and its distance, such as "50%,62% 18 m"; add "range" for a '
            'rangefinder\'s reading, "map" for a distance from a map'
        )
    measured: Measured = match[3] or "axis"  # type: ignore[assignment]
    return MarkWish(read_spot(match[1]), parse_height_m(match[2]), measured)


def read_upright(text: str) -> UprightWish:
    """Read "40%,80% 40%,70% 1.8 m": foot, top, height."""
    match = re.fullmatch(rf"({_SPOT})\s+({_SPOT})\s+(.+)", _plain(text))
    if not match:
        raise SettingError(f'"{text}": write foot, top and height, such as "40%,80% 40%,70% 1.8 m"')
    return UprightWish(read_spot(match[1]), read_spot(match[2]), parse_height_m(match[3]))


def read_thing(text: str) -> ThingWish:
    """Read "spot 40%,50%", "box 10%,20% 30%,60%" or "outline 1,1 9,1 9,9", and what follows.

    What may follow, in this order: after a spot "with 42%,60%" and "without 45%,70%", each one
    place or more; then "foot 20%,61%", "at 18 m", "flat".
    """
    match = re.fullmatch(
        rf"(spot|box|outline)((?:\s+{_SPOT})+)(?:\s+with((?:\s+{_SPOT})+))?"
        rf"(?:\s+without((?:\s+{_SPOT})+))?"
        rf"(?:\s+foot\s+({_SPOT}))?(?:\s+at\s+(.+?))?(\s+flat)?",
        _plain(text),
    )
    if not match:
        raise SettingError(
            f'"{text}": write "spot 40%,50%", "box 10%,20% 30%,60%" or "outline" and its corners, '
            'then, in this order and if need be, "with 42%,60%" and "without 45%,70%" (of a spot), '
            '"foot 20%,61%", "at 18 m", "flat"'
        )
    spots = tuple(map(read_spot, match[2].split()))
    least = {"spot": 1, "box": 2, "outline": 3}[match[1]]
    if len(spots) < least or (match[1] != "outline" and len(spots) > least):
        many = {1: "one spot", 2: "two corners", 3: "three corners or more"}[least]
        raise SettingError(f'"{text}": a {match[1]} needs {many}: write "box 10%,20% 30%,60%"')
    more, less = (tuple(map(read_spot, (match[k] or "").split())) for k in (3, 4))
    if (more or less) and match[1] != "spot":
        raise SettingError(f'"{text}": "with" and "without" help a spot, not a {match[1]}')
    foot = read_spot(match[5]) if match[5] else None
    distance = parse_height_m(match[6]) if match[6] else None
    return ThingWish(match[1], spots, foot, distance, bool(match[7]), more, less)


def near_example() -> str:
    """A stroke with its distance as one types it, in the units of whoever reads it."""
    return f'"12%,80% 60%,82% {"10 ft" if in_feet() else "3 m"}"'


def read_near(text: str) -> NearWish:
    """Read "12%,80% 60%,82% 3 m", a stroke and its distance, or "none".

    In front may stand "spot", "box" or "outline"; one place alone is a spot, and may be followed
    by "with" and "without" and further places.

    >>> read_near("12%,80% 60%,82% 3 m").shape
    'stroke'
    """
    plain = _plain(text)
    if plain == "none":
        return NearWish("none")
    match = re.fullmatch(
        rf"(?:(stroke|spot|box|outline)\s+)?({_SPOT}(?:\s+{_SPOT})*)"
        rf"(?:\s+with((?:\s+{_SPOT})+))?(?:\s+without((?:\s+{_SPOT})+))?\s+(?:at\s+)?([^,]+)",
        plain,
    )
    if not match:
        raise SettingError(
            f'"{text}": write a stroke along the thing and how far it is, such as '
            f'{near_example()}, or "none" if nothing stands near'
        )
    spots = tuple(map(read_spot, match[2].split()))
    shape = match[1] or ("stroke" if len(spots) > 1 else "spot")
    least = {"stroke": 2, "spot": 1, "box": 2, "outline": 3}[shape]
    if len(spots) < least or (shape in ("spot", "box") and len(spots) > least):
        many = {"stroke": "two places or more", "spot": "one place", "box": "two corners"}
        raise SettingError(
            f'"{text}": a {shape} needs {many.get(shape, "three corners or more")}, then how far'
        )
    more, less = (tuple(map(read_spot, (match[k] or "").split())) for k in (3, 4))
    if (more or less) and shape != "spot":
        raise SettingError(f'"{text}": "with" and "without" help a spot, not a {shape}')
    return NearWish(shape, spots, parse_height_m(match[5]), more, less)


def read_wall(text: str) -> WallWish:
    """Read "10%,80% 60%,70%", the wall's foot line, with "high 12 m" behind if known."""
    match = re.fullmatch(
        rf"({_SPOT})\s+({_SPOT})(?:[,\s]\s*(?:high\s+(.+)|(.+?)\s+high))?", _plain(text)
    )
    if not match:
        raise SettingError(
            f'"{text}": write the two ends of the wall\'s foot, such as "10%,80% 60%,70%", and '
            '"high 12 m" if you know it'
        )
    high = match[3] or match[4]
    height = parse_height_m(high) if high else None
    return WallWish((read_spot(match[1]), read_spot(match[2])), height)


def read_sky(text: str) -> SkyWish:
    """Read "top" (by the colour along the top edge), "none", or the corners of an outline."""
    plain = _plain(text)
    if plain in ("top", "none"):
        return SkyWish(plain)
    if re.fullmatch(rf"{_SPOT}(?:\s+{_SPOT}){{2,}}", plain):
        return SkyWish("outline", tuple(map(read_spot, plain.split())))
    raise SettingError(
        f'"{text}": write "top", "none", or the corners of an outline such as "0,0 100%,0 50%,30%"'
    )


def read_slope(text: str) -> Slope:
    """Read "up 3" or "down 2", with "towards 90" (degrees right of ahead) behind if so."""
    match = re.fullmatch(
        r"(up|down)\s+([\d.]+)\s*°?(?:\s+towards\s+(-?[\d.]+)\s*°?)?",
        in_degrees(pointed(_plain(text))),
    )
    try:
        if match:
            climb = float(match[2])
            return Slope(climb if match[1] == "up" else -climb, float(match[3] or 0))
        if _plain(text) == "level":
            return LEVEL
    except ValueError:
        pass
    raise SettingError(
        f'"{text}": write how the ground climbs away from you, "up 3" or "down 2" degrees, and '
        '"towards 90" if it climbs to the right'
    )


def read_place_on_map(text: str) -> tuple[float, ...]:
    """Read "EAST,NORTH" or "EAST,NORTH,UP"."""
    try:
        values = tuple(float(part) for part in text.split(","))
    except ValueError:
        values = ()
    if len(values) not in (2, 3) or not all(map(math.isfinite, values)):
        raise SettingError(f'"{text}": write east, north and, if known, elevation: "1250,840,32"')
    return values


def read_pair(text: str) -> PairWish:
    """Read "40%,60% EAST,NORTH,UP"."""
    words = _plain(text).split()
    place = read_place_on_map(words[1]) if len(words) == 2 else ()
    if len(place) != 3:
        raise SettingError(f'"{text}": write a spot and its place: "40%,60% 1250,840,32"')
    east, north, up = place
    return PairWish(read_spot(words[0]), (east, north, up))


def _plain(text: str) -> str:
    """In small letters, no blanks at commas, and none of them in a number."""
    return re.sub(r"\s*,\s*", ",", pointed_places(text.strip().lower()))


@dataclass(frozen=True, slots=True)
class DepthKeys:
    """Where the depth of the picture comes from; the ground, where no file is given."""

    file: str | None = shot_key(
        "--depth",
        "Depth file: 16-bit PNG, float TIFF, NPY, NPZ, PFM or EXR, or a phone's JPEG or HEIC "
        "with depth inside.",
        shown="FILE",
        names_file="",
    )
    kind: str | None = shot_key(
        "--depth-kind",
        "What the file's numbers are: metres, millimetres, inverse (1/m), disparity, ray (length "
        "along the ray, m), or, without a unit, relative (grows with distance) and relative "
        "inverse (grows with nearness), made metric by --mark or the ground.",
        one_of(*KINDS, *RELATIVE_KINDS),
        shown="KIND",
    )
    scale: float | None = shot_key(
        "--depth-scale",
        "Metres per unit of a whole-number depth file, such as 0.01.",
        number(1e-9, 1e6, "0.01"),
        shown="METRES",
    )
    baseline_m: float | None = shot_key(
        "--baseline",
        "For disparity: how far apart the two cameras stood: '0.12 m', '7.6 in'.",
        parse_height_m,
        shown="LENGTH",
    )
    marks: tuple[MarkWish, ...] = shot_key(
        "--mark",
        "A spot of known distance along the camera's axis: '50%,62% 18 m'; '... range' as a "
        "rangefinder reads it, '... map' as a map does. Repeat it.",
        read_mark,
        shown="'SPOT LENGTH'",
        many=True,
    )
    no_ground: bool | None = shot_key(
        "--no-ground",
        "Spread marks without the ground, though height and pitch are known.",
        flag,
        shown="flag",
    )
    slope: Slope | None = shot_key(
        "--slope",
        "How the ground climbs ahead: 'up 3' degrees, 'down 2', 'up 3 towards 90' (right).",
        read_slope,
        shown="'up 3'",
    )
    things: tuple[ThingWish, ...] = shot_key(
        "--thing",
        "A thing standing on the ground: 'box 10%,20% 30%,60%', 'outline' with corners, or 'spot "
        "40%,50%', which finds its outline ('with SPOT', 'without SPOT' mend it); then 'foot "
        "SPOT', 'at 18 m', 'flat'. Repeat it.",
        read_thing,
        shown="'spot SPOT'",
        many=True,
    )
    walls: tuple[WallWish, ...] = shot_key(
        "--wall-foot",
        "An upright wall by its foot line: '10%,80% 60%,70%', 'high 12 m' behind. Repeat it.",
        read_wall,
        shown="'SPOT SPOT'",
        many=True,
    )
    near: tuple[NearWish, ...] = shot_key(
        "--near",
        "A thing near the lens (rail, post, branch, wire, parapet): a stroke along it and a rough "
        "distance, '12%,80% 60%,82% 3 m'; 'spot', 'box' or 'outline' in front for another shape; "
        "'none' if nothing stands near. Repeat it.",
        read_near,
        shown="'SPOT SPOT LENGTH'",
        many=True,
    )
    go_on: bool | None = shot_key(
        "--go-on",
        "Go on without a thing that cannot be cut out or placed, and say so.",
        flag,
        shown="flag",
    )
    sky: SkyWish | None = shot_key(
        "--sky",
        "The sky: 'top' takes it by the colour along the top edge, 'none', or its outline "
        "'0,0 100%,0 100%,20%'.",
        read_sky,
        shown="SKY",
    )
    second_picture: str | None = shot_key(
        "--second-picture",
        "A second picture, taken a step to the side with the same lens; needs --step.",
        shown="FILE",
        names_file="",
    )
    step_m: float | None = shot_key(
        "--step",
        "How far apart the two pictures were taken: '0.65 m'.",
        parse_height_m,
        shown="LENGTH",
    )
    rectified: bool | None = shot_key(
        "--rectified",
        "The pair is calibrated: its rows are level and the second was taken on the right.",
        flag,
        shown="flag",
    )
    disparity_offset_px: float | None = shot_key(
        "--disparity-offset",
        "For disparity and calibrated pairs: pixels to add to each shift, as a calibration says.",
        number(-1e5, 1e5, "31"),
        shown="PX",
    )
    network: str | None = shot_key(
        "--network",
        "A depth network of your own, an ONNX file with a TOML file of the same name beside it.",
        shown="FILE",
        names_file="",
    )
    survey: str | None = shot_key(
        "--survey",
        "A survey of the place: LAS, LAZ, GeoTIFF or ASCII grid; needs --survey-from and "
        "--survey-heading (or three --survey-pair).",
        shown="FILE",
        names_file="",
    )
    survey_from: tuple[float, ...] | None = shot_key(
        "--survey-from",
        "Where the lens is in the survey: 'EAST,NORTH,ELEVATION' in its own units, or "
        "'EAST,NORTH' for a person standing on what the survey has there, or --height above it.",
        read_place_on_map,
        shown="E,N[,UP]",
    )
    survey_heading_deg: float | None = shot_key(
        "--survey-heading",
        "Where the camera looks: 0 north, 90 east.",
        number(-360, 360, "45"),
        shown="DEG",
    )
    survey_pairs: tuple[PairWish, ...] = shot_key(
        "--survey-pair",
        "Instead of heading and pitch, three times: a spot and its place in the survey, "
        "'40%,60% EAST,NORTH,UP'.",
        read_pair,
        shown="'SPOT E,N,UP'",
        many=True,
    )
    survey_unit_m: float | None = shot_key(
        "--survey-unit",
        "Metres per unit of the survey: 0.3048 for feet; 1 unless said.",
        number(1e-4, 1e4, "0.3048"),
        shown="METRES",
    )
    mend: bool | None = shot_key(
        "--mend",
        "Mend the depth by the picture: holes filled, edges moved on to the picture's edges, "
        "nothing left hanging between near and far.",
        flag,
        shown="flag",
    )
