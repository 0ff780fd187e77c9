"""Shot files: a shot written down as TOML, and read back the same."""

import difflib
import json
import reprlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from render.errors import InputError, OutputError, SettingError
from render.files.atomic import written_beside
from render.files.inputs import read_toml
from render.files.sequences import CLIP_SOURCES, STILL_ENDINGS
from render.files.shipped import is_scene_file, shipped_maps
from render.shot.axes import ALSO_CALLED
from render.shot.declaring import Key, Words
from render.shot.keyframes import KeyFrame, key_frame
from render.shot.placekeys import is_map_file, plain_name
from render.shot.shot import Shot, input_files, is_file_name, merged, shot_keys
from render.typed import parse_duration_s
from render.words import choices

__all__ = ["as_words", "laid_over", "read_shot", "shot_of", "write_shot"]

FORMAT = 1
_SOURCES = ("picture", "scene")
_KEY_FRAMES = "key-frames"
_FILM_LENGTH = "film-length"
#: "defaults = false": nothing is taken from the reader's own defaults.
_DEFAULTS = "defaults"
#: What the planned sensor, `--format`, is called in a file, whose own format comes first.
_FRAME = "planned-format"


def shot_of(source: str) -> Shot:
    """The shot that one name begins: of a picture, a demo scene, a scene file, a map, a shot file.

    Raises
    ------
    InputError, SettingError
        As `read_shot`, or if it is none of them.
    """
    path = Path(source)
    if (shipped := shipped_maps().get(source)) is not None:
        return Shot(scene=str(shipped))
    if path.suffix.lower() == ".toml":
        if is_scene_file(path):
            return Shot(scene=source)
        return read_shot(path)
    if is_map_file(source):
        return Shot(scene=source)
    if path.suffix.lower() in (*STILL_ENDINGS, *CLIP_SOURCES) or path.is_file():
        return Shot(picture=source)
    if path.suffix or len(path.parts) > 1:
        raise InputError(f"{source} is not there, or is no picture that can be read here")
    return Shot(scene=source)


def laid_over(general: Shot, own: Shot) -> Shot:
    """A shot with the settings of a general one wherever it says nothing itself."""
    start = replace(general, picture=own.picture, scene=own.scene)
    moves = own.key_frames or general.key_frames
    shot = merged(start, dict(own.written), "{name}")
    film_s = general.film_s if own.film_s is None else own.film_s
    handed_on = general.handed_on or own.handed_on
    return replace(shot, key_frames=moves, film_s=film_s, handed_on=handed_on)


def read_shot(path: Path, folder: Path | None = None) -> Shot:
    """Read a shot file; file names in it are taken from `folder`, the file's own where None.

    Raises
    ------
    InputError, SettingError
        If it cannot be read, is not TOML, or has a key, type, value or format that is not known.
    """
    folder = path.parent if folder is None else folder
    content = read_toml(path, "shot file", replaceable=True)
    version = content.pop("format", None)
    if _FRAME in content:
        content["format"] = content.pop(_FRAME)
    if version is None:
        raise InputError(f"{path} does not begin as a shot: add the line format = {FORMAT}")
    if version != FORMAT:
        raise InputError(
            f"{path}: format = {reprlib.repr(version)} is not known; write format = {FORMAT}, and "
            f"the planned sensor as {_FRAME}"
        )
    handed_on = content.pop(_DEFAULTS, True) is False
    keys = shot_keys()
    moves = _key_frames(path, content.pop(_KEY_FRAMES, []), keys)
    film_s = _film_s(path, content.pop(_FILM_LENGTH, None))
    given: dict[str, Words] = {}
    for name, entry in content.items():
        if name in _SOURCES:
            if not isinstance(entry, str):
                raise InputError(f"{path}: {name} = {reprlib.repr(entry)}: give its name in quotes")
        elif name in keys:
            given[name] = as_words(path, keys[name], entry)
        else:
            raise InputError(f"{path}: {_unknown(name, [*_SOURCES, *keys])}")
    for name, words in given.items():
        if keys[name].is_file(words):
            given[name] = str(folder / words)
    picture, scene = content.get("picture"), content.get("scene")
    if scene and (shipped := shipped_maps().get(scene)) is not None:
        scene = str(shipped)
    elif scene and is_file_name(scene):
        scene = str(folder / scene)
    start = Shot(picture=str(folder / picture) if picture else None, scene=scene)
    shot = merged(start, given, f"{path}, {{name}}")
    return replace(shot, key_frames=moves, film_s=film_s, handed_on=handed_on)


