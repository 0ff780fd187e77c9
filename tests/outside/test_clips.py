"""Clips against an outside decoder and the code values of the standards.

FFmpeg's own programs (Debian's build, another than the library's) read what was written: frames,
time stamps, tags and raw code values, which no conversion of ours touches.

Expected codes: ITU-R BT.709-6, 3.2 to 3.5 (luma 16 + 219 E'Y, colour difference 128 + 224 E'C, of
10 bits four times that); bars of 100/0/75/0 after ITU-R BT.471-1.
"""

import json
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from render.files.clips.kinds import CODECS, clip_kind, codecs_there
from render.files.clips.reading import ClipReader, open_clip
from render.files.clips.tags import ColourTags, clip_encoding, matrix_weights
from render.files.clips.writing import ClipShape, SegmentWriter, join_segments
from tests.clips import street, write_clip

pytestmark = pytest.mark.skipif(
    not (shutil.which("ffprobe") and shutil.which("ffmpeg")),
    reason="FFmpeg's programs are not here",
)
RATE = Fraction(24000, 1001)
TAGS = ColourTags(1, 1, 1, False)
WIDTH, HEIGHT = 512, 256
KR, KB = 0.2126, 0.0722


def _probe(path: Path) -> dict[str, Any]:
    command = ["ffprobe", "-v", "error", "-count_frames", "-show_streams", "-show_entries",
               "frame=pts_time", "-of", "json", str(path)]  # fmt: skip
    found: dict[str, Any] = json.loads(subprocess.check_output(command))
    return found


def _codes(path: Path, pixels: str) -> list[np.ndarray]:
    """Y, Cb, Cr of the first frame as they are stored."""
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-frames:v", "1", "-f", "rawvideo",
               "-pix_fmt", pixels, "-"]  # fmt: skip
    raw = subprocess.check_output(command)
    data = np.frombuffer(raw, "<u2" if "10" in pixels else np.uint8).astype(int)
    down, across = (2, 2) if "420" in pixels else (1, 2) if "422" in pixels else (1, 1)
    luma, part = WIDTH * HEIGHT, WIDTH * HEIGHT // (down * across)
    shape = (HEIGHT // down, WIDTH // across)
    return [
        data[:luma].reshape(HEIGHT, WIDTH),
        data[luma : luma + part].reshape(shape),
        data[luma + part :].reshape(shape),
    ]


def _coded() -> np.ndarray:
    """R'G'B' of a picture: above a grey ramp, below eight colour bars at 75 %."""
    coded = np.zeros((HEIGHT, WIDTH, 3))
    coded[:128] = (np.arange(WIDTH) // 2 / 255)[None, :, None]
    bars = [(1, 1, 1), (0.75, 0.75, 0), (0, 0.75, 0.75), (0, 0.75, 0), (0.75, 0, 0.75),
            (0.75, 0, 0), (0, 0, 0.75), (0, 0, 0)]  # fmt: skip
    for k, bar in enumerate(bars):
        coded[128:, 64 * k : 64 * (k + 1)] = bar
    return coded


def _written(path: Path, codec: str) -> None:
    kind = clip_kind(path, codec)
    shape = ClipShape(WIDTH, HEIGHT, RATE, 1 / RATE, TAGS)
    light = clip_encoding(TAGS).curves[0].decode(_coded()).astype(np.float32)
    segments = []
    for number in range(2):
        segments.append(path.with_name(f"{number}{kind.segment_ending}"))
        writer = SegmentWriter(segments[-1], kind, shape)
        for _ in range(3):
            writer.add(light)
        writer.close()
    join_segments(path, kind, segments, [0, 3], shape)


@pytest.mark.parametrize("codec", CODECS)
def test_a_clip_is_to_others_what_it_is_to_us(tmp_path: Path, codec: str) -> None:
    """Frames, time stamps, rate, tags, and ramp and bars within one code of the standard.

    The codecs that lose something are held to that in the mean, and to 3 codes of 8 bits anywhere
    inside ramp and bars; FFV1, which loses nothing, to one code everywhere.
    """
    if codec not in codecs_there():
        pytest.skip(f"no encoder for {codec} here")
    kind = CODECS[codec]
    path = tmp_path / f"a{kind.endings[0]}"
    _written(path, codec)
    found = _probe(path)
    stream = found["streams"][0]
    times = [float(frame["pts_time"]) for frame in found["frames"]]

    assert int(stream["nb_read_frames"]) == 6
    assert times == pytest.approx([k / float(RATE) for k in range(6)], abs=6e-4)
    assert stream["avg_frame_rate"] == "24000/1001"
    tags = [stream.get(f"color_{name}") for name in ("space", "transfer", "primaries", "range")]
    assert tags == ["bt709", "bt709", "bt709", "tv"]

    coded = _coded()
    luma = coded @ [KR, 1 - KR - KB, KB]
    wanted = [16 + 219 * luma]
    wanted += [128 + 224 * (coded[..., c] - luma) / (2 * (1 - k)) for c, k in ((2, KB), (0, KR))]
    unit = 4 if kind.bits == 10 else 1
    for got, full in zip(_codes(path, kind.pixels), wanted, strict=True):
        step = (HEIGHT // got.shape[0], WIDTH // got.shape[1])
        want = np.rint(unit * full)[:: step[0], :: step[1]]
        off = np.abs(got - want)
        off = off[
            :, np.arange(off.shape[1]) % (64 // step[1]) > 3
        ]  # thinned colour at a bar's edge
        off = np.delete(off, range(off.shape[0] // 2 - 4, off.shape[0] // 2 + 4), axis=0)
        if codec == "ffv1":
            assert off.max() <= 1
        assert off.mean() <= 1
        assert off.max() <= 3 * unit


@pytest.mark.parametrize(
    ("codec", "pixels", "name"),
    [("libx264", "yuv420p", "a.mp4"), ("libx264", "yuv422p10le", "a.mkv"),
     ("mjpeg", "yuvj420p", "a.avi"), ("ffv1", "yuv444p", "a.mkv")],
)  # fmt: skip
def test_we_read_what_others_read(tmp_path: Path, codec: str, pixels: str, name: str) -> None:
    """Frame count, times and greys as FFmpeg's programs see them, within one code of 8 bits."""
    made = street(5, WIDTH, HEIGHT)
    made[:] = made.mean(axis=3, keepdims=True).astype(np.uint8)  # grey: no thinned colour
    path = write_clip(tmp_path / name, made, codec=codec, pixels=pixels)
    found, clip = _probe(path), open_clip(path)

    assert len(clip.times) == int(found["streams"][0]["nb_read_frames"])
    times = [float(frame["pts_time"]) for frame in found["frames"]]
    assert [float(t) for t in clip.times] == pytest.approx([t - times[0] for t in times], abs=1e-3)
    bits = "10le" if "10" in pixels else ""
    luma = _codes(path, pixels)[0]
    unit = 4 if bits else 1
    black, size = (0, 255) if "j" in pixels else (16 * unit, 219 * unit)
    light = next(ClipReader(clip).frames(0, 1))
    kr, kb = matrix_weights(clip.tags)
    seen = clip.encoding.curves[0].encode(light) @ [kr, 1 - kr - kb, kb] * 255
    want = np.clip((luma - black) / size * 255, 0, None)

    assert np.percentile(np.abs(seen - want), 99) <= 1.0
