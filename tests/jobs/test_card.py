"""The field card's job, called from Python."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
from PIL import Image

from render.errors import InputError, OutputError, SettingError
from render.jobs.card import card
from render.load.progress import silent
from render.shot.keyframes import key_frame
from render.shot.shot import Shot, merged, shot_keys
from render.shot.wishes import DayWishes
from tests.fonts import square_font

GIVEN = {"view": "24", "height": "20", "pitch": "20", "lens": "90", "f": "4", "tilt": "up 8"}


def _shot(folder: Path, exif: bool, time_s: float = 1 / 500) -> Shot:
    cells = np.random.default_rng(1).integers(0, 255, (80, 120, 3), dtype=np.uint8)
    path = folder / "square.jpg"
    tags = Image.Exif()
    if exif:
        inner = tags.get_ifd(0x8769)
        inner[0x829A], inner[0x829D], inner[0x8827] = (time_s, 8.0, 200)
    Image.fromarray(cells).save(path, exif=tags)
    return merged(Shot(picture=str(path)), GIVEN, "{name}")


def test_the_card_holds_every_part_in_words_and_as_a_record(tmp_path: Path) -> None:
    """Cautions before anything else; each sentence of the record is on the card."""
    carded = card(_shot(tmp_path, False), DayWishes(weather="sun"), progress=silent)
    text = "\n".join(carded.lines)

    assert json.loads(json.dumps(carded.record, allow_nan=False)) == carded.record
    assert text.index("Local rules") < text.index("Setting up")
    for part in ("cautions", "setting_up", "vary", "bring"):
        assert all(line in text for line in carded.record[part])
    for part in ("checks", "tolerances"):
        assert all(entry["sentence"] in text for entry in carded.record[part])
    assert carded.record["verdict"]["sentence"] in text


def test_the_light_comes_from_the_picture_s_own_exposure(tmp_path: Path) -> None:
    """f/8, 1/500 s, ISO 200: EV 14; the weather overrides it."""
    shot = _shot(tmp_path, True)
    own = card(shot, DayWishes(), progress=silent).record["exposure"]
    told = card(shot, DayWishes(weather="overcast"), progress=silent).record["exposure"]

    assert own["brightness"]["ev100"] == pytest.approx(13.97, abs=0.01)
    assert own["brightness"]["source"] == "the picture's own exposure"
    assert told["brightness"]["ev100"] < own["brightness"]["ev100"]


def test_unknown_light_asks_for_the_weather(tmp_path: Path) -> None:
    """Without EXIF and weather: one sentence with the conditions known."""
    with pytest.raises(InputError, match="--weather, one of snow or sand, sun"):
        card(_shot(tmp_path, False), DayWishes(), progress=silent)


def test_no_light_is_brighter_than_the_sun_of_the_planned_moment(tmp_path: Path) -> None:
    """A photo is planned for dusk as a map is: the sun tells, and dims weather and its exposure."""
    place = {"at": "47.0,-30.0", "when": "2026-06-21T20:15-02:00", "heading": "18"}
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
    bare, exposed = _shot(tmp_path / "a", False), _shot(tmp_path / "b", True)

    def light(shot: Shot, weather: str | None = None, **given: str) -> dict[str, Any]:
        told = merged(shot, {**place, **given}, "{name}")
        made = card(told, DayWishes(weather=weather), progress=silent)
        return made.record["exposure"]["brightness"]

    dusk = light(bare)
    assert dusk["source"] == "clear sky, the sun 3° below the horizon"
    assert 4 < dusk["ev100"] < 7
    assert light(bare, "sun")["ev100"] == pytest.approx(dusk["ev100"])
    assert light(bare, "overcast")["ev100"] == pytest.approx(dusk["ev100"] - 3, abs=0.1)
    assert light(exposed)["ev100"] == pytest.approx(dusk["ev100"])
    # a photo by day is exposed for dusk as it was for day: no more of it clips
    told = merged(exposed, {**place, "height": "30"}, "{name}")
    by_day, at_dusk = (
        card(shot, wishes, progress=silent)
        for shot, wishes in (
            (merged(told, {"when": "2026-06-21T12:00-02:00"}, "{name}"), DayWishes()),
            (told, DayWishes(interval_s=10.0, on_site_s=1200.0)),
        )
    )
    clipped = [made.record["histogram"]["clipped_share"] for made in (by_day, at_dusk)]
    assert clipped[1] == pytest.approx(clipped[0], abs=0.02)
    # the light of a take through dusk, from the published illuminances of twilight
    take = at_dusk.record["take"]
    later = light(bare, when="2026-06-21T20:35-02:00")["ev100"]
    assert take["lost_stops"] == pytest.approx(dusk["ev100"] - later, abs=0.01)
    assert take["lost_stops"] > 1
    assert any("give 1/3 stop more, " in line for line in at_dusk.lines)
    assert not any("1/3 stop" in line for line in by_day.lines)
    lamps = card(told, DayWishes(weather="lamplight", interval_s=10.0), progress=silent)
    assert lamps.record["take"]["lost_stops"] == 0
    noon = light(exposed, when="2026-06-21T12:00-02:00")
    assert noon["source"] == "the picture's own exposure"
    late = _shot(tmp_path / "b", True, time_s=1.0)  # EV 5, taken at dusk: not the light of noon
    assert light(late, when="2026-06-21T12:00-02:00")["ev100"] == pytest.approx(14.6, abs=0.1)


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
        card(_shot(tmp_path, False), DayWishes(**{"weather": "sun", **wrong}), progress=silent)


def test_a_demo_scene_lies_in_the_sun(tmp_path: Path) -> None:
    """Without weather a demo scene's card is planned for sun, and says so."""
    path = tmp_path / "yard.toml"
    path.write_text(
        'line = "A yard."\n[vantage]\nstand_m = [0, -30]\nheight_m = 12\nlook_at_m = [0, 0, 0]\n'
        '[setting]\ntilt = "up 8"\n[[things]]\nkind = "box"\nsize_m = [4, 3, 2]\n'
    )
    shot = merged(Shot(scene=str(path)), {"width": "90"}, "{name}")
    carded = card(shot, DayWishes(), progress=silent)
    path.write_text(path.read_text().replace("[setting]", '[setting]\nfocus_on = "crate"'))
    path.write_text(path.read_text().replace('kind = "box"', 'kind = "box"\nname = "crate"'))
    named = card(shot, DayWishes(), progress=silent)
    assert named.record["focused"] == "the crate"
    assert any("at full aperture on the crate, " in line for line in named.lines)

    assert carded.record["exposure"]["brightness"]["source"] == "sun, by sunny 16"
    assert carded.record["timelapse"]["look"] == "model"


