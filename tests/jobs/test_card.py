"""The field card's job, called from Python."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, SettingError
from render.jobs.card import DayWishes, card_shot
from render.load.progress import silent
from render.shot.shot import Shot, merged

GIVEN = {"view": "24", "height": "20", "pitch": "20", "lens": "90", "f": "4", "tilt": "up 8"}


def _shot(folder: Path, exif: bool) -> Shot:
    cells = np.random.default_rng(1).integers(0, 255, (80, 120, 3), dtype=np.uint8)
    path = folder / "square.jpg"
    tags = Image.Exif()
    if exif:
        inner = tags.get_ifd(0x8769)
        inner[0x829A], inner[0x829D], inner[0x8827] = (1 / 500, 8.0, 200)
    Image.fromarray(cells).save(path, exif=tags)
    return merged(Shot(picture=str(path)), GIVEN, "{name}")


def test_the_card_holds_every_part_in_words_and_as_a_record(tmp_path: Path) -> None:
    """Cautions before anything else; each sentence of the record is on the card."""
    carded = card_shot(_shot(tmp_path, False), DayWishes(weather="sun"), progress=silent)
    text = "\n".join(carded.lines)

    assert json.loads(json.dumps(carded.record, allow_nan=False)) == carded.record
    assert text.index("Local rules") < text.index("Setting up")
    for part in ("cautions", "setting_up", "vary", "bring"):
        assert all(line in text for line in carded.record[part])
    for part in ("checks", "tolerances"):
        assert all(entry["sentence"] in text for entry in carded.record[part])
    assert carded.judged.verdict.sentence in text


def test_the_light_comes_from_the_picture_s_own_exposure(tmp_path: Path) -> None:
    """f/8, 1/500 s, ISO 200: EV 14; the weather overrides it."""
    shot = _shot(tmp_path, True)
    own = card_shot(shot, DayWishes(), progress=silent).card.exposure
    told = card_shot(shot, DayWishes(weather="overcast"), progress=silent).card.exposure

    assert own.brightness.ev100 == pytest.approx(13.97, abs=0.01)
    assert own.brightness.source == "the picture's own exposure"
    assert told.brightness.ev100 < own.brightness.ev100


def test_unknown_light_asks_for_the_weather(tmp_path: Path) -> None:
    """Without EXIF and weather: one sentence with the conditions known."""
    with pytest.raises(InputError, match="--weather, one of snow or sand, sun"):
        card_shot(_shot(tmp_path, False), DayWishes(), progress=silent)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"weather": "fog"}, "fog"),
        ({"place": "balloon"}, "balloon"),
        ({"interval_s": -2.0}, "interval"),
        ({"megapixels": 0.0}, "megapixels"),
        ({"iso": 0.0}, "ISO"),
    ],
)
def test_wishes_that_cannot_be_are_refused(tmp_path: Path, wrong, words: str) -> None:
    """One sentence each, naming the value."""
    with pytest.raises(SettingError, match=words):
        card_shot(_shot(tmp_path, False), DayWishes(**{"weather": "sun", **wrong}), progress=silent)


def test_a_demo_scene_lies_in_the_sun(tmp_path: Path) -> None:
    """Without weather a demo scene's card is planned for sun, and says so."""
    path = tmp_path / "yard.toml"
    path.write_text(
        'line = "A yard."\n[vantage]\nstand_m = [0, -30]\nheight_m = 12\nlook_at_m = [0, 0, 0]\n'
        '[setting]\ntilt = "up 8"\n[[things]]\nkind = "box"\nsize_m = [4, 3, 2]\n'
    )
    shot = merged(Shot(scene=str(path)), {"width": "90"}, "{name}")
    carded = card_shot(shot, DayWishes(), progress=silent)

    assert carded.card.exposure.brightness.source == "sun, by sunny 16"
    assert carded.record["timelapse"]["look"] == "model"
