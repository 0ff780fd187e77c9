"""Houses and towers."""

import numpy as np

from render.scene.things import load_kinds
from render.scene.things.kind import KINDS
from tests.scene.things.shapes import made, size

load_kinds()


def test_a_house_has_its_size_and_a_roof_above() -> None:
    """Width and depth as given (eaves stand out a little); the roof rises over the walls."""
    extent = size(made("house", size_m=[9, 8, 6]))

    assert 9 <= extent[0] <= 10.5
    assert 8 <= extent[1] <= 9.5
    assert extent[2] >= 6


def test_houses_are_solid_and_have_windows() -> None:
    """No camera may stand inside; glass is one of its slots."""
    assert KINDS["house"].solid
    assert {"pane", "frame", "sill"} <= set(made("house").slots)


def test_a_tower_is_taller_than_wide() -> None:
    """As towers are."""
    extent = size(made("tower"))

    assert extent[2] > 2 * np.max(extent[:2])
