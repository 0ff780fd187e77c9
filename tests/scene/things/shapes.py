"""What the tests of things share: one thing built alone."""

from typing import Any

import numpy as np

from render.scene.mesh import Mesh
from render.scene.things import load_kinds
from render.scene.things.kind import KINDS

__all__ = ["made", "size"]


def made(name: str, seed: int = 1, **table: Any) -> Mesh:
    """One thing of a kind with the words of a scene file."""
    load_kinds()
    return KINDS[name].make(KINDS[name].read(table), np.random.default_rng(seed))


def size(mesh: Mesh) -> np.ndarray:
    """Extent along x, y and z, m."""
    return np.ptp(mesh.xyz.reshape(-1, 3), axis=0)
