"""`hingeline render`: the photograph that a lens setting would make."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import Finish

__all__ = ["render"]


@takes_shot
def render(
    shot: Shot,
    finish: Finish,
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
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Render the photograph that this lens setting would make.

    The depth of a picture comes from a file (--depth) or from the ground it looks down on
    (--height with --pitch or --horizon).

    Example:  hingeline render roof.jpg --height "4 storeys" --horizon 8% --lens 45 --f 2.8
    --tilt "up 8" --focus "50%,60%" --show
    """
    from render.jobs.render import render as render_job

    with shown_progress() as progress:
        made = render_job(
            shot,
            out,
            show=show,
            exact=exact,
            save_shot=save_shot,
            overwrite=overwrite,
            finish=finish,
            progress=progress,
        )
    say(made, as_json)
