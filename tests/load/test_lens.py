"""The lens that a shot names, held to by everything that is made of the shot."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from render.errors import InputError, SettingError
from render.files.shots import read_shot, write_shot
from render.load.lens import limits_of, suggestion_inside, through_its_lens
from render.load.prepare import prepare
from render.load.progress import silent
from render.shot.shot import LensKeys, Shot, merged


@pytest.fixture
def roof(tmp_path: Path) -> Shot:
    """A picture from a roof, through a lens that comes with the program."""
    path = tmp_path / "roof.png"
    Image.fromarray(np.full((60, 90, 3), 99, np.uint8)).save(path)
    given = {"focal-35": "40", "height": "20", "pitch": "20", "lens-file": "standard 45"}
    return merged(Shot(picture=str(path)), given, "{name}")


def test_a_lens_gives_its_focal_length_and_widest_stop(roof: Shot) -> None:
    """Nothing else said, the shot is taken through the named lens, wide open, and says so."""
    prepared = prepare(roof, silent)

    assert prepared.limits is not None
    assert prepared.limits.name == "standard 45"
    assert (prepared.setting.focal_mm, prepared.setting.f_number) == (45, 2.8)
    assert any("f/2.8, wide open" in note for note in prepared.notes)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"tilt": "up 12"}, "the nearest is lens up 8°"),
        ({"tilt": "up 8", "swing": "left 3"}, "is 8.5° on its one axis"),
        ({"f": "1.4"}, "the nearest is f/2.8"),
        ({"rise": "up 14"}, "the nearest is rise 10 mm"),
        ({"lens": "60"}, "leave one of them out"),
        ({"lens-file": "long 900"}, "there is no lens"),
    ],
)
def test_what_the_lens_cannot_do_is_refused(
    roof: Shot, given: dict[str, str], sentence: str
) -> None:
    """Tilt, shift, f-number and focal length beyond the lens end in one sentence."""
    with pytest.raises((SettingError, InputError), match=sentence):
        prepare(merged(roof, dict(given), "--{name}"), silent)


def test_focus_past_an_end_of_the_ring_is_noted(roof: Shot) -> None:
    """A ring that does not turn so far is told with what helps; the picture is made anyway."""
    near = prepare(merged(roof, {"focus": "extension 60 mm"}, "{name}"), silent)

    assert any("focus ring of the lens standard 45 ends at" in note for note in near.notes)


def test_the_lens_is_written_down_with_the_shot(roof: Shot, tmp_path: Path) -> None:
    """A shipped lens stays its name, a lens file is found again beside the shot."""
    own = tmp_path / "mine.toml"
    own.write_text(
        'format = 1\nname = "mine"\nfocal-mm = 50\nf-numbers = [4, 16]\ntilt-limit-deg = 3\n'
        "closest-focus-m = 0.5\n"
    )
    shipped, mine = tmp_path / "a.toml", tmp_path / "b.toml"
    write_shot(shipped, roof)
    write_shot(mine, merged(roof, {"lens-file": str(own)}, "{name}"))

    assert 'lens-file = "standard 45"' in shipped.read_text()
    assert 'lens-file = "mine.toml"' in mine.read_text()
    again, own_limits = limits_of(read_shot(shipped)), limits_of(read_shot(mine))
    assert again is not None
    assert own_limits is not None
    assert (again.name, own_limits.name) == ("standard 45", "mine")


def test_a_scene_suggests_only_what_the_lens_can_do() -> None:
    """A suggestion is brought inside the lens; what the shot says itself is left for refusal."""
    limits = limits_of(merged(Shot(), {"lens-file": "standard 45"}, "{name}"))
    assert limits is not None
    suggested = LensKeys(f_number=1.4, tilt_deg=-12.0, rise_mm=20.0)

    inside = suggestion_inside(suggested, LensKeys(rise_mm=20.0), limits)
    assert (inside.f_number, inside.tilt_deg, inside.rise_mm) == (2.8, -8.0, 20.0)
    assert through_its_lens(Shot(), None) == Shot()
