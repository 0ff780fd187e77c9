"""What a command line names, gathered: folders, patterns and names, each a shot of its own.

A shell that expands patterns and one that does not lead to the same pictures.
"""

import glob
import hashlib
import os
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from render.errors import HingelineError, InputError
from render.files.formats.depthformats import DEPTH_ENDINGS, says_depth
from render.files.sequences import STILL_ENDINGS, counted_order
from render.files.shipped import shipped_maps, shipped_names
from render.files.shots import laid_over, shot_of
from render.jobs.many.journal import Journal, journal_in
from render.shot.shot import Shot

__all__ = ["Gathered", "Piece", "gathered", "stands_for_many"]

#: What is made of a picture is called so after it.
_RESULT = re.compile(r"(.+)_(?:tilted(?:_(?:blur|band|compare))?|telltales)$")
#: Values of a shot that are about one picture's own content.
_BOUND = frozenset(
    {"depth", "mark", "thing", "wall-foot", "near", "second-picture", "ground-mark", "upright"}
)


@dataclass(frozen=True, slots=True)
class Piece:
    """One of many.

    Attributes
    ----------
    name : str
        What it is called: its picture, its file as it was named where several share that, or the
        name of a demo scene.
    shot : Shot or None
        None where it cannot be one.
    refused : str
        Why, in one sentence.
    """

    name: str
    shot: Shot | None
    refused: str = ""


@dataclass(frozen=True, slots=True)
class Gathered:
    """Shots to work on, and what is said of how they were found.

    Attributes
    ----------
    pieces : tuple of Piece
    many : bool
        Whether the command line asks for many, even if only one was found.
    remarks : tuple of str
    """

    pieces: tuple[Piece, ...]
    many: bool
    remarks: tuple[str, ...] = ()

    @property
    def one(self) -> Shot:
        """The only one there is."""
        (piece,) = self.pieces
        assert piece.shot is not None, "what is no shot is refused before"
        return piece.shot


def stands_for_many(word: str) -> bool:
    """Whether a word is a folder, or a pattern that the shell left as it was.

    The bare name of a demo scene or map is that, even beside a folder of that name ("street/").
    """
    path = Path(word)
    if word in (*shipped_names(), *shipped_maps()):
        return False
    try:
        return path.is_dir() or (any(sign in word for sign in "*?[") and not path.exists())
    except (OSError, ValueError):  # no name at all; said where it is opened
        return False


def gathered(
    words: Sequence[str],
    general: Shot | None = None,
    general_file: str | None = None,
    finish: Callable[[Shot], Shot] = lambda shot: shot,
) -> Gathered:
    """Gather what words name: pictures, shot files, scenes, folders and patterns of them.

    A folder stands for its pictures and its shot files. A picture that one of the shot files
    names is taken as that file says, and not a second time as it is.

    Parameters
    ----------
    general : Shot or None
        Holds wherever a shot says nothing itself.
    general_file : str or None
        The file that it is from, which is none of the shots.
    finish : callable
        Lays over each shot what the command line says.

    Raises
    ------
    InputError
        If a folder or a pattern holds nothing, or nothing but the general shot.
    """
    many = len(words) > 1 or any(map(stands_for_many, words))
    left_out: list[str] = []
    names, remarks = _without_repeats(
        [name for word in words for name in _named_by(word, general_file, left_out)]
    )
    remarks += left_out
    if not names:
        raise InputError(f"{', '.join(words)}: nothing is left besides {general_file}")
    if many:
        remarks += _bound_words(general, general_file)
        names = _without_results([*names, *_beside(names, general_file)], remarks)
    begun = [_begun(name) for name in names]
    spoken_for = {
        same_file(Path(piece.shot.picture)): piece.name
        for piece in begun
        if piece.shot and piece.shot.picture and piece.name != piece.shot.picture
    }
    pieces = []
    for piece in begun:
        picture = piece.shot.picture if piece.shot else None
        held = same_file(Path(picture)) if picture and picture == piece.name else None
        if held in spoken_for:
            remarks.append(f"{picture} is taken as its shot file says, {spoken_for[held]}")
            continue
        done = _finished(piece, general, finish)
        remarks += _overruled(piece, done)
        pieces.append(done)
    if many:
        remarks += _copies(piece.shot.picture for piece in pieces if piece.shot)
        pieces = _called_after_pictures(pieces)
    return Gathered(tuple(pieces), many, tuple(remarks))


def _called_after_pictures(pieces: Sequence[Piece]) -> list[Piece]:
    """Call each that a shot file names by its picture, as those without one, where no two share."""
    pictures = [piece.shot.picture if piece.shot else None for piece in pieces]
    counts = Counter(same_file(Path(picture)) for picture in pictures if picture)
    taken = {piece.name for piece in pieces}
    return [
        replace(piece, name=os.path.normpath(picture))
        if picture and picture not in taken and counts[same_file(Path(picture))] == 1
        else piece
        for piece, picture in zip(pieces, pictures, strict=True)
    ]


