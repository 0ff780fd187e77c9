"""The options every command shares, made from the one declaration of a shot."""

import functools
import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from render.errors import InputError
from render.files.shipped import is_scene_file, shipped_maps
from render.files.shots import read_shot
from render.shot.placekeys import is_map_file
from render.shot.shot import Shot, Words, merged, shot_keys

__all__ = ["COC_HELP", "USUAL_COC", "takes_picture", "takes_shot", "takes_shot_or_none"]

#: What --coc says wherever it is an option.
COC_HELP = (
    "Blur that still passes for sharp: 'diagonal/1500', 'traditional', 'cinema', '2 px' or "
    "'0.03 mm'."
)
USUAL_COC = "diagonal/1500"
_PANELS = {
    "taken": "What took the picture (asked of its EXIF otherwise)",
    "vantage": "Where the camera stands",
    "demo": "A demo scene",
    "place": "A real place from a map file",
    "depth": "Depth of the picture",
    "camera": "The planned camera",
    "lens": "The planned lens",
}
_PICTURE_ENDINGS = (
    *(".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif", ".exr", ".hdr"),
    *(".dng", ".nef", ".cr2", ".cr3", ".arw", ".raf", ".orf", ".rw2"),
)
_SOURCE_HELP = (
    "A picture, the name of a demo scene, a scene file or a shot file (.toml), or a map file "
    "(.osm, .pbf, .geojson)."
)


def takes_shot(command: Callable[..., None]) -> Callable[..., None]:
    """Give `command` the source and every option that a shot can hold.

    The command itself is written as ``def command(shot: Shot, ...its own options)``.
    """
    return _taking(command, typer.Argument(help=_SOURCE_HELP), inspect.Parameter.empty)


def takes_shot_or_none(command: Callable[..., None]) -> Callable[..., None]:
    """The same for a command that can do without a source: its shot then names none."""
    return _taking(command, typer.Argument(help=_SOURCE_HELP, show_default=False), None)


def takes_picture(command: Callable[..., None]) -> Callable[..., None]:
    """The same with what concerns the picture alone: no planned camera, no lens."""
    source = typer.Argument(help=_SOURCE_HELP)
    return _taking(command, source, inspect.Parameter.empty, ("taken", "vantage", "depth"))


def _taking(
    command: Callable[..., None], source: Any, absent: Any, tables: tuple[str, ...] = tuple(_PANELS)
) -> Callable[..., None]:
    own = list(inspect.signature(command, eval_str=True).parameters.values())[1:]
    keys = {name.replace("-", "_"): key for name, key in shot_keys().items() if key.table in tables}

    @functools.wraps(command)
    def wrapper(**values: Any) -> None:
        start = values.pop("source")
        given: dict[str, Words] = {}
        for name, key in keys.items():
            value = values.pop(f"{key.table}_{name}")
            if value == "":
                raise InputError(f"{key.option} is empty: give a value, or leave it out")
            if value:
                given[key.name] = tuple(value) if isinstance(value, list) else _text(value)
        command(merged(_start(start) if start else Shot(), given, "--{name}"), **values)

    kind: Any = str if absent is inspect.Parameter.empty else str | None
    parameters = [_parameter("source", kind, source, absent)]
    for name, key in keys.items():
        kind = bool if key.shown == "flag" else list[str] if key.many else str
        option = typer.Option(
            key.option,
            help=key.help,
            rich_help_panel=_PANELS[key.table],
            metavar=None if kind is bool else key.shown,
            show_default=False,
        )
        default = False if kind is bool else None
        parameters.append(_parameter(f"{key.table}_{name}", kind | None, option, default))
    parameters += [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in own]
    wrapper.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    wrapper.__annotations__ = {p.name: p.annotation for p in parameters}
    return wrapper


def _parameter(
    name: str, kind: Any, details: Any, default: Any = inspect.Parameter.empty
) -> inspect.Parameter:
    return inspect.Parameter(
        name,
        inspect.Parameter.KEYWORD_ONLY,
        default=default,
        annotation=Annotated[kind, details],
    )


def _text(value: str | bool) -> str:
    return "true" if value is True else str(value)


def _start(source: str) -> Shot:
    path = Path(source)
    if source in shipped_maps():
        return Shot(scene=str(shipped_maps()[source]))
    if path.suffix.lower() == ".toml":
        if is_scene_file(path):
            return Shot(scene=source)
        return read_shot(path)
    if is_map_file(source):
        return Shot(scene=source)
    if path.suffix.lower() in _PICTURE_ENDINGS or path.is_file():
        return Shot(picture=source)
    if path.suffix or len(path.parts) > 1:
        raise InputError(f"{source} is not there, or is no picture that can be read here")
    return Shot(scene=source)
