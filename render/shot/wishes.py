"""What is asked for besides the shot: of the judgement, the day, a board, the finish, the work.

Declared once, as a shot is; the command line, the page and the jobs all read it from here.
"""

import re
from dataclasses import dataclass
from typing import Literal

from render.decimals import pointed
from render.errors import SettingError
from render.optics.glare import check_veil
from render.shot.declaring import any_number, flag, one_of, shot_key, whole
from render.shot.pace import Pace, pace_key
from render.typed import parse_duration_s, parse_height_m, parse_millimetres
from render.units import parse_units

__all__ = [
    "BoardWishes",
    "CrewWishes",
    "DayWishes",
    "Finish",
    "JudgeWishes",
    "SolveWishes",
    "TellWishes",
    "read_grain",
    "read_veil",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewWishes:
    """Who does the work, where there is much of it; the results are the same."""

    workers: int = shot_key(
        "--workers", "Processes that share the work.", whole(1, 256), shown="N", usual=1
    )
    scheduler: str | None = shot_key(
        "--scheduler", "A Dask cluster that does the work: tcp://HOST:PORT.", shown="ADDRESS"
    )


def _read_paper(text: str) -> str:
    return one_of("a4", "a3", "letter")(text.lower())


def read_grain(text: str) -> float | Literal["match"]:
    """Read a size, or that the source's own grain is to be matched."""
    if text.strip().lower() == "match":
        return "match"
    plain = pointed(text)
    try:
        return float(plain)
    except ValueError:
        raise SettingError(f'"{text}": write match, or a number such as 0.02') from None


def read_veil(text: str) -> float:
    """Read a veiling glare index, "2%" or "2", as a share."""
    plain = pointed(text.strip().removesuffix("%"))
    try:
        share = float(plain) / 100
    except ValueError:
        raise SettingError(f'"{text}": write a percentage such as 2%') from None
    return check_veil(share)


def _read_lenses(text: str) -> tuple[str, ...]:
    """Read focal lengths in mm and names of lens files, with commas between."""
    names = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
    if not names:
        raise SettingError(f'"{text}": write focal lengths or lens files, as in 24, 45, long 90')
    for name in names:
        if re.fullmatch(r"[-+.\d]+ *(mm)?", name):
            parse_millimetres(name)
    return names


@dataclass(frozen=True, slots=True, kw_only=True)
class TellWishes:
    """How answers are told, whatever is asked; a default of one's own, and no option elsewhere."""

    units: str = shot_key(
        "--units",
        "How lengths on site are told everywhere: metres or feet. What you write without a unit "
        "stays metres, and so does what --json prints.",
        parse_units,
        usual="metres",
    )


def _read_scale(text: str) -> float:
    """Read a scale, "87" or "1:87"."""
    return any_number("87")(text.strip().removeprefix("1:"))


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeWishes:
    """What is asked of the judgement."""

    scale: float | None = shot_key(
        "--as", "Also say the f-number at which it reads as 1:N.", _read_scale, shown="N"
    )
    best: bool = shot_key(
        "--best",
        "Also search for the best setting of this lens from here: tilt, swing, f-number and focus "
        "within its limits.",
        flag,
        shown="flag",
        usual=False,
    )
    lenses: tuple[str, ...] = shot_key(
        "--lenses",
        "The same, of these lenses too, focal lengths or lens files: '24, 45, long 90'. Another "
        "focal length is another frame; how wide, is said.",
        _read_lenses,
        shown="LENSES",
        usual=(),
    )
    seen_by: str = shot_key(
        "--seen-by",
        "Who looks at the model: eye, telephone, 'close-up lens at f/8' or 'at f/16'. "
        "It divides the scale.",
        usual="eye",
    )
    shown: str = shot_key(
        "--shown",
        "How large the picture is seen: phone (10 cm from 30 cm), screen (30 cm from 60 cm) or "
        "A3 (42 cm from 50 cm). Blur that is not seen makes no model.",
        usual="screen",
    )
    rendered: str | None = shot_key(
        "--rendered",
        "A rendering of this shot, to tell its colour and contrast (not scored).",
        shown="FILE",
        names_file="",
    )
    visual_range_m: float | None = shot_key(
        "--visual-range",
        "How far one sees on the day: '20 km'; haze is judged by it.",
        parse_height_m,
        shown="LENGTH",
    )
    small_things: int | None = shot_key(
        "--small-things",
        "People, cars and the like you count in the sharp band.",
        whole(0, 1_000_000),
        shown="N",
    )
    depth_error: float | None = shot_key(
        "--depth-error",
        "How far the depth's scale may be off: 0.2 is 20 %; as unsure as it is otherwise.",
        any_number("0.2"),
        shown="SHARE",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SolveWishes:
    """What should be sharp, and what soft."""

    points: tuple[str, ...] = shot_key(
        "--sharp",
        "A point: a spot '50%,62%' or '812,640', an area '10%,20%,40%,60%', lengths ahead, above "
        "the ground and aside '12 m, 1.5 m, left 2 m' or '40 ft, 5 ft', or a thing of a demo "
        "scene. Put NAME= in front to name it. Give as many as needed.",
        shown="POINT",
        many=True,
    )
    rows: tuple[str, ...] = shot_key(
        "--row",
        "A row of things from one point to another: '20%,80% to 70%,45%'.",
        shown="'A to B'",
        many=True,
    )
    grounds: tuple[str, ...] = shot_key(
        "--ground",
        "Level ground between two distances ahead or two spots: '4 m to 60 m', "
        "'50%,90% to 50%,45%'.",
        shown="'A to B'",
        many=True,
    )
    walls: tuple[str, ...] = shot_key(
        "--wall",
        "An upright wall by its distances at the left and the right edge of the view, "
        "'4 m to 12 m', or the spots of two feet, '10%,80% to 90%,60%'; 3 m high, or "
        "'4 m to 12 m, 20 ft high'.",
        shown="'A to B'",
        many=True,
    )
    faces: tuple[str, ...] = shot_key(
        "--face",
        "A face at a distance or a spot: '1.2 m', '45%,40%', leaning '1.2 m, back 20' "
        "(forehead farther), or turned '1.2 m, left 15' (its left side farther).",
        shown="FACE",
        many=True,
    )
    soft: tuple[str, ...] = shot_key(
        "--soft",
        "What must go soft, written as for --sharp: compares lens up, down, left, right.",
        shown="POINT",
        many=True,
    )
    only: bool = shot_key(
        "--only",
        "Only this sharp: all the rest of the picture must go soft.",
        flag,
        shown="flag",
        usual=False,
    )
    band: bool = shot_key(
        "--band",
        "Instead: lay the narrow band of this tilt on the centre and on each --sharp "
        "(or the foreground); the last is what --save-shot keeps.",
        flag,
        shown="flag",
        usual=False,
    )
    move: str = shot_key(
        "--move", "What may be turned: both, tilt or swing.", shown="WHAT", usual="both"
    )

    @property
    def sharp(self) -> list[tuple[str, str]]:
        """What should be sharp, each with the kind of thing that it is."""
        kinds = {
            "point": self.points,
            "row": self.rows,
            "ground": self.grounds,
            "wall": self.walls,
            "face": self.faces,
        }
        return [(kind, text) for kind, texts in kinds.items() for text in texts]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWishes:
    """What is asked of the plan for the day."""

    weather: str | None = shot_key(
        "--weather",
        "The light on the day: sun, 'hazy sun', 'bright cloud', overcast, 'open shade', "
        "'snow or sand', or indoors 'window light' or lamplight. The picture's own exposure "
        "otherwise.",
    )
    iso: float = shot_key("--iso", "ISO to shoot at.", any_number("100"), shown="ISO", usual=100.0)
    place: str | None = shot_key(
        "--place",
        "Where you stand: ground, window, balcony, bridge, tower, roof or drone; it picks "
        "cautions.",
    )
    sun_in_frame: bool = shot_key(
        "--sun-in-frame",
        "The sun will be in or near the frame.",
        flag,
        shown="flag",
        usual=False,
    )
    look: str = shot_key(
        "--look",
        "How the clip should move: model (as fast as a model of that scale), "
        "'toy traffic', 'toy walkers', clouds or shadows.",
        usual="model",
    )
    interval_s: float | None = shot_key(
        "--interval",
        "Seconds between frames, in place of a look. Any two of interval, frames (or clip) and "
        "time on site give the third.",
        parse_duration_s,
        shown="TIME",
    )
    pace: Pace | None = pace_key()
    frames: int | None = shot_key(
        "--frames", "How many frames to take.", whole(2, 1_000_000), shown="N"
    )
    on_site_s: float | None = shot_key(
        "--on-site", "How long there is for it: '10 min'.", parse_duration_s, shown="TIME"
    )
    frames_per_s: float = shot_key(
        "--fps", "Frames a second of the finished clip.", any_number("25"), shown="N", usual=25.0
    )
    clip_s: float | None = shot_key(
        "--clip", "Length of the finished clip.", parse_duration_s, shown="TIME"
    )
    megapixels: float = shot_key(
        "--megapixels", "Of the camera.", any_number("24"), shown="N", usual=24.0
    )
    title: str | None = shot_key("--title", "Name of the place, on the pages.")


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardWishes:
    """What is asked of a client's page."""

    title: str | None = shot_key("--title", "Title of the page.")
    author: str | None = shot_key("--by", "Your name, at the foot.")
    logo: str | None = shot_key("--logo", "Your logo, a picture file.", shown="FILE", names_file="")
    date: str | None = shot_key("--date", "Date in any words; today otherwise.")
    paper: str = shot_key("--paper", "a4, a3 or letter.", _read_paper, usual="a4")
    orientation: str = shot_key(
        "--orientation",
        "landscape, upright, or auto: what shows the picture larger.",
        usual="auto",
    )
    alternatives: tuple[str, ...] = shot_key(
        "--alternative",
        "Another setting to show small: 'f=5.6' or 'Calmer: f=5.6; tilt=up 4'. "
        "May be given up to four times.",
        many=True,
    )
    moments: bool = shot_key(
        "--moments",
        "Nine moments of the film in place of the one picture: as key frames move the lens, and "
        "things move in a scene.",
        flag,
        shown="flag",
        usual=False,
    )
    clip_s: float | None = shot_key(
        "--clip", "Length of the finished clip.", parse_duration_s, shown="TIME"
    )
    says: tuple[str, ...] = shot_key(
        "--say", "Your own sentence, in place of the three; may be repeated.", many=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """What is done to the light behind the lens; nothing unless asked for."""

    diffraction: bool = shot_key(
        "--diffraction",
        "Soften as small stops do on a sensor of these pixels.",
        flag,
        shown="flag",
        usual=False,
    )
    fall_off: bool = shot_key(
        "--fall-off",
        "Darken towards the corners, as lenses do.",
        flag,
        shown="flag",
        usual=False,
    )
    grain: float | Literal["match"] = shot_key(
        "--grain",
        "match: give blur the grain that the source has and it lost; or add grain of a size where "
        "the light is full, as 0.02.",
        read_grain,
        shown="SIZE",
        usual=0.0,
    )
    glare: float | None = shot_key(
        "--glare",
        "Stray light of the lens: its veiling glare index (ISO 9358), as 2%, and the spikes of the "
        "iris round what is brighter than white; 0 for the spikes alone. Boards, sheets and films "
        "show neither.",
        read_veil,
        shown="PERCENT",
    )
    seed: int = shot_key(
        "--seed", "Another number, another grain.", whole(0, 2**32 - 1), shown="N", usual=1
    )
