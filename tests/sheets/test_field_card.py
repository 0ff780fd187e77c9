"""The field card: small pages, legible type, everything on them and nothing cut."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image

from render.judge.case import Case, look
from render.judge.verdict import Verdict, judge_case
from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusDistance, FocusSpot, LensSetting
from render.optics.solving.holding import leaned_words, ring_words
from render.optics.solving.limits import RingReading
from render.optics.solving.targets import Target
from render.plan.card import FieldCard, plan_card
from render.plan.cautions import Place
from render.plan.exposure import brightness_from_weather
from render.plan.stand import Stand
from render.plan.timelapse import LensTurn
from render.scene.scene import Scene
from render.sheets.drawing.canvas import Picture
from render.sheets.field_card import CardPictures, card_pages
from render.sheets.slice import Slice, slice_scene
from render.shot.wishes import DayWishes
from render.words import length_words

SETTING = LensSetting(focal_mm=45, f_number=2.8, tilt_deg=-8, focus=FocusSpot(0, 0.05, 28.0))


def _scene(width: int, height: int) -> Scene:
    camera = Camera(width, height, 1.04 * math.hypot(width, height))
    falls = np.maximum(camera.grid()[1] * math.cos(0.33) + math.sin(0.33), 0.01)
    depth = np.repeat((11.0 / falls)[:, None], width, axis=1).astype(np.float32)
    light = np.random.default_rng(1).random((height, width, 3), np.float32)
    return Scene(light, depth, camera, vantage=Vantage(11, 19))


@cache
def _judged(setting: LensSetting, size: tuple[int, int]) -> tuple[Scene, Case, Verdict, Slice]:
    scene = _scene(*size)
    case = look(scene)
    return scene, case, judge_case(case, setting), slice_scene(scene, setting, 0.03, "side")


def _card(
    setting: LensSetting, size: tuple[int, int], place: Place, named: tuple[Target, ...] = ()
) -> tuple[FieldCard, CardPictures]:
    scene, case, verdict, section = _judged(setting, size)
    sun, wishes = brightness_from_weather("sun"), DayWishes(place=place, sun_in_frame=True)
    stand = Stand(11.0, 19.0, 250.0, "by the harbour wall")
    card = plan_card(case, verdict, scene.picture, sun, wishes, named=named, stand=stand)
    photo = Image.new("RGB", size, (120, 120, 120))
    return card, CardPictures(photo, section, "27.0 m to 29.1 m along the ground")


@pytest.mark.parametrize("size", [(120, 80), (80, 120), (200, 50)])
@pytest.mark.parametrize("place", list(Place))
def test_cards_are_legible_and_nothing_is_cut(size: tuple[int, int], place: Place) -> None:
    """A6 pages, no type under 9 pt but numbers in rings, all of it inside the page."""
    moved = replace(SETTING, swing_deg=3.5, rise_mm=6.0, lateral_mm=-4.0)
    pages = card_pages(*_card(moved, size, place), "Harbour at noon " * 8)

    assert len(pages) <= 4
    for page in pages:
        assert page.width == pytest.approx(105 * 72 / 25.4)
        assert page.height == pytest.approx(148 * 72 / 25.4)
        for item in page.texts():
            assert item.size >= 9 or item.text in "1234"
            assert item.x >= 10
            assert item.x + item.width <= page.width - 10
            assert 0 < item.y <= page.height - 10


def test_the_front_holds_what_to_dial_in() -> None:
    """Setting, focus, band, exposure, interval, checks and a caution stand on the first page."""
    card, pictures = _card(SETTING, (240, 160), Place.ROOF)
    front = card_pages(card, pictures, "Harbour at noon")[0]
    text = " | ".join(item.text for item in front.texts())

    for words in ("45 mm", "lens up 8°", "f/2.8", "27.0 m to 29.1 m", "ISO 100", "1 crisp"):
        assert words in text
    assert f"record {card.video.record_s:.0f} s at 25 a second" in text
    assert f"mark 1, {length_words(card.checks[0].depth_m)} (axis)" in text
    leaned = leaned_words(card.ring, SETTING, card.checks[0].depth_m)
    assert leaned == f"which tilt makes {length_words(card.checks[0].depth_m)}"
    assert f"Focus ring | {ring_words(card.ring)}, {leaned}" in text  # in one row
    straight, near = replace(SETTING, tilt_deg=0.0), RingReading(0.633, 0.0, 0.0)
    assert leaned_words(card.ring, straight, card.checks[0].depth_m) == ""
    at = replace(straight, focus=FocusDistance(0.585))
    assert leaned_words(near, at, 0.585) == "from the sensor, 0.585 m from the lens"
    assert "11.0 m up, 19° down, heading 250°" in text
    assert "Tripod | by the harbour wall" in text
    assert "stops of neutral density" in text
    assert "clips: " in text
    assert "4 soft" in text
    assert card.cautions[0][:20] in text
    assert sum(isinstance(item, Picture) for item in front.items) == 1


def test_the_backs_hold_every_step_and_caution_once() -> None:
    """Nothing of the plan's order and cautions is lost between pages."""
    card, pictures = _card(SETTING, (240, 160), Place.ROOF)
    pages = card_pages(card, pictures, "Harbour at noon")
    backs = " ".join(item.text for page in pages[1:] for item in page.texts())

    shown = [each.sentence(card.limits) for each in card.shown]
    assert len(shown) > 2
    for sentence in (*card.setting_up, *card.cautions[1:], *card.bring, *card.vary, *shown):
        assert " ".join(sentence.split()) in backs
    assert len(pages) <= 4


def test_what_a_long_front_leaves_free_holds_a_list() -> None:
    """Where the checks need a page of their own, and all is still there once."""
    card, pictures = _card(SETTING, (240, 160), Place.ROOF)
    turns = tuple(
        LensTurn(n, 60.0 * n, None, "tilt up 8, swing left 3, focus 30%,60%, f/2.8, height 12")
        for n in (1, 2)
    )
    pages = card_pages(replace(card, turns=turns), pictures, "Harbour at noon")
    front, second = ([item.text for item in page.texts()] for page in pages[:2])

    assert "1 crisp" in " ".join(second)
    assert {"Bring", "Vary"} & set(front)
    assert sum(item.text == "Vary" for page in pages for item in page.texts()) == 1


def test_named_things_stand_on_the_front_and_in_the_section() -> None:
    """Two faces by name: to focus on, to check, and marked where they are."""
    faces = (Target(0, 0.05, 28.0, name="Ann"), Target(0.1, 0.05, 30.0, name="Ben"))
    card, pictures = _card(SETTING, (240, 160), Place.GROUND, faces)
    pages = card_pages(card, pictures, "Two at the wall")
    front = " | ".join(item.text for item in pages[0].texts())
    last = " | ".join(item.text for page in pages[1:] for item in page.texts())

    assert "Ann, 28.0 m (axis)" in front
    assert "1 Ann: crisp" in front
    assert "2 Ben: " in front
    assert " | 1 | 2 | " in last  # by the numbers of the front: names hide a small section
    assert "from the side" in last
