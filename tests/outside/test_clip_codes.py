"""Even patches through every codec and both matrices, as an outside decoder sees them.

Code values are those of ITU-R BT.709-6 (07/2015), items 1.2, 3.2 to 3.4 and 4.6: E' by the curve
of item 1.2, Y' = 0.2126 R' + 0.7152 G' + 0.0722 B', quantized as round(219 E' + 16) 2^(n-8), and
of ITU-R BT.601-7, 2.5.1 to 2.5.3, for the weights 0.299, 0.587, 0.114. The decoder is the FFmpeg
of the system, not the one that wrote them.
"""

import json
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tifffile import imread

from render.files.clips.kinds import clip_kind, codecs_there
from render.files.clips.tags import ColourTags
from render.files.clips.writing import ClipShape, SegmentWriter, join_segments
from render.files.formats.colour.profiles import read_profile
from render.jobs.film import film
from render.load.progress import silent
from render.scene.colour import SRGB
from render.shot.filmwishes import FilmWishes
from render.shot.shot import Shot, merged
from tests.clips import write_clip

WIDE, HIGH = 320, 160
#: Colour bars of ITU-R BT.471-1 at 75 %, as R', G', B'.
BARS = [(0.75 * r, 0.75 * g, 0.75 * b) for g in (1, 0) for r in (1, 0) for b in (1, 0)]
FILES = {
    "h264": "a.mp4",
    "hevc": "b.mp4",
    "prores": "c.mov",
    "dnxhr": "d.mov",
    "ffv1": "e.mkv",
}
needs_decoder = pytest.mark.skipif(
    shutil.which("ffmpeg") is None, reason="FFmpeg's own programs are not installed"
)


