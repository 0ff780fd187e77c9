"""`hingeline solve`: tilt, swing, focus and f-number for what should be sharp."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_shot_or_none
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import SolveWishes

__all__ = ["solve"]


@takes_shot_or_none
def solve(
    shot: Shot,
    wanted: SolveWishes,
    save_shot: Annotated[
        Path | None,
        typer.Option("--save-shot", help="Write the best position as a shot file, to render."),
    ] = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Find the tilt, focus and f-number that make these things sharp.

    Points come from a picture with depth, or are measured from where the camera stands
    (--height). The lens tilted and the lens straight are set side by side.

    Example:  hingeline solve --lens-file "long 90" --height 1.6 --pitch 5
    --sharp "pond=8 m, 0 m" --sharp "chapel=60 m, 3 m"
    """
    from render.jobs.solve import solve as solve_job

    with shown_progress() as progress:
        made = solve_job(
            shot,
            wanted.sharp,
            list(wanted.soft),
            only=wanted.only,
            band=wanted.band,
            move=wanted.move,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
