"""XMP as XML: extended packets, properties, lists of appended files."""

import base64
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest

from render.errors import InputError
from render.files.formats.metadata.xmp import (
    Item,
    container_items,
    decoded_base64,
    finished_xmp,
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


_VALUES = _ELEMENTS.replace(b"<rdf:li>", b"<rdf:li><rdf:value>").replace(
    b"</rdf:li>", b"</rdf:value></rdf:li>"
)


@pytest.mark.parametrize("packet", [_ATTRIBUTES, _ELEMENTS, _VALUES])
def test_appended_files_are_cut_from_the_end(packet: bytes) -> None:
    """Lengths count back from the end of the file, in any spelling of the directory."""
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


XMP = b"""<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
 xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""
 xmlns:t="http://ns.adobe.com/tiff/1.0/" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmpNote="http://ns.adobe.com/xmp/note/" xmlns:hdrgm="http://ns.adobe.com/hdr-gain-map/1.0/"
 xmlns:D="http://ns.google.com/photos/1.0/depthmap/"
 xmlns:C="http://ns.google.com/photos/1.0/container/"
 xmlns:I="http://ns.google.com/photos/1.0/container/item/"
 t:Orientation="6" t:ImageWidth='40' D:Near="1.5" hdrgm:Version="1.0" xmpNote:HasExtendedXMP="AB">
 <C:Directory><rdf:Seq><rdf:li rdf:parseType="Resource"><C:Item I:Mime="image/jpeg"/></rdf:li>
 </rdf:Seq></C:Directory><D:Far>9</D:Far>
 <dc:title><rdf:Alt><rdf:li xml:lang="x-default">roofs</rdf:li></rdf:Alt></dc:title>
</rdf:Description></rdf:RDF></x:xmpmeta>"""


def test_xmp_is_brought_up_to_date() -> None:
    """Upright, resized, without depth and gain map, whatever prefixes the file chose."""
    done = finished_xmp(XMP, 70, 50)
    assert done is not None
    tree = ET.fromstring(done)
    names = {e.tag for e in tree.iter()} | {a for e in tree.iter() for a in e.attrib}

    assert b't:Orientation="1"' in done
    assert b"t:ImageWidth='70'" in done
    assert b"roofs" in done
    assert not any(n.startswith(("{http://ns.google", "{http://ns.adobe.com/hdr")) for n in names)
    assert "{http://ns.adobe.com/xmp/note/}HasExtendedXMP" not in names


def test_xmp_that_needs_no_change_stays_byte_for_byte() -> None:
    """A packet without size, orientation or parts is handed on as it is."""
    plain = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><!-- odd  spacing --></x:xmpmeta>'

    assert finished_xmp(plain, 1, 1) == plain
    assert finished_xmp(None, 1, 1) is None


def test_xmp_is_gone_through_once() -> None:
    """Blanks, open tags and nested parts without end take their time, damage none."""
    space = b'<x xmlns:d="http://ns.google.com/photos/1.0/" xmlns:n="http://ns.adobe.com/xmp/note/"'
    blanks = space + b" " * 3_000_000 + b"/>"
    nested = space + b">" + b"<d:a>" * 100_000 + b"</d:a>" * 100_000 + b"</x>"

    assert finished_xmp(blanks, 1, 1) == blanks
    assert finished_xmp(nested, 1, 1) == space + b"></x>"
    assert finished_xmp(space + b">" + b"<d:a" * 100_000, 1, 1) is None
    assert finished_xmp(b"<x>" + b" " * 17_000_000 + b"</x>", 1, 1) is None
    assert finished_xmp(b'<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>', 1, 1) is None


def test_sizes_written_as_elements_and_in_16_bit_text() -> None:
    """The other spelling of a property is put right as well; such text comes back as UTF-8."""
    packet = (
        '<?xpacket begin="\ufeff"?><x xmlns:t="http://ns.adobe.com/tiff/1.0/">'
        "<t:Orientation>8</t:Orientation><t:Make>8</t:Make></x><?xpacket end='w'?>  "
    )
    wanted = packet.replace(">8</t:O", ">1</t:O").encode()

    assert finished_xmp(packet.encode() + b"\0", 1, 1) == wanted
    assert finished_xmp(packet.encode("utf-16"), 1, 1) == wanted
