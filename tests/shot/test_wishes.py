"""What is asked for besides the shot, declared once."""

import pytest

from render.errors import SettingError
from render.shot.declaring import keys_of, read_wishes
from render.shot.wishes import BoardWishes, DayWishes, Finish, JudgeWishes

EVERY = (BoardWishes, DayWishes, Finish, JudgeWishes)


@pytest.mark.parametrize("kind", EVERY)
def test_every_wish_has_a_name_of_its_own_and_help(kind: type) -> None:
    """Each field is declared with an option, and read back from its usual value's words."""
    keys = keys_of(kind)

    assert len(keys) == len(kind.__dataclass_fields__)
    assert all(key.option.startswith("--") and key.help.endswith(".") for key in keys.values())
    for key in keys.values():
        if key.usual not in (None, ()):
            assert key.read(str(key.usual)) == key.usual


def test_wishes_are_read_from_words_by_name() -> None:
    """As typed after options, or as the page sends them; what is not said is as usual."""
    day = read_wishes(DayWishes, {"iso": "400", "sun-in-frame": "true", "fps": "30"}, "--{name}")
    board = read_wishes(BoardWishes, {"alternative": ("f=4", "f=8"), "by": "Mara"}, "--{name}")

    assert day == DayWishes(iso=400.0, sun_in_frame=True, frames_per_s=30.0)
    assert board == BoardWishes(alternatives=("f=4", "f=8"), author="Mara")


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        (DayWishes, {"iso": "fast"}),
        (JudgeWishes, {"small-things": "many"}),
        (Finish, {"seed": "-1"}),
        (Finish, {"diffraction": "perhaps"}),
    ],
)
def test_a_word_that_cannot_be_read_names_its_option(kind: type, given: dict[str, str]) -> None:
    """The sentence begins with where it was said."""
    with pytest.raises(SettingError, match=f"--{next(iter(given))}: "):
        read_wishes(kind, given, "--{name}")
