"""Numbered stills: a folder or a pattern of names as one run of pictures, in their order."""

import itertools
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from render.errors import InputError

__all__ = [
    "CLIP_SOURCES",
    "STILL_ENDINGS",
    "counted_order",
    "is_pattern",
    "missing_words",
    "numbered_name",
    "pattern_of",
    "place_of",
    "stills_in",
    "written_ending",
]

#: Endings of pictures that are read.
STILL_ENDINGS = (
    *(".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif", ".exr", ".hdr"),
    *(
        ".bmp",
        ".gif",
        ".jp2",
        ".j2k",
        ".jxl",
        ".dng",
        ".nef",
        ".cr2",
        ".cr3",
        ".arw",
        ".raf",
        ".orf",
        ".rw2",
    ),
)
#: Endings of clips; what a file really is, its content says.
CLIP_SOURCES = (
    *(".mp4", ".m4v", ".mov", ".mkv", ".webm", ".avi", ".mxf", ".mts", ".m2ts", ".ts", ".mpg"),
    *(".mpeg", ".wmv", ".ogv", ".gif", ".h264", ".264", ".hevc", ".265", ".y4m", ".3gp", ".nut"),
)
#: Endings of pictures that are written.
_WRITTEN = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".exr")
#: So many gaps in a numbering are named.
_RUNS = 5
_COUNT = re.compile(r"%(0\d+)?d")


def is_pattern(name: str) -> bool:
    """Whether a name stands for many: it holds "*", "?" or a number's place such as "%04d"."""
    return bool(_COUNT.search(name)) or any(sign in name for sign in "*?")


def stills_in(source: str) -> tuple[Path, ...]:
    """Pictures of a folder, or those a pattern names, in the order of the numbers in their names.

    Raises
    ------
    InputError
        If there is none, two have the same number, or a folder holds pictures of several kinds.
    """
    place = Path(source)
    if place.is_dir():
        found = [
            path
            for path in place.iterdir()
            if path.suffix.lower() in STILL_ENDINGS and not path.name.startswith(".")
        ]
        kinds = sorted({path.suffix.lower() for path in found})
        if len(kinds) > 1:
            one = place / f"*{kinds[0]}"
            raise InputError(f"{source} holds {' and '.join(kinds)}: name one kind, as '{one}'")
    else:
        name = _COUNT.sub("*", place.name)
        parts = ((_COUNT.fullmatch(p) and r"\d+") or re.escape(p) for p in _parted(place.name))
        shape = re.compile("".join(parts))
        counted = bool(_COUNT.search(place.name))
        folder = place.parent
        if not folder.is_dir():
            raise InputError(f"{source}: the folder {folder} is not there")
        found = [p for p in folder.glob(name) if not counted or shape.fullmatch(p.name)]
    if not found:
        raise InputError(f"{source} names no picture that can be read")
    found.sort(key=lambda path: (counted_order(path), path.name))
    for one, other in itertools.pairwise(found):
        if counted_order(one) == counted_order(other):
            raise InputError(
                f"{source}: {one.name} and {other.name} have the same number: take one of them away"
            )
    return tuple(found)


def missing_words(paths: Sequence[Path]) -> str:
    """Numbers that are missing between stills in their order, in words; empty where none is.

    Stills that are numbered in steps, "10, 20, 30", miss none between. Nothing is said of names
    that do not differ in one number alone, mostly differ by uneven steps, or are all times of day
    (HHMMSS at the end of the number).
    """
    orders = [counted_order(path) for path in paths]
    differ = [k for k, each in enumerate(zip(*orders, strict=False)) if len(set(each)) > 1]
    if len({len(order) for order in orders}) > 1 or len(differ) != 1 or differ[0] % 2 == 0:
        return ""
    numbers = [order[differ[0]][0] for order in orders]
    steps = [b - a for a, b in itertools.pairwise(numbers)]
    step, often = Counter(steps).most_common(1)[0]
    clock = numbers[-1] >= 10_000 and all(map(_on_a_clock, numbers))
    if clock or len(steps) < 2 or 2 * often < len(steps):
        return ""
    runs = []
    for before, after in itertools.pairwise(numbers):
        first, last = before + step, before + (after - before - 1) // step * step
        if first <= last:
            runs.append(f"{first}" if first == last else f"{first} to {last}")
    more = len(runs) - _RUNS
    also = f" and {more} more gap{'s' * (more > 1)}" if more > 0 else ""
    return ", ".join(runs[:_RUNS]) + also


def _on_a_clock(number: int) -> bool:
    return number % 100 < 60 and number // 100 % 100 < 60 and number // 10_000 % 100 < 24


def written_ending(picture: str | None) -> str:
    """Ending of what is made of a picture: its own where that is written here, else .jpg."""
    ending = Path(picture or "").suffix
    return ending if ending.lower() in _WRITTEN else ".jpg"


def numbered_name(pattern: Path, number: int) -> Path:
    """The name of one picture of a pattern such as "frames/%04d.tif"."""
    name = _COUNT.sub(lambda place: place.group() % number, pattern.name, count=1)
    return pattern.with_name(name)


def place_of(path: Path) -> Path:
    """What is there on the disk of a name: the file or folder; of a pattern, its folder."""
    return path.parent if is_pattern(path.name) and not path.exists() else path


def pattern_of(names: Sequence[str]) -> str | None:
    """The pattern that names of numbered pictures share: "IMG_%04d.jpg"; None if they share none.

    They differ in one number alone, written with as many digits where it begins with a 0.
    """
    parted = [re.split(r"(\d+)", name) for name in names]
    first = parted[0]
    if len(names) < 2 or any(len(parts) != len(first) for parts in parted):
        return None
    differ = [k for k, each in enumerate(zip(*parted, strict=True)) if len(set(each)) > 1]
    if len(differ) != 1 or differ[0] % 2 == 0:
        return None
    numbers = [parts[differ[0]] for parts in parted]
    if len({int(number) for number in numbers}) < len(numbers):
        return None
    wide = len(numbers[0])
    padded = any(number.startswith("0") for number in numbers)
    if padded and any(len(number) != wide for number in numbers):
        return None
    first[differ[0]] = f"%0{wide}d" if padded else "%d"
    return "".join(first)


def _parted(name: str) -> list[str]:
    """A name cut into numbers' places and what lies between them."""
    parts, at = [], 0
    for place in _COUNT.finditer(name):
        parts += [name[at : place.start()], place.group()]
        at = place.end()
    return [*parts, name[at:]]


def counted_order(path: Path) -> list[tuple[int, str]]:
    """Sort key under which "9" comes before "10"."""
    parts = re.split(r"(\d+)", path.name)
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in parts]
