"""The plan of a film."""

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from render.errors import InputError, SettingError
from render.film.order import FilmOrder
from render.jobs.filming.opening import open_film
from render.jobs.filming.plan import plan_film, still_light
from render.load.progress import silent
from render.load.scenes import load_scene
from render.shot.placekeys import PlaceKeys
from render.shot.shot import Shot, merged
from render.world.night import under_the_sun
from tests.clips import street, write_clip
from tests.film.test_steady import seen
from tests.jobs.test_film import _shot, _wishes


def _plan(folder: Path, source: Path, out: str = "b.mp4", **wishes: str) -> tuple[FilmOrder, str]:
    order = FilmOrder(
        _shot(source), _wishes(**wishes), folder / out, folder / "parts", (), (), Fraction(25),
        Fraction(1, 25),
    )  # fmt: skip
    planned, remarks = plan_film(order, open_film(order, silent), silent)
    return planned, "\n".join(remarks)


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of 100 frames whose camera stands still."""
    return write_clip(tmp_path_factory.mktemp("plate") / "a.mp4", street(20).repeat(5, axis=0))


def test_a_clip_is_cut_into_segments_of_about_a_second(plate: Path, tmp_path: Path) -> None:
    """100 frames: four times 24, and 4; its camera stood still."""
    order, said = _plan(tmp_path, plate)

    assert [each.stop - each.start for each in order.segments] == [24, 24, 24, 24, 4]
    assert order.tick == Fraction(1, 25)
    assert "stood still" in said
    assert order.mark


def test_a_models_pace_is_the_root_of_its_scale(plate: Path, tmp_path: Path) -> None:
    """1:100 runs ten times as fast: 10 frames are left; the source of the rule is said."""
    order, said = _plan(tmp_path, plate, speed="model 1:100")

    assert len(order.moments) == 10
    assert "10 times as fast as life (Froude" in said
    assert "over in 0.4 s (10 frames): 4 s of film need a clip of 40 s" in said
    assert "(1 frame)" in _plan(tmp_path, plate, speed="model 1:100", clip="0.04 s")[1]


def test_a_change_of_light_that_a_film_does_not_follow_is_said() -> None:
    """A quarter of an hour of dusk, an hour of afternoon; not a minute of it, nor no date."""
    town = load_scene("street")
    town = under_the_sun(town, 270.0, 0.0, "2026-03-20T18:15+00:00")
    dusk = PlaceKeys(at_deg=(0.0, 0.0), when="2026-03-20T18:15+00:00")
    (said,) = still_light(dusk, town, 900.0)
    assert re.search(r"light of 18:15.*by 18:30.*falls by \d\.\d stops, which the film does", said)
    assert still_light(dusk, town, 10.0) == []
    (said,) = still_light(replace(dusk, when="2026-03-20T14:00+00:00"), town, 3600.0)
    assert "the last frame, the sun moves on by about 15°, which" in said
    assert still_light(PlaceKeys(), load_scene("street"), 3600.0) == []
    own = replace(town, light=replace(town.light, at_deg=(0.0, 0.0)))  # as a scene file says it
    assert still_light(PlaceKeys(), own, 900.0) == still_light(dusk, town, 900.0)


def test_a_part_is_filmed(plate: Path, tmp_path: Path) -> None:
    """From 1 s to 3 s of four: 50 frames, the first at 0; --clip cuts it shorter."""
    order, _ = _plan(tmp_path, plate, **{"from": "1 s", "to": "3 s"})

    assert len(order.moments) == 50
    assert order.moments[0].picks == (25,)
    assert order.moments[0].at_s == 0
    assert len(_plan(tmp_path, plate, clip="0.4 s")[0].moments) == 10


def test_a_rate_that_varies_is_kept_or_made_constant(tmp_path: Path) -> None:
    """A clip keeps it, a rate that is asked for makes it even; both are said."""
    stamps = [0, 4, 20, 24, 60, 64]
    source = write_clip(tmp_path / "v.mp4", street(6), stamps=stamps)
    kept, said = _plan(tmp_path, source)

    assert [kept.stamp(k) * kept.tick * 100 for k in range(6)] == stamps
    assert "keep their own times" in said
    even, said = _plan(tmp_path, source, fps="10")
    assert even.constant
    assert "made constant" in said


def test_a_still_needs_something_that_moves(tmp_path: Path) -> None:
    """Or a length."""
    from PIL import Image

    Image.fromarray(street(1)[0]).save(tmp_path / "a.png")

    with pytest.raises(SettingError, match="--key, --reveal or"):
        _plan(tmp_path, tmp_path / "a.png")
    assert len(_plan(tmp_path, tmp_path / "a.png", clip="2 s")[0].moments) == 50


def test_a_hand_held_clip_is_steadied_when_asked(tmp_path: Path) -> None:
    """Refused as it is; with --steady told how far it turned, and how well its frames fit."""
    turns = [(0.0, 0.0, 0.0), (0.4, 0.0, 0.0), (0.3, -0.5, 0.2), (0.0, 0.2, 0.0)]
    frames = np.rint(255 * np.array([seen(turn) for turn in turns])).astype(np.uint8)
    path = write_clip(tmp_path / "hand.mkv", frames, codec="ffv1", pixels="yuv444p")
    with pytest.raises(InputError, match="with --steady"):
        _plan(tmp_path, path)
    _, said = _plan(tmp_path, path, steady="true")

    assert re.search(r"turned by up to 0\.6\d?°, features agree to 0\.\d px", said)


def test_a_scene_in_which_nothing_moves_says_so(tmp_path: Path) -> None:
    """A crate alone; with a lens that turns there is something to see."""
    path = tmp_path / "crate.toml"
    path.write_text(
        'line = "A crate."\n[vantage]\nstand_m = [0, -9]\nheight_m = 3\nlook_at_m = [0, 0, 0]\n'
        '[[things]]\nkind = "box"\nname = "crate"\n'
    )
    shot = merged(Shot(scene=str(path)), {"width": "64"}, "{name}")

    def said(**wishes: str) -> str:
        order = FilmOrder(
            shot, _wishes(clip="0.2 s", **wishes), tmp_path / "f%02d.png", tmp_path / "parts",
            (), (), Fraction(25), Fraction(1, 25),
        )  # fmt: skip
        return "\n".join(plan_film(order, open_film(order, silent), silent)[1])

    assert "nothing moves" in said()
    assert "nothing moves" not in said(reveal="0.1 s")
