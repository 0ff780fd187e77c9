"""The contact strip."""

from PIL import Image

from render.sheets.strip import StripMoment, contact_strip


def _texts(moves: bool) -> list[str]:
    picture = Image.new("RGB", (320, 200))
    moments = [StripMoment(picture, f"{k} s", f"90 mm, f/{k}") for k in (2, 3, 4)]
    drawn = contact_strip(moments, title="pond.mp4", moves=moves)
    return [each.text for each in drawn.texts()]


def test_every_moment_says_its_time() -> None:
    """And its setting where the lens moves; else the setting stands once, above."""
    moved, still = _texts(True), _texts(False)

    for words in ("pond.mp4", "2 s", "3 s", "4 s"):
        assert words in moved
        assert words in still
    assert "90 mm, f/3" in moved
    assert still.count("90 mm, f/2") == 1
    assert "90 mm, f/3" not in still
