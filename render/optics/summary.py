"""What a setting does to a picture, in the few numbers a person reads first."""

from dataclasses import dataclass

import numpy as np

from render.optics.band import GroundBand, SharpRun, ground_band, sharp_runs
from render.optics.blur import BlurField
from render.optics.camera import Vantage
from render.optics.plane import SharpPlane, sharp_plane

__all__ = [
    "FocusSummary",
    "LineBand",
    "RowBlur",
    "column_band",
    "row_band",
    "row_blur",
    "stands_upright",
    "summarise_focus",
]


@dataclass(frozen=True, slots=True)
class LineBand:
    """The sharp band along one column or row of a picture.

    Attributes
    ----------
    name : str
        "left", "centre", "right", or "top", "middle", "bottom": the middle of each third.
    line : int
        The column's number, or the row's.
    runs : tuple of SharpRun
        From the depth map: everything sharp there, things included.
    ground : GroundBand or None
        Of a column: on the ground, where the vantage is known and some of the ground is sharp.
    """

    name: str
    line: int
    runs: tuple[SharpRun, ...]
    ground: GroundBand | None = None

    @property
    def longest(self) -> SharpRun | None:
        """The longest sharp run, or None if nothing here is sharp."""
        return max(self.runs, key=lambda run: run.last_px - run.first_px, default=None)


@dataclass(frozen=True, slots=True)
class RowBlur:
    """Typical blur of one picture row: the median of the spots' longest diameters.

    Attributes
    ----------
    name : str
        "top", "middle" or "bottom".
    row : int
    diameter_px, diameter_percent : float
        Pixels of this picture, and per cent of the picture's height.
    """

    name: str
    row: int
    diameter_px: float
    diameter_percent: float


@dataclass(frozen=True, slots=True)
class FocusSummary:
    """Where a setting is sharp and how soft it is elsewhere.

    Attributes
    ----------
    coc_mm, coc_px : float
        The circle of confusion everything here is measured by.
    plane : SharpPlane
        Holds hinge distance and plane angle.
    columns : tuple of 3 LineBand
        Left, centre, right: the middle of each third of the picture.
    rows : tuple of 3 RowBlur
        Top, middle, bottom.
    across : tuple of 3 LineBand
        Top, middle, bottom.
    upright : bool
        Whether the band stands upright in the picture, as where swing outweighs tilt: then
        `across` tells more than `columns`.
    sharp_percent : float
        Share of the picture's pixels that are sharp.
    """

    coc_mm: float
    coc_px: float
    plane: SharpPlane
    columns: tuple[LineBand, ...]
    rows: tuple[RowBlur, ...]
    across: tuple[LineBand, ...]
    upright: bool
    sharp_percent: float


def row_blur(field: BlurField, name: str, row: int) -> RowBlur:
    """Median over one row of the exact spots' longest diameters."""
    axes = field.spots_at(row, np.arange(field.camera.width_px)).semi_axes_mm()
    diameter = 2.0 * float(np.median(axes[:, 0])) * field.px_per_mm
    return RowBlur(name, row, diameter, 100.0 * diameter / field.camera.height_px)


def column_band(
    field: BlurField, name: str, column: int, coc_mm: float, vantage: Vantage | None = None
) -> LineBand:
    """The sharp band down one column, with a vantage on the ground too."""
    camera, ground = field.camera, None
    if vantage is not None:
        seen = field.inverse_depth[:, column]
        ground = ground_band(field.lens, camera, vantage, coc_mm, column + 0.5, seen)
    return LineBand(name, column, sharp_runs(field, column, coc_mm), ground)


def row_band(field: BlurField, name: str, row: int, coc_mm: float) -> LineBand:
    """The sharp band across one row."""
    return LineBand(name, row, sharp_runs(field, row, coc_mm, across=True))


def stands_upright(field: BlurField) -> bool:
    """Whether the band stands upright in the picture: swing outweighs tilt."""
    return abs(field.lens.axis[0]) > abs(field.lens.axis[1])


def summarise_focus(
    field: BlurField, coc_mm: float, vantage: Vantage | None = None
) -> FocusSummary:
    """Gather band, blur, hinge and plane angle of a picture's blur field.

    Parameters
    ----------
    field : BlurField
        Of the planned frame.
    coc_mm : float
        Circle of confusion, a diameter on the sensor.
    vantage : Vantage or None
        With it the band is also given in metres along the ground.
    """
    camera, lens = field.camera, field.lens
    last = camera.height_px - 1
    share = np.float32(coc_mm / (2.0 * lens.aperture_radius_mm))
    return FocusSummary(
        coc_mm=coc_mm,
        coc_px=coc_mm * field.px_per_mm,
        plane=sharp_plane(lens),
        columns=tuple(
            column_band(field, name, column, coc_mm, vantage)
            for name, column in zip(
                ("left", "centre", "right"), _sixths(camera.width_px), strict=True
            )
        ),
        rows=tuple(
            row_blur(field, name, row)
            for name, row in (("top", 0), ("middle", last // 2), ("bottom", last))
        ),
        across=tuple(
            row_band(field, name, row, coc_mm)
            for name, row in zip(
                ("top", "middle", "bottom"), _sixths(camera.height_px), strict=True
            )
        ),
        upright=stands_upright(field),
        sharp_percent=100.0 * float(np.mean(np.abs(field.defocus) <= share)),
    )


def _sixths(pixels: int) -> tuple[int, ...]:
    """The pixels in the middle of each third."""
    return tuple(min(int(pixels * part), pixels - 1) for part in (1 / 6, 1 / 2, 5 / 6))
