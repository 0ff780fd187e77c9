"""What a shot says of its picture's depth, in words."""

import pytest

from render.depth.ground import Slope
from render.errors import SettingError
from render.shot.depthkeys import (
    read_mark,
    read_near,
    read_sky,
    read_slope,
    read_thing,
    read_upright,
    read_wall,
)


def test_marks_say_where_how_far_and_how_measured() -> None:
    """Spot, distance with unit, and the way it was measured are read, with or without a colon."""
    plain, ranged = read_mark("50%,62% 18 m"), read_mark("812, 640: 1.2 km range")

    assert (plain.spot.x, plain.spot.x_is_share, plain.distance_m, plain.measured) == (
        0.5,
        True,
        18.0,
        "axis",
    )
    assert (ranged.spot.y, ranged.distance_m, ranged.measured) == (640.0, 1200.0, "range")


def test_things_take_foot_distance_and_flat() -> None:
    """What follows a thing's shape is read in its order."""
    thing = read_thing("box 10%,20% 30%,60% foot 20%,61% at 18 m flat")

    assert (thing.shape, len(thing.spots), thing.distance_m, thing.flat) == ("box", 2, 18.0, True)
    assert thing.foot is not None
    assert thing.foot.y == pytest.approx(0.61)
    assert read_thing("outline 1,1 9,1 9,9 1,9").spots[3].y == 9


def test_walls_slopes_uprights_and_sky() -> None:
    """Each reads its own words."""
    assert read_wall("10%,80% 60%,70% high 4 storeys").height_m == 12
    assert read_slope("down 2 towards 90") == Slope(-2, 90)
    assert read_slope("up 3") == Slope(3, 0)
    assert read_slope("level").climb_deg == 0
    assert read_upright("40%,80% 40%,70% 1.8 m").height_m == 1.8
    assert read_sky("top").rule == "top"
    assert len(read_sky("0,0 100%,0 50%,30%").outline) == 3


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (read_mark, "50%,50% -3 m"),
        (read_thing, "box 1,1 2,2 3,3"),
        (read_slope, "up 3.3.3"),
        (read_slope, "up 95"),
        (read_sky, "1,1 2,2"),
        (read_wall, "1,1 2,2 high"),
    ],
)
def test_what_is_not_understood_is_refused(read, text) -> None:
    """Wrong words are a setting error, never something else."""
    with pytest.raises(SettingError):
        read(text)


@pytest.mark.parametrize(
    ("text", "shape", "spots", "distance_m"),
    [
        ("12%,80% 60%,82% 3 m", "stroke", 2, 3.0),
        ("12%, 80%  60%,82% 90%,70% 2.5 m", "stroke", 3, 2.5),
        ("40%,50% 4 m", "spot", 1, 4.0),
        ("box 10%,20% 30%,60% at 2 m", "box", 2, 2.0),
        ("outline 1,1 9,1 9,9 80 cm", "outline", 3, 0.8),
    ],
)
def test_near_things_are_read(text: str, shape: str, spots: int, distance_m: float) -> None:
    """A stroke without a word, other shapes by theirs, the distance behind."""
    wish = read_near(text)

    assert (wish.shape, len(wish.spots)) == (shape, spots)
    assert wish.distance_m == pytest.approx(distance_m)


@pytest.mark.parametrize("text", ["", "3 m", "12%,80% 60%,82%", "stroke 1,1 3 m", "box 1,1 3 m"])
def test_a_near_thing_without_place_or_distance_is_refused(text: str) -> None:
    """With what to write instead."""
    with pytest.raises(SettingError, match=r"how far|write"):
        read_near(text)


def test_a_spot_is_mended_by_further_places() -> None:
    """Places that belong to the thing and places that do not."""
    wish = read_thing("spot 40%,50% with 42%,60% 44%,60% without 45%,70% foot 40%,90% flat")

    assert (len(wish.more), len(wish.less), wish.flat) == (2, 1, True)
    assert wish.foot is not None
    with pytest.raises(SettingError, match="help a spot"):
        read_thing("box 1%,1% 9%,9% with 5%,5%")


def test_a_near_spot_is_mended_by_the_same_words() -> None:
    """As a standing thing's; a stroke knows no such help."""
    wish = read_near("spot 40%,50% with 42%,60% without 45%,70% 46%,71% at 2 m")

    assert (wish.shape, len(wish.more), len(wish.less), wish.distance_m) == ("spot", 1, 2, 2.0)
    with pytest.raises(SettingError, match="help a spot, not a stroke"):
        read_near("10%,50% 40%,50% with 42%,60% 2 m")
