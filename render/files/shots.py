"""Shot files: a shot written down as TOML, and read back the same."""

import difflib
import reprlib
from pathlib import Path

from render.errors import InputError
from render.files.atomic import written_beside
from render.files.inputs import read_toml
from render.files.shipped import shipped_maps
from render.shot.keys import Key, Words
from render.shot.placekeys import plain_name
from render.shot.shot import Shot, input_files, is_file_name, merged, shot_keys
from render.words import choices

__all__ = ["read_shot", "write_shot"]

FORMAT = 1
_SOURCES = ("picture", "scene")


def read_shot(path: Path) -> Shot:
    """Read a shot file; file names in it are taken from the file's own folder.

    Raises
    ------
    InputError, SettingError
        If it cannot be read, is not TOML, or has a key, type, value or format that is not known.
    """
    content = read_toml(path, "shot file", replaceable=True)
    version = content.pop("format", None)
    if version is None:
        raise InputError(f"{path} does not begin as a shot: add the line format = {FORMAT}")
    if version != FORMAT:
        raise InputError(
            f"{path}: format = {reprlib.repr(version)} is not known; write format = {FORMAT}"
        )
    keys = shot_keys()
    given: dict[str, Words] = {}
    for name, entry in content.items():
        if name in _SOURCES:
            if not isinstance(entry, str):
                raise InputError(f"{path}: {name} = {reprlib.repr(entry)}: give its name in quotes")
        elif name in keys:
            given[name] = _as_words(path, keys[name], entry)
        else:
            raise InputError(f"{path}: {_unknown(name, [*_SOURCES, *keys])}")
    for name, words in given.items():
        if keys[name].is_file(words):
            given[name] = str(path.parent / words)
    picture, scene = content.get("picture"), content.get("scene")
    if scene in shipped_maps():
        scene = str(shipped_maps()[scene])
    elif scene and is_file_name(scene):
        scene = str(path.parent / scene)
    start = Shot(picture=str(path.parent / picture) if picture else None, scene=scene)
    return merged(start, given, f"{path}, {{name}}")


def write_shot(path: Path, shot: Shot, *, overwrite: bool = False) -> None:
    """Write a shot as TOML, in the words it was given in, so that it reads back the same."""
    import tomlkit

    document = tomlkit.document()
    document["format"] = FORMAT
    if shot.picture:
        document["picture"] = _relative(shot.picture, path.parent)
    if shot.scene:
        document["scene"] = _scene_name(shot.scene, path.parent)
    keys = shot_keys()
    for name, text in shot.written:
        if isinstance(text, tuple):
            document[name] = list(text)
        else:
            is_file = keys[name].is_file(text)
            document[name] = _relative(text, path.parent) if is_file else text
    content = tomlkit.dumps(document)
    inputs = input_files(shot)
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        beside.write_text(content, encoding="utf-8")


def _scene_name(scene: str, folder: Path) -> str:
    """What comes along by its name, which holds on every machine; a file of one's own from here."""
    name = plain_name(scene)
    if shipped_maps().get(name) == Path(scene):
        return name
    return _relative(scene, folder) if is_file_name(scene) else scene


def _as_words(path: Path, key: Key, entry: object) -> Words:
    if key.many:
        if isinstance(entry, list) and all(isinstance(part, str | int | float) for part in entry):
            return tuple(str(part) for part in entry)
        raise InputError(f"{path}: {key.name} = {reprlib.repr(entry)}: give a list in brackets")
    if isinstance(entry, bool):
        return "true" if entry else "false"
    if isinstance(entry, str | int | float):
        return str(entry)
    raise InputError(
        f"{path}: {key.name} = {reprlib.repr(entry)}: give a number, or text in quotes"
    )


def _unknown(name: str, known: list[str]) -> str:
    near = difflib.get_close_matches(name[:60], known, 1)
    meant = f" (is {near[0]} meant?)" if near else ""
    return f"{name} is not known{meant}; known are {choices(known, name)}"


def _relative(name: str, folder: Path) -> str:
    target = Path(name).resolve()
    try:
        return str(target.relative_to(folder.resolve()))
    except ValueError:
        return str(target)
