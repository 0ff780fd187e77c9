"""Footage that stays open: any of its frames in the place of the first, as hands scrub it."""

import numpy as np
from numpy.typing import NDArray

from render.errors import HingelineError
from render.files.formats.picturefile import PictureFile
from render.load.footage import frame_at, frame_words, open_footage, whole_framed
from render.load.prepare import seen_at
from render.load.prepared import Prepared
from render.scene.resize import averaged
from render.shot.shot import Shot

__all__ = ["Reel"]

Light = NDArray[np.float32]


class Reel:
    """Keeps footage open, and its latest frame at the size that is looked at.

    Parameters
    ----------
    source : str
        A clip, a folder or a pattern of stills.

    Raises
    ------
    InputError
        If it cannot be read.
    """

    def __init__(self, source: str) -> None:
        self._footage = open_footage(source, None)
        self._latest: tuple[int, Light] | None = None
        self._smaller: Light | None = None

    def close(self) -> None:
        """Let go of its files."""
        self._footage.close()

    def first(self) -> PictureFile:
        """The first frame, whose depth all have."""
        return self._footage.file(0) or self._footage.first()

    def about(self) -> dict[str, float]:
        """How long it is, ``seconds``, its ``frames``, and how many a second, ``rate``."""
        footage = self._footage
        seconds = float(footage.times[-1] + 1 / footage.rate)
        return {"seconds": seconds, "frames": len(footage.times), "rate": float(footage.rate)}

    def framed(self, shot: Shot) -> Shot:
        """The shot with the format that the footage has where none was given."""
        return whole_framed(shot, self._footage)[0]

    def seen(self, asked: Shot, first: Prepared) -> Prepared:
        """What was prepared of the first frame, at the moment of the shot that was asked for.

        Raises
        ------
        InputError
            If the footage ends before, or the frame is damaged.
        """
        number, light = self.at(asked)
        size = first.scene.picture.shape
        if light.shape != size:
            if self._smaller is None or self._smaller.shape != size:
                self._smaller = averaged(light, *size[:2])
            light = self._smaller
        said = whole_framed(asked, self._footage)[1]
        return seen_at(first, light, None, (*said, frame_words(self._footage, number)))

    def at(self, shot: Shot) -> tuple[int, Light]:
        """Number and light of the frame at the shot's moment.

        Raises
        ------
        InputError
            As `seen`.
        """
        number = frame_at(self._footage, shot.demo.time_s or 0.0)
        if self._latest is None or self._latest[0] != number:
            self._latest = self._smaller = None
            try:
                self._latest = number, next(self._footage.frames(number, number + 1))
            except HingelineError:
                self._footage.close()  # the next frame is looked for anew
                raise
        return self._latest
