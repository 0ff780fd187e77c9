"""`hingeline schema`: what programs may rely on."""

import json
from typing import Annotated

import typer

__all__ = ["schema"]


def _known(begun: str) -> list[str]:
    from render.tell.records.schema import RECORDS

    return [name for name in RECORDS if name.startswith(begun)]


def schema(
    command: Annotated[
        str,
        typer.Argument(help="The command whose --json is asked about.", autocompletion=_known),
    ],
) -> None:
    """Print the JSON Schema of what a command prints with --json.

    Its draft is 2020-12. A number that is endless or unknown is null. The first key of a record
    is its format: it changes when a key goes or means something else; keys may be added.

    Example:  hingeline schema judge
    """
    from render.jobs.made import FORMAT
    from render.tell.records.schema import schema_of

    typer.echo(json.dumps(schema_of(command, FORMAT), indent=1, allow_nan=False))
