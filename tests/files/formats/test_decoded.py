"""What the readers of picture files share."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError
from render.files.formats.decoded import exif_block, opened, plain, resolution, space_of


def test_our_own_guard_of_sizes_replaces_pillows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A picture above Pillow's limit opens, Pillow's limit stands afterwards, ours is asked."""
    Image.new("L", (40, 30)).save(tmp_path / "a.png")
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
    with opened(tmp_path / "a.png") as image:
        assert image.size == (40, 30)
    assert Image.MAX_IMAGE_PIXELS == 100

    monkeypatch.setattr("render.files.memory.free_bytes", lambda: 1000)
    with pytest.raises(InputError, match=r"a\.png"), opened(tmp_path / "a.png"):
        pass


def test_small_questions() -> None:
    """EXIF with and without its head, resolutions that can't be, channels."""
    assert exif_block(b"Exif\0\0II*\0") == b"II*\0"
    assert exif_block(b"") is None
    assert resolution((300, 300)) == (300.0, 300.0)
    for odd in (None, (0, 0), (float("nan"), 72), (72,), "ab"):
        assert resolution(odd) is None
    assert space_of(np.zeros((2, 2, 2))) == "grey"
    assert plain(Image.new("1", (2, 2))).mode == "L"
