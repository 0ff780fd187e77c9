"""Kinds of clips that are written: container, encoder and its settings, asked of the library."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from render.errors import OutputError
from render.extras import needed

__all__ = ["CLIP_ENDINGS", "CODECS", "ClipKind", "check_held", "clip_kind", "codecs_there"]


@dataclass(frozen=True, slots=True)
class ClipKind:
    """One way of coding a clip.

    Attributes
    ----------
    name : str
    words : str
        As people call it.
    encoder : str
        The library's name for it.
    pixels : str
        Its format of pixels.
    options : mapping
        Of the encoder. Threads are fixed, so that the same frames give the same bytes anywhere.
    least_px : tuple of int
        Width and height that it needs; x265 writes past its own memory below 64 px a side.
    endings : tuple of str
        Of files that hold it.
    bits_per_pixel : float
        What a pixel of a lively picture takes up, about (ours, from demo scenes).
    """

    name: str
    words: str
    encoder: str
    pixels: str
    endings: tuple[str, ...]
    bits_per_pixel: float
    options: Mapping[str, str] = field(default_factory=dict)
    least_px: tuple[int, int] = (2, 2)

    @property
    def bits(self) -> int:
        """Bits of a code value."""
        return 10 if "10" in self.pixels else 8

    @property
    def segment_ending(self) -> str:
        """Of the files its segments lie in."""
        return ".mkv" if self.endings == (".mkv",) else ".mov"

    @property
    def shared(self) -> tuple[int, int]:
        """Rows and columns that share a colour difference."""
        return (2, 2) if "420" in self.pixels else (1, 2) if "422" in self.pixels else (1, 1)


#: Faint grain is coded alike in every picture: left to themselves encoders freeze it until the next
#: key picture, where all of it changes at once.
_X264 = "deadzone-inter=6:deadzone-intra=6:no-dct-decimate=1"
_X265 = "open-gop=0:pools=2:frame-threads=1:log-level=none:repeat-headers=1:cutree=0"
CODECS = {
    kind.name: kind
    for kind in (
        ClipKind(
            "h264", "H.264", "libx264", "yuv420p", (".mp4", ".mov", ".mkv"), 0.5,
            MappingProxyType(
                {"crf": "14", "preset": "veryfast", "bf": "0", "x264-params": _X264}
            ),
        ),
        ClipKind(
            "hevc", "HEVC, 10 bits", "libx265", "yuv420p10le", (".mp4", ".mov", ".mkv"), 0.4,
            MappingProxyType({"crf": "14", "preset": "fast", "bf": "0", "x265-params": _X265}),
            (64, 64),
        ),
        ClipKind(
            "prores", "ProRes 422 HQ", "prores_ks", "yuv422p10le", (".mov", ".mkv"), 5.2,
            MappingProxyType({"profile": "3"}),
        ),
        ClipKind(
            "dnxhr", "DNxHR HQX", "dnxhd", "yuv422p10le", (".mov",), 4.3,
            MappingProxyType({"profile": "dnxhr_hqx"}), (256, 120),
        ),
        ClipKind(
            "ffv1", "FFV1, 10 bits, without loss", "ffv1", "yuv444p10le", (".mkv",), 16.0,
            MappingProxyType({"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}),
        ),
    )
}  # fmt: skip
#: What a name's ending means where no codec is named.
_USUAL = {".mp4": "h264", ".mov": "prores", ".mkv": "ffv1"}
CLIP_ENDINGS = tuple(_USUAL)


def check_held(kind: ClipKind, width_px: int, height_px: int) -> None:
    """Refuse a size that a codec does not take.

    Raises
    ------
    OutputError
        If it is too small.
    """
    width, height = kind.least_px
    if width_px < width or height_px < height:
        raise OutputError(
            f"{kind.words} takes {width} x {height} px and more, not {width_px} x {height_px}: "
            "take another --codec, or a larger picture"
        )


def codecs_there() -> tuple[str, ...]:
    """Names of the codecs that this installation can write."""
    av = needed("av", "a clip")
    return tuple(name for name, kind in CODECS.items() if kind.encoder in av.codecs_available)


def clip_kind(path: Path, codec: str | None) -> ClipKind:
    """How a clip of that name is coded.

    Raises
    ------
    OutputError
        If the ending does not hold the codec, or the library was built without its encoder.
    """
    ending = path.suffix.lower()
    kind = CODECS[codec or _USUAL[ending]]
    if ending not in kind.endings:
        raise OutputError(f"{path}: {kind.words} is written to {', '.join(kind.endings)}")
    there = codecs_there()
    if kind.name not in there:
        raise OutputError(
            f"{path}: this installation has no encoder for {kind.words}; it has {', '.join(there)}"
        )
    return kind
