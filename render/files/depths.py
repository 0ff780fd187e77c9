"""Depth files in and out: 16-bit PNG and TIFF, float TIFF, NPY, NPZ, PFM, EXR.

A number without a unit is the commonest cause of a wrong depth, so what is written says of
itself what it holds, and what says nothing of itself must be explained, not guessed.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.convert import KINDS, RELATIVE_KINDS, depth_from, values_of
from render.depth.depthmap import ALL_SAID, DepthMap
from render.errors import InputError, OutputError
from render.files.atomic import written_beside
from render.files.formats.depthcodes import Coding, coding_for, whole_codes
from render.files.formats.depthformats import DEPTH_ENDINGS, is_bare, stored_depth, write_stored
from render.files.formats.depthknown import Known, known_of, written_known
from render.files.formats.embedded import embedded_depth
from render.files.inputs import input_file
from render.optics.camera import Camera

__all__ = ["DepthFile", "metric_depth", "read_depth", "read_depth_file", "write_depth"]


#: Pictures that may carry depth inside.
_PICTURES = (".jpg", ".jpeg", ".heic", ".heif", ".hif")


@dataclass(frozen=True, slots=True, eq=False)
class DepthFile:
    """What a depth file holds, in the unit of its kind.

    Attributes
    ----------
    path : Path
    values : ndarray, shape (H, W), float32
        In the unit of `kind`; NaN where nothing is known; the sky infinitely far.
    kind : str
        One of `render.depth.convert.KINDS`, or a relative one.
    how : str
        What the file is, in words that follow "depth from".
    baseline_m : float or None
        For disparity, if the file says it.
    uncertainty : float
        Typical standard deviation of inverse depth over inverse depth; NaN if nobody said.
    remarks : tuple of str
        What had to be assumed, one sentence each.
    known : Known or None
        How the depth was known, if the file says it of the very numbers that it holds.
    """

    path: Path
    values: NDArray[np.float32]
    kind: str
    how: str
    baseline_m: float | None = None
    uncertainty: float = math.nan
    remarks: tuple[str, ...] = ()
    known: Known | None = None


def read_depth(
    path: Path,
    camera: Camera,
    *,
    kind: str | None = None,
    scale: float | None = None,
    baseline_m: float | None = None,
    offset_px: float = 0.0,
    holes: bool = False,
) -> DepthMap:
    """Read the metric depth of a picture from a file.

    Parameters
    ----------
    path : Path
        A depth file, or a phone's picture with depth inside.
    camera : Camera
        Of the picture; the depth must be of its size.
    kind : str or None
        What the numbers are, one of `render.depth.convert.KINDS`; None: as the file says.
    scale : float or None
        Units per step of the file's numbers.
    baseline_m, offset_px : float
        For disparity; see `render.depth.convert.depth_from`.
    holes : bool
        Whether pixels may be without depth (NaN), to be mended afterwards.

    Returns
    -------
    DepthMap

    Raises
    ------
    InputError
        If the file is damaged, of another size, without a stated unit, negative, all zero,
        or has pixels that aren't known while `holes` is False.
    """
    return metric_depth(
        read_depth_file(path, kind=kind, scale=scale),
        camera,
        baseline_m=baseline_m,
        offset_px=offset_px,
        holes=holes,
    )


def read_depth_file(
    path: Path, *, kind: str | None = None, scale: float | None = None
) -> DepthFile:
    """Read what a depth file holds, in the unit of its kind. Errors as `read_depth`."""
    path = Path(path)
    if path.suffix.lower() in _PICTURES:
        return _inside(path)
    undecided = kind not in RELATIVE_KINDS and scale is None and kind != "millimetres"
    bare = InputError(
        f"{path} holds whole numbers and no unit: give --depth-scale (metres per step, such as "
        "0.01) or --depth-kind millimetres"
    )
    if undecided and is_bare(path):
        raise bare
    stored, own = stored_depth(path)
    if stored.ndim != 2:
        raise InputError(
            f"{path} holds {stored.ndim} dimensions or colours: depth is one number per pixel"
        )
    if own is not None and kind not in (None, own.kind):
        raise InputError(f"{path} says that it holds {own.kind}, not {kind}: leave out the kind")
    remarks = []
    whole = stored.dtype.kind in "ui"
    if own is not None:
        coding = own if scale is None else replace(own, scale=scale)
    elif whole and undecided:
        raise bare
    else:
        coding = Coding(kind or "metres", 1.0 if scale is None else scale)
        if kind is None and not whole:
            remarks.append("the depth file states no unit: its numbers were taken as metres")
    values = coding.values(stored)
    if whole and own is None and coding.kind in ("metres", "millimetres", "ray"):
        values[stored == 0] = np.nan
    _check_values(path, stored, values)
    if coding.kind == "metres" and own is None and np.nanmedian(values) > 2000:
        remarks.append("half of the depth is beyond 2 km: are these millimetres?")
    what = f"{stored.dtype.itemsize * 8}-bit" if whole else "floating-point"
    how = f"{path.name} ({what} {coding.kind}"
    how += f", steps of {coding.scale:g}" if whole and coding.scale != 1 else ""
    how += f"; {coding.how})" if coding.how else ")"
    doubt = math.nan if coding.uncertainty is None else coding.uncertainty
    known = known_of(coding.known, stored) if coding == own else None
    if coding.known and known is None:
        remarks.append(
            "the numbers of the depth file are not those that were written: what it tells of "
            "height, pitch and what was not said is passed over"
        )
    return DepthFile(
        path, values, coding.kind, how, coding.baseline_m, doubt, tuple(remarks), known
    )


def _inside(path: Path) -> DepthFile:
    """Read the depth that a phone stored in its picture."""
    input_file(path, what="picture")
    found = embedded_depth(path)
    if found is None:
        raise InputError(f"{path} is a picture without depth inside: name a depth file")
    depth, remarks = found
    return DepthFile(path, depth.values, depth.kind, depth.how, remarks=remarks)


def metric_depth(
    file: DepthFile,
    camera: Camera,
    *,
    baseline_m: float | None = None,
    offset_px: float = 0.0,
    holes: bool = False,
) -> DepthMap:
    """Turn a file's values into metric depth for a camera. Errors as `read_depth`."""
    name = file.path
    if file.kind in RELATIVE_KINDS:
        raise InputError(f"{name} holds relative depth: give known distances to make it metric")
    height, width = file.values.shape
    if (width, height) != (camera.width_px, camera.height_px):
        raise InputError(
            f"{name} is {width} x {height} px, the picture {camera.width_px} x "
            f"{camera.height_px}: make the depth the picture's size"
        )
    depth_m = depth_from(
        file.values,
        file.kind,
        camera,
        baseline_m=baseline_m or file.baseline_m,
        offset_px=offset_px,
    )
    unknown = float(np.mean(np.isnan(depth_m)))
    if unknown == 1:
        raise InputError(f"{name} holds no depth at all: no pixel of it is known")
    if unknown and not holes:
        raise InputError(
            f"{name} has no depth at {max(unknown, 0.0001):.2%} of its pixels (NaN or 0): "
            "fill them with --mend"
        )
    if not np.nanmin(depth_m) > 0:
        raise InputError(f"{name} holds depth of 0 m: depth must be above 0 (infinity is the sky)")
    return DepthMap(depth_m, file.how, file.uncertainty, file.remarks)


