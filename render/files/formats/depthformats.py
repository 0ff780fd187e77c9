"""Formats of depth files: numbers as they are stored, and what the file says of itself."""

import math
import zipfile
from collections.abc import Callable
from itertools import islice
from mmap import ACCESS_READ
from mmap import mmap as mapped
from pathlib import Path
from typing import IO, Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.files.formats.carried import png_chunks
from render.files.formats.decoded import check_page, tifffile_quietly
from render.files.formats.decoders import decode, reason_of
from render.files.formats.depthcodes import Coding, read_note
from render.files.formats.encoders import write_png
from render.files.formats.quiet import libraries_silenced
from render.files.inputs import input_file
from render.files.memory import check_memory, check_size
from render.limits import ARCHIVE_BYTES

__all__ = ["DEPTH_ENDINGS", "is_bare", "says_depth", "stored_depth", "write_stored"]

_NPZ_NAMES = ("depth_m", "depth", "z", "arr_0")


def stored_depth(path: Path) -> tuple[NDArray[Any], Coding | None]:
    """Return the numbers of a depth file as stored, and what the file says of itself.

    Raises
    ------
    InputError
        If the file is missing, of an unknown kind or damaged.
    """
    input_file(path, what="depth file")
    reader = _READERS.get(path.suffix.lower())
    if reader is None:
        raise InputError(
            f"{path} is not a depth file that can be read here: give {', '.join(DEPTH_ENDINGS)}"
        )
    try:
        with libraries_silenced():
            return reader(path)
    except InputError:
        raise
    except MemoryError:
        raise InputError(f"{path} does not fit into memory: make a smaller one") from None
    except PermissionError as error:
        raise InputError(f"{path} cannot be opened ({error.strerror})") from None
    except Exception as error:  # decoders raise what they like on damaged files
        raise InputError(
            f"{path} is damaged or cut short and cannot be read as depth"
            f"{reason_of(error)}; copy it again"
        ) from error


def is_bare(path: Path) -> bool:
    """Whether a file holds whole numbers and does not say of what, as far as its head tells.

    Nothing is decoded, so that what cannot be used is refused before its pixels take memory.
    """
    input_file(path, what="depth file")
    try:
        with libraries_silenced():
            if path.suffix.lower() == ".png":
                with path.open("rb") as file, mapped(file.fileno(), 0, access=ACCESS_READ) as data:
                    grey = data[25] in (0, 4)  # the colour type of its head
                    chunks = png_chunks(data)
                    said = (c for n, c in chunks if n == b"tEXt" and c.startswith(b"Depth\0"))
                    return grey and next(said, None) is None
            if path.suffix.lower() in (".tif", ".tiff"):
                with tifffile_quietly().TiffFile(path) as tiff:
                    page = tiff.pages[0]
                    described = page.tags[270].value if 270 in page.tags else None
                    text = described if isinstance(described, str) else None
                    return page.dtype.kind in "ui" and read_note(text) is None
    except Exception:  # whatever a damaged file brings: its reader says it
        return False
    return False


def says_depth(path: Path) -> bool:
    """Whether a picture file says of itself that it is a depth map."""
    ending = path.suffix.lower()
    try:
        if ending == ".png":
            with path.open("rb") as file, mapped(file.fileno(), 0, access=ACCESS_READ) as data:
                found = (n == b"tEXt" and c.startswith(b"Depth\0") for n, c in png_chunks(data))
                return any(found)
        if ending in (".tif", ".tiff"):
            with tifffile_quietly().TiffFile(path) as tiff:
                tags = tiff.pages[0].tags
                text = tags[270].value if 270 in tags else None
                return isinstance(text, str) and read_note(text) is not None
    except Exception:  # whatever a damaged file brings: its reader says it
        return False
    return False


def write_stored(path: Path, numbers: NDArray[Any], coding: Coding) -> None:
    """Write numbers in the format that the ending of `path` names, with their coding."""
    _WRITERS[path.suffix.lower()](path, numbers, coding)


