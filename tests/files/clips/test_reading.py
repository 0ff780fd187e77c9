"""Clips as they come: codecs, rates, turns, pixels that are not square, and damage."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from render.errors import HingelineError, InputError
from render.files.clips.reading import ClipReader, open_clip
from tests.clips import street, write_clip


def _frames(path: Path) -> list[np.ndarray]:
    clip = open_clip(path)
    reader = ClipReader(clip)
    found = list(reader.frames(0, len(clip.times)))
    reader.close()
    return found


@pytest.mark.parametrize(
    ("codec", "pixels", "name", "off"),
    [
        ("libx264", "yuv420p", "a.mp4", 6.0),
        ("libx264", "yuv444p", "a.mkv", 2.0),
        ("mpeg4", "yuv420p", "a.avi", 9.0),
        ("ffv1", "bgr0", "a.mkv", 0.01),
        ("ffv1", "yuv422p10le", "a.nut", 4.0),
        ("mjpeg", "yuvj444p", "a.avi", 9.0),
        ("prores_ks", "yuv422p10le", "a.mov", 5.0),
        ("libvpx-vp9", "yuv420p", "a.webm", 12.0),
        ("rawvideo", "nv12", "a.nut", 6.0),
        ("gif", "rgb8", "a.gif", 40.0),
    ],
)
def test_frames_come_in_their_number_and_colours(
    tmp_path: Path, codec: str, pixels: str, name: str, off: float
) -> None:
    """Each codec gives every frame back, about in its colours (loss is the codec's own)."""
    made = street(6)
    path = write_clip(tmp_path / name, made, codec=codec, pixels=pixels)
    clip = open_clip(path)

    assert len(clip.times) == 6
    for light, want in zip(_frames(path), made, strict=True):
        got = clip.encoding.codes(light, 8).astype(float)
        if codec == "gif":
            continue  # a palette of 256 fixed colours: only its count and size are asked
        assert np.abs(got - want).mean() < off


def test_any_frame_can_be_begun_with(tmp_path: Path) -> None:
    """A jump gives the same light as reading up to there, frames between keys included."""
    path = write_clip(tmp_path / "a.mp4", street(150, 160), options={"g": "40", "bf": "2"})
    clip = open_clip(path)
    every = _frames(path)
    reader = ClipReader(clip)

    for number in (120, 7, 149, 0, 93):
        np.testing.assert_array_equal(next(reader.frames(number, number + 1)), every[number])


def test_rates_are_fractions(tmp_path: Path) -> None:
    """24000/1001 stays what it is; frames are times apart that add up."""
    clip = open_clip(write_clip(tmp_path / "a.mov", street(5), rate=Fraction(24000, 1001)))

    assert clip.rate == Fraction(24000, 1001)
    assert clip.times[4] == 4 * Fraction(1001, 24000)
    assert clip.constant


def test_a_rate_that_varies_is_told_and_kept(tmp_path: Path) -> None:
    """Each frame keeps its own time."""
    clip = open_clip(write_clip(tmp_path / "a.mp4", street(5), stamps=[0, 4, 20, 24, 60]))

    assert not clip.constant
    assert [float(t) for t in clip.times] == pytest.approx([0, 0.04, 0.20, 0.24, 0.60])
    assert any("varies" in remark for remark in clip.remarks)


def test_120_frames_a_second(tmp_path: Path) -> None:
    """A high rate is nothing special."""
    assert open_clip(write_clip(tmp_path / "a.mp4", street(5), rate=Fraction(120))).rate == 120


def test_pixels_that_are_not_square_are_made_square(tmp_path: Path) -> None:
    """Width is stretched by the sample aspect, and that is said."""
    path = write_clip(tmp_path / "a.mp4", street(3), aspect=Fraction(4, 3))
    clip = open_clip(path)

    assert (clip.width_px, clip.height_px) == (128, 64)
    assert _frames(path)[0].shape == (64, 128, 3)
    assert "128 x 64" in clip.remarks[0]


def test_pixels_of_no_shape_are_taken_as_square(tmp_path: Path) -> None:
    """A damaged aspect does not stretch a picture over all memory."""
    path = write_clip(tmp_path / "a.mov", street(3), aspect=Fraction(4, 3))
    data = bytearray(path.read_bytes())
    at = data.index(b"pasp") + 4
    data[at : at + 8] = (300).to_bytes(4, "big") + (1).to_bytes(4, "big")
    path.write_bytes(data)
    clip = open_clip(path)

    assert (clip.width_px, clip.height_px) == (96, 64)
    assert "times as wide as high: square" in clip.remarks[0]


def test_words_that_are_no_text_do_not_stop_a_clip(tmp_path: Path) -> None:
    """A name of a track whose bytes are no UTF-8."""
    path = write_clip(tmp_path / "a.mkv", street(3))
    data = path.read_bytes()
    assert b"Lavf" in data
    path.write_bytes(data.replace(b"Lavf", b"L\xff\xfef"))

    assert len(_frames(path)) == 3


def _damaged(tmp_path: Path) -> dict[str, Path]:
    """Clips that something is wrong with, by what it is."""
    whole = write_clip(tmp_path / "whole.mp4", street(40, 160), sound=True)
    stream = write_clip(tmp_path / "whole.mkv", street(40, 160), options={"g": "8"})
    data, matroska = whole.read_bytes(), stream.read_bytes()
    rng = np.random.default_rng(1)
    made: dict[str, bytes] = {"empty": b"", "text": b"no clip at all\n" * 50, "zeros": bytes(5000)}
    for share in (5, 30, 60, 90, 99):
        made[f"cut at {share} %"] = data[: len(data) * share // 100]
        made[f"stream cut at {share} %"] = matroska[: len(matroska) * share // 100]
    for name, mark in (("moov", b"moov"), ("stco", b"stco"), ("stsz", b"stsz"), ("avcC", b"avcC")):
        made[f"index without {name}"] = data.replace(mark, b"free")
    for seed in range(5):
        spoilt = bytearray(data)
        for at in rng.integers(200, len(spoilt), 40 * (seed + 1)):
            spoilt[at] ^= 0xFF
        made[f"spoilt {seed}"] = bytes(spoilt)
    made["end first"] = data[len(data) // 2 :] + data[: len(data) // 2]
    made["head only"] = data[:48]
    made["picture"] = b"\x89PNG\r\n\x1a\n" + bytes(64)
    made["twice"] = data + data
    found = {}
    for number, (name, content) in enumerate(made.items()):
        ending = ".mkv" if name.startswith("stream") else ".mp4"
        found[name] = tmp_path / f"damaged{number}{ending}"
        found[name].write_bytes(content)
    found["no picture"] = tmp_path / "sound.mp4"
    import av

    with av.open(str(found["no picture"]), "w") as out:
        ears = out.add_stream("aac", rate=44100)
        heard = av.AudioFrame.from_ndarray(np.zeros((1, 4096), np.float32), "fltp", "mono")
        heard.sample_rate = 44100
        for packet in [*ears.encode(heard), *ears.encode()]:
            out.mux(packet)
    small, large = street(4, 96), street(4, 128)
    one = write_clip(tmp_path / "one.h264", small, form="h264").read_bytes()
    two = write_clip(tmp_path / "two.h264", large, form="h264").read_bytes()
    found["size changes"] = tmp_path / "grows.h264"
    found["size changes"].write_bytes(one + two)
    at = data.index(b"mdat") + 4
    found["no frames"] = tmp_path / "none.mp4"
    found["no frames"].write_bytes(data[:at] + bytes(len(data) - at))
    found["not there"] = tmp_path / "nothing.mp4"
    return found


def test_damage_ends_in_one_sentence_or_in_all_frames(tmp_path: Path) -> None:
    """30 damaged clips: each is refused in one sentence, or every frame it names comes."""
    found = _damaged(tmp_path)
    refused = {}
    for name, path in found.items():
        try:
            clip = open_clip(path)
            frames = _frames(path)
        except HingelineError as error:
            refused[name] = str(error)
            continue
        assert len(frames) == len(clip.times), name
        assert all(np.isfinite(frame).all() for frame in frames), name

    assert len(found) >= 30
    for name, sentence in refused.items():
        assert "\n" not in sentence, name
        assert found[name].name in sentence, name
    for name in (
        "empty",
        "text",
        "cut at 5 %",
        "no picture",
        "size changes",
        "no frames",
        "not there",
    ):
        assert name in refused
    assert len(refused) >= 18


def test_a_clip_that_ends_early_says_so(tmp_path: Path) -> None:
    """A stream that was cut off is filmed as far as it goes, and that is told."""
    whole = write_clip(tmp_path / "whole.mkv", street(40, 160), options={"g": "8"})
    cut = tmp_path / "cut.mkv"
    cut.write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])

    assert open_clip(whole).remarks == ()
    assert "ends early" in open_clip(cut).remarks[0]


def test_an_interlaced_clip_is_refused(tmp_path: Path) -> None:
    """Two moments in one frame are no photograph."""
    path = write_clip(tmp_path / "a.mp4", street(4), options={"x264-params": "interlaced=1:tff=1"})

    with pytest.raises(InputError, match="interlaced"):
        open_clip(path)


@pytest.mark.parametrize(
    "content",
    [
        "ffconcat version 1.0\nfile other.mp4\n",
        "#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:1.0,\nother.mp4\n#EXT-X-ENDLIST\n",
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nt=0 0\nm=video 9 RTP/AVP 96\n",
    ],
)
@pytest.mark.parametrize("ending", ["mp4", "m3u8"])
def test_a_list_of_other_files_is_no_clip(tmp_path: Path, content: str, ending: str) -> None:
    """A stranger's list might name any file of this machine, or an address: none is followed."""
    write_clip(tmp_path / "other.mp4", street(3))
    (tmp_path / f"list.{ending}").write_text(content)

    with pytest.raises(InputError, match="is no clip that can be read"):
        open_clip(tmp_path / f"list.{ending}")
