"""`hingeline board`: one page for a client."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["board"]


@takes_shot
def board(
    shot: Shot,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The PDF; NAME_board.pdf otherwise.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="Title of the page.")] = None,
    by: Annotated[str | None, typer.Option(help="Your name, at the foot.")] = None,
    logo: Annotated[Path | None, typer.Option(help="Your logo, a picture file.")] = None,
    date: Annotated[str | None, typer.Option(help="Date in any words; today otherwise.")] = None,
    paper: Annotated[str, typer.Option(help="a4, a3 or letter.")] = "a4",
    orientation: Annotated[
        str, typer.Option(help="landscape, upright, or auto: what shows the picture larger.")
    ] = "auto",
    alternative: Annotated[
        list[str] | None,
        typer.Option(
            help="Another setting to show small: 'f=5.6' or 'Calmer: f=5.6; tilt=up 4'. "
            "May be given up to four times.",
            show_default=False,
        ),
    ] = None,
    say: Annotated[
        list[str] | None,
        typer.Option(
            help="Your own sentence, in place of the three; may be repeated.", show_default=False
        ),
    ] = None,
    png: Annotated[Path | None, typer.Option(help="Also write the page as a picture.")] = None,
    save_shot: Annotated[
        Path | None, typer.Option("--save-shot", help="Also write these settings as a shot file.")
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace files that are already there.")
    ] = False,
) -> None:
    """Make one page that a client understands.

    The picture, the place as it is and other settings; three plain sentences say what they
    get, what it needs and what could go wrong.

    Example:  hingeline board roof.toml --title 'Harbour at noon' --by 'Mara Ellingsen'
    """
    from render.jobs.board import BoardWishes
    from render.jobs.board import board as board_job

    wishes = BoardWishes(
        title=title,
        author=by,
        logo=logo,
        date=date,
        paper=paper,
        orientation=orientation,
        alternatives=tuple(alternative or ()),
        says=tuple(say or ()),
    )
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
    typer.echo("\n".join(made.lines))