@pytest.fixture
def plain(tmp_path: Path) -> Shot:
    """A grey plain seen from 11 m, focused at its left."""
    path = tmp_path / "plain.png"
    Image.new("RGB", (240, 160), (90, 120, 150)).save(path)
    given = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "focus": "5%,60%"}
    return merged(Shot(picture=str(path)), given, "{name}")


def test_the_pages_are_text_and_the_same_each_time(plain: Shot, tmp_path: Path) -> None:
    """Pages whose words can be searched, the same each time; the focus lies in what is sharp."""
    wishes = DayWishes(weather="sun")
    made = [card(plain, wishes, tmp_path / f"{n}.pdf", progress=silent) for n in "ab"]
    pages = pypdf.PdfReader(tmp_path / "a.pdf").pages

    assert made[0].files == (tmp_path / "a.pdf",)
    assert made[0].lines[-1] == f"Wrote: {tmp_path / 'a.pdf'}"
    assert len(pages) == 4
    assert "lens up 8°" in pages[0].extract_text()
    assert "Plain" in pages[0].extract_text()
    assert "on flat ground" in pages[0].extract_text()
    words = pages[0].extract_text().replace("\n", " ")
    found = re.search(r"([\d.]+) m on .*Sharp, mark 1 *([\d.]+) m to ([\d.]+) m along", words)
    assert found is not None
    focus, near, far = map(float, found.groups())
    assert near < focus < far
    assert "In this order" in pages[1].extract_text()
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_every_key_frame_of_a_film_has_its_ring(plain: Shot) -> None:
    """The film holds the spot in focus: the straight lens's ring stands at it, counted from the
    sensor, the tilted one's at 1/v by the lens's pivot; an extension is kept as it is.
    """
    keys = shot_keys()
    frames = (key_frame("0 s", {"tilt": "0"}, keys), key_frame("3 s", {"tilt": "up 8"}, keys))
    moving = replace(plain, key_frames=frames)

    def told(**more: str) -> Any:
        return card(merged(moving, more, "{name}"), DayWishes(weather="sun"), progress=silent)

    made = told(**{"lens-file": "standard 45"})
    first, last = made.record["turns"]
    depth_m = made.record["checks"][0]["depth_m"]
    assert first["ring"]["distance_m"] == pytest.approx(depth_m + 0.045, abs=0.01)
    assert last["extension_mm"] == pytest.approx(made.record["setting"]["extension_mm"])
    ring = made.record["setting"]["focus_ring_words"]
    assert last["sentence"].endswith(f"tilt up 8, ring {ring}")
    assert "what is in focus stays in focus" in made.record["between"]
    assert made.record["between"].endswith("all else on this card is for lens up 8°")
    assert not any("own centre" in line for line in made.lines)
    kept = told(lens="45", focus="extension 45.07 mm")
    assert [turn["extension_mm"] for turn in kept.record["turns"]] == [45.07, 45.07]
    assert "the extension stays as it is" in kept.record["between"]
    assert any("tilts about its own centre" in line for line in kept.lines)
    assert any("for a frame of 36 x 24 mm; " in line for line in kept.lines)


