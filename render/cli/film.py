"""`hingeline film`: frames in, frames out."""

from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, SaveShot, say, takes_film
from render.cli.progress import shown_progress
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot

__all__ = ["film"]


@takes_film
def film(
    shot: Shot,
    wishes: FilmWishes,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            help="A clip (.mp4, .mov, .mkv), an animation (.webp, .gif), or stills "
            "('frames/%05d.tif', '*_tilted.jpg' keeps their names); NAME_film.mp4 otherwise.",
        ),
    ] = None,
    strip: Annotated[
        Path | None, typer.Option("--strip", help="Also write nine moments of it, side by side.")
    ] = None,
    save_shot: SaveShot = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Film through this lens: clips, stills, scenes that move, one still animated.

    The camera stands still: one depth holds for all frames. Stopped, the same command goes on.

    Example:  hingeline film street.mp4 --view 40 --height "4 storeys" --pitch 12 --lens 90
    --tilt "up 8" --f 2.8 --speed model -o street_model.mp4
    """
    from render.jobs.film import film as film_job

    with shown_progress() as progress:
        made = film_job(
            shot,
            wishes,
            out,
            strip=strip,
            save_shot=save_shot,
            overwrite=overwrite,
            progress=progress,
        )
    say(made, as_json)
