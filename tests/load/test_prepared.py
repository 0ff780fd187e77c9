"""What a shot becomes when it is loaded."""

from pathlib import Path

from PIL import Image

from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import Shot, merged


def test_a_photo_has_a_file_and_no_scene_of_words(tmp_path: Path) -> None:
    """Its file is kept for profile and EXIF; description, view and built world are a scene's."""
    path = tmp_path / "roof.png"
    Image.new("RGB", (60, 40)).save(path)
    given = {"view": "60", "height": "12", "pitch": "down 20"}

    made = prepare(merged(Shot(picture=str(path)), given, "{name}"), silent)

    assert made.file is not None
    assert (made.description, made.view, made.built) == (None, None, None)


def test_a_scene_carries_its_words_and_its_view() -> None:
    """So that nobody reads or builds it again."""
    made = prepare(merged(Shot(scene="bench"), {"width": "96"}, "{name}"), silent, for_render=False)

    assert made.file is None
    assert made.description is not None
    assert made.description.name == "bench"
    assert made.view is not None
    assert made.built is not None
