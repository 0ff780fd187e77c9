"""`hingeline loupe`: spots of the photograph, ten times magnified."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["loupe"]


@takes_shot
def loupe(
    shot: Shot,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help=".png or .jpg; NAME_loupe.png otherwise.")
    ] = None,
    spot: Annotated[
        list[str] | None,
        typer.Option(
            help="A further spot, '50%,62%' or '812,640' (pixels); may be repeated.",
            show_default=False,
        ),
    ] = None,
    sensor_px: Annotated[
        int, typer.Option(help="Pixels on the longer side of the planned sensor.")
    ] = 6000,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Look at the focus spot and the edges of the sharp band, ten times magnified.

    As a magnified live view would show them, with the circle of confusion drawn.

    Example:  hingeline loupe roof.toml --spot "30%,45%"
    """
    from render.jobs.loupe import loupe as loupe_job

    with shown_progress() as progress:
        made = loupe_job(
            shot,
            out,
            at=tuple(spot or ()),
            sensor_px=sensor_px,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
