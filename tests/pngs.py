"""PNG files with chunks that no writer at hand would put there."""

import struct
import zlib

__all__ = ["insert_chunks"]

_HEAD_BYTES = 8 + 12 + 13


def insert_chunks(png: bytes, chunks: list[tuple[bytes, bytes]]) -> bytes:
    """Put chunks into a PNG directly after its header, where colour chunks must stand."""
    packed = (
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )
    return png[:_HEAD_BYTES] + b"".join(packed) + png[_HEAD_BYTES:]
