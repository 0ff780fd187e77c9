"""XMP packets read as XML with namespaces; long ones joined from the pieces that a JPEG holds."""

import base64
import binascii
import struct
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from render.errors import InputError
from render.files.formats.metadata import jpeg_segments

__all__ = [
    "Item",
    "container_items",
    "decoded_base64",
    "joined_extension",
    "payload",
    "properties",
    "tree_of",
]

_MORE = b"http://ns.adobe.com/xmp/extension/\0"
_MOST_BYTES = 200_000_000  # far above any depth map or original that a phone stores


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
    if not pieces or total > _MOST_BYTES:
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
    if not packet or b"<!DOCTYPE" in packet.replace(b"\0", b""):  # 16-bit text too
        return None
    try:
        return ET.fromstring(packet.strip(b"\0 \r\n\t"))
    except ET.ParseError:
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

    Both spellings are read: properties as attributes of one element, or as elements
    inside a list item.
    """
    items = []
    for element in tree.iter() if tree is not None else ():
        if _split(element.tag)[1] not in ("Item", "li"):
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


def _split(name: str) -> tuple[str, str]:
    """Namespace and local name of "{namespace}name"."""
    space, _, local = name.rpartition("}")
    return space.lstrip("{"), local
