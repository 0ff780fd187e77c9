"""`hingeline defaults`: what one person takes for granted, shown, set and cleared."""

import inspect
from dataclasses import replace
from typing import Annotated, Any

import typer

from render.cli.options import AsJson, given_words, option_of, say
from render.errors import InputError
from render.files.defaults import change_defaults, defaults_file, read_defaults
from render.jobs.made import Made
from render.shot.declaring import Words
from render.shot.defaults import default_keys

__all__ = ["defaults"]

defaults = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    invoke_without_command=True,
    help="Show, set or clear your own defaults: camera, lens, name and paper, said once.\n\n"
    "They lie in one file, whose name is shown. "
    "An option wins over a shot file, that over your defaults. Every answer says what came from "
    "them, and a shot that you save holds it.",
    epilog='Example:  hingeline defaults set --lens-file "long 90" --by "Mara Ellingsen"',
)


@defaults.callback()
def _show(context: typer.Context, as_json: AsJson = False) -> None:
    """Show, set or clear your own defaults: camera, lens, name and paper, said once."""
    if context.invoked_subcommand is None:
        say(_shown(), as_json)


def _shown() -> Made:
    place = defaults_file()
    given = _known()
    where = "none, as HINGELINE_DEFAULTS says" if place is None else str(place)
    wide = max(map(len, given), default=0)
    lines = [f"Your defaults: {where}", *(f"  {n:<{wide}}  {words}" for n, words in given.items())]
    if not given:
        lines.append("  nothing yet; hingeline defaults set --help lists what may be set")
    return Made((), tuple(lines), {"file": str(place) if place else None, "defaults": given})


def _known() -> dict[str, Words]:
    """What is there; a file that is yet to be made is no fault here."""
    place = defaults_file()
    return read_defaults() if place is not None and place.exists() else {}


def _set(**values: Any) -> None:
    """Write down what you always use; what is there already stays."""
    as_json = values.pop("as_json")
    given = given_words(_KEYS, values)
    if not given:
        raise InputError(
            "nothing to set: give options with their values, such as "
            'hingeline defaults set --lens-file "long 90"'
        )
    change_defaults(given)
    say(_shown(), as_json)


@defaults.command("clear", context_settings={"ignore_unknown_options": True})  # so --by is a name
def _clear(
    names: Annotated[
        list[str] | None, typer.Argument(help="Which ones, by the names of their options.")
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="All of them.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take defaults away again."""
    known = _known()
    wanted = list(known) if everything else [name.removeprefix("--") for name in names or ()]
    if not wanted and not everything:
        raise InputError("which defaults? name them, as in hingeline defaults clear lens, or --all")
    for name in wanted:
        if name not in known:
            has = f"you have {', '.join(known)}" if known else "you have none"
            raise InputError(f'"{name}" is no default of yours: {has}')
    if wanted:
        change_defaults({}, wanted)
    say(_shown(), as_json)


#: As the options of `set`: none has a value where nothing is typed.
_KEYS = [replace(key, table="own", usual=None) for key in default_keys().values()]
_AS_JSON = inspect.signature(_show, eval_str=True).parameters["as_json"]
_PARAMETERS = [
    *map(option_of, _KEYS),
    _AS_JSON.replace(kind=inspect.Parameter.KEYWORD_ONLY),
]
_set.__signature__ = inspect.Signature(_PARAMETERS)  # type: ignore[attr-defined]
_set.__annotations__ = {each.name: each.annotation for each in _PARAMETERS}
defaults.command("set")(_set)