def same_file(path: Path) -> object:
    """What is equal for two names of one file."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return str(path)
    return found.st_dev, found.st_ino


def _named_by(word: str, general_file: str | None, left_out: list[str]) -> list[str]:
    if not stands_for_many(word):
        return [word]
    path = Path(word)
    if path.is_dir():
        try:
            inside = sorted(path.iterdir(), key=counted_order)
            found = [each for each in inside if _may_be_one(each, left_out)]
        except OSError as error:
            raise InputError(f"{word} cannot be looked into ({error.strerror})") from None
        if not found:
            raise InputError(f"{word} holds no picture that can be read, and no shot file")
    else:
        found = _matches(word)
        found = [each for each in found if not each.is_dir()]
        if not found:
            raise InputError(f'"{word}" names nothing that is there')
    general = same_file(Path(general_file)) if general_file else None
    found.sort(key=lambda each: (str(each.parent), counted_order(each)))
    return [str(each) for each in found if same_file(each) != general]


def _matches(pattern: str) -> list[Path]:
    """Files that a pattern names; brackets are those of a name, else a choice of letters."""
    for each in (pattern.replace("[", "[[]"), pattern):
        if found := glob.glob(each, recursive=True):  # noqa: PTH207 (whole paths too)
            return [Path(name) for name in found]
    return []


def _may_be_one(path: Path, left_out: list[str]) -> bool:
    """Whether a file in a folder is taken: a picture by its ending, or a shot file with one."""
    if path.name.startswith("."):
        return False
    if path.suffix.lower() == ".toml":
        taken = _picture_of(path) is not None
        if not taken:
            left_out.append(f"{path} is no shot file with a picture, and was left out")
        return taken
    return path.suffix.lower() in STILL_ENDINGS and path.is_file()


def _beside(names: Sequence[str], general_file: str | None) -> list[str]:
    """Shot files in the folders of pictures that name one of them."""
    known = {same_file(Path(name)) for name in [*names, *([general_file] if general_file else [])]}
    folders = sorted({Path(name).parent for name in names if Path(name).is_file()})
    new = [
        path
        for folder in folders
        for path in sorted(folder.glob("*.toml"), key=counted_order)
        if same_file(path) not in known
    ]
    pictures = {path: _picture_of(path) for path in new}
    return [str(path) for path, name in pictures.items() if name and same_file(Path(name)) in known]


def _picture_of(path: Path) -> str | None:
    """The picture that a shot file names; None where it names none, or is no shot file."""
    try:
        return shot_of(str(path)).picture
    except HingelineError:
        return None


def _without_repeats(names: Iterable[str]) -> tuple[list[str], list[str]]:
    kept: dict[object, str] = {}
    remarks = []
    for name in names:
        first = kept.setdefault(same_file(Path(name)), name)
        if first is not name:
            remarks.append(f"{name} was named before{'' if first == name else f', as {first}'}")
    return list(kept.values()), remarks


def _without_results(names: list[str], remarks: list[str]) -> list[str]:
    """Leave out what was made before of pictures beside it, by this command or for one alone."""
    journals: dict[Path, Journal] = {}
    stems = {(Path(name).parent, Path(name).stem) for name in names}
    kept = []
    for name in names:
        path = Path(name)
        journal = journals.get(path.parent) or journal_in(path.parent)
        journals[path.parent] = journal
        made_of = _RESULT.match(path.stem)
        is_result = made_of is not None and (path.parent, made_of[1]) in stems
        is_result |= says_depth(path) or _shows_depth(path)
        if not is_result and not journal.made_here(path):
            kept.append(name)
    if not kept or len(kept) == len(names):
        return names
    count = len(names) - len(kept)
    remarks.append(f"left out: {count} that {'were' if count > 1 else 'was'} made here before")
    return kept


def _shows_depth(path: Path) -> bool:
    """Whether a picture is the painted one of a depth map beside it."""
    stem = path.stem.removesuffix("_shown")
    return stem != path.stem and any(path.with_name(stem + e).exists() for e in DEPTH_ENDINGS)


def _begun(name: str) -> Piece:
    try:
        return Piece(name, shot_of(name))
    except HingelineError as error:
        return Piece(name, None, str(error))


def _finished(piece: Piece, general: Shot | None, finish: Callable[[Shot], Shot]) -> Piece:
    if piece.shot is None:
        return piece
    try:
        shot = piece.shot if general is None else laid_over(general, piece.shot)
        return replace(piece, shot=finish(shot))
    except HingelineError as error:
        return Piece(piece.name, None, str(error))


def _bound_words(general: Shot | None, general_file: str | None) -> list[str]:
    """Say what of a general shot was said of one picture, and now holds for all."""
    said = dict(general.written) if general is not None else {}
    bound = [f"--{n}" for n, words in said.items() if n in _BOUND and words != ("none",)]
    if not bound:
        return []
    return [
        f"{', '.join(bound)} of {general_file} was said of its own picture and holds for all: "
        "right only where the camera stood still"
    ]


def _overruled(own: Piece, done: Piece) -> list[str]:
    """Say where the command line lies over what a shot file says itself."""
    if own.shot is None or done.shot is None or own.name == own.shot.picture:
        return []
    now = dict(done.shot.written)
    lost = [f"--{name}" for name, words in own.shot.written if now.get(name) != words]
    if not lost:
        return []
    return [f"{', '.join(lost)} of {own.name} gives way to what was typed: --shot lies beneath it"]


def _copies(pictures: Iterable[str | None]) -> list[str]:
    """Say which pictures hold the same bytes as one before."""
    sized: dict[int, list[Path]] = defaultdict(list)
    for name in pictures:
        path = Path(name or "")
        if name and path.is_file():
            sized[path.stat().st_size].append(path)
    remarks = []
    for alike in sized.values():
        first: dict[str, Path] = {}
        for path in alike if len(alike) > 1 else ():
            before = first.setdefault(_content(path), path)
            if before is not path:
                remarks.append(f"{path} is a copy of {before}")
    return remarks


def _content(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return str(path)
