"""`hingeline depth`: make, mend or convert the depth of a picture, or write a scene's."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_picture
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["depth"]


@takes_picture
def depth(
    shot: Shot,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Where to write: .tif, .png, .npz, .npy, .pfm or .exr."),
    ] = None,
    kind: Annotated[
        str,
        typer.Option(
            "--out-kind", help="What to write: metres, millimetres, inverse, disparity or ray."
        ),
    ] = "metres",
    show: Annotated[
        bool, typer.Option("--show", help="Also write the depth as a picture, with the marks.")
    ] = False,
    propose: Annotated[
        bool,
        typer.Option(
            "--propose", help="Only say what pitch and roll the picture's own lines suggest."
        ),
    ] = False,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Make, mend or convert the depth of a picture, or write a scene's.

    Depth comes from the ground (--height with --pitch or --horizon), from known distances
    (--mark, alone or over the ground), from a file (--depth), with things that stand in it
    (--thing, --wall-foot) and the sky (--sky).

    Example:  hingeline depth roof.jpg --mark "50%,92% 18 m" --mark "48%,60% 60 m"
    --mark "52%,38% 140 m" --sky top --out depth.tif --show
    """
    from render.jobs.depth import make_depth, propose_pitch

    with shown_progress() as progress:
        if propose:
            made = propose_pitch(shot, progress)
        else:
            made = make_depth(
                shot, out, kind=kind, show=show, overwrite=overwrite, progress=progress
            )
    say(made, as_json)
