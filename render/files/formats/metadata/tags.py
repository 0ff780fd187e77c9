"""Tag directories: the structure that EXIF blocks and TIFF files share (TIFF 6.0, section 2).

Values are carried as the bytes they were, so that nothing is lost that nobody understood.
"""

import math
import struct
from dataclasses import dataclass

from render.errors import InputError

__all__ = ["Block", "Directory", "Entry", "lay_directory"]

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_LETTERS = {1: "B", 3: "H", 4: "I", 6: "b", 8: "h", 9: "i", 11: "f", 12: "d", 13: "I"}
_MOST_ENTRIES = 2000  # far above any real directory; a damaged count must not run on


@dataclass(frozen=True, slots=True)
class Entry:
    """One tag: its number, its type, how many values, and their bytes.

    Attributes
    ----------
    tag, kind, count : int
        As in TIFF 6.0; kind 2 is text, 3 short, 4 long, 5 rational, 7 undefined.
    raw : bytes
        All values, in the byte order of the block.
    at : int
        Where the twelve bytes of the entry stand in the block; -1 for a new one.
    value_at : int
        Where the values stand in the block; -1 for a new one.
    """

    tag: int
    kind: int
    count: int
    raw: bytes
    at: int = -1
    value_at: int = -1

    def numbers(self, order: str) -> tuple[float, ...]:
        """The values as numbers; a rational over 0 is NaN, text gives none."""
        if self.kind in (5, 10):
            pairs = struct.unpack(
                f"{order}{2 * self.count}{'I' if self.kind == 5 else 'i'}", self.raw
            )
            return tuple(
                a / b if b else math.nan for a, b in zip(pairs[::2], pairs[1::2], strict=True)
            )
        if self.kind not in _LETTERS:
            return ()
        return tuple(
            float(v) for v in struct.unpack(f"{order}{self.count}{_LETTERS[self.kind]}", self.raw)
        )

    @property
    def text(self) -> str:
        """The value as text, up to its closing zero."""
        return self.raw.split(b"\0")[0].decode("utf-8", "replace").strip()


@dataclass(frozen=True, slots=True)
class Directory:
    """One directory of tags: where it stands, its entries by number, where the next one is."""

    at: int
    entries: dict[int, Entry]
    next_at: int
    next_field_at: int


@dataclass(frozen=True, slots=True)
class Block:
    """Bytes with tag directories in them: an EXIF block, or a whole classic TIFF file.

    Attributes
    ----------
    data : bytes-like
        From the byte order mark on.
    order : str
        "<" or ">", as for `struct`.
    """

    data: bytes
    order: str

    @classmethod
    def over(cls, data: bytes) -> "Block":
        """Look at `data` as a block.

        Raises
        ------
        InputError
            If it does not begin like one.
        """
        order = {b"II*\0": "<", b"MM\0*": ">"}.get(bytes(data[:4]))
        if order is None or len(data) < 8:
            raise InputError("this is no block of tags")
        return cls(data, order)

    @property
    def first(self) -> Directory:
        """The first directory."""
        (at,) = struct.unpack_from(f"{self.order}I", self.data, 4)
        return self.directory(at)

    def directory(self, at: int) -> Directory:
        """Return the directory at byte `at`; entries that point out of the block are left out."""
        size = len(self.data)
        if not 8 <= at <= size - 2:
            return Directory(at, {}, 0, -1)
        (count,) = struct.unpack_from(f"{self.order}H", self.data, at)
        count = min(count, (size - at - 2) // 12, _MOST_ENTRIES)
        found = (self._entry(at + 2 + 12 * i) for i in range(count))
        entries = {entry.tag: entry for entry in found if entry is not None}
        end = at + 2 + 12 * count
        following = (
            struct.unpack_from(f"{self.order}I", self.data, end)[0] if end + 4 <= size else 0
        )
        return Directory(at, entries, following, end)

    def sub(self, parent: Directory, tag: int) -> Directory | None:
        """Return the directory that `tag` of `parent` points to, or None."""
        entry = parent.entries.get(tag)
        place = entry.numbers(self.order) if entry is not None else ()
        found = self.directory(int(place[0])) if place else None
        return found if found is not None and found.entries else None

    def _entry(self, at: int) -> Entry | None:
        tag, kind, count = struct.unpack_from(f"{self.order}HHI", self.data, at)
        length = _SIZES.get(kind, 0) * count
        if not length:
            return None
        value_at = at + 8
        if length > 4:
            (value_at,) = struct.unpack_from(f"{self.order}I", self.data, at + 8)
        if value_at + length > len(self.data):
            return None
        return Entry(tag, kind, count, bytes(self.data[value_at : value_at + length]), at, value_at)


def lay_directory(
    order: str, start: int, fresh: list[Entry], verbatim: dict[int, bytes] | None = None
) -> bytes:
    """Lay out a directory and its values for the place `start` of a block.

    Parameters
    ----------
    order : str
        "<" or ">".
    start : int
        Where in the block the returned bytes will stand.
    fresh : list of Entry
        Entries whose values are laid out anew, after the directory.
    verbatim : dict of int to bytes
        Twelve-byte entries by tag whose values stay where they are in the block.

    Returns
    -------
    bytes
        The directory, the end mark (no next one), the values.
    """
    fields = dict(verbatim or {})
    values_at = start + 2 + 12 * len(fields | {entry.tag: b"" for entry in fresh}) + 4
    values = b""
    for entry in fresh:
        place = entry.raw.ljust(4, b"\0")
        if len(entry.raw) > 4:
            place = struct.pack(f"{order}I", values_at + len(values))
            values += entry.raw + b"\0" * (len(entry.raw) % 2)
        fields[entry.tag] = struct.pack(f"{order}HHI", entry.tag, entry.kind, entry.count) + place
    body = b"".join(fields[tag] for tag in sorted(fields))
    return struct.pack(f"{order}H", len(fields)) + body + b"\0\0\0\0" + values
