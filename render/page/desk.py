"""What lies on the page's desk: the files it may read, by a name of its own, and shots in words.

The page never says where a file is. It says which of the files that were handed in, so nothing
else can be read through it; what it makes is written to a folder that goes when the program ends.
"""

import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import AsyncIterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.files.lenses import is_lens_file
from render.files.run import is_running
from render.files.sequences import pattern_of, place_of
from render.files.shipped import is_scene_file, shipped_names
from render.files.shots import read_shot
from render.limits import DESK_FILES, DESK_STILLS
from render.page.bundle import unpack
from render.shot.declaring import Words
from render.shot.defaults import with_defaults
from render.shot.keyframes import KeyFrame, key_frame
from render.shot.placekeys import is_map_file, plain_name
from render.shot.shot import Shot, is_file_name, merged, shot_keys
from render.typed import parse_duration_s

__all__ = ["Desk", "Paper", "title_of"]

_MOST_MOVES = 100
_FOLDER = "hingeline-page-"
#: Below what disks take for one name, with room for the endings of what is made of the file.
_MOST_NAME_BYTES = 200
#: Names that are devices on Windows, whatever their ending.
_DEVICES = {"CON", "PRN", "AUX", "NUL"} | {
    f"{port}{n}" for port in ("COM", "LPT") for n in range(10)
}


@dataclass(frozen=True, slots=True)
class Paper:
    """A file that was handed in.

    Attributes
    ----------
    id : str
        What the page calls it; the same for the same file.
    name : str
        Without its folder.
    path : Path
    """

    id: str
    name: str
    path: Path


@dataclass(slots=True)
class _Run:
    """Numbered stills that are being handed in, one after the other."""

    folder: Path
    names: list[str] = field(default_factory=list)
    digest: Any = field(default_factory=hashlib.sha256)