def _read_png(path: Path) -> tuple[NDArray[Any], Coding | None]:
    decoded = decode(path)
    texts = dict(c.split(b"\0", 1) for n, c in decoded.kept.png if n == b"tEXt" and b"\0" in c)
    note = texts.get(b"Depth")
    return _one_channel(path, decoded.codes), read_note(note.decode("latin-1") if note else None)


def _read_tiff(path: Path) -> tuple[NDArray[Any], Coding | None]:
    with tifffile_quietly().TiffFile(path) as tiff:
        pages: list[Any] = list(islice(tiff.pages, 3))
        if len(pages) > 1:
            raise InputError(f"{path} holds several pages: give one with the depth alone")
        page = pages[0]
        check_page(path, page, tiff.filehandle.size)
        stored = _one_channel(path, np.asarray(page.asarray()))
        described = page.tags[270].value if 270 in page.tags else None
        nothing = page.tags[42113].value if 42113 in page.tags else None
    if nothing is not None and stored.dtype.kind == "f":  # as map programs mark what is missing
        stored = np.where(stored == float(nothing), np.nan, stored)
    return stored, read_note(described if isinstance(described, str) else None)


def _read_npy(path: Path) -> tuple[NDArray[Any], Coding | None]:
    with path.open("rb") as file:
        _check_array(path, file)
        file.seek(0)
        return _numbers(path, np.load(file, allow_pickle=False)), None


def _read_npz(path: Path) -> tuple[NDArray[Any], Coding | None]:
    with zipfile.ZipFile(path) as archive:
        shapes = {}
        for member in archive.namelist():
            with archive.open(member) as file:
                shapes[member.removesuffix(".npy")] = _check_array(path, file)
    planes = [name for name, shape in shapes.items() if len(shape) == 2]
    named = [name for name in _NPZ_NAMES if name in planes]
    if not named and len(planes) != 1:
        raise InputError(f"{path} holds {len(planes)} planes: name the one with the depth depth_m")
    name = (named or planes)[0]
    with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
        note = str(arrays["note"]) if "note" in shapes else None
        coding = read_note(note)
        if coding is None and name == "depth_m":
            coding = Coding("metres")
        return _numbers(path, arrays[name]), coding


def _check_array(path: Path, file: IO[bytes]) -> tuple[int, ...]:
    """Return the shape that the head of an array file claims, refused if it is too large."""
    version = np.lib.format.read_magic(file)
    read = {(1, 0): np.lib.format.read_array_header_1_0}
    shape, _, dtype = read.get(version, np.lib.format.read_array_header_2_0)(file)
    size = math.prod(shape) * dtype.itemsize
    if len(shape) == 2 and all(shape):
        check_size(str(path), shape[1], shape[0])
        check_memory(f"{path} claims {shape[1]} x {shape[0]} numbers and", size, "make it smaller")
    else:
        said = " x ".join(map(str, shape[:8])) or "no"
        ARCHIVE_BYTES.check(size, f"{path} claims an array of {said} numbers", "leave it out")
    return tuple(shape)


def _read_pfm(path: Path) -> tuple[NDArray[Any], Coding | None]:
    """Read a portable float map: rows from the bottom up, the scale's sign is the byte order."""
    data = path.read_bytes()
    fields = data.split(maxsplit=4)
    if len(fields) < 4 or fields[0] not in (b"Pf", b"PF"):
        raise InputError(f"{path} is not a float map")
    if fields[0] == b"PF":
        raise InputError(f"{path} holds three colours: depth is one number per pixel")
    width, height, scale = int(fields[1]), int(fields[2]), float(fields[3])
    check_size(str(path), width, height)
    head = data.index(fields[3], data.index(fields[2], data.index(fields[1], 2) + len(fields[1])))
    start = head + len(fields[3]) + 1
    if len(data) - start < 4 * width * height:
        raise InputError(f"{path} is cut short; copy it again")
    order = "<f4" if scale < 0 else ">f4"
    rows = np.frombuffer(data, order, width * height, start).reshape(height, width)
    return rows[::-1].astype(np.float32), None


