"""The command `hingeline`: one file for each command, one place where errors become words."""

import sys

import typer

from render.cli.render import render
from render.errors import HingelineError

__all__ = ["app", "main"]

app = typer.Typer(
    name="hingeline",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="See a place as a tilting lens would take it, before travelling there.",
    epilog="Example:  hingeline render market --tilt 'up 8' --f 2.8 --show",
)
app.command()(render)


@app.callback()
def _commands() -> None:
    """Keep `render` a command by name even while it is the only one."""


def main() -> None:
    """Run the command line; bad input ends in one sentence and exit code 2."""
    try:
        app()
    except HingelineError as error:
        typer.echo(f"hingeline: {error}", err=True)
        sys.exit(2)
    except KeyboardInterrupt:
        typer.echo("hingeline: stopped; nothing was written", err=True)
        sys.exit(130)


if __name__ == "__main__":
    main()