def _coded() -> np.ndarray:
    """R'G'B' of 16 greys above 8 colour bars, each a large even patch."""
    coded = np.empty((HIGH, WIDE, 3))
    for k in range(16):
        coded[: HIGH // 2, 20 * k : 20 * (k + 1)] = k / 15
    for k, bar in enumerate(BARS):
        coded[HIGH // 2 :, 40 * k : 40 * (k + 1)] = bar
    return coded


def _light(coded: np.ndarray) -> np.ndarray:
    """Linear light by the inverse of BT.709's item 1.2."""
    return np.where(coded < 0.081, coded / 4.5, ((coded + 0.099) / 1.099) ** (1 / 0.45))


def _theory(coded: np.ndarray, weights: tuple[float, float], bits: int) -> np.ndarray:
    """Y', C'B, C'R code values, not rounded."""
    kr, kb = weights
    red, green, blue = np.moveaxis(coded, -1, 0)
    luma = kr * red + (1 - kr - kb) * green + kb * blue
    cb, cr = (blue - luma) / (2 * (1 - kb)), (red - luma) / (2 * (1 - kr))
    return np.stack([219 * luma + 16, 224 * cb + 128, 224 * cr + 128]) * 2 ** (bits - 8)


def _written(folder: Path, codec: str, tags: ColourTags, timecode: str = "") -> Path:
    path = folder / FILES[codec]
    kind = clip_kind(path, codec)
    rate = Fraction(24000, 1001)
    shape = ClipShape(WIDE, HIGH, rate, 1 / rate, tags)
    light = _light(_coded()).astype(np.float32)
    parts = []
    for number in range(2):
        parts.append(folder / f"{codec}{number}{kind.segment_ending}")
        writer = SegmentWriter(parts[-1], kind, shape)
        for _ in range(3):
            writer.add(light)
        writer.close()
    join_segments(path, kind, parts, [0, 3], shape, sound=None, timecode=timecode, note="")
    return path


def _decoded(path: Path, bits: int) -> np.ndarray:
    """The last frame's code values, chroma repeated for every pixel, by the system's decoder."""
    form = "yuv444p" if bits == 8 else "yuv444p10le"
    raw = subprocess.run(
        ["ffmpeg", "-v", "error", "-i", path, "-vf", "scale=flags=neighbor", "-pix_fmt", form,
         "-f", "rawvideo", "-"],
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    codes = np.frombuffer(raw, np.uint8 if bits == 8 else "<u2")
    return codes.reshape(-1, 3, HIGH, WIDE)[-1].astype(float)


@needs_decoder
@pytest.mark.parametrize("codec", FILES)
def test_greys_and_bars_are_within_a_code_of_the_standard(codec: str, tmp_path: Path) -> None:
    """The middle of every patch, whatever codec: a code of 8 bits where it loses, half without."""
    if codec not in codecs_there():
        pytest.skip(f"no encoder for {codec}")
    bits = clip_kind(Path(FILES[codec]), codec).bits
    for tags, weights in (
        (ColourTags(1, 1, 1, False), (0.2126, 0.0722)),
        (ColourTags(6, 6, 6, False), (0.299, 0.114)),
    ):
        found = _decoded(_written(tmp_path, codec, tags), bits)
        want = _theory(_coded(), weights, bits)
        most = 0.51 if codec == "ffv1" else 2 ** (bits - 8)
        for top, size in ((0, 20), (HIGH // 2, 40)):
            for left in range(0, WIDE, size):
                at = (slice(None), top + HIGH // 4, left + size // 2)
                assert np.abs(found[at] - want[at]).max() <= most, (codec, tags, top, left)


@needs_decoder
def test_an_outside_probe_reads_the_time_code(tmp_path: Path) -> None:
    """As SMPTE ST 12-1 writes it."""
    path = _written(tmp_path, "prores", ColourTags(1, 1, 1, False), "01:02:03:04")
    said = subprocess.run(
        ["ffprobe", "-v", "error", "-show_streams", "-select_streams", "v:0", "-of", "json", path],
        capture_output=True, check=True,
    ).stdout  # fmt: skip

    assert json.loads(said)["streams"][0]["tags"]["timecode"] == "01:02:03:04"


@pytest.mark.parametrize("ending", ["webp", "gif"])
def test_an_animation_keeps_greys_bars_and_its_time(ending: str, tmp_path: Path) -> None:
    """Also of a still: each patch within a code of its sRGB still (IEC 61966-2-1), 30 a second."""
    codes = np.rint(255 * _coded()).astype(np.uint8)
    Image.fromarray(codes).save(tmp_path / "bars.png")
    place = {"view": "50", "height": "12", "pitch": "12", "f": "64", "format": "36x18"}
    wishes = FilmWishes(clip_s=0.4, frames_per_s=Fraction(30))
    shot = merged(Shot(picture=str(tmp_path / "bars.png")), place, "{name}")
    film(shot, wishes, tmp_path / f"a.{ending}", progress=silent)
    with Image.open(tmp_path / f"a.{ending}") as picture:
        lasts_ms = 0
        for number in range(picture.n_frames):  # type: ignore[attr-defined]
            picture.seek(number)
            picture.load()
            lasts_ms += picture.info["duration"]
        found = np.asarray(picture.convert("RGB")).astype(int)

    assert lasts_ms == 400
    assert found.shape[0] == HIGH
    for top, size in ((0, 20), (HIGH // 2, 40)):
        for left in range(0, WIDE, size):
            at = (top + HIGH // 4, left + size // 2)
            assert np.abs(found[at] - codes[at]).max() <= 1, at


@pytest.mark.parametrize("name", ["a.gif", "a.webp", "f%d.png", "f%d.jpg", "f%d.tif"])
def test_what_is_made_of_a_clip_looks_like_it(name: str, tmp_path: Path) -> None:
    """Screens show BT.709 and sRGB codes alike: in a picture of a clip they stay what they were.

    Within 2 codes, as the clip's own 8 bits of luma and colour difference and JPEG's are coarser.
    """
    codes = np.rint(255 * _coded()).astype(np.uint8)
    write_clip(tmp_path / "bars.mp4", np.stack([codes] * 5), pixels="yuv444p")
    place = {"view": "50", "height": "12", "pitch": "12", "f": "64"}
    shot = merged(Shot(picture=str(tmp_path / "bars.mp4")), place, "{name}")
    film(shot, FilmWishes(), tmp_path / name, progress=silent)
    path = tmp_path / name.replace("%d", "1")
    if path.suffix == ".tif":
        found = imread(path) / 257.0
    else:
        with Image.open(path) as picture:
            found = np.asarray(picture.convert("RGB")).astype(float)
            profile = picture.info.get("icc_profile")
            said = read_profile(profile) if profile else SRGB
            assert said is not None
            assert float(said.curves[0].decode(0.5)) == pytest.approx(0.2140, abs=2e-4)

    for top, size in ((0, 20), (HIGH // 2, 40)):
        for left in range(0, WIDE, size):
            at = (top + HIGH // 4, min(left + size // 2, found.shape[1] - 1))
            assert np.abs(found[at] - codes[at]).max() <= 2, at
