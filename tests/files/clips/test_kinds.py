"""Kinds of clips, asked of the library."""

from pathlib import Path

import pytest

from render.errors import OutputError
from render.files.clips import kinds
from render.files.clips.kinds import CODECS, check_held, clip_kind, codecs_there


def test_an_ending_suggests_a_codec() -> None:
    """To look at in .mp4, to work on in .mov, without loss in .mkv."""
    assert clip_kind(Path("a.mp4"), None).name == "h264"
    assert clip_kind(Path("a.mov"), None).name == "prores"
    assert clip_kind(Path("a.MKV"), None).name == "ffv1"
    assert clip_kind(Path("a.mp4"), "hevc").bits == 10


def test_a_codec_that_the_container_does_not_hold_is_refused() -> None:
    """ProRes in .mp4: where it goes is said."""
    with pytest.raises(OutputError, match=r"\.mov, \.mkv"):
        clip_kind(Path("a.mp4"), "prores")


def test_an_encoder_that_is_not_there_is_said_with_those_that_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The library is asked, never assumed."""
    monkeypatch.setattr(kinds, "codecs_there", lambda: ("ffv1",))

    with pytest.raises(OutputError, match="no encoder for HEVC, 10 bits; it has ffv1"):
        clip_kind(Path("a.mp4"), "hevc")


def test_the_library_here_has_some() -> None:
    """What is there is among what is known."""
    assert set(codecs_there()) <= set(CODECS)
    assert "ffv1" in codecs_there()


@pytest.mark.parametrize(
    ("codec", "width", "height"),
    [
        ("hevc", 62, 300),
        ("hevc", 300, 62),
        ("dnxhr", 254, 200),
        ("dnxhr", 300, 118),
        ("h264", 1, 9),
    ],
)
def test_a_size_that_a_codec_does_not_take_is_refused(codec: str, width: int, height: int) -> None:
    """Before anything is coded: x265 would write past its memory."""
    with pytest.raises(OutputError, match="and more, not"):
        check_held(CODECS[codec], width, height)
    check_held(CODECS[codec], 256, 120)
