"""`hingeline solve`: tilt, swing, focus and f-number for what should be sharp."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_shot_or_none
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["solve"]

_WISHES = "What should be sharp"


@takes_shot_or_none
def solve(
    shot: Shot,
    sharp: Annotated[
        list[str] | None,
        typer.Option(
            "--sharp",
            help="A point: a spot '50%,62%' or '812,640', an area '10%,20%,40%,60%', lengths "
            "ahead, above the ground and aside '12 m, 1.5 m, left 2 m' or '40 ft, 5 ft', or a "
            "thing of a demo scene. Put NAME= in front to name it. Give as many as needed.",
            metavar="POINT",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    row: Annotated[
        list[str] | None,
        typer.Option(
            "--row",
            help="A row of things from one point to another: '20%,80% to 70%,45%'.",
            metavar="'A to B'",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    ground: Annotated[
        list[str] | None,
        typer.Option(
            "--ground",
            help="Level ground between two distances ahead or two spots: '4 m to 60 m', "
            "'50%,90% to 50%,45%'.",
            metavar="'A to B'",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    wall: Annotated[
        list[str] | None,
        typer.Option(
            "--wall",
            help="An upright wall by its distances at the left and the right edge of the view, "
            "'4 m to 12 m', or the spots of two feet, '10%,80% to 90%,60%'; 3 m high, or "
            "'4 m to 12 m, 20 ft high'.",
            metavar="'A to B'",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    face: Annotated[
        list[str] | None,
        typer.Option(
            "--face",
            help="A face at a distance or a spot: '1.2 m', '45%,40%', leaning '1.2 m, back 20' "
            "(forehead farther), or turned '1.2 m, left 15' (its left side farther).",
            metavar="FACE",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    soft: Annotated[
        list[str] | None,
        typer.Option(
            "--soft",
            help="What must go soft, written as for --sharp: compares lens up, down, left, right.",
            metavar="POINT",
            rich_help_panel=_WISHES,
        ),
    ] = None,
    only: Annotated[
        bool,
        typer.Option(
            "--only",
            help="Only this sharp: all the rest of the picture must go soft.",
            rich_help_panel=_WISHES,
        ),
    ] = False,
    band: Annotated[
        bool,
        typer.Option(
            "--band",
            help="Instead: lay the narrow band of this tilt on the centre and on each --sharp "
            "(or the foreground); the last is what --save-shot keeps.",
            rich_help_panel=_WISHES,
        ),
    ] = False,
    move: Annotated[
        str,
        typer.Option("--move", help="What may be turned: both, tilt or swing.", metavar="WHAT"),
    ] = "both",
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

    kinds = {"point": sharp, "row": row, "ground": ground, "wall": wall, "face": face}
    with shown_progress() as progress:
        made = solve_job(
            shot,
            [(kind, text) for kind, texts in kinds.items() for text in texts or ()],
            soft or [],
            only=only,
            band=band,
            move=move,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
