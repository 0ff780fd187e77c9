"""Small clips for the tests, made by the library itself."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

__all__ = ["street", "write_clip"]


def street(frames: int = 8, width: int = 96, height: int = 64, shift: float = 0.0) -> np.ndarray:
    """A busy picture, (n, h, w, 3) uint8, and a square that crosses it; `shift` px a frame pans."""
    rng = np.random.default_rng(7)
    grey = rng.uniform(0.1, 0.9, (height // 4 + 8, width // 4 + 40, 1))
    big = grey + rng.uniform(-0.08, 0.08, (*grey.shape[:2], 3))
    still = np.kron(big, np.ones((4, 4, 1)))
    made = []
    for k in range(frames):
        left = round(k * shift)
        frame = still[:height, left : left + width].copy()
        frame[height // 2 : height // 2 + 6, 4 * k + 2 : 4 * k + 10] = (0.9, 0.1, 0.1)
        made.append(frame)
    return np.rint(np.array(made) * 255).astype(np.uint8)


def write_clip(
    path: Path,
    frames: np.ndarray,
    *,
    codec: str = "libx264",
    pixels: str = "yuv420p",
    rate: Fraction = Fraction(25),
    stamps: list[int] | None = None,
    sound: bool = False,
    options: dict[str, str] | None = None,
    tags: tuple[int, int, int, int] = (1, 1, 1, 1),
    aspect: Fraction | None = None,
    form: str | None = None,
) -> Path:
    """Write frames (n, h, w, 3) uint8 as a clip; `stamps` count in 1/100 s where given."""
    with av.open(str(path), "w", format=form) as out:
        stream: Any = out.add_stream(codec, rate=rate)
        stream.width, stream.height, stream.pix_fmt = frames.shape[2], frames.shape[1], pixels
        context = stream.codec_context
        context.color_primaries, context.color_trc, context.colorspace, context.color_range = tags
        if stamps:
            context.time_base = Fraction(1, 100)
        if aspect:
            context.sample_aspect_ratio = aspect
        context.options = {"qp": "4", **(options or {})} if codec == "libx264" else options or {}
        ears: Any = out.add_stream("aac", rate=44100) if sound else None
        for k, each in enumerate(frames):
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(each), format="rgb24")
            if pixels.startswith(("yuv", "nv")):
                held = 2 if pixels.startswith("yuvj") else tags[3]
                frame = frame.reformat(
                    format=pixels, dst_colorspace=tags[2], dst_color_range=held,
                    interpolation="BILINEAR",
                )  # fmt: skip
            frame.pts = stamps[k] if stamps else k
            frame.time_base = Fraction(1, 100) if stamps else 1 / rate
            for packet in stream.encode(frame):
                out.mux(packet)
        for packet in stream.encode():
            out.mux(packet)
        if ears is not None:
            count = int(44100 * len(frames) / rate)
            tone = np.sin(np.arange(count) / 16).astype(np.float32)[None]
            heard = av.AudioFrame.from_ndarray(tone, format="fltp", layout="mono")
            heard.sample_rate, heard.pts = 44100, 0
            for packet in [*ears.encode(heard), *ears.encode()]:
                out.mux(packet)
    return path
