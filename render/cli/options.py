"""The options every command shares, made from the one declaration of a shot."""

import functools
import inspect
import os
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, is_dataclass, replace
from pathlib import Path
from typing import Annotated, Any

import typer

from render.cli.mistakes import stray_words
from render.cli.progress import goes_without_defaults, is_quiet
from render.cli.taking.streams import STREAM, is_sending, streams
from render.errors import HingelineError, InputError, LensError, SettingError
from render.files.defaults import read_defaults
from render.files.sequences import CLIP_SOURCES, is_pattern
from render.files.shipped import shipped_maps, shipped_names
from render.files.shots import laid_over, read_shot, shot_of
from render.jobs.made import WROTE, Made, written_record
from render.jobs.many.gathering import Gathered, Piece, gathered, stands_for_many
from render.shot.declaring import Key, Words, keys_of, read_wishes
from render.shot.defaults import (
    LENS_DEFAULTS,
    applying,
    default_keys,
    own_words,
    with_defaults,
)
from render.shot.shot import Shot, merged, shot_keys
from render.units import UNITS_SETTING, spoken_in

__all__ = [
    "AsJson",
    "Overwrite",
    "SaveShot",
    "given_words",
    "is_folder",
    "option_of",
    "own_units",
    "say",
    "takes_film",
    "takes_picture",
    "takes_shot",
    "takes_shot_or_none",
    "takes_shots",
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
_PANELS = {
    "taken": "What took the picture (asked of its EXIF otherwise)",
    "vantage": "Where the camera stands",
    "demo": "A demo scene",
    "place": "A real place from a map file",
    "depth": "Depth of the picture",
    "camera": "The planned camera",
    "lens": "The planned lens",
    "wanted": "What should be sharp",
}
#: Marks of quotation by which they begin and end.
_QUOTES = {"'": "'", '"': '"', "“": "”", "‘": "’", "„": "“", "«": "»"}
_SOURCES = (
    "picture, the name of a demo scene, a scene file or a shot file (.toml), a map file "
    "(.osm, .pbf, .geojson), or a clip, of which it is the frame at --time"
)
_SOURCE_HELP = f"A {_SOURCES}."
_GENERAL = typer.Option(
    "--shot",
    metavar="FILE",
    help="A shot file whose settings hold for whatever is named here in place of its picture; - "
    "reads it from standard input.",
)


def takes_shot(command: Callable[..., None]) -> Callable[..., None]:
    """Give `command` the source and every option that a shot can hold.

    The command itself is written as ``def command(shot: Shot, wishes: Wishes, ...its own
    options)``, where wishes are a class declared as in `render.shot.wishes`, if it has any.
    """
    return _taking(command, typer.Argument(help=_SOURCE_HELP, show_default=False), True)


def takes_shot_or_none(command: Callable[..., None]) -> Callable[..., None]:
    """The same as `takes_film` for a command that can do without a source."""
    source = typer.Argument(
        help=f"{_SOURCE_HELP} Also a folder or pattern of numbered stills.", show_default=False
    )
    return _taking(command, source, False, begun=_film_start)


def takes_film(command: Callable[..., None]) -> Callable[..., None]:
    """The same as `takes_shot`; the source may also be a clip, a folder or a pattern of stills."""
    source = typer.Argument(
        help=f"A clip, a folder or pattern of stills. {_SOURCE_HELP}", show_default=False
    )
    return _taking(command, source, True, begun=_film_start)


def takes_picture(command: Callable[..., None]) -> Callable[..., None]:
    """The same with what concerns the picture, or a scene: of the lens what frames a scene."""
    source = typer.Argument(help=_SOURCE_HELP, show_default=False)
    tables = "taken", "vantage", "demo", "place", "depth"
    return _taking(command, source, True, tables, also=("lens",))


def takes_shots(command: Callable[..., None]) -> Callable[..., None]:
    """The same for a command that takes many: it is given what was `Gathered`."""
    source = typer.Argument(
        help=f"{_SOURCE_HELP} Also several of them, folders, and patterns such as *.jpg.",
        show_default=False,
    )
    return _taking(command, source, True, many=True)


def say(made: Made, as_json: bool) -> None:
    """Print what a job has to say, for people or for a program; what it could not do, at the end.

    Raises
    ------
    typer.Exit
        With the job's exit code, where that is not 0.
    """
    sending = is_sending()
    if as_json:
        typer.echo(written_record(made.record))
    elif not is_quiet():
        lines = [line for line in made.lines if not (sending and line.startswith(WROTE))]
        typer.echo("\n".join(lines), err=sending)
    for sentence in made.refused:
        typer.echo(f"hingeline: {sentence}", err=True)
    if made.code:
        raise typer.Exit(made.code)


def _taking(
    command: Callable[..., None],
    source: Any,
    needed: bool,
    tables: tuple[str, ...] = tuple(_PANELS),
    begun: Callable[[str], Shot] = shot_of,
    many: bool = False,
    also: tuple[str, ...] = (),
) -> Callable[..., None]:
    """Put a source, the options of these tables and names and of the command's wishes before it."""
    declared = list(inspect.signature(command, eval_str=True).parameters.values())[1:]
    of_shot = [key for key in shot_keys().values() if key.table in tables or key.name in also]
    wishes = [
        _Wished(each.name, each.annotation, [*keys_of(each.annotation, each.name).values()])
        for each in declared
        if isinstance(each.annotation, type) and is_dataclass(each.annotation)
    ]

    @functools.wraps(command)
    def wrapper(**values: Any) -> None:
        named, general_file = values.pop("source"), values.pop("general")
        words = [named] if isinstance(named, str) else list(named or ())
        context = values.pop("context")
        _refuse_strays(command.__name__, words, context.obj)
        if general_file == "":
            raise InputError("--shot is empty: give a value, or leave it out")
        typed = _typed(context)
        mine = {} if goes_without_defaults() else read_defaults()
        asked: list[tuple[str, Words]] = []
        if units := own_units(context, mine):
            asked.append(("units", units))
        given = given_words(of_shot, values)
        merged(Shot(), given, "--{name}")  # what is wrong for all is said once
        for wish in wishes:
            values[wish.name], own_words = wish.read(values, typed, mine)
            asked += own_words.items()

        def over(shot: Shot) -> Shot:
            shot = merged(shot, given, "--{name}")
            shot = with_defaults(shot, mine, [key.name for key in of_shot])
            return replace(shot, own=(*shot.own, *asked))

        with streams(command.__name__, words, general_file, values) as (words, from_file):
            general = None
            if from_file is not None:
                general = read_shot(Path(from_file), Path() if general_file == STREAM else None)
            if needed and not words and not (general and (general.picture or general.scene)):
                raise InputError(f"{command.__name__} needs something to work on: a {_SOURCES}")
            if many:
                subject: Any = _gathered(words, general, from_file, over)
                own = subject.pieces[0].shot.own if not subject.many else ()
            else:
                subject = over(_one(words, general, begun))
                own = subject.own
                if subject.picture:
                    _refuse_framing(command.__name__, [name for name in also if name in given])
            try:
                command(subject, **values)
            except HingelineError as error:
                error.args = (f"{error}{_blamed(own, error)}",)
                raise

    kind: Any = list[str] if many else str
    context = inspect.Parameter("context", inspect.Parameter.KEYWORD_ONLY, annotation=typer.Context)
    parameters = [
        context,
        _parameter("source", kind | None, source, None),
        _parameter("general", str | None, _GENERAL, None),
        *map(option_of, of_shot),
    ]
    of_wishes = {wish.name: wish.keys for wish in wishes}
    for each in declared:
        if each.name in of_wishes:
            parameters += map(option_of, of_wishes[each.name])
        else:
            parameters.append(each.replace(kind=inspect.Parameter.KEYWORD_ONLY))
    wrapper.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    wrapper.__annotations__ = {p.name: p.annotation for p in parameters}
    return wrapper


@dataclass(frozen=True, slots=True)
class _Wished:
    """One parameter of a command that is wishes: its name, their class, and their options."""

    name: str
    kind: type[Any]
    keys: list[Key]

    def read(
        self, values: dict[str, Any], typed: set[str], mine: Mapping[str, Words]
    ) -> tuple[Any, dict[str, Words]]:
        """The wishes as they were typed, taken out of the values; and what of them is one's own."""
        said = given_words(self.keys, values)
        at = {key.name for key in self.keys if f"{key.table}_{key.attribute}" in typed}
        own = applying(mine, [key.name for key in self.keys], at)
        return read_wishes(self.kind, {**said, **own}, "--{name}"), own


def _one(words: Sequence[str], general: Shot | None, begun: Callable[[str], Shot]) -> Shot:
    """The one shot that is named, the general one beneath it."""
    if not words:
        return general or Shot()
    if stands_for_many(words[0]) and begun is shot_of:
        raise InputError(f"{words[0]} stands for many: render and judge take them, and film")
    shot = begun(words[0])
    return shot if general is None else laid_over(general, shot)


def _refuse_strays(command: str, words: Sequence[str], arguments: Sequence[str]) -> None:
    """Refuse no name at all, and the second half of a value that nobody quoted."""
    if not all(word.strip() for word in words):
        raise InputError(
            f"{command} was given an empty name: name what to work on (a variable of the shell "
            "may be empty)"
        )
    known = {*shipped_names(), *shipped_maps()}
    for word in words if len(words) > 1 else ():
        a_name = "." in word or word in known or stands_for_many(word) or os.path.exists(word)  # noqa: PTH110 (any length)
        if not a_name:
            raise InputError(stray_words(word, command, arguments))


def _refuse_framing(command: str, typed: Sequence[str]) -> None:
    """Refuse what frames a scene where the whole photo is looked at; a shot file may hold it."""
    for name in typed:
        raise SettingError(
            f"--{name} frames a scene or map, and {command} takes all of a photo: leave it out"
        )


def _gathered(
    words: Sequence[str],
    general: Shot | None,
    general_file: str | None,
    over: Callable[[Shot], Shot],
) -> Gathered:
    """Everything that is named; a single word that is nothing ends it, as if it were alone."""
    if not words:
        assert general is not None, "something is named"
        return Gathered((Piece(str(general_file), over(general)),), many=False)
    found = gathered(words, general, general_file, over)
    if not found.many and found.pieces[0].shot is None:
        raise InputError(found.pieces[0].refused)
    return found


def own_units(context: typer.Context, mine: Mapping[str, Words]) -> str | None:
    """Tell lengths as one's own defaults say until the command ends; how, if they say it.

    Raises
    ------
    SettingError
        If the environment says it in words that are none.
    """
    units = None if os.environ.get(UNITS_SETTING) else mine.get("units")
    context.with_resource(spoken_in(str(units) if units else None))
    return str(units) if units else None


def _typed(context: typer.Context) -> set[str]:
    """Names of the parameters that stand on the command line, rather than at their usual value."""
    sources = {name: context.get_parameter_source(name) for name in context.params}
    return {name for name, found in sources.items() if found and found.name == "COMMANDLINE"}


def _blamed(own: Sequence[tuple[str, Words]], error: HingelineError) -> str:
    """Whose defaults may be behind a refusal: all of a lens's, else those that it names."""
    keys, said = default_keys(), str(error)
    of_lens = isinstance(error, LensError)
    named = [
        (name, words)
        for name, words in own
        if (of_lens and name in LENS_DEFAULTS)
        or re.search(rf"{keys[name].option}\b(?!-)", said)
        or f'"{words}"' in said  # bare it may be any word, or one of those to choose from
        or (keys[name].is_file(words) and str(words) in said)
    ]
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
            texts = [
                _unquoted(key, text) for text in (value if isinstance(value, list) else [value])
            ]
            given[key.name] = tuple(texts) if isinstance(value, list) else texts[0]
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


def _unquoted(key: Key, value: str | bool) -> str:
    """A value without quotes that a shell left or a mail made round; a text may want its own."""
    text = "true" if value is True else str(value)
    free = key.read is str and key.names_file is None
    quoted = len(text) > 2 and _QUOTES.get(text[0]) == text[-1]
    return text[1:-1] if quoted and not free else text


def is_folder(out: str | None) -> bool:
    """Whether ``-o`` names a folder, there or to be made."""
    return out is not None and (out.endswith(("/", os.sep)) or Path(out).is_dir())


def _film_start(source: str) -> Shot:
    if is_pattern(source) or Path(source).is_dir() or Path(source).suffix.lower() in CLIP_SOURCES:
        return Shot(picture=source)
    return shot_of(source)
