"""XMP packets read as XML with namespaces, joined from a JPEG's pieces, and brought up to date."""

import base64
import binascii
import re
import struct
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from xml.parsers import expat

from render.errors import InputError
from render.files.formats.carried import jpeg_segments
from render.limits import XMP_BYTES, XMP_IMAGE_BYTES

__all__ = [
    "Item",
    "container_items",
    "decoded_base64",
    "finished_xmp",
    "joined_extension",
    "payload",
    "properties",
    "tree_of",
]

_MORE = b"http://ns.adobe.com/xmp/extension/\0"
_BLANK = b"\0 \r\n\t"
#: Namespaces about parts of the old file that the finished photograph no longer has:
#: depth maps, gain maps, moving pictures, and the lists of what is appended to the file.
_GONE = (
    "http://ns.google.com/photos/",
    "http://ns.adobe.com/hdr-gain-map/",
    "http://ns.apple.com/HDRGainMap/",
    "http://ns.xiaomi.com/",
)
_TIFF = "http://ns.adobe.com/tiff/1.0/"
_EXIF = "http://ns.adobe.com/exif/1.0/"
_EXTENDED = ("http://ns.adobe.com/xmp/note/", "HasExtendedXMP")
#: One attribute with the blanks before it; nothing in it can be tried twice.
_ATTRIBUTE = re.compile(rb"""\s*+([^\s=<>/"']++)\s*+=\s*+("[^"]*+"|'[^']*+')""")
_NAME = re.compile(rb"<[^\s/>]++")


def joined_extension(data: bytes, guid: str | None = None) -> bytes | None:
    """Join the extended XMP of a JPEG.

    Parameters
    ----------
    data : bytes
        The whole file.
    guid : str or None
        The digest that the main packet names (xmpNote:HasExtendedXMP); None takes the first.

    Returns
    -------
    bytes or None
        None if there is none, or pieces are missing.

    References
    ----------
    Adobe XMP Specification Part 3, 2020, 1.1.3.1 "Extended XMP in JPEG".
    """
    pieces: dict[int, bytes] = {}
    total = -1
    for marker, start, end in jpeg_segments(data):
        body = data[start:end]
        if marker != 0xE1 or not body.startswith(_MORE) or len(body) < len(_MORE) + 40:
            continue
        found = body[len(_MORE) : len(_MORE) + 32].decode("latin-1")
        if guid is not None and found != guid:
            continue
        guid = found
        total, offset = struct.unpack_from(">II", body, len(_MORE) + 32)
        pieces[offset] = body[len(_MORE) + 40 :]
    if not pieces or total > XMP_IMAGE_BYTES.most:
        return None
    joined = bytearray()
    for offset in sorted(pieces):
        if offset != len(joined):
            return None
        joined += pieces[offset]
    return bytes(joined) if len(joined) == total else None


def tree_of(packet: bytes | None) -> ET.Element | None:
    """Parse a packet; None if there is none or it isn't XML.

    Documents that define entities are refused unread, so that a small packet can't
    grow without end.
    """
    if not packet or _defines_entities(packet):
        return None
    try:
        return ET.fromstring(packet.strip(_BLANK))
    except (ET.ParseError, ValueError, LookupError):  # an encoding that is none, too
        return None


def properties(tree: ET.Element | None, space: str) -> dict[str, str]:
    """Simple properties of namespaces that contain `space`, as attributes or as elements."""
    found: dict[str, str] = {}
    for element in tree.iter() if tree is not None else ():
        for key, value in element.attrib.items():
            name_space, name = _split(key)
            if space in name_space:
                found.setdefault(name, value)
        name_space, name = _split(element.tag)
        if space in name_space and not len(element) and element.text:
            found.setdefault(name, element.text)
    return found


@dataclass(frozen=True, slots=True)
class Item:
    """One file that is appended to a picture, as its directory describes it."""

    mime: str
    length: int
    name: str
    semantic: str


def container_items(tree: ET.Element | None) -> list[Item]:
    """List the directory of appended files (Dynamic Depth 1.0 and the container format after it).

    Every spelling is read: properties as attributes of one element, as elements inside a list
    item, or inside the item's ``rdf:value`` (a structured value that may carry qualifiers; W3C RDF
    1.1 XML, 2014).
    """
    items = []
    for element in tree.iter() if tree is not None else ():
        if _split(element.tag)[1] not in ("Item", "li", "value"):
            continue
        said: dict[str, str] = {}
        for key, value in element.attrib.items():
            said.setdefault(_split(key)[1], value)
        for child in element:
            said.setdefault(_split(child.tag)[1], child.text or "")
        if "Mime" not in said:
            continue
        try:
            length = int(said.get("Length", "0") or 0) + int(said.get("Padding", "0") or 0)
        except ValueError:
            raise InputError("the list of appended files is damaged") from None
        items.append(Item(said["Mime"], length, said.get("DataURI", ""), said.get("Semantic", "")))
    return items


