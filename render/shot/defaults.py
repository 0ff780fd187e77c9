"""Defaults of one's own: camera, lens, name, paper and units, said once instead of with every shot.

They are written in the words of the options. What is said nearer to the job wins: an option, then
a shot file, then these, then what the program takes where nobody says anything. A shot that was
handed on holds all it needs, and a reader's own defaults do not change it.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace

from render.errors import SettingError
from render.shot.declaring import Key, Words, keys_of, read_value
from render.shot.shot import Shot, merged, shot_keys
from render.shot.wishes import BoardWishes, DayWishes, TellWishes
from render.words import choices

__all__ = [
    "LENS_DEFAULTS",
    "applying",
    "check_defaults",
    "default_keys",
    "own_words",
    "settled_by",
    "with_defaults",
]

#: What of them settles what a lens and its frame can do.
LENS_DEFAULTS = ("format", "lens", "lens-file", "coc", "cats-eye")
_OF_A_SHOT = ("format", "lens", "lens-file", "coc", "blades", "roundness", "cats-eye")
_OF_THE_DAY = ("megapixels",)
_OF_A_BOARD = ("by", "logo", "paper")
#: Where one of a group is said, the others are not taken from the defaults.
_EITHER = (frozenset({"lens", "lens-file"}),)


def default_keys() -> dict[str, Key]:
    """Every option that may have a default of one's own, by its name."""
    shot, day, board = shot_keys(), keys_of(DayWishes), keys_of(BoardWishes)
    return {
        **{name: shot[name] for name in _OF_A_SHOT},
        **{name: day[name] for name in _OF_THE_DAY},
        **{name: board[name] for name in _OF_A_BOARD},
        **keys_of(TellWishes),
    }


def check_defaults(given: Mapping[str, Words], where: str) -> None:
    """Refuse a name that cannot have a default, or words that cannot be read.

    Parameters
    ----------
    where : str
        Begins an error's sentence; ``{name}`` is filled in.

    Raises
    ------
    SettingError
    """
    keys = default_keys()
    for name, words in given.items():
        if name not in keys:
            begun = where.format(name=name)
            raise SettingError(f"{begun} can have no default; these can: {choices(keys, name, '')}")
        read_value(keys[name], words, where)
    for group in _EITHER:
        if len(both := sorted(group & set(given))) > 1:
            begun = where.format(name=" and ".join(both))
            raise SettingError(f"{begun} say the same thing twice: keep one of them")


def applying(
    defaults: Mapping[str, Words], among: Collection[str], said: Collection[str]
) -> dict[str, Words]:
    """Those defaults that are options of a command (`among`) and about which nothing was said."""
    settled = settled_by(said)
    return {name: text for name, text in defaults.items() if name in among and name not in settled}


def with_defaults(
    shot: Shot, defaults: Mapping[str, Words], among: Collection[str] | None = None
) -> Shot:
    """Return the shot with the defaults where it says nothing; unchanged if it was handed on."""
    if shot.handed_on:
        return shot
    keys = shot_keys()
    known = keys if among is None else [name for name in among if name in keys]
    own = applying(defaults, known, dict(shot.written))
    if not own:
        return shot
    return replace(merged(shot, own, "your default for {name}"), own=tuple(own.items()))


def settled_by(given: Collection[str]) -> set[str]:
    """Names about which nothing more is to be said where these are given, themselves among them."""
    return set(given).union(*(group for group in _EITHER if group & set(given)))


def own_words(own: Collection[tuple[str, Words]]) -> list[str]:
    """What came from the defaults of whoever asks, in one sentence or none."""
    keys = default_keys()
    said = [
        f"{keys[name].option} {_bare(text) if keys[name].is_file(text) else text}"
        for name, text in own
    ]
    return [f"from your defaults: {', '.join(said)}"] if said else []


def _bare(path: str) -> str:
    return path.replace("\\", "/").rpartition("/")[2]
