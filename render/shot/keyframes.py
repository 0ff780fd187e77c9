"""Key frames: what a lens is set to at moments of a film, in a person's own words."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from render.errors import SettingError
from render.shot.declaring import Key
from render.typed import parse_seconds

__all__ = ["RAMPED", "KeyFrame", "key_frame", "reached", "read_key_frame", "unreached_words"]

#: Values of a shot that may move.
RAMPED = ("tilt", "swing", "f", "focus", "height")
#: What parts two values: a comma only before the next one's name, as spots hold commas too.
_BETWEEN = re.compile(r";|,(?=\s*[a-z-]+\s*=)")


@dataclass(frozen=True, slots=True)
class KeyFrame:
    """Values of a shot, by name and in words, at a moment of the film."""

    at_s: float
    given: tuple[tuple[str, str], ...]


def key_frame(at: str, given: Mapping[str, str], keys: Mapping[str, Key]) -> KeyFrame:
    """Make a key frame and check its words.

    Parameters
    ----------
    keys : mapping
        How each value is read, `render.shot.shot.shot_keys`.

    Raises
    ------
    SettingError
        If a value cannot move, or cannot be read.
    """
    if not given:
        raise SettingError(f'the key frame at "{at}" sets nothing: give {", ".join(RAMPED)}')
    for name, words in given.items():
        if name not in RAMPED:
            raise SettingError(f"{name} cannot move in a film; {', '.join(RAMPED)} can")
        try:
            keys[name].read(words)
        except SettingError as error:
            raise SettingError(f'the key frame at "{at}", {name}: {error}') from None
    return KeyFrame(parse_seconds(at), tuple(given.items()))


def read_key_frame(text: str, keys: Mapping[str, Key]) -> KeyFrame:
    """Read "4 s: tilt=up 8; f=2.8", or with commas between values; errors as in `key_frame`."""
    at, colon, rest = text.partition(":")
    parts = [part.partition("=") for part in _BETWEEN.split(rest) if part.strip()]
    if not colon or not parts or not all(equals for _, equals, _ in parts):
        raise SettingError(f'--key "{text}": write a key frame as "4 s: tilt=up 8; f=2.8"')
    try:
        return key_frame(at, {name.strip(): words.strip() for name, _, words in parts}, keys)
    except SettingError as error:
        raise SettingError(f"--key: {error}") from None


def reached(at_s: float, lasts_s: float) -> bool:
    """Whether a film comes to a moment: its end counts as its last frame."""
    return at_s <= lasts_s + 1e-6


def unreached_words(times_s: Iterable[float], lasts_s: float) -> list[str]:
    """Name the keys that a film is over before: "the key at 9 s is never reached: ..."."""
    late = sorted({at for at in times_s if not reached(at, lasts_s)})
    return [f"the key at {at:g} s is never reached: the film lasts {lasts_s:.3g} s" for at in late]
