"""Damage to files: half of it knows the grammar of its kind, half knows only bytes.

Every blow follows from its seed alone, so that it can be struck again.
"""

import io
import json
import random
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from typing import Any

from tests.blows.wire import mutated_blobs, mutated_message

__all__ = ["mutated"]

_WHOLE = (0, 1, 2, 127, 128, 255, 256, 32767, 65535, 65536, 2**31 - 1, 2**31, 2**32 - 1)
_LONG = (*_WHOLE, 2**40, 2**63 - 1, 2**63, 2**64 - 1)
_NUMBERS = (
    *("0", "-1", "-0.0", "nan", "inf", "-inf", "1e999", "1e-400", "1e308", "-1e308", "0x10"),
    *("9" * 400, "9" * 5000, "1" + "0" * 19, "99999999", "960000000", "2147483648", "0.5", "1_0"),
    *("1e6", "1000000", "20000", "1,5", "１２", ""),
)
_TEXTS = (
    *("", "a" * 300, "a" * 20_000, "../../../etc/passwd", "/dev/zero", "/dev/stdin", "a\tb", "-"),
    *("é" * 120, "\x1b[31mred\x07", "\u202etxet", "NUL", "con.png", "%s%n", "<b>", "up", "'", '"'),
    *("\U0001f300", "inf", "nan", "up 1e999", "f/nan", "100%,100%", "-5%,1e9%", "roof", "down -0"),
)
#: Boxes of a clip.
_TRACK = (
    *(b"moov", b"trak", b"mvhd", b"tkhd", b"mdhd", b"elst", b"stsd", b"stts", b"ctts", b"stss"),
    *(b"stsc", b"stsz", b"stco", b"avcC", b"esds", b"pasp", b"mp4a"),
)
_NESTED = ("[" * 20_000, '{"a":' * 5_000, "[" * 200 + "]" * 200, "(" * 3_000)


def mutated(name: str, data: bytes, seed: int) -> bytes:
    """A damaged copy of a file.

    Parameters
    ----------
    name : str
        Its ending tells the grammar.
    seed : int
        Odd ones damage it by its grammar, even ones by its bytes.
    """
    rng = random.Random(seed)
    ending = name.rpartition(".")[2].lower()
    change = _GRAMMARS.get(ending) if seed % 2 else None
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        try:
            data = (change or _bytewise)(data, rng)
        except Exception:  # codecs raise what they like on what an earlier change damaged
            data = _bytewise(data, rng)
    return data


