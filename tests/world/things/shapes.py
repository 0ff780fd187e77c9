"""What is asked of the shape of every kind of thing."""

import numpy as np

from render.world.things.kind import KINDS, Kind, Part, Values

__all__ = ["check_kind", "corners_of"]

_HANGING = {"bust", "bar", "string lights", "bunting", "mooring line", "quay wall", "pier"}


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
    for part in kind.parts:
        _check_part(kind, part)
    low = _with_parts(kind, kind.read({}), mesh.xyz)[:, 2].min()
    assert name in _HANGING or -1.6 <= low <= 0.15, low


def corners_of(kind: Kind, values: Values) -> np.ndarray:
    """Corners, shape (n, 3), of a thing with its moving parts as they are at first."""
    return _with_parts(kind, values, kind.make(values, np.random.default_rng(1)).xyz)


def _with_parts(kind: Kind, values: Values, xyz: np.ndarray) -> np.ndarray:
    """Corners of what was made, and of its moving parts."""
    found = [xyz.reshape(-1, 3)]
    for part in kind.parts:
        if not part.under_way:
            shape = part.make(values, np.random.default_rng(1), 0.0).xyz.reshape(-1, 3)
            places = part.at(values, np.random.default_rng(1), 0.0)
            found += [shape @ place[:3, :3].T + place[:3, 3] for place in places]
    return np.concatenate(found)


def _check_part(kind: Kind, part: Part) -> None:
    """What moves by itself: known stuff, unit normals, and places that only move and turn it."""
    values = Values({**kind.read({}), "speed_m_s": 2.0})
    for share in {0.0, (part.shapes - 1) / part.shapes}:
        mesh = part.make(values, np.random.default_rng(5), share)
        assert np.all(np.isfinite(mesh.xyz))
        np.testing.assert_allclose(np.linalg.norm(mesh.normal, axis=-1), 1, atol=1e-6)
        assert set(mesh.slots) <= set(kind.stuff), set(mesh.slots) - set(kind.stuff)
    for time_s in (0.0, 1.3, 200.0):
        places = part.at(values, np.random.default_rng(5), time_s)
        turn = places[:, :3, :3]
        same = np.broadcast_to(np.eye(3), turn.shape)
        np.testing.assert_allclose(turn @ turn.transpose(0, 2, 1), same, atol=1e-9)
        np.testing.assert_allclose(np.linalg.det(turn), 1, atol=1e-9)
