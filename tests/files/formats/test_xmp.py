"""XMP as XML: extended packets, properties, lists of appended files."""

import base64
from collections.abc import Callable

import pytest

from render.errors import InputError
from render.files.formats.xmp import (
    Item,
    container_items,
    decoded_base64,
    joined_extension,
    payload,
    properties,
    tree_of,
)

_GUID = "A" * 32


def test_extended_packets_are_joined(extended_xmp: Callable[[str, bytes], bytes]) -> None:
    """Pieces in any order make the whole; a missing piece or another digest gives nothing."""
    packet = bytes(range(256)) * 20
    segments = extended_xmp(_GUID, packet)
    data = b"\xff\xd8" + segments + b"\xff\xda\x00\x02\xff\xd9"

    assert joined_extension(data) == packet
    assert joined_extension(data, _GUID) == packet
    assert joined_extension(data, "B" * 32) is None
    assert joined_extension(b"\xff\xd8" + segments[: len(segments) // 2] + b"\xff\xda\0\2") is None


def test_properties_are_found_in_both_spellings() -> None:
    """As attributes and as elements, whatever the prefix."""
    packet = (
        b'<a xmlns:k="http://ns.google.com/photos/1.0/depthmap/" k:Near="1.5" other="2">'
        b"<k:Far> 9</k:Far></a>"
    )

    assert properties(tree_of(packet), "/depthmap/") == {"Near": "1.5", "Far": " 9"}
    assert properties(None, "/depthmap/") == {}


def test_hostile_packets_are_not_read() -> None:
    """Entity definitions and broken XML give nothing, at once."""
    bomb = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]><x>&b;</x>'

    assert tree_of(bomb) is None
    assert tree_of(bomb.decode().encode("utf-16")) is None
    assert tree_of(b"<a><b></a>") is None
    assert tree_of(None) is None


_ATTRIBUTES = b"""<r xmlns:C="http://ns.google.com/photos/1.0/container/"
 xmlns:I="http://ns.google.com/photos/1.0/container/item/"><C:Directory><C:Item I:Mime="image/jpeg"
 I:Semantic="Primary"/><C:Item I:Mime="image/png" I:Length="5" I:Padding="1" I:DataURI="depth"/>
 <C:Item I:Mime="text/plain" I:Length="3" I:Semantic="Other"/></C:Directory></r>"""
_ELEMENTS = b"""<r xmlns:I="http://ns.google.com/photos/dd/1.0/item/"
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Seq>
 <rdf:li><I:Mime>image/jpeg</I:Mime></rdf:li>
 <rdf:li><I:Mime>image/png</I:Mime><I:Length>6</I:Length><I:DataURI>depth</I:DataURI></rdf:li>
 <rdf:li><I:Mime>text/plain</I:Mime><I:Length>3</I:Length></rdf:li></rdf:Seq></r>"""


@pytest.mark.parametrize("packet", [_ATTRIBUTES, _ELEMENTS])
def test_appended_files_are_cut_from_the_end(packet: bytes) -> None:
    """Lengths count back from the end of the file, in either spelling of the directory."""
    items = container_items(tree_of(packet))

    assert [item.mime for item in items] == ["image/jpeg", "image/png", "text/plain"]
    assert payload(b"a whole jpegDEPTH.txt", items, items[1]) == b"DEPTH."


def test_lists_that_do_not_fit_are_refused() -> None:
    """More bytes than the file has, none at all, or no number."""
    items = [Item("image/jpeg", 0, "", "Primary"), Item("image/png", 99, "", "Depth")]
    with pytest.raises(InputError, match="does not fit"):
        payload(b"short", items, items[1])
    with pytest.raises(InputError, match="does not fit"):
        payload(b"short", items, items[0])
    with pytest.raises(InputError, match="damaged"):
        container_items(tree_of(_ELEMENTS.replace(b">6<", b">six<")))


def test_base64_with_line_breaks() -> None:
    """Line breaks inside are allowed, other signs are damage."""
    text = base64.b64encode(b"anything at all").decode()

    assert decoded_base64(text[:5] + "\n " + text[5:]) == b"anything at all"
    with pytest.raises(InputError, match="damaged"):
        decoded_base64("!!!!")
