"""The options every command shares, made from the one declaration of a shot."""

import functools
import inspect
import json
import math
from collections.abc import Callable, Sequence
from dataclasses import is_dataclass, replace
from pathlib import Path
from typing import Annotated, Any

import typer

from render.cli.progress import goes_without_defaults, is_quiet
from render.errors import HingelineError, InputError, SettingError
from render.files.defaults import read_defaults
from render.files.sequences import CLIP_SOURCES, STILL_ENDINGS, is_pattern
from render.files.shipped import is_scene_file, shipped_maps
from render.files.shots import read_shot
from render.jobs.made import Made
from render.shot.declaring import Key, Words, keys_of, read_wishes
from render.shot.defaults import applying, own_words, with_defaults
from render.shot.placekeys import is_map_file
from render.shot.shot import Shot, merged, shot_keys

__all__ = [
    "AsJson",
    "Overwrite",
    "SaveShot",
    "given_words",
    "option_of",
    "say",
    "takes_film",
    "takes_picture",
    "takes_shot",
    "takes_shot_or_none",
]

#: How every command that writes asks whether it may replace a file.
Overwrite = Annotated[
    bool, typer.Option("--overwrite", help="Replace files that are already there.")
]
#: How every command is asked to speak to a program.
AsJson = Annotated[bool, typer.Option("--json", help="Print what was found for a program to read.")]
SaveShot = Annotated[
    Path | None, typer.Option("--save-shot", help="Also write these settings as a shot file.")
]
#: Of what --json prints; it changes when a key goes or means something else.
_FORMAT = 1
_PANELS = {
    "taken": "What took the picture (asked of its EXIF otherwise)",
    "vantage": "Where the camera stands",
    "demo": "A demo scene",
    "place": "A real place from a map file",
    "depth": "Depth of the picture",
    "camera": "The planned camera",
    "lens": "The planned lens",
}
_SOURCE_HELP = (
    "A picture, the name of a demo scene, a scene file or a shot file (.toml), or a map file "
    "(.osm, .pbf, .geojson)."
)


def takes_shot(command: Callable[..., None]) -> Callable[..., None]:
    """Give `command` the source and every option that a shot can hold.

    The command itself is written as ``def command(shot: Shot, wishes: Wishes, ...its own
    options)``, where wishes are a class declared as in `render.shot.wishes`, if it has any.
    """
    return _taking(command, typer.Argument(help=_SOURCE_HELP), inspect.Parameter.empty)


def takes_shot_or_none(command: Callable[..., None]) -> Callable[..., None]:
    """The same for a command that can do without a source: its shot then names none."""
    return _taking(command, typer.Argument(help=_SOURCE_HELP, show_default=False), None)


def takes_film(command: Callable[..., None]) -> Callable[..., None]:
    """The same as `takes_shot`; the source may also be a clip, a folder or a pattern of stills."""
    source = typer.Argument(help=f"A clip, a folder or pattern of stills. {_SOURCE_HELP}")
    return _taking(command, source, inspect.Parameter.empty, begun=_film_start)


def takes_picture(command: Callable[..., None]) -> Callable[..., None]:
    """The same with what concerns the picture alone: no planned camera, no lens."""
    source = typer.Argument(help=_SOURCE_HELP)
    return _taking(command, source, inspect.Parameter.empty, ("taken", "vantage", "depth"))


def say(made: Made, as_json: bool) -> None:
    """Print what a job has to say, for people or for a program.

    The JSON is strict: what is endless or unknown is null; its first key says which form it has.
    """
    if as_json:
        record = _strict({"format": _FORMAT, **made.record})
        typer.echo(json.dumps(record, indent=1, allow_nan=False))
    elif not is_quiet():
        typer.echo("\n".join(made.lines))


