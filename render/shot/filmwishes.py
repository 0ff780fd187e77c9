"""What is asked of a film besides the shot: which frames, how they pass, what moves."""

import re
from dataclasses import dataclass
from fractions import Fraction

from render.decimals import pointed
from render.errors import SettingError
from render.shot.declaring import flag, one_of, shot_key
from render.shot.pace import Pace, pace_key
from render.shot.wishes import CrewWishes
from render.typed import parse_duration_s, parse_seconds

__all__ = ["FilmWishes", "ShutterWish", "read_rate"]


@dataclass(frozen=True, slots=True)
class ShutterWish:
    """A shutter as an angle of each frame's own interval, or in seconds."""

    angle_deg: float | None = None
    seconds: float | None = None


def read_rate(text: str) -> Fraction:
    """Read frames a second: "25", "29.97", "24000/1001"."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:/\s*(\d+))?\s*", pointed(text))
    if not match or (match.group(2) and int(match.group(2)) == 0):
        raise SettingError(f'"{text}": write frames a second, such as 25 or 24000/1001')
    rate = Fraction(match.group(1)) / int(match.group(2) or 1)
    if "." in match.group(1):  # 23.976 is short for 24000/1001 (SMPTE ST 12-1)
        near = Fraction(round(rate) * 1000, 1001)
        rate = near if abs(rate - near) < Fraction(1, 200) else rate
    if not 0 < rate <= 1000:
        raise SettingError(f'"{text}": a film runs at up to 1000 frames a second')
    return rate


def read_shutter(text: str) -> ShutterWish:
    """Read a shutter: "180°", "180 deg", or a time "1/2 s"."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:°|deg|degrees)\s*", pointed(text.lower()))
    if match:
        angle = float(match.group(1))
        if not 0 < angle <= 360:
            raise SettingError(f'"{text}": a shutter angle lies between 0° and 360°')
        return ShutterWish(angle_deg=angle)
    if not text.strip().lower().endswith("s"):
        raise SettingError(f'"{text}": write an angle such as "180°", or a time such as "1/2 s"')
    seconds = parse_seconds(text)
    if not seconds > 0:
        raise SettingError(f'"{text}": a shutter is open for more than 0 s')
    return ShutterWish(seconds=seconds)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmWishes(CrewWishes):
    """What is asked of a film."""

    footage: str | None = shot_key(
        "--footage",
        "A clip, folder or pattern of stills ('shots/%04d.jpg') in place of the shot's picture.",
        shown="SOURCE",
    )
    codec: str | None = shot_key(
        "--codec",
        "h264 or hevc to look at, prores, dnxhr or ffv1 to work on; as the name's ending "
        "suggests otherwise.",
        one_of("h264", "hevc", "prores", "dnxhr", "ffv1"),
        shown="CODEC",
    )
    frames_per_s: Fraction | None = shot_key(
        "--fps", "Frames a second of the finished clip.", read_rate, shown="N"
    )
    clip_s: float | None = shot_key(
        "--clip", "Length of the finished clip.", parse_duration_s, shown="TIME"
    )
    from_s: float | None = shot_key(
        "--from", "Where in the source to begin, seconds.", parse_seconds, shown="TIME"
    )
    to_s: float | None = shot_key(
        "--to", "Where in the source to end, seconds.", parse_seconds, shown="TIME"
    )
    pace: Pace | None = pace_key()
    shutter: ShutterWish | None = shot_key(
        "--shutter",
        "Average the source's frames instead of picking: an angle of each frame's own interval, "
        "'180°', or a time of the source, '1/2 s'.",
        read_shutter,
        shown="SHUTTER",
    )
    on_twos: bool = shot_key(
        "--on-twos", "Each picture stands for two frames, as a puppet's does.", flag,
        shown="flag", usual=False,
    )  # fmt: skip
    even_light: bool = shot_key(
        "--even-light", "Even out exposure that flickers from frame to frame.", flag,
        shown="flag", usual=False,
    )  # fmt: skip
    steady: bool = shot_key(
        "--steady", "Steady a hand-held clip: lay every frame on the first one.", flag,
        shown="flag", usual=False,
    )  # fmt: skip
    keys: tuple[str, ...] = shot_key(
        "--key",
        "Where the lens is at a moment of the film: '4 s: tilt=up 8; f=2.8'; tilt, swing, f, "
        "focus and, in scenes, height move smoothly in between. May be repeated.",
        shown="'TIME: NAME=VALUE'",
        many=True,
    )
    reveal_s: float | None = shot_key(
        "--reveal", "Begin with the lens straight and tilt it in over this time.",
        parse_duration_s, shown="TIME",
    )  # fmt: skip
    follow: str | None = shot_key(
        "--follow", "Scenes and maps: keep this named thing sharp.", shown="NAME"
    )
    side_by_side: bool = shot_key(
        "--side-by-side", "The straight lens on the left, the tilted one on the right.", flag,
        shown="flag", usual=False,
    )  # fmt: skip
    movers: bool = shot_key(
        "--movers",
        "Give what moves across its own depth: it stands on the ground at its foot.", flag,
        shown="flag", usual=False,
    )  # fmt: skip
