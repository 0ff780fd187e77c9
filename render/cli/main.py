"""The command `hingeline`: one file for each command; how it ends is in `render.cli.door`."""

import contextlib
import platform
from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from render.cli.mistakes import Mistake, mistake_words, refuse_empty, refuse_split, refuse_twice
from render.errors import InputError
from render.version import __version__

__all__ = ["COMMANDS", "app", "run", "version_words"]

#: Libraries that a report of a fault should name.
_REPORTED = ("numpy", "scipy", "numba", "llvmlite", "pillow", "imagecodecs", "tifffile", "typer")

#: Each command's module under `render.cli`, and the first line of its help.
COMMANDS = {
    "render": "Render the photograph that this lens setting would make.",
    "judge": "Judge whether this setting reads as a scale model, why, and what would help.",
    "depth": "Make, mend or convert the depth of a picture, or write a scene's.",
    "card": "Plan the day: what to dial in, check, expose, vary and bring.",
    "compare": "Show one place under several settings, side by side.",
    "board": "Make one page that a client understands.",
    "section": "Draw camera, plane of sharp focus and scene from the side, to scale.",
    "loupe": "Look at the focus spot and the edges of the sharp band, ten times magnified.",
    "solve": "Find the tilt, focus and f-number that make these things sharp.",
    "film": "Film through this lens: clips, stills, scenes that move, one still animated.",
    "page": "Do the whole job by hand, in the browser.",
    "defaults": "Show, set or clear your own defaults: camera, lens, name and paper, said once.",
    "scenes": "List the demo scenes, show one, or print the words that scene files are written in.",
    "schema": "Print the JSON Schema of what a command prints with --json.",
}


class _Commands(TyperGroup):
    """Lists the commands without loading them; loads the one that is called."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        return TyperCommand(cmd_name, help=COMMANDS[cmd_name]) if cmd_name in COMMANDS else None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        name, command, rest = super().resolve_command(ctx, args)
        return (name, load_command(name), rest) if name else (name, command, rest)


app = typer.Typer(
    cls=_Commands,
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog='Example:  hingeline render market --tilt "up 8" --f 2.8 --show',
)


def _say_version(wanted: bool) -> None:
    if wanted:
        typer.echo(version_words())
        raise typer.Exit


@app.callback()
def _hingeline(
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            callback=_say_version,
            is_eager=True,
            help="Say the version, and what it runs on; add it to a report.",
        ),
    ] = False,
    quiet: Annotated[
        bool,
        typer.Option(
            "--quiet", help="Say nothing but what goes wrong and what --json asks; at any place."
        ),
    ] = False,
    no_defaults: Annotated[
        bool,
        typer.Option(
            "--no-defaults",
            help="Go without your own defaults (see hingeline defaults); at any place.",
        ),
    ] = False,
    trace: Annotated[
        bool,
        typer.Option(
            "--trace", help="If the program itself is at fault, show where; at any place."
        ),
    ] = False,
) -> None:
    """See a place as a tilting lens would take it, before travelling there."""


def version_words() -> str:
    """Version of the program, of Python, of the system and of the libraries that do the work."""
    from importlib.metadata import PackageNotFoundError  # a command needs none of it
    from importlib.metadata import version as library_version

    found = []
    for library in _REPORTED:
        with contextlib.suppress(PackageNotFoundError):
            found.append(f"{library} {library_version(library)}")
    system = f"Python {platform.python_version()}, {platform.system()} {platform.machine()}"
    return f"hingeline {__version__}\n{system}\n{', '.join(found)}"


def load_command(name: str) -> Any:
    """Load a command from its module, which holds a function or a whole `typer.Typer`."""
    found = getattr(import_module(f"render.cli.{name}"), name)
    if isinstance(found, typer.Typer):
        return _sparing(typer.main.get_command(found))
    alone = typer.Typer(
        add_completion=False,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    paragraphs = (found.__doc__ or "").split("\n\n")
    alone.command(name, help="\n\n".join(" ".join(text.split()) for text in paragraphs))(found)
    return _sparing(typer.main.get_command(alone))


def _sparing(command: Any) -> Any:
    """A command that takes words as they are, and what was not given as nothing.

    Newer typer has pydantic read both, a tenth of a second of every start.
    """
    for part in (command, *getattr(command, "commands", {}).values()):
        part.get_params = partial(_spared, part.get_params)
    return command


def _spared(options: Callable[[Any], list[Any]], context: Any) -> list[Any]:
    found = options(context)
    for option in found:
        usual = getattr(option, "get_runtime_param", None)  # older typer has none
        if usual is not None and not isinstance(usual, partial):
            option.get_runtime_param = partial(_AsGiven, usual)
    return found


class _AsGiven:
    """How the value of an option is read, by typer itself only where it is more than words."""

    def __init__(self, usual: Callable[[], Any]) -> None:
        self._usual = usual

    def coerce(self, value: Any, param: Any, ctx: Any) -> Any:
        kind = param.type_descriptor.annotation
        if value is None:
            return () if param.multiple or param.nargs == -1 else None
        if kind is str and isinstance(value, str):
            return value
        if kind == list[str] and isinstance(value, list | tuple):
            return list(value)
        return self._usual().coerce(value, param=param, ctx=ctx)


def run(arguments: list[str]) -> object:
    """Run one command line; what is mistyped becomes an error in words.

    Raises
    ------
    HingelineError
        In one sentence.
    """
    loaders = {name: partial(load_command, name) for name in COMMANDS}
    refuse_empty(arguments, loaders)
    refuse_twice(arguments, loaders)
    refuse_split(arguments)
    try:
        command = _sparing(typer.main.get_command(app))
        return command(arguments, prog_name="hingeline", standalone_mode=False, obj=arguments)
    except Mistake as error:
        if type(error).__name__ == "NoArgsIsHelpError":
            typer.echo(str(error))
            return 2
        raise InputError(mistake_words(error, arguments, loaders)) from None
