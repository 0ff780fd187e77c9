"""Telltales: found, placed, ranked, kept apart."""

import numpy as np
import pytest

from render.judge.telltales import place_words
from render.judge.verdict import judge


def test_flat_ground_has_none(roof):
    """Blur that follows depth everywhere betrays nothing."""
    found = judge(roof().scene(), roof().setting(4.0))

    assert found.telltales == ()
    assert not found.telltale_map.numbers.any()


def test_a_tower_in_the_band_comes_first_with_its_place(roof, front):
    """An 18 m block standing in the band at the left heads the list and is outlined."""
    here = roof()
    block = front(here.foot_m, 18.0, -9.5, -5.0)
    low = front(here.foot_m, 5.0, 3.0, 7.0)
    found = judge(here.scene([low, block]), here.setting(4.0))
    first = found.telltales[0]
    inside = found.telltale_map.numbers == 1

    assert first.place == "left, upper third"
    assert first.depth_m == pytest.approx(56, abs=2)
    assert first.blur > 3 * first.model_blur
    assert inside[first.box.rows, first.box.columns].sum() == inside.sum()
    assert inside.mean() == pytest.approx(first.area_share)
    assert "left, upper third" in first.sentence


@pytest.mark.parametrize(
    ("height_m", "blur", "model"), [(18, 0.0425, 0.0058), (10, 0.0224, 0.0031), (5, 0.0109, 0.0015)]
)
def test_blur_at_the_top_of_a_thing_in_the_band(roof, height_m, blur, model):
    """Tops of things standing in the band at f/4 are blurred as computed, a model's far less."""
    here = roof()
    pitch = np.radians(here.pitch_deg)
    x = here.foot_m
    depth = x * np.cos(pitch) + (here.height_m - height_m) * np.sin(pitch)
    down = (here.height_m - height_m) * np.cos(pitch) - x * np.sin(pitch)
    row = down / depth
    setting = here.setting(4.0)
    found = judge(here.scene(), setting).measures
    slope_height = here.camera().height_px / here.camera().focal_px
    lens_blur = abs(
        0.0225 * (1 / depth - 1 / here.focus_m + row * np.sin(np.radians(8)) / 0.09) / slope_height
    )
    model_blur = abs(found.slope / depth + found.intercept) / slope_height

    assert lens_blur == pytest.approx(blur, rel=0.02)
    assert model_blur < lens_blur
    assert 0.0225 * abs(1 / depth - 1 / here.focus_m) / slope_height < model


def test_two_towers_apart_are_two_telltales(roof, front):
    """Left and right towers of one kind are told apart and both outlined."""
    here = roof()
    pair = [front(here.foot_m, 12.0, side * 7 - 2, side * 7 + 2) for side in (-1, 1)]
    found = judge(here.scene(pair), here.setting(2.8))
    places = {thing.place.split(",")[0] for thing in found.telltales}

    assert {"left", "right"} <= places
    assert set(np.unique(found.telltale_map.numbers)) == set(range(len(found.telltales) + 1))


def test_one_tower_behind_another_is_two_things(roof, front):
    """Things that touch in the picture but not in depth are kept apart."""
    here = roof()
    fronts = [front(52.0, 14.0, -4.0, 0.0), front(62.0, 16.0, 0.0, 5.0)]
    found = judge(here.scene(fronts), here.setting(2.8))
    depths = sorted(round(thing.depth_m) for thing in found.telltales[:2])

    assert depths == [54, 64]


def test_a_thin_mast_is_found_in_a_large_picture(roof, front):
    """At 4 Mpx a mast 12 pixels wide is still a telltale (it leans in the picture)."""
    here = roof(size_px=(2400, 1600))
    px = here.focus_m / here.camera().focal_px
    mast = front(here.foot_m, 15.0, 5.0, 5.0 + 12 * px)
    found = judge(here.scene([mast]), here.setting(2.8))

    assert any(
        thing.box.width <= 40 and thing.place.startswith("right") for thing in found.telltales
    )


def test_the_ground_is_never_named(roof, front):
    """A terrace bends the fit so that the ground before it tells too: nobody can move that."""
    here = roof()
    terrace = front(here.foot_m, 18.0, -100.0, 100.0)
    found = judge(here.scene([terrace]), here.setting(4))
    named = found.telltale_map.numbers[found.telltale_map.numbers.shape[0] * 4 // 5 :]

    assert found.telltales
    assert not named.any()


def test_what_is_named_differs_so_that_it_is_seen(roof, front):
    """A difference of signs alone is not seen: both blurs are, and differ by half a percent."""
    here = roof()
    for stop in (2.8, 5.6):
        spire = front(1.6 * here.foot_m, 18.0, -1.0, 1.0)
        for thing in judge(here.scene([spire]), here.setting(stop)).telltales:
            assert abs(thing.blur - thing.model_blur) > 0.004


def test_places_are_thirds():
    """Corners and centre by name."""
    assert place_words(0.0, 0.0) == "left, upper third"
    assert place_words(0.99, 0.99) == "right, lower third"
    assert place_words(0.5, 0.5) == "centre, middle third"