def test_a_title_in_another_script_is_set_and_its_font_named(
    plain: Shot, tmp_path: Path, only_fonts_in: Callable[[Path], None]
) -> None:
    """The pages hold the letters as text; the answer says where they come from."""
    (tmp_path / "fonts").mkdir()
    square_font(tmp_path / "fonts" / "Squares.ttf", "夏の港")
    only_fonts_in(tmp_path / "fonts")
    made = card(
        plain, DayWishes(weather="sun", title="夏の港"), tmp_path / "c.pdf", progress=silent
    )

    assert "夏の港" in pypdf.PdfReader(tmp_path / "c.pdf").pages[0].extract_text()
    notes = [line for line in made.lines if "bundled font lacks" in line]
    assert len(notes) == 1
    assert str(tmp_path / "fonts" / "Squares.ttf") in notes[0]


def test_bad_names_and_titles_are_refused(plain: Shot, tmp_path: Path) -> None:
    """Another ending, a file that is there, and letters the font lacks."""
    (tmp_path / "mine.pdf").write_text("mine")
    sun = DayWishes(weather="sun")
    with pytest.raises(OutputError, match=r"written as \.pdf"):
        card(plain, sun, tmp_path / "card.png", progress=silent)
    with pytest.raises(OutputError, match="there already"):
        card(plain, sun, tmp_path / "mine.pdf", progress=silent)
    with pytest.raises(InputError, match="would print wrong"):
        card(plain, DayWishes(weather="sun", title="מרפא"), tmp_path / "c.pdf", progress=silent)

    assert not (tmp_path / "c.pdf").exists()
    assert (tmp_path / "mine.pdf").read_text() == "mine"


@pytest.mark.parametrize(
    ("sun_up", "ground", "light"),
    [
        (-5, "none = true", "lamplight, by sunny 16"),
        (40, "none = true", "window light, by sunny 16"),
        (40, "", "sun, by sunny 16"),
        (-5, "", "clear sky, the sun 5° below the horizon"),
    ],
)
def test_a_scene_s_own_light_is_what_is_exposed_for(
    tmp_path: Path, sun_up: int, ground: str, light: str
) -> None:
    """Lamps, windows or the sun, by what the scene says of itself."""
    path = tmp_path / "crate.toml"
    path.write_text(
        f"""line = "A crate."
[vantage]
stand_m = [0, -4]
height_m = 1.5
[light]
sun_height_deg = {sun_up}
[ground]
{ground}
[[things]]
kind = "box"
name = "crate"
size_m = [3, 2, 3]
"""
    )
    shot = merged(Shot(scene=str(path)), {"width": "64"}, "{name}")
    made = card(shot, DayWishes(), progress=silent)

    assert made.record["exposure"]["brightness"]["source"].startswith(light)
    assert not any("parapet" in line for line in made.lines)


def test_at_night_the_street_lamps_are_exposed_for(tmp_path: Path) -> None:
    """10 lx are EV log2(100 x 10 / 250) = 2 (C = 250, ISO 2720); without them it is refused."""
    scene = tmp_path / "street.toml"
    words = (
        'line = "A street."\n[light]\ndate = "2026-09-20T23:00+02:00"\nplace_deg = [47.0, 15.0]\n'
    )
    scene.write_text(f'{words}[[things]]\nkind = "lamp post"\nat_m = [0.0, 0.0]\n')
    shot = merged(Shot(scene=str(scene)), {"width": "96", "focus": "40 m"}, "{name}")
    text = "\n".join(card(shot, DayWishes(), progress=silent).lines)
    assert "planned for 23:00 on 20 September 2026: sun at" in text  # as the file dates it
    assert "a head torch each" in text
    scene.write_text(words)

    found = re.search(r"EV \S+ at ISO 100 \(clear sky, the sun \d+° below the horizon.*?\)", text)
    assert found is not None
    assert found[0].startswith("EV 2.0 ")
    assert "street lamps lit, other lamps not counted)" in found[0]
    with pytest.raises(InputError, match="no lamps"):
        card(shot, DayWishes(), progress=silent)
