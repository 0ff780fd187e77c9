"""A demo scene through the exact lens: every ray traced, nothing blurred afterwards."""

from pathlib import Path

from render.errors import InputError
from render.files.atomic import check_destination
from render.files.pictures import write_picture
from render.files.shots import Shot
from render.jobs.progress import Progress
from render.jobs.scenes import exact_light

__all__ = ["exact"]


def exact(
    shot: Shot,
    out: Path,
    *,
    samples: int = 256,
    overwrite: bool = False,
    progress: Progress,
) -> None:
    """Trace a shot of a demo scene through its lens and write the photograph.

    Parameters
    ----------
    samples : int
        Rays a pixel.

    Raises
    ------
    HingelineError
        In one sentence; nothing has been written then.
    """
    if not shot.scene:
        raise InputError("only a demo scene can be traced through the lens itself: name one")
    check_destination(out, overwrite=overwrite, inputs=[])
    light = exact_light(shot, progress, samples=samples)
    progress("writing", 0.95)
    write_picture(out, light, overwrite=overwrite)
