"""The demo scenes that come with the program, by name, and scene files of one's own."""

from importlib.resources import files
from pathlib import Path
from typing import Any

from render.errors import InputError
from render.files.inputs import parsed_toml, read_toml
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
        return path.name, read_toml(path, "scene file")
    return f"{source}.toml", parsed_toml(shipped_text(source), f"{source}.toml")


def is_scene_file(path: Path) -> bool:
    """Whether a TOML file describes a scene, rather than a shot."""
    try:
        table = read_toml(path, "scene file", replaceable=True)  # it may yet be a shot
    except InputError:
        return False
    return "things" in table or "ground" in table
