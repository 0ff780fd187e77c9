"""`hingeline card`: what to dial in on the day."""

import json
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import takes_shot
from render.cli.progress import shown_progress
from render.shot.shot import Shot, input_files

__all__ = ["card"]


@takes_shot
def card(
    shot: Shot,
    weather: Annotated[
        str | None,
        typer.Option(
            help="The light on the day: sun, 'hazy sun', 'bright cloud', overcast, 'open shade' "
            "or 'snow or sand'. The picture's own exposure otherwise."
        ),
    ] = None,
    iso: Annotated[float, typer.Option("--iso", help="ISO to shoot at.")] = 100.0,
    lens_file: Annotated[
        str | None,
        typer.Option(
            "--lens-file", help="Lens (a shipped name or a .toml) whose scales and limits hold."
        ),
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(help="Where you stand: ground, window, roof or drone; it picks cautions."),
    ] = None,
    sun_in_frame: Annotated[
        bool, typer.Option("--sun-in-frame", help="The sun will be in or near the frame.")
    ] = False,
    look: Annotated[
        str,
        typer.Option(
            help="How the clip should move: model (as fast as a model of that scale), "
            "'toy traffic', 'toy walkers', clouds or shadows."
        ),
    ] = "model",
    interval: Annotated[
        float | None, typer.Option(help="Seconds between frames, in place of a look.")
    ] = None,
    fps: Annotated[float, typer.Option(help="Frames a second of the finished clip.")] = 25.0,
    clip: Annotated[float, typer.Option(help="Seconds of finished clip.")] = 10.0,
    megapixels: Annotated[float, typer.Option(help="Of the camera.")] = 24.0,
    pdf: Annotated[
        Path | None,
        typer.Option(help="Also write the card as small pages (A6) to print or take on a phone."),
    ] = None,
    title: Annotated[str | None, typer.Option(help="Name of the place, on the pages.")] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace a file that is already there.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the card for a program to read.")
    ] = False,
) -> None:
    """Plan the day: what to dial in, check, expose, vary and bring.

    It also says what to look out for; local rules and the people on site come first.

    Example:  hingeline card roof.jpg --height '4 storeys' --horizon 8% --lens 45 --f 2.8
    --tilt 'up 8' --focus '50%,60%' --weather sun --place roof
    """
    from render.jobs.card import DayWishes, card_shot
    from render.jobs.card_page import check_card_page, write_card_page
    from render.load.compiled import say_compiling

    wishes = DayWishes(
        weather=weather,
        lens=lens_file,
        place=place,
        iso=iso,
        look=look,
        interval_s=interval,
        frames_per_s=fps,
        clip_s=clip,
        megapixels=megapixels,
        sun_in_frame=sun_in_frame,
    )
    inputs = input_files(shot)
    with shown_progress() as progress:
        if pdf:
            check_card_page(pdf, overwrite=overwrite, inputs=inputs)
            say_compiling(progress)
        carded = card_shot(shot, wishes, progress=progress)
        if pdf:
            write_card_page(
                pdf, carded, title=title, overwrite=overwrite, inputs=inputs, progress=progress
            )
    typer.echo(json.dumps(carded.record, indent=1) if as_json else "\n".join(carded.lines))
