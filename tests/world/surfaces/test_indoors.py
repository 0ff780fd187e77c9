"""The materials of rooms."""

import inspect

from render.world.surfaces import palette
from render.world.surfaces.indoors import INDOORS


def test_no_name_indoors_stands_for_something_else_in_the_open() -> None:
    """The palette writes none of them a second time."""
    source = inspect.getsource(palette)
    twice = [name for name in INDOORS if f'"{name}": {{' in source]

    assert INDOORS.items() <= palette.PALETTE.items()
    assert twice == []