@dataclass(slots=True)
class Desk:
    """The files handed in, the folder for what is made, and the owner's defaults."""

    papers: dict[str, Paper] = field(default_factory=dict)
    own: Mapping[str, Words] = field(default_factory=dict)
    _folder: tempfile.TemporaryDirectory[str] | None = None
    _runs: dict[str, _Run] = field(default_factory=dict)

    @property
    def folder(self) -> Path:
        """The folder of this run; made when first needed."""
        if self._folder is None:
            _sweep()
            self._folder = tempfile.TemporaryDirectory(prefix=f"{_FOLDER}{os.getpid()}-")
        return Path(self._folder.name)

    def clear(self) -> None:
        """Remove the folder with everything in it."""
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    def lay(self, path: Path) -> Paper:
        """Put a file of this machine on the desk."""
        whole = path.resolve()
        for paper in self.papers.values():
            if paper.path == whole:
                return paper
        name = hashlib.sha256(str(whole).encode()).hexdigest()[:16]
        paper = Paper(name, path.name, whole)
        self.papers[paper.id] = paper
        return paper

    async def receive(self, name: str, chunks: AsyncIterator[bytes]) -> Paper:
        """Keep a file that was dropped on the page; the same bytes get the same id.

        Raises
        ------
        InputError
            If too many files were handed in, or nothing arrived.
        """
        DESK_FILES.check(
            len(self.papers) + 1,
            f"{len(self.papers)} files are open, and one more would be",
            "start the page anew to open others",
        )
        plain = _plain_name(name)
        coming, digest = Path(tempfile.mkdtemp(dir=self.folder)) / plain, hashlib.sha256()
        try:
            await _written(coming, chunks, digest)
        except BaseException:
            coming.parent.rmdir()
            raise
        return self._known(Paper(digest.hexdigest()[:16], plain, coming.resolve()))

    async def receive_still(self, run: str, name: str, chunks: AsyncIterator[bytes]) -> None:
        """Keep one of a run of numbered stills, which are handed in one after the other.

        Raises
        ------
        InputError
            As `receive`; what came of the run before is thrown away.
        """
        if not re.fullmatch(r"[\w-]{1,40}", run):
            raise InputError("the page did not say which stills belong together: load it again")
        if run not in self._runs:
            for left in list(self._runs):  # of a tab that was closed on the way
                self._drop(left)
            self._runs[run] = _Run(Path(tempfile.mkdtemp(dir=self.folder)))
        held, plain = self._runs[run], _plain_name(name)
        try:
            DESK_STILLS.check(
                len(held.names) + 1,
                f"{len(held.names)} stills have come, and one more would be",
                "start the page with their folder instead: hingeline page FOLDER",
            )
            await _written(held.folder / plain, chunks, held.digest)
        except BaseException:
            self._drop(run)
            raise
        held.names.append(plain)

    def lay_run(self, run: str) -> Paper:
        """Put a run of stills on the desk once all of them came; the same stills get the same id.

        Raises
        ------
        InputError
            If their names are not numbered alike.
        """
        held = self._runs.pop(run, None)
        pattern = pattern_of(held.names) if held else None
        if held is None or pattern is None:
            if held:
                shutil.rmtree(held.folder, ignore_errors=True)
            raise InputError(
                "these stills are not numbered alike: name them as shot_0001.jpg, shot_0002.jpg"
            )
        path = held.folder.resolve() / pattern
        return self._known(Paper(held.digest.hexdigest()[:16], pattern, path))

    def _drop(self, run: str) -> None:
        shutil.rmtree(self._runs.pop(run).folder, ignore_errors=True)

    def _known(self, paper: Paper) -> Paper:
        """Put it on the desk, unless it lies there already."""
        coming = paper.path
        old = self.papers.get(paper.id)
        if old is not None and place_of(old.path).exists():
            self._throw(coming)
            return old
        self.papers[paper.id] = paper
        return paper

    def unpacked(self, paper: Paper) -> Paper:
        """Lay out the files of a packed shot, and return the shot among them.

        Raises
        ------
        InputError
            If it is damaged, or there is no shot in it.
        """
        folder = Path(tempfile.mkdtemp(dir=self.folder))
        laid = [self.lay(path) for path in unpack(paper.path, folder)]
        shots = [one for one in laid if one.path.suffix.lower() == ".toml" and _is_shot(one.path)]
        shots.sort(key=lambda one: one.path.stem != paper.path.stem)
        if not shots:
            raise InputError(f"{paper.name} has no shot in it")
        return shots[0]

    def remove(self, paper: Paper) -> None:
        """Take back a file that could not be used, if it was dropped on the page."""
        self.papers.pop(paper.id, None)
        self._throw(paper.path)

    def shot(self, wish: Any) -> Shot:
        """Read a shot as the page writes it: ``{"picture": id | "scene": name, "values": {...}}``.

        ``"own"`` names those of its values that came from the owner's defaults.
        ``"ring"`` holds the tilt and swing that its focus by extension was found for.

        Raises
        ------
        InputError, SettingError
            If it has an unknown key, type or value, or names a file that was not handed in.
        """
        if not isinstance(wish, dict) or not isinstance(wish.get("values", {}), dict):
            raise InputError("the page sent something that is no shot: load it again")
        picture, scene = wish.get("picture"), wish.get("scene")
        if scene is not None and scene not in shipped_names():
            scene = self.path(scene)
        start = Shot(picture=self.path(picture) if picture else None, scene=scene or None)
        keys = shot_keys()
        given: dict[str, Words] = {}
        for name, text in wish.get("values", {}).items():
            if name not in keys:
                raise InputError(f'"{name}" is not known here: load the page again')
            words = _words(name, text, many=keys[name].many)
            named = keys[name].is_file(words)
            if keys[name].names_file is not None and words in self.papers:
                named = True  # the page calls a file by the name it has on the desk
            given[name] = self.path(words) if named else words
        own = wish.get("own") or []
        if not isinstance(own, list):
            raise InputError("the page sent something that is no shot: load it again")
        start = replace(
            start, key_frames=_moves(wish.get("moves")), film_s=_lasts(wish.get("lasts"))
        )
        lean = _lean(wish.get("ring"))
        shot = merged(start, given if lean is None else given | lean, "{name}")
        if lean is not None:  # the lens was turned since its focus was found
            shot = merged(shot, {name: given.get(name, "0") for name in lean}, "{name}")
        return replace(shot, own=tuple((name, given[name]) for name in given if name in own))

    def begun(self, shot: Shot) -> dict[str, Any]:
        """Write a shot as the page reads it, with the owner's defaults where it says nothing."""
        return self.sheet(with_defaults(shot, self.own))

    def sheet(self, shot: Shot) -> dict[str, Any]:
        """Write a shot as the page reads it; its files are laid on the desk."""
        keys, values = shot_keys(), dict[str, Any]()
        for name, words in shot.written:
            if keys[name].is_file(words):
                values[name] = self.lay(Path(words)).id
            else:
                values[name] = list(words) if isinstance(words, tuple) else words
        moves = [{"at": f"{each.at_s:g} s", "given": dict(each.given)} for each in shot.key_frames]
        return {
            "picture": self.lay(Path(shot.picture)).id if shot.picture else None,
            "scene": self.lay(Path(shot.scene)).id
            if shot.scene and is_file_name(shot.scene)
            else shot.scene,
            "values": values,
            **({"moves": moves} if moves else {}),
            **({"lasts": f"{shot.film_s:g} s"} if shot.film_s is not None else {}),
            **({"own": [name for name, _ in shot.own if name in values]} if shot.own else {}),
        }

    def dropped_shot(self, paper: Paper) -> dict[str, Any]:
        """Read a shot file dropped on the page: its files are looked for on the desk, by name.

        Raises
        ------
        InputError, SettingError
            If it cannot be read, or names a file that is not on the desk.
        """
        shot, keys = read_shot(paper.path), shot_keys()
        picture = str(self._by_name(shot.picture).path) if shot.picture else None
        scene = shot.scene
        if scene and is_file_name(scene):
            scene = str(self._by_name(scene).path)
        written = tuple(
            (name, str(self._by_name(words).path) if keys[name].is_file(words) else words)
            for name, words in shot.written
        )
        return self.begun(replace(shot, picture=picture, scene=scene, written=written))

    def _by_name(self, path: str) -> Paper:
        name = Path(path).name
        for paper in reversed(self.papers.values()):
            if paper.name == name:
                return paper
        raise InputError(f"this shot needs {name}: drop that file on the page first")

    def name(self, shot: dict[str, Any]) -> str:
        """What the picture or scene of a shot, as the page writes it, is called."""
        paper = self.papers.get(shot["picture"] or shot["scene"] or "")
        if paper is None:
            return title_of(shot["scene"] or "")
        return paper.name if shot["picture"] or is_map_file(paper.name) else title_of(paper.name)

    def plain(self, sentence: str) -> str:
        """A sentence without folders: files are called by their names alone."""
        for paper in self.papers.values():
            sentence = sentence.replace(str(paper.path), paper.name)
        return re.sub(rf"\S*{_FOLDER}[^\s:,;\"']*/", "", sentence)

    def path(self, name: Any) -> str:
        """Where a file lies that was handed in.

        Raises
        ------
        InputError
            If there is none of that name.
        """
        paper = self.papers.get(name) if isinstance(name, str) else None
        if paper is None or not place_of(paper.path).exists():
            raise InputError("that file is no longer open: drop it on the page again")
        return str(paper.path)

    def _throw(self, path: Path) -> None:
        if self._folder is not None and self.folder.resolve() in path.resolve().parents:
            if place_of(path) != path:  # a run of stills has a folder of its own
                shutil.rmtree(path.parent, ignore_errors=True)
                return
            path.unlink(missing_ok=True)
            with suppress(OSError):  # others of one packed shot lie there too
                path.parent.rmdir()


