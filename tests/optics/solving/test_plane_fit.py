"""The linear problem against brute force."""

import math

import numpy as np
import pytest

from render.errors import InputError
from render.optics.solving.plane_fit import axis_on_limit, gather, unlimited_axis
from render.optics.solving.solve import Solution, best_plane
from render.optics.solving.targets import Freedom, Target

STREET = [
    Target.at(0, 1.6, 4.0),
    Target.at(1.0, 1.3, 12.0),
    Target.at(-3.0, 0.9, 30.0),
    Target.at(2.0, -1.0, 45.0),
    Target.at(-1.0, 1.0, 9.0),
]


@pytest.mark.parametrize(
    "freedom",
    [
        Freedom(),
        Freedom(limit_deg=1.0),
        Freedom(swing=False),
        Freedom(tilt=False),
        Freedom(swing=False, limit_deg=0.5),
        Freedom(swing=False, swing_deg=3, limit_deg=3.2),
        Freedom(tilt=False, tilt_deg=1.0, limit_deg=1.2),
    ],
    ids=str,
)
@pytest.mark.parametrize("goal", ["smallest f-number", "least squares"])
@pytest.mark.parametrize("weights", [(1, 1, 1, 1, 1), (1, 3, 1, 0.5, 2)])
def test_no_position_within_the_limits_is_better(
    freedom: Freedom, goal: str, weights: tuple[float, ...]
) -> None:
    """Thousands of positions drawn within the limits, each at its best focus, are not better."""
    targets = [
        Target(t.slope_x, t.slope_y, t.depth_m, w) for t, w in zip(STREET, weights, strict=True)
    ]
    found = best_plane(targets, 45, freedom, goal)  # type: ignore[arg-type]
    w = np.array(weights)

    def cost(solution: Solution) -> float:
        left = np.array(solution.defocus) / solution.extension_mm * w
        return float(np.abs(left).max() if goal == "smallest f-number" else left @ left)

    rng = np.random.default_rng(3)
    q = np.array([[t.slope_x, t.slope_y] for t in targets])
    g = np.array([45e-3 / t.depth_m for t in targets])
    best = math.inf
    for scale in (10.0, 0.3, 0.02):
        count = 4000
        tilt = found.tilt_deg + scale * rng.normal(size=count) * freedom.tilt
        swing = found.swing_deg + scale * rng.normal(size=count) * freedom.swing
        t, s = np.radians(tilt), np.radians(swing)
        n = np.stack([np.sin(s) * np.cos(t), np.sin(t), np.cos(s) * np.cos(t)], 1)
        n = n[np.degrees(np.arccos(n[:, 2])) <= freedom.limit_deg]
        left = g - n[:, :2] @ q.T
        for _ in range(3):  # three draws of focus around the middle of what is left over
            if goal == "least squares":
                e = (left @ w**2) / (w @ w)
            else:
                e = (left.max(1) + left.min(1)) / 2
                e = e + rng.normal(size=len(e)) * 0.2 * np.ptp(left, 1)
            r = np.abs(left - e[:, None]) * w / 45
            best = min(
                best, float(r.max(1).min() if goal != "least squares" else (r * r).sum(1).min())
            )

    assert found.total_tilt_deg <= freedom.limit_deg + 1e-9
    assert cost(found) <= best * (1 + 1e-9)


@pytest.mark.parametrize("goal", ["smallest f-number", "least squares"])
def test_a_limit_out_of_the_way_changes_nothing(goal: str) -> None:
    """On a limit of just the wanted size the rim holds the unlimited best."""
    points = gather(STREET, 45)
    wanted = unlimited_axis(points, Freedom(), goal, 5e-5)  # type: ignore[arg-type]
    limit = Freedom(limit_deg=math.degrees(math.asin(float(np.hypot(*wanted)))))
    rim = axis_on_limit(points, limit, goal)  # type: ignore[arg-type]

    np.testing.assert_allclose(rim, wanted, atol=2e-6)


def test_directions_the_points_do_not_span_are_not_moved_in() -> None:
    """Points above one another within a pixel ask for no swing at all."""
    points = gather([Target(0.1, 0.2, 5), Target(0.1 + 4e-5, -0.1, 20)], 45)

    assert unlimited_axis(points, Freedom(), "least squares", 1e-6)[0] != 0
    assert abs(unlimited_axis(points, Freedom(tilt=False), "least squares", 1e-4)[0]) == 0


def test_more_points_than_can_be_weighed_are_refused() -> None:
    """401 points are refused with the number that is allowed."""
    with pytest.raises(InputError, match="401 points are to be sharp, more than the 400 points"):
        gather([Target(0, 0, 5)] * 401, 45)
