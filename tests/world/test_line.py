"""How far along a line, and what lies there."""

import numpy as np

from render.world.line import places_along, run_along


def test_a_line_is_as_long_as_its_legs_and_parted_evenly() -> None:
    """A right angle of 3 and 4 m: its corner lies at 3 m, and half-way is half a metre on."""
    line = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]])
    run = run_along(line)

    np.testing.assert_array_equal(run, [0, 3, 7])
    np.testing.assert_allclose(
        places_along(line, run, [0.0, 1.5, 3.5]), [[0, 0], [1.5, 0], [3, 0.5]]
    )
    np.testing.assert_allclose(places_along(line, run, 7.0), [3, 4])
