"""`hingeline judge`: will it read as a scale model, and what would make it."""

import json
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import COC_HELP, USUAL_COC, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot

__all__ = ["judge"]


@takes_shot
def judge(
    shot: Shot,
    show: Annotated[
        bool,
        typer.Option(
            "--show",
            help="Also write the picture with telltales and verdict.",
        ),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Where --show writes; NAME_telltales.png otherwise."),
    ] = None,
    scale: Annotated[
        float | None,
        typer.Option("--as", help="Also say the f-number at which it reads as 1:N.", metavar="N"),
    ] = None,
    lens_file: Annotated[
        str | None,
        typer.Option(
            "--lens-file", help="Lens (a shipped name or a .toml) whose limits the advice keeps to."
        ),
    ] = None,
    seen_by: Annotated[
        str,
        typer.Option(
            help="Who looks at the model: eye, telephone, 'close-up lens at f/8' or 'at f/16'. "
            "It divides the scale."
        ),
    ] = "eye",
    shown: Annotated[
        str,
        typer.Option(
            help="How large the picture is seen: phone (10 cm from 30 cm), screen (30 cm from "
            "60 cm) or A3 (42 cm from 50 cm). Blur that is not seen cannot sell a model."
        ),
    ] = "screen",
    coc: Annotated[str, typer.Option("--coc", help=COC_HELP, metavar="CIRCLE")] = USUAL_COC,
    rendered: Annotated[
        Path | None,
        typer.Option(help="A rendering of this shot, to judge its colour and contrast."),
    ] = None,
    visual_range: Annotated[
        float | None, typer.Option(help="How far one sees on the day, m; haze is judged by it.")
    ] = None,
    small_things: Annotated[
        int | None, typer.Option(help="People, cars and the like you count in the sharp band.")
    ] = None,
    depth_error: Annotated[
        float | None,
        typer.Option(
            help="How far the depth's scale may be off: 0.2 is 20 %; as unsure as it is otherwise."
        ),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace files that are already there.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the verdict for a program to read.")
    ] = False,
) -> None:
    """Judge whether this setting reads as a scale model, why, and what would help.

    Nothing is rendered: blur is compared with what the same place would show as a model. Five
    parts make the score: how near the scene seems to stand (weight 0.30), whether blur follows
    depth (0.25), whether blur and band are seen (0.20), the viewpoint (0.15), the picture (0.10).
    Four things can end the matter: blur too fine for the size it is seen at, much above eye
    level, blur that an ordinary fast lens makes as well, nothing in the sharp band.

    The order of settings is firm, the level is open: the rule is drawn over and over, as far as
    published findings leave it open, and the word says what most draws say. That is our doubt
    about the rule, not the chance that a viewer agrees.

    Example:  hingeline judge roof.jpg --height '4 storeys' --horizon 8% --lens 45 --f 2.8
    --tilt 'up 8' --focus '50%,60%' --show
    """
    from render.jobs.judge import judge_shot
    from render.load.case import JudgeWishes

    wishes = JudgeWishes(
        coc=coc,
        seen_by=seen_by,
        shown=shown,
        scale=scale,
        lens=lens_file,
        visual_range_m=visual_range,
        small_things=small_things,
        depth_error=depth_error,
        rendered=rendered,
    )
    with shown_progress() as progress:
        judged = judge_shot(shot, wishes, out, show=show, overwrite=overwrite, progress=progress)
    typer.echo(json.dumps(judged.record, indent=1) if as_json else "\n".join(judged.lines))
