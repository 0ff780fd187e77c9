"""`hingeline section`: camera, planes and scene from the side."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["section"]


@takes_shot
def section(
    shot: Shot,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help=".svg, .pdf or .png; NAME_section.svg otherwise."),
    ] = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Draw camera, plane of sharp focus and scene from the side, to scale.

    A swung lens is drawn from above too; the hinge line and the Scheimpflug line are marked.

    Example:  hingeline section roof.toml -o roof_section.pdf
    """
    from render.jobs.section import section as section_job

    with shown_progress() as progress:
        made = section_job(shot, out, overwrite=overwrite, progress=progress)
    say(made, as_json)
