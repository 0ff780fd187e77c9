"""`hingeline judge`: will it read as a scale model, and what would make it."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import JudgeWishes

__all__ = ["judge"]


@takes_shot
def judge(
    shot: Shot,
    wishes: JudgeWishes,
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
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
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

    Example:  hingeline judge roof.jpg --height "4 storeys" --horizon 8% --lens 45 --f 2.8
    --tilt "up 8" --focus "50%,60%" --show
    """
    from render.jobs.judge import judge as judge_job

    with shown_progress() as progress:
        made = judge_job(
            shot,
            wishes,
            out,
            show=show,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
