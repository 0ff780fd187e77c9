"""Vehicles at real sizes."""

from tests.scene.things.shapes import made, size


def test_a_car_is_a_car() -> None:
    """About 1.7 m wide, 1.5 m high and 4 m long (usual sizes, common practice)."""
    short, middle, long = sorted(size(made("car")))

    assert 1.2 < short < 2.3
    assert 1.5 < middle < 2.6
    assert 3.2 < long < 6.0


def test_a_bus_is_longer_and_higher_than_a_car() -> None:
    """A bus is about 12 m long and 3 m high (usual sizes, common practice)."""
    extent = size(made("bus"))

    assert 8 < extent.max() < 19
    assert 2.6 < extent[2] < 4.5
