"""Footage: a clip, numbered stills or one still, as frames of linear light at known times."""

import bisect
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.files.clips.reading import Clip, ClipReader, open_clip
from render.files.formats.carried import Kept
from render.files.formats.picturefile import PictureFile
from render.files.pictures import read_picture
from render.files.sequences import (
    CLIP_SOURCES,
    STILL_ENDINGS,
    is_pattern,
    missing_words,
    stills_in,
)
from render.scene.colour import SRGB
from render.shot.shot import Shot

__all__ = [
    "ClipFootage",
    "Footage",
    "OneStill",
    "Stills",
    "first_still",
    "frame_at",
    "frame_words",
    "is_footage",
    "open_footage",
    "plain_still",
    "whole_framed",
]

#: What stills run at where nothing is said (common practice).
STILLS_RATE = Fraction(25)
#: Transfers (ITU-T H.273) whose codes no screen shows as they are: linear, PQ, HLG.
_NOT_SHOWN = (8, 16, 18)
#: A moment may lie this share of a frame before the frame that is meant.
_SLACK = Fraction(1, 100)


class Footage(Protocol):
    """Frames at known times.

    Attributes
    ----------
    times : tuple of Fraction
        When each frame begins, s; a single still has one, and lasts as long as is asked.
    rate : Fraction
        Frames a second.
    remarks : tuple of str
        What is known so far: stills are only met when they are read.
    """

    times: tuple[Fraction, ...]
    rate: Fraction
    remarks: tuple[str, ...]

    def first(self) -> PictureFile:
        """The first frame, as a picture that was read."""

    def file(self, number: int) -> PictureFile | None:
        """The still behind a frame, whose data go into the still made from it; None for clips."""

    def frames(self, start: int, stop: int) -> Iterator[NDArray[np.float32]]:
        """Linear light of frames start to stop, each (H, W, 3) float32."""

    def close(self) -> None:
        """Let go of files."""


class ClipFootage:
    """Frames of a clip."""

    def __init__(self, path: Path) -> None:
        self.clip: Clip = open_clip(path)
        self.times, self.rate, self.remarks = self.clip.times, self.clip.rate, self.clip.remarks
        self._reader = ClipReader(self.clip)

    def first(self) -> PictureFile:
        """The first frame; see `Footage`."""
        light, bits = next(self.frames(0, 1)), max(8, min(self.clip.bits, 16)) // 8 * 8
        as_shown = self.clip.tags.transfer not in _NOT_SHOWN
        return PictureFile(
            self.clip.path, "", light, self.clip.encoding, bits, False, 1, Kept(), as_shown=as_shown
        )

    def file(self, number: int) -> None:
        """Nothing: no still lies behind a frame."""

    def frames(self, start: int, stop: int) -> Iterator[NDArray[np.float32]]:
        """Linear light; see `Footage`."""
        return self._reader.frames(start, stop)

    def close(self) -> None:
        """Let go of the clip."""
        self._reader.close()


class Stills:
    """Numbered stills of one size."""

    def __init__(self, source: str, rate: Fraction) -> None:
        self.paths = stills_in(source)
        self.rate = rate
        self.times = tuple(k / rate for k in range(len(self.paths)))
        missing = missing_words(self.paths)
        gaps = f"no still is numbered {missing}: the others follow without a pause"
        self.remarks: tuple[str, ...] = (gaps,) if missing else ()
        self._unlike: set[str] = set()
        self._first: PictureFile | None = None
        self._latest: tuple[int, PictureFile] | None = None

    def first(self) -> PictureFile:
        """The first still; see `Footage`."""
        self._first = self._first or read_picture(self.paths[0])
        return self._first

    def file(self, number: int) -> PictureFile:
        """The still of a frame."""
        if self._latest is None or self._latest[0] != number:
            self._latest = (number, self._read(number))
        return self._latest[1]

    def frames(self, start: int, stop: int) -> Iterator[NDArray[np.float32]]:
        """Linear light; see `Footage`."""
        for number in range(start, stop):
            yield self.file(number).light

    def close(self) -> None:
        """Let go of the latest still."""
        self._latest = None

    def _read(self, number: int) -> PictureFile:
        first, file = self.first(), read_picture(self.paths[number])
        if file.light.shape != first.light.shape:
            raise InputError(
                f"{file.path} is {file.width_px} x {file.height_px} px, {first.path.name} "
                f"{first.width_px} x {first.height_px}: stills of one film have one size"
            )
        if file.encoding.to_xyz != first.encoding.to_xyz:
            matrix = file.encoding.matrix_to(first.encoding).astype(np.float32)
            file = replace(file, light=np.maximum(file.light @ matrix.T, np.float32(0)))
        if file.bits != first.bits:
            self._remark(f"has {file.bits} bits, {first.path.name} {first.bits}", file)
        for remark in set(file.remarks) - set(first.remarks):
            self._remark(remark, file)
        return file

    def _remark(self, words: str, file: PictureFile) -> None:
        """Say of the first still that is unlike the first one what is."""
        if words not in self._unlike:
            self._unlike.add(words)
            self.remarks += (f"{file.path.name}, and perhaps others: {words}",)