def _is_shot(path: Path) -> bool:
    """Whether a TOML file is neither a scene nor a lens, nor lies beside a network."""
    beside_network = path.with_suffix(".onnx").exists()
    return not (is_scene_file(path) or is_lens_file(path) or beside_network)


def title_of(scene: str) -> str:
    """What a scene is called on the page: "old-harbour.toml" is "Old harbour"."""
    stem = plain_name(scene) if is_map_file(scene) else Path(scene).stem
    return stem.replace("-", " ").capitalize()


def _lean(lean: Any) -> dict[str, str] | None:
    """The tilt and swing that the focus ring was set for, if the lens has been turned since."""
    if lean is None:
        return None
    if not isinstance(lean, dict):
        raise InputError("the page sent something that is no shot: load it again")
    return {
        name: str(_words(name, lean.get(name) or "0", many=False)) for name in ("tilt", "swing")
    }


def _lasts(lasts: Any) -> float | None:
    """How long the film is, as the page writes it: "4 s"."""
    if lasts is None:
        return None
    if not isinstance(lasts, str):
        raise InputError("the page sent a film's length that is none: load it again")
    return parse_duration_s(lasts)


def _moves(moves: Any) -> tuple[KeyFrame, ...]:
    """Key frames as the page writes them: ``[{"at": "4 s", "given": {"tilt": "up 8"}}]``."""
    if moves is None:
        return ()
    keys, found = shot_keys(), []
    for each in moves if isinstance(moves, list) and len(moves) <= _MOST_MOVES else [None]:
        at, given = (each.get("at"), each.get("given")) if isinstance(each, dict) else (None, None)
        if not isinstance(at, str) or not isinstance(given, dict):
            raise InputError("the page sent key frames that are none: load it again")
        if not all(isinstance(text, str) for pair in given.items() for text in pair):
            raise InputError("the page sent a key frame that is none: load it again")
        found.append(key_frame(at, given, keys))
    return tuple(found)


