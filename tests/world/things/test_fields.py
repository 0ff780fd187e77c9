"""Distance fields: right at places one can work out by hand, and nowhere too steep."""

import numpy as np
import pytest

from render.world.things.fields import ball, carved, egg, limb, melted, mirrored, path

_P = np.random.default_rng(2).uniform(-3, 3, (3, 400))


def test_distances_worked_by_hand() -> None:
    """Beside, beyond the end of, and inside a bar; on the axes of an egg; from a ball."""
    p = np.array([[0, 2.0, 0], [0, 0, 5.0], [0.5, 0, 2.0]]).T

    np.testing.assert_allclose(limb(p, (0, 0, 0), (0, 0, 4), 1.0), [1, 0, -0.5])
    np.testing.assert_allclose(limb(p[:, :2], (0, 0, 0), (0, 0, 4), 1.0, 0.5), [1, 0.5])
    np.testing.assert_allclose(ball(p, (0, 0, 1), 2.0)[1], 2.0)
    on_axis = np.array([[2.0, 0, 0], [0, 3.0, 0], [0, 0, -1.0]]).T
    np.testing.assert_allclose(egg(on_axis, (0, 0, 0), (2, 3, 1)), 0, atol=1e-12)
    bent = path(p, [(0, 0, 0), (0, 0, 4), (9, 0, 4)], (1.0, 1.0, 1.0))
    np.testing.assert_allclose(bent, np.minimum(limb(p, (0, 0, 0), (0, 0, 4), 1.0), bent))


@pytest.mark.parametrize("k", [0.1, 1.0])
def test_melting_and_carving_only_round_the_seam(k: float) -> None:
    """Far from the seam they are the plain union and difference, at it they differ by k/4."""
    a, b = ball(_P, (0, 0, 0), 1.0), ball(_P, (1.2, 0, 0), 1.0)
    plain, cut = np.minimum(a, b), np.maximum(a, -b)

    assert np.all(melted(a, b, k) <= plain)
    assert np.all(plain - melted(a, b, k) <= k / 4 + 1e-12)
    assert np.all((carved(a, b, k) >= cut) & (carved(a, b, k) - cut <= k / 4 + 1e-12))
    far = np.abs(a - b) > 1.5 * k
    np.testing.assert_array_equal(melted(a, b, k)[far], plain[far])


def test_both_sides_are_one() -> None:
    """A point and its mirror image are told apart no more, and far from the middle x is kept."""
    other = _P * np.array([[-1.0], [1.0], [1.0]])

    np.testing.assert_array_equal(mirrored(_P), mirrored(other))
    assert abs(float(mirrored(np.array([[80.0], [0], [0]]))[0, 0]) - 80.0) < 0.05
