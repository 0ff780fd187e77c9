"""`hingeline board`: one page for a client."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import BoardWishes

__all__ = ["board"]


@takes_shot
def board(
    shot: Shot,
    wishes: BoardWishes,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The PDF; NAME_board.pdf otherwise.")
    ] = None,
    png: Annotated[Path | None, typer.Option(help="Also write the page as a picture.")] = None,
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Make one page that a client understands.

    The picture, the place as it is and other settings; three plain sentences say what they
    get, what it needs and what could go wrong.

    Example:  hingeline board roof.toml --title "Harbour at noon" --by "Mara Ellingsen"
    """
    from render.jobs.board import board as board_job

    with shown_progress() as progress:
        made = board_job(
            shot,
            out,
            wishes,
            png=png,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
