"""Point clouds (LAS, LAZ), read in a process of their own with limits of time and memory.

The libraries loop without end, ask for tens of gigabytes or end the process on damaged files, so
the head is checked against the file's size first, and what then happens, happens elsewhere.
"""

import struct
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.apart.process import ApartError, answer_apart, work_apart
from render.files.inputs import input_file
from render.limits import POINTS, SECONDS_APART, SETTING

__all__ = ["read_points"]

#: Bytes that the reader may ask for beside its points, and for each of them.
_BASE_BYTES = 500_000_000
_BYTES_A_POINT = 300
#: Heads of the notes before and behind the points.
_RECORD_BYTES, _LATE_RECORD_BYTES = 54, 60
#: Points that LAZ packs together unless it says otherwise; the first of each is stored plainly.
_CHUNK_POINTS = 50_000


def read_points(path: Path) -> NDArray[np.float64]:
    """Read a point cloud without what is classed as noise.

    Returns
    -------
    ndarray, shape (N, 3)
        East, north, up, in the file's own unit.

    Raises
    ------
    InputError
        If it is damaged, cut short, claims more points than its bytes can hold, or its reader
        took too long or too much memory.

    References
    ----------
    LAS Specification 1.4 R15, ASPRS 2019: the public header block, and class 7 and 18, noise.
    """
    needed("laspy", "reading a point cloud")
    count = _claimed_points(input_file(path, what="point cloud"))
    POINTS.check(count, f"it claims {count:,} points", "cut out the part you see")
    return _read_apart(path, count)


def _claimed_points(path: Path) -> int:
    """How many points the head claims, refused where the file is too short for them."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(375)
        if len(head) < 227 or head[:4] != b"LASF":
            raise InputError("is no LAS or LAZ file: its head is not theirs")
        (offset,) = struct.unpack_from("<I", head, 96)
        packed, length = bool(head[104] & 0x80), struct.unpack_from("<H", head, 105)[0]
        (count,) = struct.unpack_from("<I", head, 107)
        if head[25] >= 4 and len(head) >= 255:
            count = max(count, struct.unpack_from("<Q", head, 247)[0])
        if not (227 <= offset <= size) or length < 20:
            raise InputError("its head is damaged; copy it again")
        begins, records = (
            struct.unpack_from("<H", head, 94)[0],
            struct.unpack_from("<I", head, 100)[0],
        )
        if records * _RECORD_BYTES > offset - begins:
            raise InputError("its head is damaged: it claims more notes than it has room for")
        if head[25] >= 4 and len(head) >= 247:
            at, records = struct.unpack_from("<QI", head, 235)
            if records * _LATE_RECORD_BYTES > max(size - at, 0):
                raise InputError("its head is damaged: it claims more notes than it has room for")
        room = size - offset
        if packed:
            file.seek(offset)
            (table,) = struct.unpack("<q", file.read(8).ljust(8, b"\0"))
            if count and not (table == -1 or offset + 8 <= table <= size - 8):
                raise InputError(
                    "it is cut short: the list of its pieces is missing; copy it again"
                )
            most = (room // length + 1) * _CHUNK_POINTS
        else:
            most = room // length
    if count > most:
        raise InputError(
            f"it claims {count:,} points and its {size:,} bytes hold {most:,} at most: it is cut "
            "short or damaged; copy it again"
        )
    return int(count)


def _read_apart(path: Path, count: int) -> NDArray[np.float64]:
    try:
        points = work_apart(
            "render.files.apart.pointcloud",
            [str(path)],
            most_bytes=_BASE_BYTES + _BYTES_A_POINT * count,
            most_numbers=3 * count,
        )
    except ApartError as error:
        raise InputError(
            {
                "late": f"its reader was ended after {SECONDS_APART.most:.0f} seconds: the file is "
                f"damaged or very large ({SETTING} gives it longer)",
                "full": "it asks for more memory than its points need: it is damaged; copy it "
                "again",
                "ended": "it is damaged: its reader ended over it; copy it again",
                "failed": f"cannot be read as a point cloud: {error}",
                "refused": str(error),
            }[error.how]
        ) from None
    return np.asarray(points, np.float64)


def _points(words: list[str], _: object) -> NDArray[np.float64]:
    laspy = needed("laspy", "reading a point cloud")
    cloud = laspy.read(words[0])
    found, claimed = len(cloud.points), cloud.header.point_count
    if found < claimed:
        raise InputError(f"it is cut short: {found:,} of {claimed:,} points are there")
    kept = np.ones(len(cloud.x), bool)
    if "classification" in set(cloud.point_format.dimension_names):
        kept = ~np.isin(np.asarray(cloud.classification), (7, 18))
    axes = [np.asarray(axis, np.float64)[kept] for axis in (cloud.x, cloud.y, cloud.z)]
    return np.ascontiguousarray(np.stack(axes, axis=1))


if __name__ == "__main__":
    answer_apart(_points)