class OneStill:
    """A single still that stands as long as is asked."""

    def __init__(self, path: Path, rate: Fraction) -> None:
        self._file = read_picture(path)
        self.times: tuple[Fraction, ...] = (Fraction(0),)
        self.rate = rate
        self.remarks: tuple[str, ...] = ()

    def first(self) -> PictureFile:
        """The still; see `Footage`."""
        return self._file

    def file(self, number: int) -> PictureFile:
        """The still again."""
        return self._file

    def frames(self, start: int, stop: int) -> Iterator[NDArray[np.float32]]:
        """Linear light, the same every time."""
        for _ in range(start, stop):
            yield self._file.light

    def close(self) -> None:
        """Nothing is held open."""


def open_footage(source: str, rate: Fraction | None) -> Footage:
    """Open what a name stands for.

    Parameters
    ----------
    rate : Fraction or None
        What stills run at; 25 a second where None. A clip says itself.

    Raises
    ------
    InputError
        If it is none of the three, or cannot be read.
    """
    if is_pattern(source) or Path(source).is_dir():
        return Stills(source, rate or STILLS_RATE)
    if _is_still(source):
        return OneStill(Path(source), rate or STILLS_RATE)
    return ClipFootage(Path(source))


def is_footage(source: str) -> bool:
    """Whether a name stands for many frames: a clip, a folder or a pattern of stills."""
    path = Path(source)
    if not path.is_file() and (is_pattern(source) or path.is_dir()):
        return True
    return path.suffix.lower() in CLIP_SOURCES and not _is_still(source)


def frame_at(footage: Footage, at_s: float) -> int:
    """Number of the frame that is seen at a moment, from 0.

    Raises
    ------
    InputError
        If the footage has ended by then.
    """
    end, at = footage.times[-1] + 1 / footage.rate, Fraction(at_s).limit_denominator(10**6)
    if at > end:
        raise InputError(f"it ends at {float(end):.2f} s, and nothing is seen at {at_s:g} s")
    return max(bisect.bisect_right(footage.times, at + _SLACK / footage.rate) - 1, 0)


def frame_words(footage: Footage, number: int) -> str:
    """Which frame that is, in words."""
    at_s, count = float(footage.times[number]), len(footage.times)
    return f"frame {number + 1} of {count}, at {at_s:.2f} s, with the first one's depth"


def whole_framed(shot: Shot, footage: Footage) -> tuple[Shot, tuple[str, ...]]:
    """A clip is taken whole unless a format is given: full frame's width in the clip's shape.

    Returns
    -------
    shot, notes
    """
    if not isinstance(footage, ClipFootage) or shot.camera.sensor_mm is not None:
        return shot, ()
    long, short = sorted((footage.clip.width_px, footage.clip.height_px), reverse=True)
    size_mm = (36.0, 36.0 * short / long)
    note = f"no format was given: {size_mm[0]:g} x {size_mm[1]:.4g} mm, in the clip's shape"
    return replace(shot, camera=replace(shot.camera, sensor_mm=size_mm)), (note,)


def first_still(footage: Footage) -> PictureFile:
    """The first frame as a still: its own file, or what stills of a clip are like."""
    return footage.file(0) or plain_still(footage.first())


def plain_still(first: PictureFile) -> PictureFile:
    """What stills of a clip are like: its primaries and code values, 16 bits.

    Codes that no screen shows as they are (linear, PQ, HLG) get the curve of stills.
    """
    if first.as_shown:
        return replace(first, bits=16)
    return replace(first, encoding=replace(first.encoding, curves=SRGB.curves), bits=16)


def _is_still(source: str) -> bool:
    return Path(source).suffix.lower() in STILL_ENDINGS
