"""Painted pictures and documents as files."""

from pathlib import Path

import pytest
from PIL import Image

from render.errors import OutputError
from render.files.painted import check_ending, profiled, write_bytes, write_painted


@pytest.mark.parametrize("ending", ["png", "jpg", "webp"])
def test_a_picture_is_written_with_its_profile(tmp_path: Path, ending: str) -> None:
    """By the name's ending, sRGB said in the file, a print's size where one is given."""
    path = tmp_path / f"a.{ending}"
    write_painted(path, Image.new("RGB", (30, 20), (200, 100, 50)), dpi=300)

    with Image.open(path) as image:
        assert image.size == (30, 20)
        assert image.info["icc_profile"] == profiled(Image.new("RGB", (1, 1))).info["icc_profile"]
        if ending != "webp":
            assert image.info["dpi"] == pytest.approx((300, 300), abs=0.1)


def test_nothing_is_written_over_unasked(tmp_path: Path) -> None:
    """Neither a file that is there, nor an input at all."""
    path = tmp_path / "a.png"
    path.write_text("mine")
    with pytest.raises(OutputError, match="there already"):
        write_bytes(path, b"new")
    with pytest.raises(OutputError, match="was read"):
        write_painted(path, Image.new("RGB", (3, 2)), overwrite=True, inputs=[path])

    assert path.read_text() == "mine"
    write_bytes(path, b"new", overwrite=True)
    assert path.read_bytes() == b"new"


def test_a_wrong_ending_is_answered_with_the_right_ones() -> None:
    """Longer ways to write an ending count as the short one."""
    check_ending(Path("a.JPEG"), "a sheet", ".png", ".jpg")
    check_ending(Path("a.htm"), "the page", ".html")
    with pytest.raises(OutputError, match=r"a\.gif: a sheet is written as \.svg, \.png or \.jpg"):
        check_ending(Path("a.gif"), "a sheet", ".svg", ".png", ".jpg")
