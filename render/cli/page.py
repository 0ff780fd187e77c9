"""`hingeline page`: the whole job by hand, in the browser."""

from typing import Annotated

import typer

from render.cli.options import AsJson, say, takes_shot_or_none
from render.cli.progress import goes_without_defaults, shown_progress
from render.files.defaults import read_defaults
from render.jobs.made import made
from render.shot.shot import Shot

__all__ = ["page"]


@takes_shot_or_none
def page(
    shot: Shot,
    port: Annotated[
        int | None, typer.Option("--port", min=1024, max=65535, help="Port on this machine.")
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the browser, or only print.")
    ] = True,
    as_json: AsJson = False,
) -> None:
    """Do the whole job by hand, in the browser.

    The page is served to this machine alone; without a picture it begins with an empty desk.

    Example:  hingeline page roof.jpg --height "4 storeys" --horizon 8%
    """
    from render.load.compiled import say_compiling

    with shown_progress() as progress:
        for room in ("engine", "trace") if shot.scene else ("engine",):
            say_compiling(progress, room)

    from render.page.serve import serve

    def open_at(address: str) -> None:
        lines = [f"The page is open at\n{address}\nCtrl-C ends it."]
        say(made([], lines, {"address": address}), as_json)

    bare = set(shot.written) <= set(shot.own) and not (shot.picture or shot.scene)
    own = {} if goes_without_defaults() else read_defaults()
    serve(None if bare else shot, own=own, port=port, browser=browser, say=open_at)
