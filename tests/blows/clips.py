"""Clips as seeds of blows, and the door that they come in at."""

from fractions import Fraction
from pathlib import Path

import numpy as np

from render.files.clips.reading import ClipReader, open_clip
from tests.clips import street, write_clip

__all__ = ["film_clip", "seed_clips"]


def seed_clips(folder: Path) -> list[Path]:
    """Whole clips of every container and of what differs inside."""
    frames = street(7, 48, 32)
    close = {"g": "3"}
    return [
        write_clip(folder / "plain.mp4", frames, sound=True, options=close),
        write_clip(folder / "stream.mkv", frames, options=close),
        write_clip(folder / "old.mov", frames, codec="mpeg4"),
        write_clip(folder / "ten.mkv", street(7, 96, 64), codec="libx265", pixels="yuv420p10le"),
        write_clip(folder / "whole.mkv", frames, codec="ffv1", pixels="yuv422p10le"),
        write_clip(folder / "work.mov", frames, codec="prores_ks", pixels="yuv422p10le"),
        write_clip(folder / "varies.mp4", frames, stamps=[0, 4, 8, 16, 20, 30, 34]),
        write_clip(folder / "wide.mp4", frames, aspect=Fraction(4, 3)),
        write_clip(folder / "raw.h264", frames, form="h264"),
        write_clip(folder / "moving.avi", frames, codec="mjpeg", pixels="yuvj420p"),
    ]


def film_clip(path: Path) -> None:
    """Read all that a film reads: what it says, every frame in order, and one out of order."""
    clip = open_clip(path)
    reader = ClipReader(clip)
    try:
        count = 0
        for light in reader.frames(0, len(clip.times)):
            assert light.shape == (clip.height_px, clip.width_px, 3), light.shape
            assert np.isfinite(light).all(), "light that is no number"
            count += 1
        assert count == len(clip.times), count
        assert all(a < b for a, b in zip(clip.times, clip.times[1:], strict=False)), "times"
        next(reader.frames(count // 2, count // 2 + 1))
    finally:
        reader.close()
