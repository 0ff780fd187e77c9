"""Materials: checked words, linear colours."""

import pytest

from render.errors import InputError
from render.world.surfaces.material import Material, linear_rgb, material_row
from render.world.surfaces.rules import COLUMNS


def test_colours_are_made_linear_by_the_standard() -> None:
    """IEC 61966-2-1: straight below 0.04045 (code 10), ((c + 0.055) / 1.055) ** 2.4 above."""
    assert linear_rgb("#0affbc") == pytest.approx(
        (10 / 255 / 12.92, 1.0, ((188 / 255 + 0.055) / 1.055) ** 2.4), abs=1e-9
    )


def test_a_rule_brings_its_own_start() -> None:
    """A brick wall has bricks of a brick's size unless the file says otherwise."""
    assert Material.of({"rule": "brick"}).size_m == (0.225, 0.075)
    assert Material.of({"rule": "brick", "size_m": [0.3, 0.1]}).size_m == (0.3, 0.1)


@pytest.mark.parametrize(
    ("words", "match"),
    [
        ({"rule": "marble"}, "choose one of plain, brick"),
        ({"colour": "red"}, '"#rrggbb"'),
        ({"color": "#ff0000"}, '"color" is not a key of a material'),
        ({"gloss": 2}, "from 0 to 1"),
        ({"gloss": float("nan")}, "from 0 to 1"),
        ({"size_m": [1, -1]}, "two lengths"),
        ({"vary": "much"}, "wrong kind"),
    ],
)
def test_bad_words_are_refused_with_what_is_allowed(words: dict[str, object], match: str) -> None:
    """Names the key, the value and the choice."""
    with pytest.raises(InputError, match=match):
        Material.of(words)


def test_the_row_holds_the_numbers_under_their_names() -> None:
    """Light given off is colour times level."""
    row = material_row(Material(colour="#ffffff", glow="#ff0000", glow_level=3.0, gloss=0.04))

    assert row[COLUMNS["r"]] == 1.0
    assert (row[COLUMNS["glow_r"]], row[COLUMNS["glow_g"]]) == (3.0, 0.0)
    assert row[COLUMNS["gloss"]] == 0.04
