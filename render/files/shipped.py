"""The demo scenes that come with the program, by name, and scene files of one's own."""

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.shot.placekeys import plain_name

__all__ = ["is_scene_file", "read_scene_table", "shipped_maps", "shipped_names", "shipped_text"]


def shipped_names() -> tuple[str, ...]:
    """Names of the shipped scenes, in alphabetical order."""
    found = (entry.name for entry in files("render.shipped").iterdir())
    return tuple(sorted(name.removesuffix(".toml") for name in found if name.endswith(".toml")))


def shipped_maps() -> dict[str, Path]:
    """The maps that come along, by name: where each lies as installed."""
    folder = Path(str(files("render.shipped")))
    return {plain_name(path.name): path for path in sorted(folder.glob("*.osm"))}


def shipped_text(name: str) -> str:
    """The TOML text of a shipped scene.

    Raises
    ------
    InputError
        If there is none of that name; the known ones are listed.
    """
    if name not in shipped_names():
        raise InputError(
            f'"{name}" is neither a file nor a demo scene; scenes: {", ".join(shipped_names())}; '
            f"maps: {', '.join(shipped_maps())}"
        )
    return (files("render.shipped") / f"{name}.toml").read_text(encoding="utf-8")


def read_scene_table(source: str) -> tuple[str, dict[str, Any]]:
    """What errors call a scene, and the table of its TOML file.

    Parameters
    ----------
    source : str
        Name of a shipped scene, or path of a scene file (.toml).

    Raises
    ------
    InputError
        If there is no such scene, or it is not TOML.
    """
    path = Path(source)
    if path.suffix.lower() == ".toml":
        try:
            text = path.read_text(encoding="utf-8")
        except OSError as error:
            raise InputError(
                f"{source} cannot be read ({error.strerror}): check the name"
            ) from None
        except UnicodeDecodeError:
            raise InputError(f"{source} is no text in UTF-8: write it as a TOML file") from None
    else:
        text = shipped_text(source)
        path = Path(f"{source}.toml")
    try:
        return path.name, tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path.name} is not a readable TOML file: {error}") from None


def is_scene_file(path: Path) -> bool:
    """Whether a TOML file describes a scene, rather than a shot."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return False
    return "things" in table or "ground" in table
