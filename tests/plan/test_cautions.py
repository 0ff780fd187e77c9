"""Cautions by place."""

import pytest

from render.errors import SettingError
from render.plan.cautions import Place, cautions, place_for


@pytest.mark.parametrize("place", list(Place))
def test_local_rules_and_licensed_people_come_first_everywhere(place):
    """The first line of every list, and nothing is called allowed or safe."""
    lines = cautions(place)

    assert lines[0].startswith("Local rules")
    assert "licensed" in lines[0]
    assert any("number plates" in line for line in lines)


def test_each_place_has_its_own():
    """Edges on a roof, the sill at a window, a spotter for a flight, no roads on the ground."""
    text = {place: " ".join(cautions(place)) for place in Place}

    assert "parapet" in text[Place.ROOF]
    assert "Tether" in text[Place.WINDOW]
    assert "sill" in text[Place.WINDOW]
    assert "spotter" in text[Place.DRONE]
    assert "parapet" not in text[Place.GROUND]


def test_sun_and_long_stays_add_theirs():
    """Sun in the frame burns; a long interval wants shade."""
    assert not any("burn" in line for line in cautions(Place.ROOF))
    assert any("burn" in line for line in cautions(Place.ROOF, sun_in_frame=True))
    dusk = " ".join(cautions(Place.ROOF, on_site_s=600, sun_heights_deg=(0.3, -5.0)))
    assert "before you no longer see the edge" in dusk
    assert "dusk: leave" not in " ".join(cautions(Place.ROOF))
    assert "head torch" in dusk
    assert "Warm clothes" in dusk
    assert "Hat" not in dusk
    assert any("water" in line for line in cautions(Place.ROOF, on_site_s=600))


def test_an_unnamed_place_is_the_one_that_needs_most_care():
    """High up or unknown: a roof; eye height: the ground."""
    assert place_for(None, 12.0) is Place.ROOF
    assert place_for(None, None) is Place.ROOF
    assert place_for(None, 1.6) is Place.GROUND
    assert place_for(" Window ", 1.6) is Place.WINDOW
    with pytest.raises(SettingError, match="roof"):
        place_for("balloon", 50.0)
