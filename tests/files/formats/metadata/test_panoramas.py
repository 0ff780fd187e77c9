"""Panorama properties of a picture."""

import pytest

from render.errors import InputError
from render.files.formats.metadata.panoramas import panorama_of, without_panorama

_PACKET = """<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description
 xmlns:GPano="http://ns.google.com/photos/1.0/panorama/"
 xmlns:dc="http://purl.org/dc/elements/1.1/" dc:source="mine" {}/></rdf:RDF></x:xmpmeta>"""


def packet(**said: object) -> bytes:
    """An XMP packet with these panorama properties."""
    return _PACKET.format(" ".join(f'GPano:{k}="{v}"' for k, v in said.items())).encode()


def test_a_whole_sphere_is_closed_and_its_horizon_is_its_middle() -> None:
    """Two thousand columns for 360 degrees; the compass is as it says."""
    said = packet(ProjectionType="equirectangular", PoseHeadingDegrees=370)

    found = panorama_of(said, 2000, 1000)

    assert found is not None
    assert found.px_per_rad == pytest.approx(2000 / 6.283185, rel=1e-6)
    assert (found.left_px, found.horizon_px, found.heading_deg) == (1000, 500, 10)
    assert found.closed


def test_a_part_that_was_made_smaller_keeps_its_angles() -> None:
    """The properties count the first file's pixels: half of them are left here."""
    said = packet(
        ProjectionType="cylindrical",
        FullPanoWidthPixels=8000,
        FullPanoHeightPixels=2000,
        CroppedAreaImageWidthPixels=4000,
        CroppedAreaImageHeightPixels=1600,
        CroppedAreaLeftPixels=1000,
        CroppedAreaTopPixels=300,
    )

    found = panorama_of(said, 2000, 800)

    assert found is not None
    assert found.form == "cylindrical"
    assert found.px_per_rad == pytest.approx(4000 / 6.283185, rel=1e-6)
    assert (found.left_px, found.horizon_px) == (1500, 350)
    assert (found.closed, found.heading_deg) == (False, None)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"ProjectionType": "fisheye"}, 'projection "fisheye", which is not read'),
        ({"ProjectionType": "cylindrical", "FullPanoWidthPixels": "wide"}, "is no number"),
        ({"ProjectionType": "cylindrical", "FullPanoWidthPixels": "inf"}, "is no number"),
        ({"ProjectionType": "cylindrical", "CroppedAreaImageWidthPixels": 0}, "do not fit"),
        ({"ProjectionType": "cylindrical", "FullPanoWidthPixels": -5}, "do not fit"),
    ],
)
def test_what_cannot_be_is_refused(said: dict[str, object], sentence: str) -> None:
    """In one sentence."""
    with pytest.raises(InputError, match=sentence):
        panorama_of(packet(**said), 2000, 1000)


def test_other_pictures_are_no_panoramas() -> None:
    """Without XMP, without the properties, or with a packet that is none."""
    assert panorama_of(None, 10, 10) is None
    assert panorama_of(packet(), 10, 10) is None
    assert panorama_of(b"<broken", 10, 10) is None


def test_the_rest_of_the_packet_stays() -> None:
    """A flat picture says nothing of panoramas, and still who made it."""
    left = without_panorama(packet(ProjectionType="cylindrical", FullPanoWidthPixels=50))

    assert left is not None
    assert panorama_of(left, 50, 20) is None
    assert b"mine" in left
    assert without_panorama(None) is None