def _read_exr(path: Path) -> tuple[NDArray[Any], Coding | None]:
    openexr = needed("OpenEXR", "an EXR file")
    low, high = openexr.File(str(path), header_only=True).header()["dataWindow"]
    check_size(str(path), int(high[0] - low[0]) + 1, int(high[1] - low[1]) + 1)
    file = openexr.File(str(path))
    channels = file.channels()
    name = next((n for n in ("Z", "depth", "Depth", "Y") if n in channels), None)
    if name is None:
        raise InputError(f"{path} has no channel Z: its channels are {', '.join(channels)}")
    coding = read_note(file.header().get("depth"))
    return _numbers(path, np.array(channels[name].pixels)), coding


def _one_channel(path: Path, codes: NDArray[Any]) -> NDArray[Any]:
    """Take the one channel of grey pictures, also of those stored as three equal ones."""
    if codes.ndim == 3 and codes.shape[2] in (3, 4):
        red = codes[..., 0]
        if np.array_equal(red, codes[..., 1]) and np.array_equal(red, codes[..., 2]):
            return np.ascontiguousarray(red)
        raise InputError(f"{path} is painted in colours: give a file with the numbers themselves")
    if codes.ndim == 3 and codes.shape[2] == 2:
        return np.ascontiguousarray(codes[..., 0])
    return _numbers(path, codes)


def _numbers(path: Path, array: NDArray[Any]) -> NDArray[Any]:
    if array.dtype.kind not in "uif":
        raise InputError(f"{path} holds {array.dtype}, not plain numbers: save it as float32")
    return array.squeeze() if array.ndim == 3 and 1 in (array.shape[0], array.shape[2]) else array


def _write_png(path: Path, codes: NDArray[Any], coding: Coding) -> None:
    write_png(path, codes, [(b"tEXt", b"Depth\0" + coding.note.encode("latin-1"))])


def _write_tiff(path: Path, values: NDArray[Any], coding: Coding) -> None:
    import tifffile

    tifffile.imwrite(
        path,
        values,
        photometric="minisblack",
        compression="zlib",
        predictor=True,
        rowsperstrip=64,
        description=coding.note,
        metadata=None,
        software=False,
    )


def _write_npy(path: Path, values: NDArray[Any], coding: Coding) -> None:
    np.save(path, values)


def _write_npz(path: Path, values: NDArray[Any], coding: Coding) -> None:
    name = "depth_m" if coding.kind == "metres" else "depth"
    np.savez_compressed(path, **{name: values, "note": np.array(coding.note)})  # type: ignore[arg-type]


def _write_pfm(path: Path, values: NDArray[Any], coding: Coding) -> None:
    height, width = values.shape
    rows = np.ascontiguousarray(values[::-1], "<f4")
    path.write_bytes(f"Pf\n{width} {height}\n-1.0\n".encode() + rows.tobytes())


def _write_exr(path: Path, values: NDArray[Any], coding: Coding) -> None:
    openexr = needed("OpenEXR", "an EXR file")
    header = {"compression": openexr.ZIP_COMPRESSION, "type": openexr.scanlineimage}
    header["depth"] = coding.note
    openexr.File(header, {"Z": np.ascontiguousarray(values, np.float32)}).write(str(path))


_READERS: dict[str, Callable[[Path], tuple[NDArray[Any], Coding | None]]] = {
    ".png": _read_png,
    ".tif": _read_tiff,
    ".tiff": _read_tiff,
    ".npy": _read_npy,
    ".npz": _read_npz,
    ".pfm": _read_pfm,
    ".exr": _read_exr,
}
_WRITERS: dict[str, Callable[[Path, NDArray[Any], Coding], None]] = {
    ".png": _write_png,
    ".tif": _write_tiff,
    ".tiff": _write_tiff,
    ".npy": _write_npy,
    ".npz": _write_npz,
    ".pfm": _write_pfm,
    ".exr": _write_exr,
}
DEPTH_ENDINGS = tuple(_READERS)
