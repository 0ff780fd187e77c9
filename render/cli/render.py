"""`hingeline render`: the photograph that a lens setting would make."""

import json
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["render"]


@takes_shot
def render(
    shot: Shot,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Where to write; NAME_tilted.jpg otherwise.")
    ] = None,
    show: Annotated[
        bool, typer.Option("--show", help="Also write the blur map and the sharp band.")
    ] = False,
    exact: Annotated[
        int | None,
        typer.Option(
            "--exact",
            min=1,
            metavar="RAYS",
            help="Demo scenes: trace through the lens itself, so many rays a pixel (slow).",
        ),
    ] = None,
    save_shot: Annotated[
        Path | None, typer.Option("--save-shot", help="Also write these settings as a shot file.")
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace files that are already there.")
    ] = False,
    diffraction: Annotated[
        bool,
        typer.Option("--diffraction", help="Soften as small stops do on a sensor of these pixels."),
    ] = False,
    fall_off: Annotated[
        bool, typer.Option("--fall-off", help="Darken towards the corners, as lenses do.")
    ] = False,
    grain: Annotated[
        float, typer.Option("--grain", help="Add grain: its size where the light is full, as 0.02.")
    ] = 0.0,
    seed: Annotated[int, typer.Option("--seed", help="Another number, another grain.")] = 1,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the summary for a program to read.")
    ] = False,
) -> None:
    """Render the photograph that this lens setting would make.

    The depth of a picture comes from a file (--depth) or from the ground it looks down on
    (--height with --pitch or --horizon).

    Example:  hingeline render roof.jpg --height '4 storeys' --horizon 8% --lens 45 --f 2.8
    --tilt 'up 8' --focus '50%,60%' --show
    """
    from render.jobs.render import Finish
    from render.jobs.render import render as render_job

    with shown_progress() as progress:
        made = render_job(
            shot,
            out,
            show=show,
            exact=exact,
            save_shot=save_shot,
            overwrite=overwrite,
            finish=Finish(diffraction, fall_off, grain, seed),
            progress=progress,
        )
    typer.echo(json.dumps(made.record, indent=1) if as_json else "\n".join(made.lines))
