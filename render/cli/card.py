"""`hingeline card`: what to dial in on the day."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, say, takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot
from render.shot.wishes import DayWishes

__all__ = ["card"]


@takes_shot
def card(
    shot: Shot,
    wishes: DayWishes,
    pdf: Annotated[
        Path | None,
        typer.Option(help="Also write the card as small pages (A6) to print or take on a phone."),
    ] = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Plan the day: what to dial in, check, expose, vary and bring.

    It also says what to look out for; local rules and the people on site come first.

    Example:  hingeline card roof.jpg --height "4 storeys" --horizon 8% --lens 45 --f 2.8
    --tilt "up 8" --focus "50%,60%" --weather sun --place roof
    """
    from render.jobs.card import card as card_job

    with shown_progress() as progress:
        made = card_job(shot, wishes, pdf, overwrite=overwrite, progress=progress)
    say(made, as_json)
