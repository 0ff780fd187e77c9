"""Close-ups: sharp where the plan is sharp, and what the whole photograph holds there."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from render.engine.photograph import photograph
from render.engine.quality import FINAL
from render.jobs.close_ups import CloseUp, chosen_close_ups, take_close_ups
from render.load.highlights import to_take
from render.load.prepare import prepare
from render.load.prepared import Prepared
from render.load.progress import silent
from render.optics.camera import Window
from render.optics.plane import focus_lens
from render.optics.solving.targets import Target
from render.scene.field import frame_field
from render.sheets.drawing.screen import screen_picture
from render.shot.shot import Shot, merged

GIVEN = {"view": "44", "height": "11", "pitch": "down 19", "tilt": "up 8", "f": "2.8"}


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """A plain with detail everywhere, seen from 11 m, in focus at a spot."""
    rng = np.random.default_rng(4)
    path = tmp_path_factory.mktemp("plain") / "plain.png"
    Image.fromarray(rng.integers(30, 220, (300, 450, 3), dtype=np.uint8)).save(path)
    shot = merged(Shot(picture=str(path)), GIVEN | {"focus": "30%,58%"}, "{name}")
    return prepare(shot, silent)


def _blur_mm(prepared: Prepared, place: CloseUp) -> float:
    """In the middle of a place."""
    field = frame_field(prepared.scene, prepared.setting)
    window = place.window(prepared.scene.frame)
    blur = 2 * field.lens.aperture_radius_mm * np.abs(field.defocus)
    return float(blur[window.top + window.height // 2, window.left + window.width // 2])


def test_one_place_is_sharp_near_the_focus_and_one_is_soft(plain: Prepared) -> None:
    """By the blur of the plan; both as large as asked for, inside the frame."""
    sharp, soft = chosen_close_ups(plain, 60, 40)

    assert _blur_mm(plain, sharp) <= plain.coc_mm
    assert _blur_mm(plain, soft) > 4 * plain.coc_mm
    assert abs(sharp.left + sharp.width / 2 - 0.30) < 0.15
    for place in (sharp, soft):
        window = place.window(plain.scene.frame)
        assert (window.width, window.height) == (60, 40)


def test_the_second_place_is_the_thing_that_the_other_settings_lose(plain: Prepared) -> None:
    """Of two things named the one the straight lens blurs; a soft place where it blurs neither.

    Two places never show the same, however alike all of the picture is.
    """
    straight = replace(plain.setting, tilt_deg=0.0)
    lens = focus_lens(plain.setting)
    spots = [(-0.3, 0.043), (0.3, 0.043), (0.0, -0.1)]  # two in the row of the focus, one above it
    named = replace(
        plain,
        named=tuple(
            Target(x, y, 1 / float(lens.sharp_inverse_depth((x, y))), name=f"{x}") for x, y in spots
        ),
    )
    first, second = chosen_close_ups(named, 60, 40, [straight])
    alone = chosen_close_ups(named, 60, 40, [plain.setting])
    deep = replace(plain, setting=replace(straight, f_number=200.0))
    for places in ((first, second), alone, chosen_close_ups(deep, 200, 150)):
        assert not places[0].overlaps(places[1])

    assert (first.planned, second.planned) == ("sharp", "sharp")
    assert second.left + second.width / 2 == pytest.approx(0.5, abs=0.01)
    assert alone[1].planned == "soft"
    assert chosen_close_ups(deep, 60, 40)[1].planned == "sharp"


def test_stops_that_look_alike_small_differ_in_the_soft_place_alone(plain: Prepared) -> None:
    """From f/8 to f/16 the sharp place keeps its detail, and the soft one gains."""
    chosen = chosen_close_ups(plain, 60, 40)
    detail = []
    for f_number in (8.0, 16.0):
        setting = replace(plain.setting, f_number=f_number)
        close = take_close_ups(to_take(plain), setting, chosen, plain.encoding)
        detail.append([float(np.asarray(one).std()) for one in (close.first, close.second)])
    (sharp_8, soft_8), (sharp_16, soft_16) = detail

    assert sharp_16 < 1.1 * sharp_8
    assert soft_16 > 1.3 * soft_8


def test_it_is_cut_out_of_the_photograph(plain: Prepared) -> None:
    """To a code value, though only as much round it was taken as blur can reach."""
    place = CloseUp(0.6, 0.7, 0.1, 0.12)
    whole = photograph(plain.scene, plain.setting, quality=FINAL).light
    window = place.window(Window(0, 0, 450, 300))
    expected = screen_picture(whole[window.rows, window.columns], plain.encoding)
    chosen = (place, place)
    found = take_close_ups(to_take(plain), plain.setting, chosen, plain.encoding).second

    assert found.size == expected.size
    apart = np.abs(np.asarray(found, int) - np.asarray(expected, int))
    assert apart.max() <= 1
