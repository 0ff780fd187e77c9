"""Point clouds (LAS, LAZ), read in a process of their own with limits of time and memory.

The libraries loop without end, ask for tens of gigabytes or end the process on damaged files, so
the head is checked against the file's size first, and what then happens, happens elsewhere.
"""

import os
import struct
import subprocess
import sys
import threading
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.inputs import input_file
from render.limits import POINTS, SECONDS_APART, SETTING

__all__ = ["read_points"]

#: Bytes that the reader may ask for beside its points, and for each of them.
_BASE_BYTES = 2_000_000_000
_BYTES_A_POINT = 300
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
    most_bytes = _BASE_BYTES + _BYTES_A_POINT * count
    reader = subprocess.Popen(
        [sys.executable, "-m", "render.files.pointcloud", str(path), str(most_bytes)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "RAYON_NUM_THREADS": "2"},
    )
    late = threading.Event()

    def end() -> None:
        late.set()
        reader.kill()

    timer = threading.Timer(SECONDS_APART.most, end)
    timer.start()
    try:
        with reader:
            points, problem = _received(reader.stdout, count)
    except BaseException:
        reader.kill()
        raise
    finally:
        timer.cancel()
    if late.is_set():
        raise InputError(
            f"its reader was ended after {SECONDS_APART.most:.0f} seconds: the file is damaged or "
            f"very large ({SETTING} gives it longer)"
        )
    if problem:
        raise InputError(problem)
    if reader.returncode or points is None:
        raise InputError("it is damaged: its reader ended over it; copy it again")
    return points


def _received(stream: IO[bytes] | None, count: int) -> tuple[NDArray[np.float64] | None, str]:
    """Points, or why there are none, as `_send` wrote them."""
    assert stream is not None
    head = stream.read(8)
    if len(head) < 8:
        return None, ""
    (found,) = struct.unpack("<q", head)
    if found < 0:
        return None, stream.read(-found).decode("utf-8", "replace")
    if found > count:
        return None, "it holds more points than it claims; copy it again"
    points = np.empty((found, 3))
    plain: Any = points
    into, at = memoryview(plain).cast("B"), 0
    while at < len(into):
        got = stream.readinto(into[at:])  # type: ignore[attr-defined]
        if not got:
            return None, ""
        at += got
    return points, ""


def _send(path: str, most_bytes: int) -> None:
    """Read a point cloud and write its number of points and coordinates to standard output.

    A sentence takes their place where it cannot be read: minus its length, then itself.
    """
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (most_bytes, most_bytes))
    out = sys.stdout.buffer
    try:
        points = _points(path)
    except MemoryError:
        _say(out, "it asks for more memory than its points need: it is damaged; copy it again")
    except Exception as error:  # the library's own, struct's, zlib's: whatever a bad file brings
        reason = " ".join(str(error).split())[:120] or type(error).__name__
        _say(out, f"cannot be read as a point cloud: {reason}")
    else:
        out.write(struct.pack("<q", len(points)))
        out.write(points.tobytes())
        out.flush()


def _say(out: IO[bytes], sentence: str) -> None:
    text = sentence.encode()
    out.write(struct.pack("<q", -len(text)) + text)


def _points(path: str) -> NDArray[np.float64]:
    laspy = needed("laspy", "reading a point cloud")
    cloud = laspy.read(path)
    found, claimed = len(cloud.points), cloud.header.point_count
    if found < claimed:
        raise InputError(f"it is cut short: {found:,} of {claimed:,} points are there")
    kept = np.ones(len(cloud.x), bool)
    if "classification" in set(cloud.point_format.dimension_names):
        kept = ~np.isin(np.asarray(cloud.classification), (7, 18))
    axes = [np.asarray(axis, np.float64)[kept] for axis in (cloud.x, cloud.y, cloud.z)]
    return np.ascontiguousarray(np.stack(axes, axis=1))


if __name__ == "__main__":
    _send(sys.argv[1], int(sys.argv[2]))
