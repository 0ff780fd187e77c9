"""Clips written in segments, each whole by itself, and joined without coding anything twice."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import OutputError
from render.extras import needed
from render.files.clips.kinds import ClipKind
from render.files.clips.planes import encode_table, from_light
from render.files.clips.reading import opened
from render.files.clips.tags import ColourTags, clip_encoding, matrix_weights

__all__ = ["ClipShape", "SegmentWriter", "Sound", "join_segments"]

#: Codecs whose packets lie in a segment as their container has them, and not as they were coded.
_PREFIXED = ("h264", "hevc")


@dataclass(frozen=True, slots=True)
class ClipShape:
    """What every segment of a clip has in common.

    Attributes
    ----------
    width_px, height_px : int
        As the codec can hold them.
    rate : Fraction
        Frames a second, on average where it varies.
    tick : Fraction
        Seconds that a frame's time stamp counts in.
    tags : ColourTags
    """

    width_px: int
    height_px: int
    rate: Fraction
    tick: Fraction
    tags: ColourTags


@dataclass(frozen=True, slots=True)
class Sound:
    """The sound of a source clip, to be carried over unchanged.

    Attributes
    ----------
    path : Path
    start_s, stop_s : float
        The part that is filmed.
    """

    path: Path
    start_s: float
    stop_s: float


class SegmentWriter:
    """Codes frames of linear light into one segment.

    Parameters
    ----------
    path : Path
        Where to.
    """

    def __init__(self, path: Path, kind: ClipKind, shape: ClipShape) -> None:
        self._av = needed("av", "a clip")
        self._kind, self._shape = kind, shape
        self._container = self._av.open(str(path), "w")
        self._stream, self._count = _add_stream(self._container, kind, shape), 0
        self._numbers = _numbers(shape.tags, kind.bits)
        self._table, self._first = encode_table(clip_encoding(shape.tags).curves[0])

    def add(self, light: NDArray[np.float32], stamp: int | None = None) -> None:
        """Code one more frame; `light` is (H, W, 3) float32, >= 0, and may be a row larger.

        `stamp` is when it is shown, in ticks; one after the last where None.
        """
        width, height = self._shape.width_px, self._shape.height_px
        down, across = self._kind.shared
        kind = np.uint8 if self._kind.bits == 8 else np.dtype("<u2")
        y = np.empty((height, width), kind)
        cb, cr = (np.empty((height // down, width // across), kind) for _ in range(2))
        bits = np.ascontiguousarray(light[:height, :width], np.float32).view(np.uint32)
        from_light(bits, self._numbers, self._table, self._first, down, across, y, cb, cr)
        frame = self._av.VideoFrame(width, height, self._kind.pixels)
        for plane, codes in zip(frame.planes, (y, cb, cr), strict=True):
            held = np.frombuffer(plane, kind).reshape(-1, plane.line_size // codes.itemsize)
            held[: codes.shape[0], : codes.shape[1]] = codes
        tags = self._shape.tags
        frame.color_primaries, frame.color_trc = tags.primaries, tags.transfer
        frame.colorspace, frame.color_range = tags.matrix, 2 if tags.full_range else 1
        frame.pts = self._count if stamp is None else stamp
        frame.time_base = self._shape.tick
        self._count += 1
        try:
            packets = self._stream.encode(frame)
        except self._av.FFmpegError as error:
            raise OutputError(
                f"{self._kind.words} does not take {width} x {height} px here ({error.strerror})"
            ) from None
        self._mux(packets)

    def close(self) -> None:
        """Write what the encoder still holds, and the end of the file.

        Raises
        ------
        OSError
            If the disk refuses, here or in `add`.
        """
        self._mux(self._stream.encode())
        try:
            self._container.close()
        except self._av.FFmpegError as error:
            raise OSError(error.errno, error.strerror) from None

    def _mux(self, packets: Iterable[Any]) -> None:
        try:
            for packet in packets:
                self._container.mux(packet)
        except self._av.FFmpegError as error:
            raise OSError(error.errno, error.strerror) from None


def _numbers(tags: ColourTags, bits: int) -> NDArray[np.float32]:
    """What `from_light` needs to know of tags and bits.

    Codes 0 and 255 (of 8 bits) are kept for timing in video range: ITU-R BT.709-6, 4.6.
    """
    kr, kb = matrix_weights(tags)
    step, most = 2 ** (bits - 8), 2**bits - 1
    if tags.full_range:
        held = (0, most, 128 * step, most, 0, most)
    else:
        held = (16 * step, 219 * step, 128 * step, 224 * step, step, 255 * step - 1)
    return np.array([*held, kr, kb], np.float32)


def _add_stream(container: Any, kind: ClipKind, shape: ClipShape) -> Any:
    """A stream coded so."""
    stream = container.add_stream(kind.encoder, rate=shape.rate)
    stream.width, stream.height, stream.pix_fmt = shape.width_px, shape.height_px, kind.pixels
    context, tags = stream.codec_context, shape.tags
    context.time_base, context.framerate = shape.tick, shape.rate
    context.color_primaries, context.color_trc = tags.primaries, tags.transfer
    context.colorspace, context.color_range = tags.matrix, 2 if tags.full_range else 1
    context.thread_count = 2  # fixed: how many decides on the bytes
    context.options = dict(kind.options)
    return stream


def join_segments(
    path: Path,
    kind: ClipKind,
    segments: Sequence[Path],
    starts: Sequence[int],
    shape: ClipShape,
    *,
    sound: Sound | None = None,
    timecode: str = "",
    note: str = "",
) -> tuple[str, ...]:
    """Lay segments behind each other, each from its tick on, and the sound beside them.

    Parameters
    ----------
    starts : sequence of int
        When the first frame of each segment is shown, in ticks.

    Returns
    -------
    tuple of str
        What could not be kept, one sentence each.

    Raises
    ------
    OutputError
        If the container refuses.
    """
    av = needed("av", "a clip")
    lost: list[str] = []
    with ExitStack() as stack:
        options = {"movflags": "+faststart+write_colr"}
        if path.suffix == ".mkv":  # else it gets a number by chance, and no two are the same
            options = {"fflags": "+bitexact"}
        out = stack.enter_context(av.open(str(path), "w", options=options))
        if kind.name in _PREFIXED:
            first = stack.enter_context(av.open(str(segments[0])))
            stream = out.add_stream_from_template(first.streams.video[0])
            stream.time_base = shape.tick
        else:  # its head is the same, and the container is told the rate
            stream = _add_stream(out, kind, shape)
        if note:
            out.metadata["comment"] = note
        if timecode and path.suffix == ".mov" and kind.name not in _PREFIXED:
            stream.metadata["timecode"] = timecode
        elif timecode:
            lost.append(
                f"its time code {timecode} was left out: .mov in ProRes or DNxHR holds one here"
            )
        heard: Iterator[tuple[float, Any]] = iter(())
        if sound is not None:
            source = stack.enter_context(opened(sound.path))
            try:
                ears = out.add_stream_from_template(source.streams.audio[0])
                heard = _heard(source, ears, sound)
            except (ValueError, av.FFmpegError):
                lost.append(
                    f"its sound ({source.streams.audio[0].codec_context.name}) does not fit into "
                    f"{path.suffix} and was left out"
                )
        try:
            for packet in _by_time(_seen(av, segments, starts, stream, shape), heard):
                out.mux(packet)
        except av.FFmpegError as error:
            raise OutputError(f"{path} could not be written ({error.strerror})") from None
    return tuple(lost)


def _seen(
    av: Any, segments: Sequence[Path], starts: Sequence[int], stream: Any, shape: ClipShape
) -> Iterator[tuple[float, Any]]:
    for path, start in zip(segments, starts, strict=True):
        with av.open(str(path)) as container:
            for packet in container.demux(container.streams.video[0]):
                if not packet.size:
                    continue
                at = round(packet.pts * packet.time_base / shape.tick) + start
                packet.time_base = shape.tick
                packet.pts = packet.dts = at
                packet.duration = round(1 / (shape.rate * shape.tick))
                packet.stream = stream
                yield float(at * shape.tick), packet


def _heard(source: Any, ears: Any, sound: Sound) -> Iterator[tuple[float, Any]]:
    for packet in source.demux(source.streams.audio[0]):
        if packet.pts is None or not packet.size:
            continue
        at_s = float(packet.pts * packet.time_base)
        if at_s < sound.start_s - 1e-6:
            continue
        if at_s >= sound.stop_s:
            return
        shift = round(sound.start_s / packet.time_base)
        packet.pts -= shift
        packet.dts = packet.pts
        packet.stream = ears
        yield at_s - sound.start_s, packet


def _by_time(one: Iterator[tuple[float, Any]], other: Iterator[tuple[float, Any]]) -> Iterator[Any]:
    """Packets of both in the order of their time."""
    a, b = next(one, None), next(other, None)
    while a is not None or b is not None:
        if b is None or (a is not None and a[0] <= b[0]):
            assert a is not None
            yield a[1]
            a = next(one, None)
        else:
            yield b[1]
            b = next(other, None)
