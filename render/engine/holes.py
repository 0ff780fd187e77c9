"""Depth edges: what their mixed pixels hold of each side, and what the near side hides."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.engine.kernels import edges as kernels
from render.engine.kernels.tables import FAR_IZ, RECORD
from render.optics.blur import BlurField
from render.scene.scene import Scene
from render.threads import each_share

__all__ = ["Edges", "Parts", "find_parts", "looks_behind", "part_pixels"]


#: Rings of averages behind an edge, shares of the way to it (`render/engine/README.md`).
_AVERAGED = (1.0, 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Where the depth edges of a blur field lie; no light is asked, so it serves many pictures.

    Attributes
    ----------
    flags : ndarray, shape (H, W), uint8
        Sides and neighbours (`render.engine.kernels.edges`).
    index : ndarray, shape (H, W), int32
        Row of the record for a pixel that is parted or hides something, -1 for all others.
    count : int
        Rows of the record.
    """

    flags: NDArray[np.uint8]
    index: NDArray[np.int32]
    count: int


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The pixels that are more than one surface.

    Attributes
    ----------
    index : ndarray, shape (H, W), int32
        Row of `record` for such a pixel, -1 for all others.
    record : ndarray, shape (n, RECORD), float32
        Columns as in `render.engine.kernels.tables`.
    """

    index: NDArray[np.int32]
    record: NDArray[np.float32]


def find_parts(field: BlurField) -> Edges:
    """Find the depth edges of a blur field, and how far each hides what lies behind it."""
    height, width = field.inverse_depth.shape
    iz, radius, gain = field.inverse_depth, field.radius_px(), _gain(field)
    flags = np.empty((height, width), np.uint8)
    each_share(height, lambda a, b: kernels.find_edges(iz, radius, flags, a, b))
    found = (iz, radius, flags, gain)
    each_share(height, lambda a, b: kernels.mark_hiding(*found, a, b, 0, width, 0))
    each_share(width, lambda a, b: kernels.mark_hiding(*found, 0, height, a, b, 1))
    index = np.empty((height, width), np.int32)
    return Edges(flags, index, kernels.assign_rows(flags, index))


def looks_behind(field: BlurField) -> NDArray[np.bool_]:
    """Pixels behind which `part_pixels` asks what lies there: near sides, as far as blur reaches.

    Returns
    -------
    ndarray, shape (H, W), bool
    """
    return np.asarray(find_parts(field).flags & kernels.LOOKS > 0)


def part_pixels(scene: Scene, field: BlurField, edges: Edges | None = None) -> Parts:
    """Part the pixels at depth edges and fill in what is hidden just behind them.

    Parameters
    ----------
    edges : Edges or None
        Those of `field`, where they were found already.
    """
    edges = edges or find_parts(field)
    height, width = scene.depth_m.shape
    iz, radius, gain = field.inverse_depth, field.radius_px(), _gain(field)
    flags, index = edges.flags, edges.index
    record = np.zeros((edges.count, RECORD), np.float32)
    if edges.count == 0:
        return Parts(index, record)
    picture, behind, behind_iz = scene.picture, *_known(scene)
    fills, hidden = (
        (iz, radius, flags, gain, index, record),
        (behind, behind_iz, flags, index, record),
    )
    each_share(height, lambda a, b: kernels.part_edges(picture, iz, radius, *hidden, a, b))
    each_share(height, lambda a, b: kernels.fill_hidden(*fills, a, b, 0, width, 0))
    each_share(width, lambda a, b: kernels.fill_hidden(*fills, 0, height, a, b, 1))
    for reach in _AVERAGED:
        _average(flags, index, record, np.float32(reach))
    each_share(height, lambda a, b: kernels.settle_records(picture, iz, *hidden, a, b))
    return Parts(index, record)


def _average(
    flags: NDArray[np.uint8],
    index: NDArray[np.int32],
    record: NDArray[np.float32],
    reach: np.float32,
) -> None:
    """Average what is filled in, in its place (`kernels.average_hidden`)."""
    sums = record[:, FAR_IZ:].copy()
    around = flags, index, record, sums, reach
    each_share(flags.shape[0], lambda a, b: kernels.average_hidden(*around, a, b))
    record[:, FAR_IZ:] = sums


def _gain(field: BlurField) -> np.float32:
    """Radius that one unit of inverse depth adds, px."""
    lens = field.lens
    return np.float32(lens.aperture_radius_mm * field.px_per_mm * lens.extension_mm / 1000.0)


def _known(scene: Scene) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Light and inverse depth of what is known to lie behind, NaN where it is not; or empty."""
    if scene.behind is None:
        nothing = np.zeros((0, 0, 3), np.float32)
        nothing.flags.writeable = False  # one type for the compiled loops, as a scene's own
        return nothing, np.zeros((0, 0), np.float32)
    return scene.behind.picture, np.reciprocal(scene.behind.depth_m)
