"""Scene files: read, checked, frozen."""

from typing import Any

import pytest

from render.errors import InputError
from render.world.scenefile import read_description


def _read(**table: Any) -> Any:
    return read_description("small.toml", {"line": "A small scene.", **table})


@pytest.mark.parametrize(
    ("table", "match"),
    [
        ({"line": ""}, "line.*one sentence"),
        ({"thing": []}, "thing.*no such key"),
        ({"things": [{"kind": "castle"}]}, "choose one of .*words lists them"),
        ({"things": [{"kind": "box", "size": 2}]}, '"size" is not a key of a box: size_m'),
        ({"things": [{"kind": "box", "size_m": [1, 2]}]}, "3 numbers"),
        ({"things": [{"kind": "box", "side": "marble"}]}, "a material's name or a colour"),
        ({"things": [{"kind": "box", "side": "#12"}]}, "#rrggbb"),
        ({"things": [{"kind": "tree", "species": "oak"}]}, "one of broad, round"),
        ({"things": [{"kind": "box", "array": {}, "scatter": {}}]}, "either array or scatter"),
        ({"things": [{"kind": "box", "colours": {"roof": ["#ffffff"]}}]}, "choose one of side"),
        ({"materials": {"x": {"rule": "marble"}}}, r'\[materials\] "x".*choose one of'),
        ({"ground": {"material": "lava"}}, "no material of that name"),
        ({"ground": {"height": 2}}, "no such key"),
        ({"light": {"cloud": "some"}}, "give a number"),
        ({"light": {"date": "2026-06-21T12:00Z"}}, "give both"),
        ({"light": {"lamps": [{"strength": 2}]}}, "at_m.*needed"),
        ({"vantage": {"stand": [0, 0]}}, "no such key"),
        ({"marks": {"door": [1, 2]}}, "3 numbers"),
    ],
)
def test_mistakes_name_the_file_the_key_and_what_is_allowed(
    table: dict[str, Any], match: str
) -> None:
    """One sentence each."""
    with pytest.raises(InputError, match=match) as caught:
        _read(**table)

    assert str(caught.value).startswith("small.toml")
    assert "\n" not in str(caught.value)


def test_a_date_and_a_place_put_the_sun_where_it_stands() -> None:
    """The example of Reda and Andreas 2004: azimuth 194.34, height 39.87 degrees."""
    light = {"date": "2003-10-17T12:30:30-07:00", "place_deg": [39.742476, -105.1786]}
    words = _read(light=light).light

    assert words.sun_heading_deg == pytest.approx(194.34, abs=0.02)
    assert words.sun_height_deg == pytest.approx(39.87, abs=0.03)


def test_a_file_may_change_a_material_that_everybody_knows() -> None:
    """What it leaves out stays; a bare colour is enough for a plain one."""
    d = _read(materials={"brick": {"colour": "#ffffff"}, "mine": "#102030"})

    assert (d.materials["brick"].rule, d.materials["brick"].colour) == ("brick", "#ffffff")
    assert d.materials["mine"].colour == "#102030"
