"""Clips written in segments: the same frames, however they are cut, with tags and sound."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from render.files.clips.kinds import CODECS, clip_kind, codecs_there
from render.files.clips.reading import ClipReader, open_clip
from render.files.clips.tags import ColourTags
from render.files.clips.writing import ClipShape, SegmentWriter, Sound, join_segments
from tests.clips import street, write_clip

RATE = Fraction(24000, 1001)
TAGS = ColourTags(1, 1, 1, False)


def _written(
    path: Path, lights: list[np.ndarray], cuts: list[int], codec: str, **more: object
) -> tuple[str, ...]:
    kind = clip_kind(path, codec)
    height, width = lights[0].shape[:2]
    shape = ClipShape(width, height, RATE, 1 / RATE, TAGS)
    segments, starts = [], [0, *cuts]
    for number, (a, b) in enumerate(zip(starts, [*cuts, len(lights)], strict=True)):
        segment = path.with_name(f"{path.stem}{len(cuts)}-{number}{kind.segment_ending}")
        writer = SegmentWriter(segment, kind, shape)
        for light in lights[a:b]:
            writer.add(light)
        writer.close()
        segments.append(segment)
    return join_segments(path, kind, segments, starts, shape, **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def lights(tmp_path_factory: pytest.TempPathFactory) -> list[np.ndarray]:
    """Twelve frames of linear light."""
    path = write_clip(tmp_path_factory.mktemp("source") / "a.mp4", street(12, 128), sound=True)
    return list(ClipReader(open_clip(path)).frames(0, 12))


@pytest.mark.parametrize("codec", CODECS)
def test_frames_tags_and_times_come_back(
    tmp_path: Path, lights: list[np.ndarray], codec: str
) -> None:
    """Each codec that is there holds every frame, the rate as a fraction, and the tags."""
    if codec not in codecs_there():
        pytest.skip(f"no encoder for {codec} here")
    if codec == "dnxhr":  # it has no smaller size
        lights = [np.tile(light, (2, 2, 1)) for light in lights]
    path = tmp_path / f"a{CODECS[codec].endings[-1 if codec == 'ffv1' else 0]}"
    _written(path, lights, [5], codec)
    clip = open_clip(path)
    back = list(ClipReader(clip).frames(0, 12))

    assert clip.tags == TAGS
    assert len(clip.times) == 12
    assert float(clip.rate) == pytest.approx(float(RATE), rel=1e-3)
    assert codec == "ffv1" or clip.rate == RATE
    for got, want in zip(back, lights, strict=True):
        off = clip.encoding.curves[0].encode(got) - clip.encoding.curves[0].encode(want)
        assert np.abs(off).mean() < 0.02


def test_no_loss_where_none_is_promised(tmp_path: Path, lights: list[np.ndarray]) -> None:
    """FFV1 of 10 bits gives the light back within half a code of 10 bits (BT.709-6: 876 steps)."""
    path = tmp_path / "a.mkv"
    _written(path, lights, [], "ffv1")
    clip = open_clip(path)
    curve = clip.encoding.curves[0]

    for got, want in zip(ClipReader(clip).frames(0, 12), lights, strict=True):
        off = np.abs(curve.encode(got) - curve.encode(want))
        assert off.max() < 2.5 / 876  # luma and two differences, each rounded, weighed by 1.86


@pytest.mark.parametrize(("ending", "codec"), [(".mp4", "h264"), (".mkv", "ffv1")])
def test_cuts_leave_no_trace(
    tmp_path: Path, lights: list[np.ndarray], ending: str, codec: str
) -> None:
    """The same cuts give the same bytes, and time runs on without a gap over any of them."""
    paths = [tmp_path / f"one{ending}", tmp_path / f"two{ending}"]
    for path in paths:
        _written(path, lights, [4, 8], codec)

    assert paths[0].read_bytes() == paths[1].read_bytes()
    assert [float(t * RATE) for t in open_clip(paths[0]).times] == pytest.approx(range(12))


def test_sound_is_carried_as_it_is(tmp_path: Path) -> None:
    """Its packets are copied, those before the part left out."""
    source = write_clip(tmp_path / "s.mp4", street(50, 128), sound=True)
    lights = list(ClipReader(open_clip(source)).frames(0, 50))[25:]
    path = tmp_path / "a.mp4"
    lost = _written(path, lights, [], "h264", sound=Sound(source, 1.0, 2.0))

    assert lost == ()
    with av.open(str(path)) as made, av.open(str(source)) as told:
        after = [bytes(p) for p in made.demux(made.streams.audio[0]) if p.size]
        before = [bytes(p) for p in told.demux(told.streams.audio[0]) if p.size]
    assert len(after) == pytest.approx(44100 / 1024, abs=2)
    assert after == before[-len(after) :]


def test_frames_may_keep_their_own_times(tmp_path: Path, lights: list[np.ndarray]) -> None:
    """Stamps count in ticks; a varying rate is written as it was."""
    path = tmp_path / "a.mp4"
    kind, tick = clip_kind(path, None), Fraction(1, 100)
    shape = ClipShape(128, 64, Fraction(10), tick, TAGS)
    stamps = [0, 4, 20, 24, 60]
    segments = []
    for number, part in enumerate((stamps[:2], stamps[2:])):
        segments.append(tmp_path / f"s{number}.mov")
        writer = SegmentWriter(segments[-1], kind, shape)
        for stamp, light in zip(part, lights, strict=False):
            writer.add(light, stamp - part[0])
        writer.close()
    join_segments(path, kind, segments, [0, 20], shape)

    assert [float(t) * 100 for t in open_clip(path).times] == pytest.approx(stamps)


def test_a_time_code_is_kept(tmp_path: Path, lights: list[np.ndarray]) -> None:
    """In .mov, where it has a track of its own; elsewhere its loss is said."""
    lost = _written(tmp_path / "a.mov", lights, [4], "prores", timecode="01:02:03:04")
    said = _written(tmp_path / "a.mkv", lights, [4], "ffv1", timecode="01:02:03:04")

    assert open_clip(tmp_path / "a.mov").timecode == "01:02:03:04"
    assert lost == ()
    assert "time code" in said[0]


@pytest.mark.parametrize("codec", ["h264", "hevc"])
def test_no_step_is_seen_where_a_segment_begins(tmp_path: Path, codec: str) -> None:
    """Faint grain goes on changing as it did: squares of 8 px step little more at a key picture."""
    rng = np.random.default_rng(3)
    still = gaussian_filter(rng.uniform(0.05, 0.6, (160, 240)), 2.0)
    lights = []
    for _ in range(24):
        grain = gaussian_filter(rng.standard_normal(still.shape), 1.5)
        light = still * (1 + 0.003 * grain / grain.std())
        lights.append(np.repeat(light[..., None], 3, axis=2).astype(np.float32))
    _written(tmp_path / "a.mp4", lights, [12], codec)
    with av.open(str(tmp_path / "a.mp4")) as clip:
        luma = [frame.to_ndarray(format="gray16le") / 257 for frame in clip.decode(video=0)]
    squares = np.diff(luma, axis=0).reshape(23, 20, 8, 30, 8).mean(axis=(2, 4))
    steps = np.sqrt(np.mean(squares**2, axis=(1, 2)))

    assert steps[11] < 1.5 * np.median(steps[6:11])
