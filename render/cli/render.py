"""`hingeline render`: the photograph that a lens setting would make."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, is_folder, say, takes_shots
from render.cli.progress import shown_progress
from render.errors import InputError
from render.jobs.many.gathering import Gathered
from render.shot.wishes import CrewWishes, Finish

__all__ = ["render"]


@takes_shots
def render(
    found: Gathered,
    finish: Finish,
    crew: CrewWishes,
    out: Annotated[
        str | None,
        typer.Option(
            "--out",
            "-o",
            help="Where to write; NAME_tilted.jpg otherwise. Of many: a folder, or small/*_a.jpg "
            "with * for each name. - sends one on to standard output.",
        ),
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
    (--height with --pitch or --horizon). Many pictures are rendered each with its own EXIF; one
    that cannot be stops none of the others and is named at the end (exit code 3). Stopped, the
    same command goes on.

    Example:  hingeline render roof.jpg --height "4 storeys" --horizon 8% --lens 45 --f 2.8
    --tilt "up 8" --focus "50%,60%" --show
    """
    if found.many or is_folder(out):
        from render.jobs.many.renders import render_many

        if exact is not None:
            raise InputError("--exact is for one scene at a time: leave it out")
        try:
            with shown_progress() as progress:
                made = render_many(
                    found,
                    out,
                    show=show,
                    save_shot=save_shot,
                    overwrite=overwrite,
                    finish=finish,
                    crew=crew,
                    progress=progress,
                )
        except KeyboardInterrupt:
            typer.echo(
                "hingeline: stopped; what is done is kept, the same command goes on", err=True
            )
            sys.exit(130)
        say(made, as_json)
        return

    from render.jobs.render import render as render_job

    with shown_progress() as progress:
        made = render_job(
            found.one,
            Path(out) if out else None,
            show=show,
            exact=exact,
            save_shot=save_shot,
            overwrite=overwrite,
            finish=finish,
            progress=progress,
        )
    say(made, as_json)