async def _written(path: Path, chunks: AsyncIterator[bytes], digest: Any) -> None:
    """Write what comes; of a file that did not come whole nothing is left.

    Raises
    ------
    InputError
        If nothing came.
    """
    size = 0
    digest.update(path.name.encode())
    try:
        with path.open("wb") as file:
            async for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                file.write(chunk)
        if not size:
            raise InputError(f"{path.name} is empty: choose another file")
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _words(name: str, text: Any, *, many: bool) -> Words:
    if many and isinstance(text, list) and all(isinstance(part, str) for part in text):
        return tuple(text)
    if not many and isinstance(text, str):
        return text
    raise InputError(f'"{name}" has a value of the wrong kind: load the page again')


def _plain_name(name: str) -> str:
    """Return a file name without folders, marks that a disk may not take, or those of patterns.

    All others stay: a shot saved alone names its picture as it is called on its owner's disk.
    """
    last = re.split(r"[\\/]", name)[-1]
    plain = re.sub(r"[^\w .()&',+#!@=~;’–—-]", "_", last).strip(" .")[-80:]
    plain = plain.encode("utf-8", "replace")[-_MOST_NAME_BYTES:].decode("utf-8", "ignore")
    if plain.partition(".")[0].strip().upper() in _DEVICES:
        plain = f"_{plain}"
    return plain or "picture"


def _sweep() -> None:
    """Remove what pages left that were killed before they could tidy up."""
    for left in Path(tempfile.gettempdir()).glob(f"{_FOLDER}*-*"):
        number = left.name.removeprefix(_FOLDER).partition("-")[0]
        if number.isdigit() and not is_running(int(number)):
            shutil.rmtree(left, ignore_errors=True)
