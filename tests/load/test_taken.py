"""The camera that took a picture."""

from pathlib import Path

import pytest
from PIL import Image

from render.errors import FrameError, InputError, SettingError
from render.files.pictures import read_picture
from render.load.taken import guessed_camera, on_paper, resting_on, taken_camera
from render.shot.shot import Shot, TakenKeys, merged


def _taken(**given: str) -> TakenKeys:
    named = {name.replace("_", "-"): text for name, text in given.items()}
    return merged(Shot(), named, "{name}").taken


@pytest.mark.parametrize(
    ("given", "focal_px"),
    [
        ({"view": "90"}, 150.0),
        ({"focal": "36", "sensor": "36x24"}, 300.0),
        ({"focal_35": "43.2666"}, 360.555),  # the diagonal of 36 x 24 mm: the picture's, in px
    ],
)
def test_what_is_given_says_how_wide_it_saw(
    tmp_path: Path, given: dict[str, str], focal_px: float
) -> None:
    """By angle, by lens and sensor, or by the 35 mm equivalent over the diagonal."""
    path = tmp_path / "p.png"
    Image.new("RGB", (300, 200)).save(path)

    camera = taken_camera(read_picture(path), _taken(**given)).camera

    assert camera.focal_px == pytest.approx(focal_px, rel=1e-4)


def test_a_picture_that_says_nothing_is_asked_about(tmp_path: Path) -> None:
    """The three ways to say it are named."""
    path = tmp_path / "p.png"
    Image.new("RGB", (300, 200)).save(path)

    with pytest.raises(InputError, match=r"p\.png: .*--focal-35.*--focal and --sensor.*--view"):
        taken_camera(read_picture(path), _taken())
    with pytest.raises(SettingError, match="--view and --focal-35 each say"):
        taken_camera(read_picture(path), _taken(view="60", focal_35="28"))


def test_a_picture_without_exif_is_guessed_and_said_to_be(tmp_path: Path) -> None:
    """As a telephone's lens, with how to put it right; what is said is never guessed over."""
    path = tmp_path / "p.png"
    Image.new("RGB", (300, 200)).save(path)
    file = read_picture(path)

    guess, known = guessed_camera(file, _taken()), guessed_camera(file, _taken(view="60"))

    assert guess.guessed
    assert guess.camera.focal_px == pytest.approx(28 / 43.2666 * 360.555, rel=1e-4)
    assert guess.how.startswith("guessed: ")
    assert guess.how.endswith("put it right with --focal-35 or --view")
    assert on_paper(guess.how).endswith("for the picture carries no EXIF")
    assert not known.guessed
    twice = resting_on((guess.how,)), resting_on((guess.how,))
    with pytest.raises(FrameError, match=r"is lost; guessed: .*--view$"), twice[0], twice[1]:
        raise FrameError("all is lost")
    with pytest.raises(SettingError, match=r"^it rains$"), resting_on((guess.how,)):
        raise SettingError("it rains")
