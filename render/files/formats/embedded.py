"""Depth that a phone stored inside the picture: turned, scaled and aligned to the picture.

Three carriers are read: the XMP form (GDepth, in extended XMP), its successor with files
appended to the JPEG (Dynamic Depth 1.0), and the auxiliary depth image of HEIF (ISO/IEC
23008-12 with the representation of ITU-T H.265, annex G).
"""

import io
import math
import warnings
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import range_inverse, range_linear
from render.depth.sampling import enlarged
from render.errors import InputError
from render.extras import needed
from render.files.formats.carried import xmp_of_jpeg
from render.files.formats.decoded import exif_block, opened
from render.files.formats.metadata.exif import orientation_of
from render.files.formats.metadata.turning import turned
from render.files.formats.metadata.xmp import (
    container_items,
    decoded_base64,
    joined_extension,
    payload,
    properties,
    tree_of,
)
from render.files.memory import check_size

__all__ = ["EmbeddedDepth", "aligned", "embedded_depth", "heif_turn", "jpeg_original"]

_UNITS_M = {"m": 1.0, "meters": 1.0, "metres": 1.0, "mm": 0.001}


@dataclass(frozen=True, slots=True, eq=False)
class EmbeddedDepth:
    """A depth image as it is stored inside a picture file.

    Attributes
    ----------
    values : ndarray, shape (h, w), float32
        In the unit of `kind`, in the grid and orientation of the file.
    kind : str
        "metres", "ray" (lengths along rays, m), or "relative inverse" where no unit is stated.
    how : str
        What it is, in words that follow "depth from".
    """

    values: NDArray[np.float32]
    kind: str
    how: str


