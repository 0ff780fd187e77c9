"""Columns and records that the loops share."""

import re
from pathlib import Path

import numpy as np

from render.engine.kernels import tables


def test_columns_lie_side_by_side() -> None:
    """Three colours, share, depth; three colours, depth; three colours, share: none overlaps."""
    wide = {"NEAR": 3, "NEAR_SHARE": 1, "NEAR_IZ": 1, "FAR": 3, "FAR_IZ": 1, "HIDDEN": 3}
    wide |= {"HIDDEN_SHARE": 1}
    taken = [getattr(tables, name) + k for name, width in wide.items() for k in range(width)]

    assert sorted(taken) == list(range(tables.RECORD))


def test_no_loop_reads_a_table_by_a_bare_number() -> None:
    """Columns of parts and records are named wherever they are read."""
    folder = Path(tables.__file__).parent
    bare = [
        f"{source.name}: {found}"
        for source in folder.glob("*.py")
        for found in re.findall(r"(?:record|parts|queue|fragments)\[\w+, \d+\]", source.read_text())
    ]

    assert bare == []


def test_every_bin_has_its_lamps() -> None:
    """Lamps of a bin the pinhole saw lie LAMPS bins later, and fill the table."""
    assert np.arange(64).max() + tables.LAMPS == tables.BINS - 1
