"""Damage to Protocol Buffers (ONNX, OSM's PBF): one field, all lengths put right again."""

import random
import struct
import zlib

__all__ = ["mutated_blobs", "mutated_message"]

_VARINTS = (0, 1, 2, 7, 127, 128, 16384, 2**31 - 1, 2**31, 2**32 - 1, 2**40, 2**63, 2**64 - 1)
#: A message inside a message inside a message ...
_DEEPEST = 12


def _varint(data: bytes, at: int) -> tuple[int, int]:
    value = shift = 0
    while True:
        byte = data[at]
        value, shift, at = value | (byte & 127) << shift, shift + 7, at + 1
        if byte < 128:
            return value, at
        if shift > 63:
            raise ValueError("no number")


def _coded(value: int) -> bytes:
    found = bytearray()
    while value > 127:
        found.append(value & 127 | 128)
        value >>= 7
    return bytes([*found, value])


def _fields(data: bytes) -> list[tuple[int, bytes]]:
    """Key and content of every field, as it stands after the key (a length stays out)."""
    found, at = [], 0
    while at < len(data):
        key, at = _varint(data, at)
        kind = key & 7
        if key >> 3 == 0 or kind not in (0, 1, 2, 5):
            raise ValueError("no message")
        if kind == 0:
            end = _varint(data, at)[1]
        elif kind == 2:
            size, at = _varint(data, at)
            end = at + size
        else:
            end = at + (8 if kind == 1 else 4)
        if end > len(data):
            raise ValueError("cut short")
        found.append((key, data[at:end]))
        at = end
    return found


def _joined(fields: list[tuple[int, bytes]]) -> bytes:
    return b"".join(
        _coded(key) + (_coded(len(content)) if key & 7 == 2 else b"") + content
        for key, content in fields
    )


def mutated_message(data: bytes, rng: random.Random, depth: int = 0) -> bytes:
    """One field of a message, or of one inside it, changed, doubled, moved or gone.

    Raises
    ------
    ValueError, IndexError
        If it is no message.
    """
    fields = _fields(data)
    k = rng.randrange(len(fields))
    key, content = fields[k]
    if key & 7 == 2 and depth < _DEEPEST and rng.random() < 0.85:
        try:
            fields[k] = key, mutated_message(content, rng, depth + 1)
            return _joined(fields)
        except (ValueError, IndexError):
            pass  # text, or packed numbers
    way = rng.randrange(8)
    if way == 0:
        del fields[k]
    elif way == 1:
        fields[k:k] = [fields[k]] * rng.choice((1, 2, 500))
    elif way == 2:
        fields.insert(rng.randrange(len(fields)), fields.pop(k))
    elif way == 3:
        fields[k] = rng.choice((key ^ 1, key ^ 8, key + 8, rng.randrange(8, 400))), content
    elif key & 7 == 0:
        fields[k] = key, _coded(rng.choice((*_VARINTS, rng.randrange(40))))
    elif key & 7 in (1, 5):
        number = rng.choice((0.0, -1.0, float("nan"), float("inf"), 1e30, -1e-30))
        fields[k] = key, struct.pack("<d" if key & 7 == 1 else "<f", number)
    elif way == 4:
        fields[k] = key, rng.choice((b"", b"x" * 5000, b"\xff" * 9, b"../../etc/passwd", b"Loop"))
    elif way == 5:  # packed numbers
        numbers = b"".join(_coded(rng.choice(_VARINTS)) for _ in range(rng.randrange(1, 5)))
        fields[k] = key, numbers
    elif content:
        found, at = bytearray(content), rng.randrange(len(content))
        found[at] = rng.choice((0, 1, 127, 128, 255, rng.randrange(256)))
        fields[k] = key, bytes(found) if way == 6 else content[:at]
    return _joined(fields)


def mutated_blobs(data: bytes, rng: random.Random) -> bytes:
    """One block of a PBF file: its head, its wrapper, or what is packed in it, packed again.

    Raises
    ------
    ValueError, IndexError, struct.error, zlib.error
        If an earlier change left nothing of the form.
    """
    blocks, at = [], 0
    while at < len(data):
        (size,) = struct.unpack_from(">I", data, at)
        head = data[at + 4 : at + 4 + size]
        (length,) = (_varint(content, 0)[0] for key, content in _fields(head) if key == 3 << 3)
        at += 4 + size
        blocks.append((head, data[at : at + length]))
        at += length
    k = rng.randrange(len(blocks))
    head, blob = blocks[k]
    way = rng.random()
    if way < 0.75:
        fields = dict(_fields(blob))
        inner = mutated_message(zlib.decompress(fields[3 << 3 | 2]), rng)
        fields = {2 << 3: _coded(len(inner)), 3 << 3 | 2: zlib.compress(inner)}
        blob = _joined([*fields.items()])
    elif way < 0.85:
        blob = mutated_message(blob, rng)
    elif way < 0.9:
        blocks.insert(k, blocks[rng.randrange(len(blocks))])
    head_fields = [(key, c) for key, c in _fields(head) if key != 3 << 3]
    head = _joined([*head_fields, (3 << 3, _coded(len(blob)))])
    blocks[k] = (mutated_message(head, rng), blob) if way >= 0.9 else (head, blob)
    return b"".join(struct.pack(">I", len(h)) + h + b for h, b in blocks)
