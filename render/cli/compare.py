"""`hingeline compare`: settings side by side."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import CrewWishes

__all__ = ["compare"]


@takes_shot
def compare(
    shot: Shot,
    crew: CrewWishes,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="The sheet, .png or .jpg; NAME_SHEET.png otherwise."),
    ] = None,
    sheet: Annotated[
        str | None,
        typer.Option(
            "--sheet",
            help="stops (as usual), grid (tilt by f-number), focus, lenses, vantages (scenes, "
            "surveys) or day (maps).",
        ),
    ] = None,
    across: Annotated[
        str | None,
        typer.Option(
            help="Own values from left to right: 'f=2.8,4,8' or 'focus=50%,40%; 50%,70%'."
        ),
    ] = None,
    down: Annotated[
        str | None, typer.Option(help="Own values, top to bottom: 'tilt=up 4,up 8'.")
    ] = None,
    cell: Annotated[int, typer.Option(help="Longer side of each picture, px.")] = 480,
    page: Annotated[
        Path | None,
        typer.Option(help="Also write one HTML file to wipe and blink between any two."),
    ] = None,
    singles: Annotated[
        Path | None, typer.Option(help="Also write each picture into this folder.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="Heading of the sheet.")] = None,
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Show one place under several settings, side by side.

    Each picture is captioned with what it reads as and the verdict; the best is marked.

    Example:  hingeline compare roof.jpg --height "4 storeys" --horizon 8% --lens 45
    --tilt "up 8" --page roof.html
    """
    from render.jobs.compare import compare as compare_job

    with shown_progress() as progress:
        made = compare_job(
            shot,
            out,
            kind=sheet,
            across=across,
            down=down,
            cell_px=cell,
            page=page,
            singles=singles,
            title=title,
            save_shot=save_shot,
            overwrite=overwrite,
            crew=crew,
            progress=progress,
        )
    say(made, as_json)