def write_shot(
    path: Path, shot: Shot, *, overwrite: bool = False, remarks: Sequence[str] = ()
) -> None:
    """Write a shot as TOML, in the words it was given in, so that it reads back the same.

    It holds all it needs, and says that a reader's own defaults are not meant; remarks stand first,
    as comments.
    """
    import tomlkit

    document = tomlkit.document()
    for remark in remarks:
        document.add(tomlkit.comment(" ".join(remark.split())))
    document["format"] = FORMAT
    document[_DEFAULTS] = False
    if shot.picture:
        document["picture"] = _relative(shot.picture, path.parent)
    if shot.scene:
        document["scene"] = _scene_name(shot.scene, path.parent)
    keys = shot_keys()
    for name, text in shot.written:
        called = _FRAME if name == "format" else name
        if isinstance(text, tuple):
            document[called] = list(text)
        else:
            is_file = keys[name].is_file(text)
            document[called] = _relative(text, path.parent) if is_file else text
    if shot.film_s is not None:
        document[_FILM_LENGTH] = f"{shot.film_s:g} s"
    if shot.key_frames:
        moves = tomlkit.aot()
        for each in shot.key_frames:
            moves.append(tomlkit.item({"at": f"{each.at_s:g} s", **dict(each.given)}))
        document[_KEY_FRAMES] = moves
    content = tomlkit.dumps(document)
    if not content.isascii() and any("\ud800" <= letter <= "\udfff" for letter in content):
        raise OutputError(
            f"{path}: the name of a file that the shot needs is no text in UTF-8: rename that file"
        )
    inputs = input_files(shot)
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        beside.write_text(content, encoding="utf-8")


def _scene_name(scene: str, folder: Path) -> str:
    """What comes along by its name, which holds on every machine; a file of one's own from here."""
    name = plain_name(scene)
    if shipped_maps().get(name) == Path(scene):
        return name
    return _relative(scene, folder) if is_file_name(scene) else scene


def as_words(path: Path, key: Key, entry: object) -> Words:
    """A value of a TOML file as it would be written for its option.

    Raises
    ------
    InputError
        If it is neither text nor a number, or no list of them where one is meant.
    """
    if key.many:
        if isinstance(entry, list) and all(isinstance(part, str | int | float) for part in entry):
            return tuple(str(part) for part in entry)
        example = str(entry) if isinstance(entry, str | int | float) else "..."
        raise InputError(
            f"{path}: {key.name} = {reprlib.repr(entry)}: give a list in brackets, "
            f"{key.name} = {json.dumps([example], ensure_ascii=False)}"
        )
    if isinstance(entry, bool):
        return "true" if entry else "false"
    if isinstance(entry, str | int | float):
        return str(entry)
    raise InputError(
        f"{path}: {key.name} = {reprlib.repr(entry)}: give a number, or text in quotes"
    )


def _film_s(path: Path, entry: object) -> float | None:
    """Read how long the film of a shot lasts."""
    if entry is None:
        return None
    try:
        return parse_duration_s(str(entry))
    except SettingError as error:
        raise SettingError(f"{path}, {_FILM_LENGTH}: {error}") from None


def _key_frames(path: Path, entries: object, keys: Mapping[str, Key]) -> tuple[KeyFrame, ...]:
    """Read the tables [[key-frames]]: a moment each, and what is set by then."""
    if not isinstance(entries, list) or not all(isinstance(each, dict) for each in entries):
        raise InputError(f"{path}: write each key frame as a table under [[{_KEY_FRAMES}]]")
    found = []
    for number, table in enumerate(entries, 1):
        words = {name: str(value) for name, value in table.items()}
        at = words.pop("at", None)
        if at is None:
            raise InputError(f'{path}: key frame {number} has no moment: add at = "4 s"')
        try:
            found.append(key_frame(at, words, keys))
        except SettingError as error:
            raise SettingError(f"{path}: {error}") from None
    return tuple(found)


def _unknown(name: str, known: list[str]) -> str:
    other = ALSO_CALLED.get(name.replace("_", "-").lower())
    near = [other] if other in known else difflib.get_close_matches(name[:60], known, 1)
    meant = f" (is {near[0]} meant?)" if near else ""
    return f"{name} is not known{meant}; known are {choices(known, name)}"


def _relative(name: str, folder: Path) -> str:
    target = Path(name).resolve()
    try:
        return str(target.relative_to(folder.resolve()))
    except ValueError:
        return str(target)
