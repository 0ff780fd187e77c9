"""Faces differ, keep their parts together, and stay faces."""

from dataclasses import replace

import numpy as np
import pytest

from render.world.things.faces import EYE_MM, PARTS_MM, face_mesh
from render.world.things.features import Features, features_of, shaped


def _drawn(seed: int) -> Features:
    return features_of(np.random.default_rng(seed))


def test_the_middle_face_is_left_as_it_is() -> None:
    """No features move nothing."""
    mesh = face_mesh(0)
    same = shaped(mesh, Features())

    np.testing.assert_allclose(same.xyz, mesh.xyz, atol=1e-12)
    np.testing.assert_allclose(same.normal, mesh.normal, atol=1e-6)


def test_twenty_faces_are_twenty_faces() -> None:
    """Any two differ by 2 mm or more somewhere, none by 16 mm from the middle one."""
    middle = 1000 * face_mesh(0).xyz
    faces = [1000 * shaped(face_mesh(0), _drawn(seed)).xyz for seed in range(20)]

    for k, face in enumerate(faces):
        assert np.linalg.norm(face - middle, axis=-1).max() < 16
        for other in faces[:k]:
            assert np.linalg.norm(face - other, axis=-1).max() > 2


@pytest.mark.parametrize(
    ("name", "place", "axis", "sign"),
    [
        ("jaw", (44.0, -40.0, -76.0), 0, 1),
        ("cheeks", (58.0, -50.0, -28.0), 0, 1),
        ("long_mm", (0.0, -90.0, -98.0), 2, -1),
        ("nose_mm", (0.0, -121.0, -34.0), 1, -1),
        ("chin_mm", (0.0, -94.0, -99.0), 1, -1),
        ("crown_mm", (0.0, 0.0, 110.0), 2, 1),
        ("hump_mm", (0.0, -101.0, -11.0), 1, -1),
        ("lift_mm", (30.0, -88.0, 20.0), 2, 1),
        ("askew_mm", (0.0, -118.0, -30.0), 0, 1),
        ("ears", (80.0, 14.0, -34.0), 2, -1),
        ("lid_mm", (31.5, -84.8, 4.4), 2, -1),
        ("slant_mm", (44.5, -75.5, 1.0), 2, 1),
        ("mouth_wide", (24.0, -90.0, -66.0), 0, 1),
    ],
)
def test_a_feature_does_what_it_says(
    name: str, place: tuple[float, float, float], axis: int, sign: int
) -> None:
    """A wider jaw is wider, a longer nose stands out farther, and the eyes stay where they are."""
    named = (*((n, tuple(c / 1000 for c in p)) for n, p in PARTS_MM.items()),)
    mesh = replace(face_mesh(0), spots=(("it", tuple(c / 1000 for c in place)), *named))
    spots = dict(shaped(mesh, Features(**{name: 2.0 if name.endswith("_mm") else 0.08})).spots)

    step = 1000 * np.array(spots["it"]) - place
    assert sign * step[axis] > 1.0
    for eye in ("left eye", "right eye"):
        assert np.linalg.norm(1000 * np.array(spots[eye]) - PARTS_MM[eye]) < 0.3


def test_an_eye_stays_round() -> None:
    """All of an eyeball moves by the same, to a tenth of a millimetre, in any of ten faces."""
    ball = np.random.default_rng(1).normal(size=(40, 1, 3))
    ball = np.repeat(12 * ball / np.linalg.norm(ball, axis=-1, keepdims=True) + EYE_MM, 3, axis=1)
    mesh = replace(
        face_mesh(0),
        xyz=ball / 1000,
        normal=np.ones_like(ball) / np.sqrt(3),
        uv=np.zeros((40, 3, 2)),
        slot=np.zeros(40, np.int32),
    )
    for seed in range(10):
        moved = 1000 * shaped(mesh, _drawn(seed)).xyz - ball
        assert np.ptp(moved.reshape(-1, 3), axis=0).max() < 0.25
