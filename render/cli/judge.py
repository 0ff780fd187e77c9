"""`hingeline judge`: will it read as a scale model, and what would make it."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, is_folder, say, takes_shots
from render.cli.progress import shown_progress
from render.jobs.many.gathering import Gathered
from render.shot.wishes import CrewWishes, JudgeWishes

__all__ = ["judge"]


@takes_shots
def judge(
    found: Gathered,
    wishes: JudgeWishes,
    crew: CrewWishes,
    show: Annotated[
        bool,
        typer.Option(
            "--show",
            help="Also write the picture with telltales and verdict.",
        ),
    ] = False,
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            "-o",
            help="Where --show writes; NAME_telltales.png otherwise. Of many: a folder. - sends "
            "it on to standard output.",
        ),
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option("--table", help="Of many: also write a table, best first, .csv or .json."),
    ] = None,
    contact_sheet: Annotated[
        Path | None,
        typer.Option(
            "--contact-sheet",
            help="Of many: also lay them out small, best first, with what to do: .pdf, .png, .jpg.",
        ),
    ] = None,
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Judge whether this setting reads as a scale model, why, and what would help.

    Nothing is rendered: blur is compared with what the same place would show as a model. Five
    parts make the score: how near the scene seems to stand (weight 0.32), whether blur follows
    depth (0.27), whether blur and band are seen (0.21), the viewpoint (0.15), the picture (0.05).
    Five things can end the matter: blur too fine for the size it is seen at, much above eye
    level, blur that an ordinary fast lens makes as well, nothing in the sharp band, a look from
    nearly straight above.

    The order of settings is firm, the level is open: the rule is drawn over and over, as far as
    published findings leave it open, and the word says what most draws say. That is our doubt
    about the rule, not the chance that a viewer agrees.

    Of many pictures, each with its own EXIF, the verdicts come best first; one that cannot be
    judged stops none of the others and is named at the end (exit code 3).

    Example:  hingeline judge roof.jpg --height "4 storeys" --horizon 8% --lens 45 --f 2.8
    --tilt "up 8" --focus "50%,60%" --show
    """
    if found.many or table or contact_sheet or is_folder(out):
        from render.jobs.many.verdicts import judge_many

        with shown_progress() as progress:
            made = judge_many(
                found,
                wishes,
                out,
                show=show,
                table=table,
                contact_sheet=contact_sheet,
                save_shot=save_shot,
                overwrite=overwrite,
                crew=crew,
                progress=progress,
            )
        say(made, as_json)
        return

    from render.jobs.judge import judge as judge_job

    with shown_progress() as progress:
        made = judge_job(
            found.one,
            wishes,
            Path(out) if out else None,
            show=show,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