def embedded_depth(path: Path) -> tuple[EmbeddedDepth, tuple[str, ...]] | None:
    """Read the depth that a picture file carries, on the grid of the upright picture.

    Returns
    -------
    EmbeddedDepth and remarks, or None
        None if the file is no JPEG or HEIC, or carries no depth.

    Raises
    ------
    InputError
        If there is depth but damaged, or of a form that isn't known.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _embedded(path)
    except InputError as error:
        name = str(path)
        raise error if name in str(error) else InputError(f"{name}: {error}") from error
    except PermissionError as error:
        raise InputError(f"{path} cannot be opened ({error.strerror})") from None
    except Exception as error:  # decoders raise what they like on damaged files
        reason = " ".join(str(error).split())[:100] or type(error).__name__
        raise InputError(f"{path} is damaged or cut short ({reason}); copy it again") from error


def _embedded(path: Path) -> tuple[EmbeddedDepth, tuple[str, ...]] | None:
    with path.open("rb") as file:
        head = file.read(12)
    if head.startswith(b"\xff\xd8\xff"):
        data = path.read_bytes()
        with opened(path) as image:
            size = image.size
            orientation = orientation_of(exif_block(image.info.get("exif")))
        xmp = xmp_of_jpeg(data)
        depth = _jpeg_depth(data, xmp)
        original = jpeg_original(data, xmp)
        if original is not None:
            with opened(io.BytesIO(original)) as image:
                size = image.size
        width, height = size if orientation < 5 else size[::-1]
    elif head[4:8] == b"ftyp" and head[8:12] not in (b"avif", b"avis", b"crx "):
        heif: Any = needed("pillow_heif", "a HEIC picture").open_heif(path)
        check_size(str(path), *heif.size)
        width, height = heif.size
        depth = _heif_depth(heif)
        turn = heif.info.get("original_orientation") or 1
        orientation = heif_turn(depth.values.shape, (height, width), turn) if depth else 1
    else:
        return None
    if depth is None:
        return None
    values, remarks = aligned(depth, orientation, width, height)
    return replace(depth, values=values), remarks


def _jpeg_depth(data: bytes, xmp: bytes | None) -> EmbeddedDepth | None:
    """Read the depth inside a JPEG, or None if it carries none.

    Raises
    ------
    InputError
        If there is depth but damaged, or its near and far make no sense.
    """
    main = tree_of(xmp)
    guid = properties(main, "ns.adobe.com/xmp/note/").get("HasExtendedXMP")
    more = tree_of(joined_extension(data, guid))
    said = properties(main, "/depthmap/") | properties(more, "/depthmap/")
    if "Near" not in said or "Far" not in said:
        return None
    if "Data" in said:
        image = decoded_base64(said["Data"])
    else:
        image = _appended(data, main if container_items(main) else more, said)
    return _from_range(_grey(image), said)


def jpeg_original(data: bytes, xmp: bytes | None) -> bytes | None:
    """Return the sharp original that a JPEG carries beside a picture the phone has blurred."""
    main = tree_of(xmp)
    guid = properties(main, "ns.adobe.com/xmp/note/").get("HasExtendedXMP")
    if guid is not None and "Mime" in properties(main, "photos/1.0/image/"):
        text = properties(tree_of(joined_extension(data, guid)), "photos/1.0/image/").get("Data")
        return decoded_base64(text) if text else None
    items = container_items(main)
    for item in items:
        if item.semantic == "Primary" or not item.length:
            continue  # the picture itself, whatever its name
        if item.semantic == "Original" or "original" in item.name.lower():
            return payload(data, items, item)
    return None


def _heif_depth(heif: Any) -> EmbeddedDepth | None:
    """Read the auxiliary depth image of an opened HEIC file, or None if it carries none."""
    images = heif.info.get("depth_images") or []
    if not images:
        return None
    codes = np.asarray(images[0])
    said = images[0].info.get("metadata") or {}
    share = _share(codes)
    # H.265 annex G, depth_representation_type: 0 inverse depth, 1 disparity, 2 depth.
    kind = said.get("representation_type")
    name = "the depth image in the file"
    if kind in (0, 2) and said.get("z_near") and said.get("z_far"):
        near, far = float(said["z_near"]), float(said["z_far"])
        depth = range_inverse(1 - share, near, far) if kind == 0 else range_linear(share, near, far)
        return _relative(depth, f"{name} (no unit is stated)")
    if kind == 1 and math.isfinite(said.get("d_min", math.nan)):
        low, high = float(said["d_min"]), float(said.get("d_max", math.nan))
        if not high > low:
            raise InputError(f"the nearness range {low} to {high} of the depth image is wrong")
        how = f"{name} (disparity {low:.3g} to {high:.3g}, no unit is stated)"
        values = np.asarray(low + share * (high - low), np.float32)
        return EmbeddedDepth(values, "relative inverse", how)
    return EmbeddedDepth(share, "relative inverse", f"{name} (no range is stated)")


def heif_turn(depth_shape: tuple[int, ...], shape: tuple[int, int], original: int) -> int:
    """Return how a HEIC's depth is still to be turned, where the picture was turned by `original`.

    libheif turns the depth by the depth image's own mark; only a file that marks the
    picture alone leaves it lying.
    """
    lies = (depth_shape[0] < depth_shape[1]) != (shape[0] < shape[1])
    return original if lies and original >= 5 else 1


def aligned(
    depth: EmbeddedDepth, orientation: int, width_px: int, height_px: int
) -> tuple[NDArray[np.float32], tuple[str, ...]]:
    """Turn and scale a depth image on to the upright picture.

    The steps of the coarse image are drawn out evenly in inverse depth. Where its shape
    is not the picture's, both are taken to share the middle and the side that fits.

    Parameters
    ----------
    depth : EmbeddedDepth
    orientation : int
        EXIF orientation by which the picture was turned, 1 for one that is upright.
    width_px, height_px : int
        Of the upright picture.

    Returns
    -------
    values, remarks
        Values (H, W) in the unit of the kind; what was assumed.
    """
    values = turned(depth.values, orientation)
    remarks: tuple[str, ...] = ()
    shape = width_px / height_px
    height, width = values.shape
    if abs(width / height / shape - 1) > 0.02:
        if abs(height / width / shape - 1) <= 0.02:
            raise InputError("the depth image lies on its side and the file doesn't say which way")
        new_width = min(width, round(height * shape))
        new_height = min(height, round(width / shape))
        left, top = (width - new_width) // 2, (height - new_height) // 2
        values = values[top : top + new_height, left : left + new_width]
        remarks = ("the depth image has another shape than the picture: its middle was used",)
    if depth.kind == "relative inverse":
        return enlarged(np.ascontiguousarray(values), height_px, width_px), remarks
    inverse = enlarged(np.ascontiguousarray(1 / values), height_px, width_px)
    with np.errstate(divide="ignore"):
        return np.asarray(1 / inverse, np.float32), remarks


def _from_range(codes: NDArray[Any], said: dict[str, str]) -> EmbeddedDepth:
    """Decode values between near and far as Dynamic Depth 1.0 and GDepth define them."""
    try:
        near, far = float(said["Near"]), float(said["Far"])
    except ValueError:
        raise InputError("near and far of the embedded depth are no numbers") from None
    form = said.get("Format", "RangeInverse")
    if form not in ("RangeInverse", "RangeLinear"):
        raise InputError(f'the embedded depth is of the form "{form}", which is not known')
    share = _share(codes)
    depth = (range_inverse if form == "RangeInverse" else range_linear)(share, near, far)
    unit_m = _UNITS_M.get(said.get("Units", "").strip().lower())
    how = f"the depth inside the picture ({form}, near {near:.4g}, far {far:.4g}"
    if unit_m is None:
        return _relative(depth, f"{how}, no unit is stated)")
    kind = "ray" if "ray" in said.get("MeasureType", "").lower() else "metres"
    return EmbeddedDepth(depth * np.float32(unit_m), kind, f"{how}, metres)")


def _share(codes: NDArray[Any]) -> NDArray[np.float32]:
    """Code values as 0 to 1."""
    return np.asarray(codes / np.float32(np.iinfo(codes.dtype).max), np.float32)


def _relative(depth: NDArray[np.float32], how: str) -> EmbeddedDepth:
    return EmbeddedDepth(np.float32(1) / depth, "relative inverse", how)


def _appended(data: bytes, tree: Any, said: dict[str, str]) -> bytes:
    items = container_items(tree)
    uri = said.get("DepthURI", "")
    semantic = said.get("ItemSemantic", said.get("DepthItemSemantic", "Depth"))
    for item in items:
        if (uri and item.name == uri) or (not uri and item.semantic == semantic):
            return payload(data, items, item)
    raise InputError("the picture names a depth image that it does not hold")


def _grey(image: bytes) -> NDArray[Any]:
    """Decode a small depth image, 8 or 16 bits."""
    from imagecodecs import png_decode
    from PIL import Image

    try:
        if image.startswith(b"\x89PNG") and image[24] == 16:
            codes = png_decode(image)
        else:
            with Image.open(io.BytesIO(image)) as opened:
                codes = np.asarray(opened.convert("L"))
    except Exception as error:
        raise InputError("the depth image inside the picture is damaged") from error
    return codes if codes.ndim == 2 else np.ascontiguousarray(codes[..., 0])
