"""Light given back to clipped lamps before a picture goes through the lens."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from render.jobs.board import board
from render.jobs.compare import compare
from render.live.places import Places
from render.load.highlights import MOCKUP_STOPS, lift_words, lifted, stops_of
from render.load.prepare import prepare
from render.load.progress import silent
from render.scene.resize import averaged
from render.shot.shot import Shot, merged
from render.shot.wishes import BoardWishes


def _night(folder: Path, **given: str) -> Shot:
    """A dark square from 12 m up with a lamp of 3 x 3 clipped pixels."""
    path = folder / "night.png"
    codes = np.full((240, 360, 3), 40, np.uint8)
    codes[59:62, 179:182] = 255
    Image.fromarray(codes).save(path)
    values = {"height": "12", "horizon": "10%", "focal-35": "36", "lens": "36", "f": "2.8"}
    values |= {"tilt": "up 8", "focus": "50%,80%"}
    given = {key.replace("_", "-"): value for key, value in given.items()}
    return merged(Shot(picture=str(path)), {**values, **given}, "{name}")


def _day(shot: Shot) -> Shot:
    return replace(shot, taken=replace(shot.taken, lift_stops=None))


def test_mock_ups_lift_unless_told_otherwise(tmp_path: Path) -> None:
    """The shot's own number wins; where it says nothing the usual of the job holds."""
    plain = prepare(_night(tmp_path), silent)
    asked = prepare(_night(tmp_path, lift_highlights="1.5"), silent)
    never = prepare(_night(tmp_path, lift_highlights="0"), silent)

    assert [stops_of(one, MOCKUP_STOPS) for one in (plain, asked, never)] == [3.0, 1.5, 0.0]
    assert lifted(plain) is plain
    gain = lifted(plain, MOCKUP_STOPS).scene.picture / plain.scene.picture
    assert set(np.unique(gain)) == {1.0, 8.0}
    assert (gain == 8.0).sum() == 27
    assert "up to 3 stops more light" in lift_words(plain, MOCKUP_STOPS, found=True)[0]
    assert lift_words(never, MOCKUP_STOPS, found=False) == ()


def test_a_floating_point_picture_is_left_alone(tmp_path: Path) -> None:
    """Its lamps carry the light they have; 8 and 16 bits are clipped and are lifted."""
    light = np.full((40, 60, 3), 0.05, np.float32)
    light[20:23, 30:33] = 1.0
    given = {"view": "60", "height": "12", "pitch": "down 20"}
    stops = []
    for name, codes in (("deep.tif", light), ("plain.tif", (light * 65535).astype(np.uint16))):
        tifffile.imwrite(tmp_path / name, codes, photometric="rgb")
        shot = merged(Shot(picture=str(tmp_path / name)), given, "{name}")
        stops.append(stops_of(prepare(shot, silent), MOCKUP_STOPS))

    assert stops == [0.0, MOCKUP_STOPS]


def test_a_source_with_its_full_light_is_left_alone(tmp_path: Path) -> None:
    """A demo scene is not clipped: nothing is lifted, and a wish for it is answered."""
    demo = prepare(
        merged(Shot(scene="bench"), {"width": "60", "lift-highlights": "3"}, "{name}"), silent
    )

    assert lifted(demo, MOCKUP_STOPS) is demo
    assert lift_words(demo, found=False) == (
        "no highlights were lifted: this source holds its full light already",
    )


def test_board_and_sheet_say_that_they_lift(tmp_path: Path) -> None:
    """Both tell the stops in their notes; with 0 stops they say nothing of it."""
    shot, plain = _night(tmp_path), _night(tmp_path, lift_highlights="0")
    boards = [
        board(one, tmp_path / f"{number}.pdf", BoardWishes(title="Square"), progress=silent)
        for number, one in enumerate((shot, plain))
    ]
    sheet = compare(shot, tmp_path / "a.png", across="f=2.8,8", cell_px=160, progress=silent)

    told = ["up to 3 stops more light" in " ".join(made.lines) for made in (*boards, sheet)]
    assert told == [True, False, True]


def test_without_a_clipped_lamp_nothing_is_lifted_or_said(tmp_path: Path) -> None:
    """A picture in which nothing clips stays itself; only a wish for more light is answered."""
    shot = _night(tmp_path, lift_highlights="3")
    Image.new("RGB", (360, 240), (200, 190, 180)).save(tmp_path / "night.png")
    day = prepare(shot, silent)
    made = board(_day(shot), tmp_path / "day.pdf", BoardWishes(title="Square"), progress=silent)

    assert lifted(day) is day
    assert "no small clipped spot" in lift_words(day, found=False)[0]
    assert not any("more light" in line for line in made.lines)


@pytest.mark.parametrize("frame_px", [20_000, 86_400])
def test_the_page_lifts_before_it_shrinks(tmp_path: Path, frame_px: int) -> None:
    """A lamp of three pixels keeps all its light at any size it is looked at."""
    places = Places()
    prepared = places.planned(_night(tmp_path, lift_highlights="3"), frame_px)
    _, file = places.opened(prepared.shot)

    scene = places.lifted(prepared)

    height, width = scene.picture.shape[:2]
    lamp = file.light.copy()
    lamp[59:62, 179:182] *= 8
    np.testing.assert_allclose(scene.picture, averaged(lamp, height, width), atol=1e-5)
    gained = scene.picture.mean(dtype=float) - prepared.scene.picture.mean(dtype=float)
    assert gained == pytest.approx(9 * 7 / (240 * 360), rel=0.02)
