"""Bridges: they clear what they cross, their ramps are no steeper than stated, nothing jumps."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from render.world.place.grounds.bridges import Raised, add_bridges, raised_ways
from render.world.place.grounds.waters import Waters, waters_of
from render.world.place.mapdata import Feature
from render.world.place.soup import Soup

_DISC = shapely.Point(0, 0).buffer(600)
_DRY = Waters(Polygon(), ())
_UNDER = Feature({"highway": "primary"}, LineString([(0, -300), (0, 300)]))
Floats = np.ndarray


def _flat(points: Floats) -> Floats:
    return np.zeros(len(points))


def _over(half: float = 20.0, **tags: str) -> list[Feature]:
    """A way from west to east with a bridge in its middle."""
    ends = ((-400, -half), (-half, half), (half, 400))
    ways = [
        Feature({**tags} if a != -half else {**tags, "bridge": "yes", "layer": "1"}, line)
        for (a, line) in ((a, LineString([(a, 0), (b, 0)])) for a, b in ends)
    ]
    return [*ways, _UNDER]


def _all(raised: list[Raised]) -> tuple[Floats, Floats]:
    """Places along x, sorted, and heights there."""
    x = np.concatenate([w.points[:, 0] for w in raised])
    z = np.concatenate([w.deck_m for w in raised])
    order = np.argsort(x, kind="stable")
    return x[order], z[order]


@pytest.mark.parametrize(
    ("tags", "free", "grade"),
    [
        ({"highway": "residential"}, 4.6, 0.07),
        ({"railway": "rail"}, 4.6, 0.03),
        ({"highway": "footway"}, 4.6, 0.12),
    ],
)
def test_a_bridge_clears_the_street_and_falls_no_steeper_than_its_kind(
    tags: dict[str, str], free: float, grade: float
) -> None:
    """Over the street's whole width; then down at the stated grade, without a step."""
    raised, gone, count = raised_ways(_over(**tags), 500, _DRY, _flat)
    x, z = _all(raised)

    assert (count, gone) == (1, {0, 1, 2})
    assert np.all(z[np.abs(x) <= 4.0] - 0.7 >= free - 1e-6)
    run, rise = np.diff(x), np.abs(np.diff(z))
    assert np.all(rise <= grade * run + 1e-6)
    assert z[0] == z[-1] == 0
    assert z.max() == pytest.approx(free + 0.7)


def test_a_brook_asks_for_little_and_a_river_for_more() -> None:
    """A bridge over 4 m of water rises by under a metre, over 30 m by 3.7 m above the water."""
    for wide, least, most in ((4.0, 0.5, 1.0), (30.0, 3.0, 3.7)):
        line = LineString([(0, -300), (0, 300)])
        river = Feature({"waterway": "river", "width": str(wide)}, line)
        waters = waters_of({"water": line.buffer(wide / 2)}, [river], _DISC, [], Polygon(), _flat)
        raised, _, _ = raised_ways(_over(highway="residential")[:3], 500, waters, _flat)

        assert least < _all(raised)[1].max() <= most


def test_over_a_valley_the_deck_hangs_between_its_ends() -> None:
    """With measured heights no clearance need be asked: the ends stand 12 m above the bottom."""

    def valley(points: Floats) -> Floats:
        return np.minimum(0.0, np.abs(points[:, 0]) * 0.6 - 12.0)

    raised, _, _ = raised_ways(_over(half=20.0, highway="residential"), 500, _DRY, valley)
    bridge = next(w for w in raised if w.bridge)

    assert bridge.deck_m == pytest.approx(0.0, abs=1e-9)
    assert bridge.ground_m.min() == pytest.approx(-12.0, abs=1.3)


def test_a_bridge_in_two_ways_is_one_bridge() -> None:
    """Cut in the middle of a valley, its deck hangs from bank to bank all the same."""

    def valley(points: Floats) -> Floats:
        return np.minimum(0.0, np.abs(points[:, 0]) * 0.6 - 12.0)

    tags = {"highway": "residential", "bridge": "yes"}
    halves = [Feature(tags, LineString([(a, 0), (b, 0)])) for a, b in ((-20, 0), (0, 20))]
    raised, _, _ = raised_ways(halves, 500, _DRY, valley)

    assert all(w.deck_m == pytest.approx(0.0, abs=1e-9) for w in raised)


def test_ways_that_no_bridge_lifts_stay_on_the_ground() -> None:
    """A street elsewhere, and the one below, are none of the raised."""
    other = Feature({"highway": "residential"}, LineString([(100, 100), (200, 200)]))
    raised, gone, _ = raised_ways([*_over(highway="residential"), other], 500, _DRY, _flat)

    assert gone == {0, 1, 2}
    assert len(raised) == 3


def test_what_is_drawn_is_closed_from_above_and_leaves_the_street_below_free() -> None:
    """Of the bridge nothing but its underside and its sides; no pillar on the street below."""
    raised, _, _ = raised_ways(_over(half=40, highway="residential"), 500, _DRY, _flat)
    soup = Soup()
    street = _UNDER.shape.buffer(4.0)
    add_bridges(soup, raised, street)
    mesh = soup.mesh()

    low = mesh.xyz[
        (mesh.xyz[..., 2].min(axis=1) < 4.5) & (np.abs(mesh.xyz[..., 0]).max(axis=1) < 40)
    ]
    assert len(low) > 0
    assert not np.any(shapely.contains_xy(street, *low.mean(axis=1)[:, :2].T))
    names = np.array(mesh.slots)[mesh.slot]
    normal = np.cross(mesh.xyz[:, 1] - mesh.xyz[:, 0], mesh.xyz[:, 2] - mesh.xyz[:, 0])
    assert np.all(normal[names == "asphalt"][:, 2] > 0)
    top = np.linalg.norm(normal[names == "asphalt"], axis=1).sum() / 2
    length = sum(w.points[-1, 0] - w.points[0, 0] for w in raised)
    assert top == pytest.approx(5.5 * length, rel=0.01)


def test_a_way_across_the_globe_is_raised_only_where_it_is_seen() -> None:
    """Its ramp has some hundred places, not a million."""
    ways = _over(highway="residential")
    ways[2] = Feature({"highway": "residential"}, LineString([(20, 0), (3e6, 0)]))
    raised, _, _ = raised_ways(ways, 500, _DRY, _flat)

    assert sum(len(w.points) for w in raised) < 600
