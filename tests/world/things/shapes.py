"""What is asked of the shape of every kind of thing."""

import numpy as np

from render.world.things.kind import KINDS

__all__ = ["check_kind"]

_HANGING = {"bust", "bar", "string lights"}


def check_kind(name: str) -> None:
    """Make a kind with its own starting values and look at the result."""
    kind = KINDS[name]
    mesh, again = (kind.make(kind.read({}), np.random.default_rng(5)) for _ in range(2))

    assert len(mesh.xyz) > 0
    assert np.all(np.isfinite(mesh.xyz))
    assert np.all(np.isfinite(mesh.uv))
    np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)
    assert set(mesh.slots) <= set(kind.stuff), set(mesh.slots) - set(kind.stuff)
    np.testing.assert_array_equal(mesh.xyz, again.xyz)
    low = mesh.xyz[..., 2].min()
    assert name in _HANGING or -1.6 <= low <= 0.15, low
