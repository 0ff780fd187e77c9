"""What a map file holds, as data."""

import dataclasses

import pytest
from shapely.geometry import Point

from render.world.place.mapdata import Feature, MapData


def test_map_data_cannot_be_changed_by_accident() -> None:
    """Both are frozen, and say nothing of credit unless told."""
    feature = Feature({"natural": "tree"}, Point(8.5, 52.1))
    data = MapData("town", (feature,), (8.4, 52.0, 8.6, 52.2))

    assert data.credit == ""
    with pytest.raises(dataclasses.FrozenInstanceError):
        data.name = "other"  # type: ignore[misc]
    with pytest.raises(dataclasses.FrozenInstanceError):
        feature.tags = {}  # type: ignore[misc]
