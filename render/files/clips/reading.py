"""Clips read frame by frame into upright linear light, with what their container says."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.clips.planes import decode_table, to_light
from render.files.clips.tags import (
    ColourTags,
    clip_encoding,
    matrix_weights,
    settled,
)
from render.files.memory import check_size
from render.scene.colour import Encoding

__all__ = ["Clip", "ClipReader", "open_clip", "opened"]

#: What FFmpeg calls the containers that hold their pictures themselves.
_CONTAINERS = (
    *("mov", "mp4", "matroska", "webm", "avi", "mpegts", "mpeg", "mxf", "flv", "ogg", "asf"),
    *("yuv4mpegpipe", "ivf", "nut", "dv", "gif", "apng", "h264", "hevc", "m4v", "mpegvideo"),
    *("av1", "obu", "mjpeg", "webp_pipe", "webp", "rm", "swf", "wtv", "gxf"),
)
#: Frames that are rather decoded in vain than jumped over.
_SKIPPED = 60
#: Most a frame's time may be off an even beat, as a share of it, before a rate counts as varying.
_UNEVEN = Fraction(1, 5)
#: Anamorphic lenses squeeze twofold; a pixel is never so much wider or narrower (ours).
_MOST_ASPECT = 8


@dataclass(frozen=True, slots=True)
class Clip:
    """What a clip's container says.

    Attributes
    ----------
    path : Path
    width_px, height_px : int
        Of the upright picture, in square pixels.
    rate : Fraction
        Frames a second; of a varying rate, its mean.
    times : tuple of Fraction
        When each frame is shown, seconds; the first at 0.
    constant : bool
        Whether frames follow each other evenly.
    bits : int
        Of a code value.
    tags : ColourTags
        Settled; see `render.files.clips.tags`.
    turn_deg : int
        Quarter turns, clockwise, that bring a stored frame upright: 0, 90, 180, 270.
    aspect : Fraction
        Width of a stored pixel over its height.
    timecode : str
        Of the first frame, "" if there is none.
    sound : bool
    codec : str
    stamps : tuple of int or None
        Time stamp of every frame, where all have one.
    remarks : tuple of str
    """

    path: Path
    width_px: int
    height_px: int
    rate: Fraction
    times: tuple[Fraction, ...]
    constant: bool
    bits: int
    tags: ColourTags
    turn_deg: int
    aspect: Fraction
    timecode: str
    sound: bool
    codec: str
    stamps: tuple[int, ...] | None
    remarks: tuple[str, ...]

    @property
    def encoding(self) -> Encoding:
        """How its code values stand for light."""
        return clip_encoding(self.tags)

    @property
    def seconds(self) -> Fraction:
        """How long it lasts, the last frame as long as a frame is on average."""
        return self.times[-1] + 1 / self.rate


def opened(path: Path) -> Any:
    """A container open for reading; words in it that are no text stop nothing.

    PyAV replaces them by itself from 19 on, and before when told to.
    """
    import av

    # lists of other files, of addresses and of pieces are no clips: a stranger's might name any
    only = {"format_whitelist": ",".join(_CONTAINERS), "protocol_whitelist": "file"}
    if int(av.__version__.partition(".")[0]) < 19:
        return av.open(str(path), options=only, metadata_errors="replace")
    return av.open(str(path), options=only)


def open_clip(path: Path) -> Clip:
    """Read what a clip says of itself, with the time of every frame; one frame is decoded.

    Raises
    ------
    InputError
        If it is no clip, damaged, empty, interlaced, or its colours are not understood.
    """
    av = needed("av", "a clip")
    if not path.is_file():
        raise InputError(f"{path} is not there")
    try:
        with opened(path) as container:
            if not container.streams.video:
                raise InputError(f"{path} holds no moving picture")
            stream = container.streams.video[0]
            frame = next(iter(container.decode(stream)), None)
            if frame is None:
                raise InputError(f"{path} holds no frame that can be decoded")
            about = _about(path, container, stream, frame)
        with opened(path) as container:
            stamps = _stamps(container)
    except av.FFmpegError as error:
        raise InputError(f"{path} is no clip that can be read ({error.strerror})") from None
    return _clip(path, about, stamps)


def _about(path: Path, container: Any, stream: Any, frame: Any) -> dict[str, Any]:
    if frame.interlaced_frame:
        raise InputError(f"{path} is interlaced: deinterlace it first")
    given = ColourTags(
        int(frame.color_primaries), int(frame.color_trc), int(frame.colorspace),
        int(frame.color_range) == 2 or frame.format.name.startswith("yuvj"),
    )  # fmt: skip
    if frame.format.is_rgb:
        given = ColourTags(given.primaries, given.transfer, 0, True)
    try:
        tags, remark = settled(given, min(frame.width, frame.height))
    except InputError as error:
        raise InputError(f"{path} is not read: {error}") from None
    turn = round(-frame.rotation / 90) % 4 * 90
    aspect, said = stream.sample_aspect_ratio or Fraction(1), [remark] if remark else []
    hides = any(part.is_alpha for part in frame.format.components)
    if hides or stream.metadata.get("alpha_mode") == "1":
        said.append("its transparency (alpha) is left out: every pixel counts as solid")
    if round(frame.width * aspect) == frame.width:
        aspect = Fraction(1)  # not by one column of pixels
    if not 1 / _MOST_ASPECT <= aspect <= _MOST_ASPECT:
        said.append(f"its pixels are said to be {float(aspect):.3g} times as wide as high: square")
        aspect = Fraction(1)
    check_size(str(path), max(2, round(frame.width * aspect)), frame.height)
    data = {**container.metadata, **stream.metadata}
    for other in container.streams.data:
        data = {**other.metadata, **data}
    return {
        "size": (frame.width, frame.height),
        "rate": stream.average_rate or stream.guessed_rate or stream.base_rate,
        "base": stream.time_base,
        "bits": max(part.bits for part in frame.format.components),
        "tags": tags,
        "turn": turn,
        "aspect": aspect,
        "timecode": data.get("timecode", ""),
        "seconds": (container.duration or 0) / 1e6,
        "sound": bool(container.streams.audio),
        "codec": stream.codec_context.name,
        "remarks": tuple(said),
    }


def _stamps(container: Any) -> list[int | None]:
    """Time stamp of every frame in the order they are shown; packets are read, not decoded."""
    stream = container.streams.video[0]
    found = [packet.pts for packet in container.demux(stream) if packet.size]
    known = [stamp for stamp in found if stamp is not None]
    if len(known) != len(found) or len(set(known)) != len(known):
        return [None] * len(found)
    return sorted(known)


def _clip(path: Path, about: dict[str, Any], stamps: list[int | None]) -> Clip:
    if not stamps:
        raise InputError(f"{path} holds no frames")
    if not about["rate"] or not 0 < about["rate"] <= 2000:
        raise InputError(f"{path} does not say how fast it runs: {about['rate']} frames a second")
    remarks = list(about["remarks"])
    rate, known = Fraction(about["rate"]), [s for s in stamps if s is not None]
    count = len(stamps)
    if len(known) == count and count > 1:
        times = [(s - known[0]) * about["base"] for s in known]
        steps = [float(b - a) for a, b in itertools.pairwise(times)]
        middle = sorted(steps)[len(steps) // 2]
        constant = all(abs(step - middle) <= float(_UNEVEN) * middle for step in steps)
        if not constant:
            rate = (Fraction(count - 1) / times[-1]).limit_denominator(1001)
        elif abs(float(rate) * middle - 1) > 0.05:  # the tag contradicts the frames
            rate = Fraction(1 / middle).limit_denominator(1001)
        if constant:
            times = [k / rate for k in range(count)]
        else:
            remarks.append(f"its frame rate varies; {float(rate):.4g} a second on average")
    else:
        times, constant = [k / rate for k in range(count)], True
        if count > 1:
            remarks.append("its frames carry no time stamps: taken as evenly spaced")
    there_s = float(times[-1] + 1 / rate)
    if about["seconds"] > 1.05 * there_s + 0.5:
        remarks.append(
            f"it ends early: it says {about['seconds']:.1f} s, {there_s:.1f} s are there"
        )
    width, height = about["size"]
    wide = max(2, round(width * about["aspect"]))
    if about["aspect"] != 1:
        remarks.append(f"its pixels are not square: made square, {wide} x {height} px")
    if about["turn"] in (90, 270):
        wide, height = height, wide
    if about["turn"]:
        remarks.append(f"turned by {about['turn']}° to stand upright")
    whole = len(known) == count
    return Clip(
        path, wide, height, rate, tuple(map(Fraction, times)), constant, about["bits"],
        about["tags"], about["turn"], about["aspect"], about["timecode"], about["sound"],
        about["codec"], tuple(known) if whole else None, tuple(remarks),
    )  # fmt: skip


class ClipReader:
    """Decodes a clip's frames into upright linear light, in order from any frame on."""

    def __init__(self, clip: Clip) -> None:
        self._av = needed("av", "a clip")
        self._clip = clip
        self._container: Any = None
        self._frames: Iterator[Any] = iter(())
        self._next = 0
        self._table = decode_table(clip.encoding.curves[0])
        self._index = {stamp: k for k, stamp in enumerate(clip.stamps or ())}

    def close(self) -> None:
        """Let go of the file."""
        if self._container is not None:
            self._container.close()
            self._container = None

    def frames(self, start: int, stop: int) -> Iterator[NDArray[np.float32]]:
        """Linear light of frames start to stop, each (H, W, 3) float32.

        Raises
        ------
        InputError
            If a frame is damaged, missing, or of another size.
        """
        if self._container is None or not 0 <= start - self._next <= _SKIPPED:
            self._go(start)
        for number in range(self._next, start):  # decoding a few is quicker than jumping
            self._frame(number)
        for number in range(start, stop):
            yield self.light_of(self._frame(number))

    def _frame(self, number: int) -> Any:
        name, at_s = self._clip.path, float(self._clip.times[number])
        advice = f'; film up to there with --to "{at_s:.3f} s"' if number else ""
        try:
            frame = next(self._frames)
        except StopIteration:
            raise InputError(
                f"{name} ends early: frame {number + 1} of {len(self._clip.times)} is "
                f"missing{advice}"
            ) from None
        except self._av.FFmpegError as error:
            raise InputError(
                f"{name} is damaged at {at_s:.2f} s ({error.strerror}){advice}"
            ) from None
        if frame.is_corrupt:
            raise InputError(f"{name} is damaged at {at_s:.2f} s{advice}")
        self._next = number + 1
        return frame

    def _go(self, start: int) -> None:
        """Stand before frame `start`: jump near it where time stamps allow, else read up to it."""
        self.close()
        try:
            self._open()
            if start and self._index:
                stamps = self._clip.stamps or ()
                stream = self._container.streams.video[0]
                self._container.seek(stamps[start], stream=stream)
                for frame in self._frames:
                    at = self._index.get(frame.pts, len(stamps))
                    if at == start:
                        self._frames = _before(frame, self._frames)
                        break
                    if at > start:  # it jumped too far
                        self._open()
                        self._skip(start)
                        break
            else:
                self._skip(start)
        except self._av.FFmpegError as error:
            raise InputError(
                f"{self._clip.path} is damaged before frame {start + 1} ({error.strerror})"
            ) from None
        self._next = start

    def _open(self) -> None:
        self.close()
        self._container = opened(self._clip.path)
        stream = self._container.streams.video[0]
        stream.thread_type = "AUTO"
        self._frames = iter(self._container.decode(stream))

    def _skip(self, count: int) -> None:
        for _ in range(count):
            next(self._frames, None)

    def light_of(self, frame: Any) -> NDArray[np.float32]:
        """Upright linear light of a decoded frame."""
        clip = self._clip
        planes, layout = _planes(frame)
        height, width = planes[0].shape[:2]
        stored = (clip.height_px, clip.width_px)
        if clip.turn_deg in (90, 270):
            stored = stored[::-1]
        if (height, max(2, round(width * clip.aspect))) != stored:
            raise InputError(
                f"{clip.path} changes its size to {width} x {height} px on the way: cut it there"
            )
        light = np.empty((height, width, 3), np.float32)
        if layout == "rgb":
            light[...] = clip.encoding.light(planes[0])
        else:
            down, across = layout
            numbers = _numbers(clip.tags, clip.bits if planes[0].itemsize == 2 else 8)
            middle = frame.format.name.startswith("yuvj")
            y, cb, cr = planes
            to_light(y, cb, cr, down, across, middle, numbers, self._table, light)
        if clip.aspect != 1:
            light = _squared(light, max(2, round(width * clip.aspect)))
        if clip.turn_deg:
            light = np.ascontiguousarray(np.rot90(light, -clip.turn_deg // 90))
        return light


def _before(first: Any, rest: Iterator[Any]) -> Iterator[Any]:
    yield first
    yield from rest


def _numbers(tags: ColourTags, bits: int) -> NDArray[np.float32]:
    """What `to_light` needs to know of tags and bits."""
    kr, kb = matrix_weights(tags)
    kg, step = 1 - kr - kb, 2 ** (bits - 8)
    middle, most = 128 * step, 2**bits - 1
    zero, size, c_size = (0, most, most) if tags.full_range else (16 * step, 219 * step, 224 * step)
    red, blue = 2 * (1 - kr), 2 * (1 - kb)
    return np.array(
        [zero, 1 / size, middle, 1 / c_size, red, -blue * kb / kg, -red * kr / kg, blue], np.float32
    )


def _planes(frame: Any) -> tuple[tuple[NDArray[Any], ...], Any]:
    """Code values of a frame, and how rows and columns share colour differences; or RGB."""
    form = frame.format
    bits = max(part.bits for part in form.components)
    if form.is_rgb or form.name.startswith(("gbr", "pal")):
        if bits == 8:
            return (frame.reformat(format="rgb24").to_ndarray(),), "rgb"
        coded = frame.reformat(format="rgb48le").to_ndarray().astype(np.float32)
        return (coded / np.float32(2**16 - 2 ** (16 - bits)),), "rgb"  # codes were shifted up
    shared = _SHARED.get(form.name)
    if shared is None:  # packed, with alpha, grey: the same codes in planes
        plain = f"yuv444p{bits}le" if bits > 8 else "yuv444p"
        if "420" in form.name or form.name.startswith(("nv12", "nv21", "p0")):
            plain = plain.replace("444", "420")
        elif "422" in form.name or form.name.startswith(("nv16", "p2")):
            plain = plain.replace("444", "422")
        frame = frame.reformat(format=plain, dst_color_range=frame.color_range)
        shared = _SHARED[plain]
    kind = np.dtype(np.uint8 if bits == 8 else "<u2")
    made = []
    for k, plane in enumerate(frame.planes):
        rows = frame.height if k == 0 else math.ceil(frame.height / shared[0])
        columns = frame.width if k == 0 else math.ceil(frame.width / shared[1])
        codes = np.frombuffer(plane, kind).reshape(-1, plane.line_size // kind.itemsize)
        made.append(codes[:rows, :columns])
    return tuple(made), shared


_SHARED = {
    f"yuv{letter}{name}p{bits}": shared
    for letter in ("", "j")
    for name, shared in {"420": (2, 2), "422": (1, 2), "444": (1, 1)}.items()
    for bits in ("", "9le", "10le", "12le", "14le", "16le")
}


def _squared(light: NDArray[np.float32], width: int) -> NDArray[np.float32]:
    """Stretch the rows to `width` columns, straight between the old ones."""
    at = np.clip((np.arange(width) + 0.5) * light.shape[1] / width - 0.5, 0, light.shape[1] - 1)
    left = np.floor(at).astype(int)
    right = np.minimum(left + 1, light.shape[1] - 1)
    share = (at - left).astype(np.float32)[None, :, None]
    return np.asarray(light[:, left] * (1 - share) + light[:, right] * share)
