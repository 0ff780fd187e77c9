"""`hingeline scenes`: what demo scenes there are, and the words they are written in."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AsJson, Overwrite, own_units, say
from render.cli.progress import goes_without_defaults, shown_progress
from render.files.defaults import read_defaults
from render.jobs.made import made

__all__ = ["scenes"]

scenes = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    invoke_without_command=True,
    help="List the demo scenes, show one, or print the words that scene files are written in.",
    epilog="Example:  hingeline scenes show market",
)


@scenes.callback()
def _list(context: typer.Context, as_json: AsJson = False) -> None:
    """List the demo scenes, show one, or print the words that scene files are written in."""
    own_units(context, {} if goes_without_defaults() else read_defaults())
    if context.invoked_subcommand is None:
        from render.load.scenes import list_scenes
        from render.tell.records.commands import ScenesRecord

        found = list_scenes()
        wide = max(len(scene.name) for scene in found)
        lines = [f"{scene.name:<{wide}}  {scene.line}" for scene in found]
        record: ScenesRecord = {
            "scenes": [{"name": scene.name, "line": scene.line} for scene in found]
        }
        say(made([], lines, record), as_json)


@scenes.command("show")
def _show(
    name: Annotated[str, typer.Argument(help="Name of a demo scene, or a scene file (.toml).")],
    toml: Annotated[bool, typer.Option("--toml", help="Print the scene file itself.")] = False,
    as_json: AsJson = False,
) -> None:
    """Say what a scene shows, where its camera stands and what can be focused on."""
    from render.files.shipped import shipped_text
    from render.load.scenes import describe_scene

    _say_lines(shipped_text(name).split("\n") if toml else describe_scene(name), as_json)


@scenes.command("words")
def _words(
    kind: Annotated[str | None, typer.Argument(help="A kind of thing, such as house.")] = None,
    as_json: AsJson = False,
) -> None:
    """Print the kinds of things that a scene file knows, or every key of one kind."""
    from render.load.scenes import words

    _say_lines(words(kind), as_json)


def _say_lines(lines: Sequence[str], as_json: bool) -> None:
    say(made([], lines, {"lines": list(lines)}), as_json)


@scenes.command("gallery")
def _gallery(
    out: Annotated[Path, typer.Option("--out", "-o", help="The page, .png, .jpg or .webp.")] = Path(
        "scenes.png"
    ),
    width: Annotated[int, typer.Option(help="Width of each picture, px.")] = 480,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> None:
    """Make one page of all demo scenes, as they are and as their lens takes them, with verdicts."""
    from render.jobs.gallery import gallery

    with shown_progress() as progress:
        made = gallery(out, width_px=width, overwrite=overwrite, progress=progress)
    say(made, as_json)
