"""What a shot says of where its camera stands, and what of that is only a guess."""

from dataclasses import dataclass

from render.errors import SettingError
from render.shot.declaring import number, shot_key
from render.shot.depthkeys import MarkWish, UprightWish, read_mark, read_upright
from render.shot.placekeys import AboveRoof, read_height
from render.typed import parse_pitch, parse_place

__all__ = ["VantageKeys"]

#: What of a photo's vantage may be said to be a guess.
_GUESSABLE = ("height", "pitch", "horizon")


def _read_guessed(text: str) -> str:
    """Read the name of a value that is only guessed."""
    if (name := text.strip().lower()) not in _GUESSABLE:
        raise SettingError(f'"{text}": only {", ".join(_GUESSABLE)} can be said to be guessed')
    return name


@dataclass(frozen=True, slots=True)
class VantageKeys:
    """Where the camera stands."""

    height_m: float | AboveRoof | None = shot_key(
        "--height",
        "Height of the lens above the ground: 12, '12 m' or '4 storeys'; on a map also 'roof' "
        "(standing on the building there) or 'roof + 2.5 m'.",
        read_height,
        shown="LENGTH",
    )
    pitch_deg: float | None = shot_key(
        "--pitch",
        "How far the camera looks down: 12, 'down 12' or 'up 3'.",
        parse_pitch,
        shown="DEG",
    )
    horizon: tuple[float, bool] | None = shot_key(
        "--horizon",
        "Instead of the pitch: where the horizon lies, from the top: '31%' or pixels. "
        "It may lie outside the picture ('-8%').",
        parse_place,
        shown="PLACE",
    )
    roll_deg: float | None = shot_key(
        "--roll",
        "How far the camera leans clockwise, degrees.",
        number(-89, 89, "1.5"),
        shown="DEG",
    )
    ground_marks: tuple[MarkWish, ...] = shot_key(
        "--ground-mark",
        "Instead of height and pitch: two or more spots on level ground with their distances, "
        "'50%,90% 12 m'; see --mark.",
        read_mark,
        shown="'SPOT LENGTH'",
        many=True,
    )
    uprights: tuple[UprightWish, ...] = shot_key(
        "--upright",
        "Instead of height and pitch: two or more upright things with foot, top and height, "
        "'40%,80% 40%,70% 1.8 m'.",
        read_upright,
        shown="'FOOT TOP LENGTH'",
        many=True,
    )
    guessed: tuple[str, ...] = shot_key(
        "--guessed",
        "Of a photo: which of its height, pitch and horizon are only guessed: every answer then "
        "says that it rests on a guess. Whatever is given anew is no guess any more.",
        _read_guessed,
        shown="NAME",
        many=True,
    )