def write_depth(
    path: Path,
    depth_m: NDArray[np.float32],
    *,
    kind: str = "metres",
    bits: int | None = None,
    scale: float | None = None,
    camera: Camera | None = None,
    baseline_m: float | None = None,
    how: str | None = None,
    uncertainty: float | None = None,
    known: Known | None = None,
    overwrite: bool = False,
    inputs: Iterable[Path | None] = (),
) -> tuple[str, ...]:
    """Write metric depth, with what it is written into the file.

    Parameters
    ----------
    path : Path
        The ending tells the format: .png (16 bits), .tif (float, or 16 bits), .npy, .npz,
        .pfm, .exr.
    depth_m : ndarray, shape (H, W)
        z in metres; ``inf`` the sky, NaN not known.
    kind : str
        What the file's numbers are to be, one of `render.depth.convert.KINDS`.
    bits : {16, 32} or None
        For TIFF; None: 32.
    scale : float or None
        Units per step of whole numbers; None: a round one that reaches far enough.
    camera, baseline_m
        Needed for ray length and disparity.
    how, uncertainty
        How the depth was made and how sure it is, to be told when it is read again.
    known : Known or None
        What else a reader must know of it.
    overwrite, inputs
        See `render.files.atomic`.

    Returns
    -------
    tuple of str
        What was rounded, one sentence each.

    Raises
    ------
    OutputError
        If the ending is unknown, the format can't say what it holds, or the place refuses.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in DEPTH_ENDINGS:
        raise OutputError(f"{path}: end the name of a depth file in {', '.join(DEPTH_ENDINGS)}")
    if ending in (".npy", ".pfm") and kind != "metres":
        raise OutputError(f"{path}: {ending} cannot say that it holds {kind}; take .npz or .tif")
    values = values_of(depth_m, kind, camera, baseline_m=baseline_m)
    numbers: NDArray[Any] = values
    remarks: tuple[str, ...] = ()
    if ending == ".png" or (ending in (".tif", ".tiff") and bits == 16):
        coding = coding_for(values, kind, scale)
        numbers = whole_codes(values, coding)
        remarks = (f"depth is stored in steps of {coding.scale:.4g} ({KINDS[kind]})",)
    else:
        coding = Coding(kind)
    doubt = None if uncertainty is None or math.isnan(uncertainty) else float(uncertainty)
    apart_m = baseline_m if kind == "disparity" else None
    told = None if known is None else written_known(known, numbers)
    coding = replace(coding, how=how, uncertainty=doubt, baseline_m=apart_m, known=told)
    if known is not None and known.unsaid != ALL_SAID and ending in (".npy", ".pfm"):
        remarks = (
            f"{ending} holds numbers alone: read again, they pass for measured depth; .tif, .png, "
            ".npz and .exr also keep the doubt, height and pitch, and what was not said",
        )
    with written_beside(path, overwrite=overwrite, inputs=inputs) as beside:
        write_stored(beside, numbers, coding)
    return remarks


def _check_values(path: Path, stored: NDArray[Any], values: NDArray[np.float32]) -> None:
    if stored.size == 0:
        raise InputError(f"{path} is empty: it has no pixels")
    if not np.count_nonzero(stored):
        raise InputError(f"{path} holds nothing but zeros: it is no depth")
    if np.all(np.isnan(values)):
        raise InputError(f"{path} holds no depth at all: no pixel of it is known")
    if np.any(values < 0):
        share = float(np.mean(values < 0))
        raise InputError(
            f"{path} holds negative values at {max(share, 0.0001):.2%} of its pixels: depth is "
            "counted forward from the lens, so give values above 0"
        )