def _bytewise(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return rng.randbytes(rng.randrange(64))
    way, found = rng.randrange(8), bytearray(data)
    early = rng.random() < 0.5
    at = rng.randrange(min(len(found), 300) if early else len(found))
    if way == 0:
        found[at] ^= 1 << rng.randrange(8)
    elif way == 1:
        found[at] = rng.choice((0, 1, 0x7F, 0x80, 0xFE, 0xFF, rng.randrange(256)))
    elif way == 2:  # a whole number of some size in either order
        size, order = rng.choice((2, 4, 8)), rng.choice(("little", "big"))
        value = rng.choice(_LONG) % (1 << 8 * size)
        found[at : at + size] = value.to_bytes(size, order)
    elif way == 3:
        del found[at:]
    elif way == 4:
        del found[at : at + rng.randrange(1, 64)]
    elif way == 5:
        found[at:at] = rng.randbytes(rng.randrange(1, 64))
    elif way == 6:
        end = min(len(found), at + rng.randrange(1, 2000))
        found[at:at] = bytes(found[at:end]) * rng.randrange(1, 4)
    else:
        found[at : at + 8] = rng.choice((b"\0" * 8, b"\xff" * 8, b" " * 8, rng.randbytes(8)))
    return bytes(found)


def _textual(data: bytes, rng: random.Random) -> bytes:
    """Numbers, texts, lines and brackets of anything that people can read."""
    text = data.decode("utf-8", "surrogateescape")
    way = rng.randrange(7)
    if way <= 1:
        spots = list(re.finditer(r"-?\d+(?:\.\d+)?", text))
        new = rng.choice(_NUMBERS)
    elif way == 2:
        spots = list(re.finditer(r'"([^"\n]*)"', text))
        new = json.dumps(rng.choice(_TEXTS), ensure_ascii=rng.random() < 0.5)
    elif way == 3:
        spots = list(re.finditer(r"[A-Za-z_][\w-]*", text))
        new = rng.choice(["", "kind", "count", "format", "nan", "a" * 500, "\u00e9", "\0"])
    elif way == 4:
        spots, new = list(re.finditer(r"[\[\]{}(),=:<>/]", text)), rng.choice("[]{}(),=:<>/\"'")
    elif way == 5:
        lines = text.split("\n")
        at = rng.randrange(len(lines))
        lines[at : at + 1] = rng.choice(([], [lines[at]] * 2, [lines[at]] * 300, [""]))
        return "\n".join(lines).encode("utf-8", "surrogateescape")
    else:
        spots = list(re.finditer(r"[=:]\s*", text))
        if spots:
            end = rng.choice(spots).end()
            text = text[:end] + rng.choice(_NESTED) + text[end:]
            return text.encode("utf-8", "surrogateescape")
    if spots:
        spot = rng.choice(spots)
        text = text[: spot.start()] + new + text[spot.end() :]
    return text.encode("utf-8", "surrogateescape")


def _json(data: bytes, rng: random.Random) -> bytes:
    """Values of one kind where those of another belong, anywhere in a tree."""
    if rng.random() < 0.4:
        return _textual(data, rng)
    tree = json.loads(data)
    nodes: list[tuple[Any, Any]] = []

    def walk(node: Any) -> None:
        pairs = node.items() if isinstance(node, dict) else enumerate(node)
        for key, value in pairs:
            nodes.append((node, key))
            if isinstance(value, dict | list):
                walk(value)

    walk(tree)
    holder, key = rng.choice(nodes)
    other = rng.choice(nodes)
    holder[key] = rng.choice(
        (
            *(None, True, 0, -1, 1e308, 10**400, "", "x" * 5000, [], {}, [[]], [None], {"a": []}),
            *(rng.choice(_TEXTS), [holder[key]] * 200, other[0][other[1]], "1e999", 5, [[5]]),
        )
    )
    return json.dumps(tree, skipkeys=True).encode()


def _request(data: bytes, rng: random.Random) -> bytes:
    line, _, body = data.partition(b"\n")
    if not body or rng.random() < 0.1:
        return _textual(line, rng) + b"\n" + body
    ending = line.rpartition(b".")[2].decode("utf-8", "replace")
    upload = line.partition(b"?")[0].endswith(b"/files")
    change = _GRAMMARS.get(ending, _bytewise) if upload else _json
    if upload and rng.random() < 0.1:  # content that its name doesn't fit
        line = line[: -len(ending)] + rng.choice(("jpg", "zip", "toml", "osm", "las", "")).encode()
    return line + b"\n" + change(body, rng)


def _tiff(data: bytes, rng: random.Random) -> bytes:
    """One entry of a directory: its tag, type, count or value."""
    found = bytearray(data)
    order = "<" if data[:2] == b"II" else ">"
    (at,) = struct.unpack_from(f"{order}I", data, 4)
    for _ in range(rng.randrange(2)):  # perhaps a directory inside
        for k in range(struct.unpack_from(f"{order}H", data, at)[0]):
            tag, _, _, value = struct.unpack_from(f"{order}HHII", data, at + 2 + 12 * k)
            if tag in (0x8769, 0x8825) and rng.random() < 0.7:
                at = value
                break
    (count,) = struct.unpack_from(f"{order}H", data, at)
    entry = at + 2 + 12 * rng.randrange(count)
    way = rng.randrange(6)
    if way == 0:
        tags = (256, 257, 258, 259, 262, 273, 277, 278, 279, 284, 317, 320, 322, 338, 339, 34675)
        struct.pack_into(f"{order}H", found, entry, rng.choice(tags))
    elif way == 1:
        struct.pack_into(f"{order}H", found, entry + 2, rng.choice((*range(19), 65535)))
    elif way == 2:
        struct.pack_into(f"{order}I", found, entry + 4, rng.choice(_WHOLE))
    elif way <= 4:
        struct.pack_into(f"{order}I", found, entry + 8, rng.choice((*_WHOLE, 3, 4, 5, 6, 8, 32773)))
    else:  # the next directory: this one, or anywhere
        where = rng.choice((at, 0, 8, len(data), rng.randrange(len(data))))
        struct.pack_into(f"{order}I", found, at + 2 + 12 * count, where)
    return bytes(found)


def _png(data: bytes, rng: random.Random) -> bytes:
    """One chunk's content or length, its checksum put right again."""
    chunks, at = [], 8
    while at + 12 <= len(data):
        size, name = struct.unpack_from(">I4s", data, at)
        chunks.append((name, data[at + 8 : at + 8 + size]))
        at += 12 + size
    k = rng.randrange(len(chunks))
    name, content = chunks[k]
    way = rng.randrange(5)
    if way == 0:
        chunks[k] = (name, _bytewise(content, rng))
    elif way == 1:
        chunks.insert(k, chunks[rng.randrange(len(chunks))])
    elif way == 2:
        del chunks[k]
    elif way == 3:
        width, height = rng.choice(_WHOLE), rng.choice(_WHOLE)
        chunks[0] = (b"IHDR", struct.pack(">II", width, height) + chunks[0][1][8:])
    else:
        texts = (b"tEXt", b"zTXt", b"iTXt", b"eXIf", b"iCCP", b"cICP", b"PLTE", b"tRNS", b"acTL")
        new = rng.choice((b"a\0\0" + zlib.compress(b"0" * 100_000), rng.randbytes(40), content))
        chunks.insert(1, (rng.choice(texts), new))
    body = b"".join(
        struct.pack(">I", len(c)) + n + c + struct.pack(">I", zlib.crc32(n + c)) for n, c in chunks
    )
    return data[:8] + body


def _jpeg(data: bytes, rng: random.Random) -> bytes:
    """One segment before the scan: gone, twice, longer, or damaged by its own grammar."""
    parts, at = [], 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        size = struct.unpack_from(">H", data, at + 2)[0]
        parts.append(data[at : at + 2 + size])
        at += 2 + size
        if parts[-1][1] == 0xDA:
            break
    k = rng.randrange(len(parts))
    head, content = parts[k][:2], parts[k][4:]
    way = rng.randrange(6)
    if way == 0:
        del parts[k]
    elif way == 1:
        parts.insert(k, parts[rng.randrange(len(parts))])
    elif way == 2:
        parts[k] = head + struct.pack(">H", rng.choice(_WHOLE) % 65536) + content
    else:
        for start, change in ((b"Exif\0\0", _tiff), (b"http://ns.adobe.com/xap/1.0/\0", _textual)):
            if content.startswith(start):
                content = start + change(content[len(start) :], rng)
                break
        else:
            content = _bytewise(content, rng)
        parts[k] = head + struct.pack(">H", (len(content) + 2) % 65536) + content
    return data[:2] + b"".join(parts) + data[at:]


def _npy(data: bytes, rng: random.Random) -> bytes:
    head_size = struct.unpack_from("<H", data, 8)[0]
    head = _textual(data[10 : 10 + head_size], rng)
    if rng.random() < 0.3:
        head = head.replace(b"<f4", rng.choice((b"|O", b"<M8[s]", b"<U9", b"<c16", b">f8", b"|V7")))
    return data[:8] + struct.pack("<H", len(head) % 65536) + head + data[10 + head_size :]


def _npz(data: bytes, rng: random.Random) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        members = [(name, old.read(name)) for name in old.namelist()]
    k = rng.randrange(len(members))
    name, content = members[k]
    members[k] = rng.choice(
        (
            (name, _npy(content, rng)),
            (rng.choice(_TEXTS)[:200] or "x", content),
            (name, content[: rng.randrange(len(content))]),
            (name, content + bytes(rng.choice((10, 20_000_000)))),
        )
    )
    members += rng.choice(([], [members[k]], [("b.npy", members[k][1])]))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for name, content in members:
            new.writestr(name.replace("\0", "_"), content)
    return packed.getvalue()


def _zip(data: bytes, rng: random.Random) -> bytes:
    """A packed shot: its names, its contents, and how they are packed."""
    with zipfile.ZipFile(io.BytesIO(data)) as old:
        members = [(name, old.read(name)) for name in old.namelist()]
    k = rng.randrange(len(members))
    name, content = members[k]
    ending = name.rpartition(".")[2]
    members[k] = rng.choice(
        (
            (rng.choice(_TEXTS)[:200] or "x", content),
            (f"../../{name}", content),
            (f"{rng.choice(_TEXTS)[:200]}.{ending}", content),
            (name, _GRAMMARS.get(ending, _bytewise)(content, rng)),
            (name, content + bytes(rng.choice((10, 20_000_000)))),
        )
    )
    members += rng.choice(([], [members[k]], [members[k]] * 30))
    ways = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", rng.choice(ways)) as new:
        for name, content in members:
            new.writestr(name.replace("\0", "_"), content)
    found = packed.getvalue()
    return _bytewise(found, rng) if rng.random() < 0.3 else found


def _las(data: bytes, rng: random.Random) -> bytes:
    """A field of the head: version, sizes, offsets, counts, scales."""
    found = bytearray(data)
    at, form = rng.choice(
        (
            *(
                (24, "<B"),
                (25, "<B"),
                (94, "<H"),
                (96, "<I"),
                (100, "<I"),
                (104, "<B"),
                (105, "<H"),
            ),
            *((107, "<I"), (111, "<I"), (131, "<d"), (155, "<d"), (179, "<d"), (235, "<Q")),
            *((243, "<I"), (247, "<Q"), (struct.unpack_from("<I", data, 96)[0], "<Q")),
        )
    )
    if form == "<d":
        value: Any = rng.choice((0.0, -1.0, 1e308, float("nan"), float("inf"), 1e-300))
    else:
        value = rng.choice((*_LONG, 960_000_000)) % (1 << 8 * struct.calcsize(form))
    struct.pack_into(form, found, at, value)
    return bytes(found)


def _boxes(data: bytes, rng: random.Random) -> bytes:
    """The size or name of a box of an ISO file."""
    found = bytearray(data)
    names = (
        b"ftyp",
        b"meta",
        b"iloc",
        b"ispe",
        b"iprp",
        b"ipco",
        b"mdat",
        b"hvcC",
        b"av1C",
        b"colr",
        *_TRACK,
    )
    spots = [m.start() - 4 for n in names for m in re.finditer(re.escape(n), data)]
    at = rng.choice([s for s in spots if s >= 0])
    if rng.random() < 0.7:
        struct.pack_into(">I", found, at + rng.choice((0, 8, 12, 16)), rng.choice(_WHOLE))
    else:
        found[at + 4 : at + 8] = rng.choice(names)
    return bytes(found)


def _arguments(data: bytes, rng: random.Random) -> bytes:
    """Words of a command line; never a NUL, which no shell can hand over."""
    words = data.decode("utf-8", "surrogateescape").split("\n")
    k = rng.randrange(len(words))
    options = (
        *("--tilt", "--f", "--focus", "--lens", "--height", "--pitch", "--horizon", "--swing"),
        *(
            "--width",
            "--exact",
            "--blades",
            "--cats-eye",
            "--format",
            "--mark",
            "--sharp",
            "--time",
        ),
        *(
            "--as",
            "--coc",
            "--heading",
            "--at",
            "--depth",
            "--survey",
            "--json",
            "-o",
            "--save-shot",
        ),
    )
    new = rng.choice((*_NUMBERS, *_TEXTS, *options, "up 8", "50%,50%"))
    way = rng.randrange(4)
    if way == 0:
        words[k] = new
    elif way == 1:
        words[k:k] = [rng.choice(options), new]
    elif way == 2:
        del words[k]
    else:
        words[k] = _textual(words[k].encode("utf-8", "surrogateescape"), rng).decode(
            "utf-8", "surrogateescape"
        )
    return "\n".join(w.replace("\0", "") for w in words).encode("utf-8", "surrogateescape")


_GRAMMARS: dict[str, Callable[[bytes, random.Random], bytes]] = {
    **dict.fromkeys(("tif",), _tiff),
    **dict.fromkeys(("jpg",), _jpeg),
    **dict.fromkeys(("toml", "osm", "asc", "pfm", "hdr"), _textual),
    **dict.fromkeys(("las", "laz"), _las),
    **dict.fromkeys(("heic", "avif", "mp4", "mov"), _boxes),
    "png": _png,
    "npy": _npy,
    "npz": _npz,
    "onnx": mutated_message,
    "pbf": mutated_blobs,
    "zip": _zip,
    "geojson": _json,
    "args": _arguments,
    "http": _request,
}