def payload(data: bytes, items: list[Item], wanted: Item) -> bytes:
    """Cut one appended file out; lengths are counted back from the end of the file."""
    place = items.index(wanted)
    after = sum(item.length for item in items[place + 1 :])
    end = len(data) - after
    if not 0 < wanted.length <= end:
        raise InputError("the list of appended files does not fit the file")
    return data[end - wanted.length : end]


def decoded_base64(text: str) -> bytes:
    """Decode a property that holds a whole file."""
    try:
        return base64.b64decode("".join(text.split()), validate=True)
    except (binascii.Error, ValueError):
        raise InputError("a file inside the XMP is damaged") from None


def finished_xmp(xmp: bytes | None, width_px: int, height_px: int) -> bytes | None:
    """Return the XMP packet of the finished photograph.

    Orientation and size are brought up to date, and what describes a depth map or gain map
    that the new file doesn't hold is taken out. Everything else stays byte for byte.

    Returns
    -------
    bytes or None
        None if there is none, or it is damaged or too large: what it says can't be put right.
    """
    if xmp is None or len(xmp) > XMP_BYTES.most or _defines_entities(xmp):
        return None
    text = xmp.startswith((b"\xff\xfe", b"\xfe\xff"))
    core = (xmp.decode("utf-16", "replace").encode() if text else xmp).strip(b"\0")
    inside = core.strip(_BLANK)
    start = core.find(inside)
    up_to_date = {
        (_TIFF, "Orientation"): 1,
        (_TIFF, "ImageWidth"): width_px,
        (_TIFF, "ImageLength"): height_px,
        (_EXIF, "PixelXDimension"): width_px,
        (_EXIF, "PixelYDimension"): height_px,
    }
    editing = _Editing(inside, {name: str(n).encode() for name, n in up_to_date.items()})
    try:
        done = editing.run()
    except (expat.ExpatError, ValueError, LookupError):
        return None
    return core[:start] + done + core[start + len(inside) :]


@dataclass(slots=True)
class _Editing:
    """Goes through a packet once and notes what bytes are to be replaced."""

    packet: bytes
    values: dict[tuple[str, str], bytes]
    _edits: list[tuple[int, int, bytes]] = field(default_factory=list)
    _spaces: dict[str, list[str]] = field(default_factory=dict)
    _open: list[tuple[tuple[str, str], int, int]] = field(default_factory=list)
    _gone: int | None = None
    _parser: expat.XMLParserType = field(
        default_factory=lambda: expat.ParserCreate(namespace_separator="}")
    )

    def run(self) -> bytes:
        parser = self._parser
        parser.StartNamespaceDeclHandler = self._bound
        parser.EndNamespaceDeclHandler = lambda prefix: self._spaces[prefix or ""].pop()
        parser.StartElementHandler = self._begun
        parser.EndElementHandler = self._ended
        parser.Parse(self.packet, True)
        done, at = [], 0
        for start, end, new in sorted(self._edits):
            done += [self.packet[at:start], new]
            at = end
        return b"".join((*done, self.packet[at:]))

    def _bound(self, prefix: str | None, space: str) -> None:
        self._spaces.setdefault(prefix or "", []).append(space or "")

    def _begun(self, name: str, _: dict[str, str]) -> None:
        at = self._parser.CurrentByteIndex
        if self._gone is None and _split(name)[0].startswith(_GONE):
            self._gone = len(self._open) + 1
        self._open.append((_split(name), at, self._attributes(at)))

    def _attributes(self, at: int) -> int:
        """Go through a start tag; return where it ends."""
        named = _NAME.match(self.packet, at)
        at = named.end() if named else at + 1
        while found := _ATTRIBUTE.match(self.packet, at):
            at = found.end()
            prefix, _, local = found[1].decode("utf-8", "replace").rpartition(":")
            bound = self._spaces.get(prefix) if prefix else None
            key = (bound[-1] if bound else "", local)
            if self._gone is None and (key[0].startswith(_GONE) or key == _EXTENDED):
                self._edits.append((found.start(), at, b""))
            elif self._gone is None and key in self.values and found[2][1:-1].strip().isdigit():
                self._edits.append((found.start(2) + 1, at - 1, self.values[key]))
        return self.packet.index(b">", at) + 1

    def _ended(self, _: str) -> None:
        name, start, after = self._open.pop()
        empty = self.packet[after - 2 : after] == b"/>"
        at = after if empty else self._parser.CurrentByteIndex
        if self._gone is not None and len(self._open) + 1 == self._gone:
            self._gone = None
            end = after if empty else self.packet.index(b">", at) + 1
            while self.packet[end : end + 1].isspace():
                end += 1
            self._edits.append((start, end, b""))
        elif self._gone is None and name in self.values and self.packet[after:at].strip().isdigit():
            self._edits.append((after, at, self.values[name]))


def _defines_entities(packet: bytes) -> bool:
    return b"<!DOCTYPE" in packet.replace(b"\0", b"")  # 16-bit text too


def _split(name: str) -> tuple[str, str]:
    """Namespace and local name of "{namespace}name"."""
    space, _, local = name.rpartition("}")
    return space.lstrip("{"), local
