"""The materials that every scene knows."""

import re

from render.world.surfaces.material import Material
from render.world.surfaces.palette import PALETTE
from render.world.things import load_kinds
from render.world.things.kind import KINDS


def test_every_named_material_can_be_made() -> None:
    """No name stands for words that are refused."""
    made = {name: Material.of(dict(words)) for name, words in PALETTE.items()}

    assert len(made) == len(PALETTE) > 50


def test_every_kind_is_made_of_materials_that_exist() -> None:
    """A thing that names no material can be drawn: with a known one, or a plain colour."""
    load_kinds()
    unknown = {
        (kind.name, stuff)
        for kind in KINDS.values()
        for stuff in kind.stuff.values()
        if stuff not in PALETTE and not re.fullmatch("#[0-9a-f]{6}", stuff)
    }

    assert unknown == set()
