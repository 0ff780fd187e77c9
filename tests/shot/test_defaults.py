"""What is nearer to the job wins: an option, a shot file, one's own defaults, the program."""

import pytest

from render.errors import SettingError
from render.shot.declaring import Words
from render.shot.defaults import (
    applying,
    check_defaults,
    default_keys,
    own_words,
    settled_by,
    with_defaults,
)
from render.shot.shot import Shot, merged

OWN: dict[str, Words] = {"lens-file": "long 90", "format": "44x33", "by": "Mara Ellingsen"}


def test_defaults_fill_only_what_is_not_said() -> None:
    """What a shot says stays, and is not called a default."""
    said = merged(Shot(), {"format": "36x24"}, "{name}")
    shot = with_defaults(said, OWN)

    assert shot.camera.sensor_mm == (36, 24)
    assert shot.lens.lens_file == "long 90"
    assert shot.own == (("lens-file", "long 90"),)


def test_a_lens_that_is_named_otherwise_is_no_default() -> None:
    """A focal length and a lens file say the same thing: one of them settles both."""
    shot = with_defaults(merged(Shot(), {"lens": "45"}, "{name}"), OWN)

    assert (shot.lens.focal_mm, shot.lens.lens_file) == (45, None)
    assert settled_by(["lens", "by"]) == {"lens", "lens-file", "by"}


def test_what_is_turned_later_is_no_default_any_more() -> None:
    """A sheet that varies the format does not say that it came from the defaults."""
    shot = merged(with_defaults(Shot(), OWN), {"format": "36x24"}, "{name}")

    assert [name for name, _ in shot.own] == ["lens-file"]


def test_a_shot_that_was_handed_on_stays_as_it_is() -> None:
    """Its writer's silence means the program's usual values, not the reader's."""
    shot = Shot(scene="market", handed_on=True)

    assert with_defaults(shot, OWN) == shot
    assert with_defaults(shot, OWN).own == ()


def test_a_command_takes_the_defaults_that_are_its_options() -> None:
    """A card has no author, and a depth map no lens."""
    assert applying(OWN, ["by", "paper"], []) == {"by": "Mara Ellingsen"}
    assert applying(OWN, ["by", "paper"], ["by"]) == {}
    assert with_defaults(Shot(), OWN, ["mark", "height"]) == Shot()


def test_what_came_from_defaults_is_one_sentence() -> None:
    """By the names of options, files without their folders."""
    own = (("lens-file", "/home/mara/lenses/mine.toml"), ("coc", "0.03 mm"))

    assert own_words(own) == ["from your defaults: --lens-file mine.toml, --coc 0.03 mm"]
    assert own_words(()) == []


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"lens": "wide"}, "--lens.*not a length"),
        ({"tilt": "up 8"}, "--tilt can have no default; these can: .*lens"),
        ({"lens": "45", "lens-file": "long 90"}, "--lens and lens-file say the same thing twice"),
        ({"paper": "a9"}, "--paper.*a4, a3, letter"),
    ],
)
def test_what_cannot_be_a_default_is_refused(given: dict[str, Words], sentence: str) -> None:
    """In one sentence, whichever option it is."""
    with pytest.raises(SettingError, match=sentence):
        check_defaults(given, "--{name}")


def test_every_default_is_an_option_under_its_own_name() -> None:
    """What is written in the file is what is typed."""
    assert all(key.name == name for name, key in default_keys().items())
