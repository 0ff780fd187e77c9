"""What buildings are made of: the tags' colours first, else by use and seed."""

import pytest

from render.world.place.buildings.looks import look_of, place_materials
from render.world.place.heights import standing_of


def _look(seed: int = 5, area: float = 120, **tags: str):  # type: ignore[no-untyped-def]
    named = {key.replace("__", ":"): value for key, value in tags.items()}
    return look_of(named, standing_of(named, area, 4, 0.9), area, seed)


@pytest.mark.parametrize(
    ("text", "colour"),
    [
        ("#AABBCC", "#aabbcc"),
        ("#abc", "#aabbcc"),
        ("white", "#e6e3db"),
        ("#ffffff", "#e6e6e6"),
        ("Brown", "#7a5a44"),
    ],
)
def test_colours_of_the_map_are_kept(text: str, colour: str) -> None:
    """Hexadecimal, short or long, or one of the usual names."""
    look = _look(building="house", building__levels="2", building__colour=text)

    assert look.wall == f"front {colour}"
    assert look.plain == f"plain {colour}"


def test_colours_that_are_none_are_left_to_the_palette() -> None:
    """An unknown word or a slip changes nothing."""
    plain = _look(building="house", building__levels="2")

    assert _look(building="house", building__levels="2", building__colour="#12") == plain
    assert _look(building="house", building__levels="2", building__colour="mauvish") == plain


def test_garages_and_halls_are_blind_and_churches_are_of_stone() -> None:
    """Windows go where people live and work."""
    assert _look(building="garage").wall is None
    assert _look(building="warehouse").plain.startswith("hall ")
    church = _look(building="church")
    assert (church.plain, church.storey_m) == ("stone", 6.5)
    assert _look(building="office", building__levels="5", area=900).wall.startswith("block ")


def test_the_same_seed_looks_the_same() -> None:
    """Another seed may look otherwise, the same one never."""
    assert _look(seed=11, building="house") == _look(seed=11, building="house")
    assert len({_look(seed=s, building="house").plain for s in range(40)}) > 4


def test_every_material_that_is_named_can_be_made() -> None:
    """All uses and seeds lead to materials that exist; windows have the size of a storey."""
    uses = ("house", "garage", "warehouse", "church", "apartments", "roof", "yes")
    names = {"town ground", "crop", "grass"}
    for use in uses:
        for seed in range(30):
            look = _look(seed=seed, building=use, area=40.0 * (1 + seed % 9))
            names |= {look.plain, look.roof, *([look.wall] if look.wall else [])}

    made = place_materials(names)

    assert names <= made.keys()
    assert all(made[n].size_m == (2.4, 3.0) for n in names if n.startswith(("front", "block")))
