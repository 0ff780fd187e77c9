"""Names of what is made of many: after each picture, told apart where two would have one."""

import os
import unicodedata
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from render.errors import OutputError
from render.files.sequences import is_pattern, written_ending
from render.jobs.many.gathering import Piece

__all__ = ["named_apart", "out_folder", "photograph_names"]


def named_apart(pieces: Sequence[Piece]) -> list[str]:
    """What each of many is called, without folder and ending, no two alike.

    Where two pictures have one name, all of these are told apart by their ending, else by their
    folder, else by both, else by their shot file, else by a number; upper and lower case count
    as one, as some disks take them.
    """
    names = [_stem(piece) for piece in pieces]
    for longer in (_with_ending, _with_folder, _with_both, _as_named):
        names = _apart(names, [longer(piece) for piece in pieces])
    taken: set[str] = set()
    for place, name in enumerate(names):
        count, wanted = 1, name
        while _folded(wanted) in taken:
            count += 1
            wanted = f"{name}_{count}"
        taken.add(_folded(wanted))
        names[place] = wanted
    return names


def out_folder(out: str | None, option: str = "-o") -> Path | None:
    """The folder that an option names, which is made if the one around it is there; None without.

    Raises
    ------
    OutputError
        If it cannot be one.
    """
    if out is None:
        return None
    folder = Path(out)
    if folder.is_dir():
        return folder
    if folder.exists() or folder.suffix:
        raise OutputError(
            f"{out}: of many pictures each keeps its name, in a folder: give {option} a folder"
        )
    if not folder.absolute().parent.is_dir():
        raise OutputError(f"{out}: the folder {folder.parent} does not exist; make it first")
    return folder


def photograph_names(pieces: Sequence[Piece], out: str | None) -> list[Path]:
    """Where the photograph of each goes: into a folder, or as a pattern with ``*`` says.

    Raises
    ------
    OutputError
        As `out_folder`, or if the pattern is none.
    """
    names = named_apart(pieces)
    if out is None or not is_pattern(Path(out).name):
        folder = out_folder(out) or Path()
        endings = [written_ending(piece.shot.picture if piece.shot else None) for piece in pieces]
        return [folder / f"{name}_tilted{end}" for name, end in zip(names, endings, strict=True)]
    pattern = Path(out)
    if pattern.name.count("*") != 1 or is_pattern(pattern.name.replace("*", "")):
        raise OutputError(f'{out}: write one * where the name of each goes, as "small/*_a.jpg"')
    folder = out_folder(str(pattern.parent)) or Path()
    return [folder / pattern.name.replace("*", name) for name in names]


def _folded(name: str) -> str:
    """What is equal for names that some disks take for one."""
    return unicodedata.normalize("NFC", name).casefold()


def _stem(piece: Piece) -> str:
    return piece.shot.stem if piece.shot else Path(piece.name).stem


def _path(piece: Piece) -> Path:
    """Where it lies, without steps up again ("day/../roof.jpg"), which name no folder."""
    picture = piece.shot.picture if piece.shot else None
    return Path(os.path.normpath(Path(picture or piece.name).absolute()))


def _with_ending(piece: Piece) -> str:
    return f"{_stem(piece)}_{_path(piece).suffix[1:]}"


def _with_folder(piece: Piece) -> str:
    return f"{_path(piece).parent.name}_{_stem(piece)}"


def _with_both(piece: Piece) -> str:
    return f"{_path(piece).parent.name}_{_with_ending(piece)}"


def _as_named(piece: Piece) -> str:
    return f"{_stem(piece)}_{Path(piece.name).stem}"


def _apart(names: list[str], longer: list[str]) -> list[str]:
    """Take the longer names for those that are alike, where that tells all of them apart."""
    groups: dict[str, list[int]] = defaultdict(list)
    for place, name in enumerate(names):
        groups[_folded(name)].append(place)
    found = list(names)
    for places in groups.values():
        wanted = {_folded(longer[place]) for place in places}
        if len(places) > 1 and len(wanted) == len(places) and not wanted & set(groups):
            for place in places:
                found[place] = longer[place]
    return found