def _strict(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _strict(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_strict(inner) for inner in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _taking(
    command: Callable[..., None],
    source: Any,
    absent: Any,
    tables: tuple[str, ...] = tuple(_PANELS),
    begun: Callable[[str], Shot] | None = None,
) -> Callable[..., None]:
    """Put a source, every option of these tables, and those of the command's wishes before it."""
    own = list(inspect.signature(command, eval_str=True).parameters.values())[1:]
    of_shot = [key for key in shot_keys().values() if key.table in tables]
    wishes: dict[str, type[Any]] = {
        each.name: each.annotation
        for each in own
        if isinstance(each.annotation, type) and is_dataclass(each.annotation)
    }
    of_wishes = {name: [*keys_of(kind, name).values()] for name, kind in wishes.items()}

    @functools.wraps(command)
    def wrapper(**values: Any) -> None:
        typed = _typed(values.pop("context"))
        start, mine = values.pop("source"), {} if goes_without_defaults() else read_defaults()
        given = given_words(of_shot, values)
        shot = merged((begun or _start)(start) if start else Shot(), given, "--{name}")
        shot = with_defaults(shot, mine, [key.name for key in of_shot])
        for name, keys in of_wishes.items():
            said = given_words(keys, values)
            at = {key.name for key in keys if f"{key.table}_{key.attribute}" in typed}
            apply = applying(mine, [key.name for key in keys], at)
            values[name] = read_wishes(wishes[name], {**said, **apply}, "--{name}")
            shot = replace(shot, own=(*shot.own, *apply.items()))
        try:
            command(shot, **values)
        except HingelineError as error:
            error.args = (f"{error}{_blamed(shot.own, error)}",)
            raise

    kind: Any = str if absent is inspect.Parameter.empty else str | None
    context = inspect.Parameter("context", inspect.Parameter.KEYWORD_ONLY, annotation=typer.Context)
    parameters = [context, _parameter("source", kind, source, absent), *map(option_of, of_shot)]
    for each in own:
        if each.name in of_wishes:
            parameters += map(option_of, of_wishes[each.name])
        else:
            parameters.append(each.replace(kind=inspect.Parameter.KEYWORD_ONLY))
    wrapper.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    wrapper.__annotations__ = {p.name: p.annotation for p in parameters}
    return wrapper


def _typed(context: typer.Context) -> set[str]:
    """Names of the parameters that stand on the command line, rather than at their usual value."""
    sources = {name: context.get_parameter_source(name) for name in context.params}
    return {name for name, found in sources.items() if found and found.name == "COMMANDLINE"}


def _blamed(own: Sequence[tuple[str, Words]], error: HingelineError) -> str:
    """Whose defaults may be behind a refusal: all of a setting's, else those that it names."""
    every = isinstance(error, SettingError)
    named = [pair for pair in own if every or str(pair[1]) in str(error)]
    return "".join(f" ({words}; --no-defaults goes without)" for words in own_words(named))


def given_words(keys: Sequence[Key], values: dict[str, Any]) -> dict[str, Words]:
    """Take what was typed for these keys out of all that was typed.

    Raises
    ------
    InputError
        If something was given, and is empty.
    """
    given: dict[str, Words] = {}
    for key in keys:
        value = values.pop(f"{key.table}_{key.attribute}")
        if value == "":
            raise InputError(f"{key.option} is empty: give a value, or leave it out")
        if value:
            given[key.name] = tuple(value) if isinstance(value, list) else _text(value)
    return given


def option_of(key: Key) -> inspect.Parameter:
    """A declared value as the parameter of a command."""
    kind = bool if key.is_flag else list[str] if key.many else str
    usual = f"{key.usual:g}" if isinstance(key.usual, float) else str(key.usual or "")
    details = typer.Option(
        key.option,
        help=key.help,
        rich_help_panel=_PANELS.get(key.table),
        metavar=None if key.is_flag else key.shown,
        show_default=bool(usual) and not key.is_flag,
    )
    default = False if key.is_flag else usual or None
    return _parameter(f"{key.table}_{key.attribute}", kind | None, details, default)


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


def _film_start(source: str) -> Shot:
    if is_pattern(source) or Path(source).is_dir() or Path(source).suffix.lower() in CLIP_SOURCES:
        return Shot(picture=source)
    return _start(source)


def _start(source: str) -> Shot:
    path = Path(source)
    if (shipped := shipped_maps().get(source)) is not None:
        return Shot(scene=str(shipped))
    if path.suffix.lower() == ".toml":
        if is_scene_file(path):
            return Shot(scene=source)
        return read_shot(path)
    if is_map_file(source):
        return Shot(scene=source)
    if path.suffix.lower() in CLIP_SOURCES:
        raise InputError(f"{source} is a clip: hingeline film takes it")
    if path.suffix.lower() in STILL_ENDINGS or path.is_file():
        return Shot(picture=source)
    if path.suffix or len(path.parts) > 1:
        raise InputError(f"{source} is not there, or is no picture that can be read here")
    return Shot(scene=source)
