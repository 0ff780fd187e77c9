"""`PictureFile`: a picture that was read, with all that goes back into the file made from it."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.files.formats.carried import Kept
from render.scene.colour import Encoding

__all__ = ["PictureFile"]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PictureFile:
    """A picture that was read, with all that goes back into the file made from it.

    Attributes
    ----------
    path : Path
    kind : str
        "JPEG", "PNG", "TIFF", ...
    light : ndarray, shape (H, W, 3), float32
        Linear light, upright, in the file's own primaries; >= 0, and above 1 only where
        the file holds such values (float TIFF, EXR, HDR).
    encoding : Encoding
        How `light` is written as code values again; its primaries are those of `light`.
    bits : {8, 16, 32}
        Of the file, per channel; 32 is floating point.
    grey : bool
        Whether the file holds one channel.
    orientation : int
        The EXIF orientation the picture was turned by, 1 to 8.
    kept : Kept
        EXIF, XMP, profile, captions, resolution.
    converted : bool
        Whether the colours had to be converted, so that code values do not come back.
    focal_px : float or None
        Its focal length where the picture was made flat here; None: EXIF or its owner says.
    as_shown : bool
        Whether its codes are a clip's, which screens show as they show those of sRGB: whatever
        their curve, a picture made of them says sRGB, and looks as the clip does.
    remarks : tuple of str
        What had to be assumed or will not come back, one sentence each.
    """

    path: Path
    kind: str
    light: NDArray[np.float32]
    encoding: Encoding
    bits: int
    grey: bool
    orientation: int
    kept: Kept
    converted: bool = False
    focal_px: float | None = None
    as_shown: bool = False
    remarks: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Name, kind and size, without the pixels."""
        height, width = self.light.shape[:2]
        return (
            f"PictureFile({str(self.path)!r}, {self.kind}, {width} x {height} px, {self.bits} bit)"
        )

    @property
    def width_px(self) -> int:
        """Columns of the upright picture."""
        return int(self.light.shape[1])

    @property
    def height_px(self) -> int:
        """Rows of the upright picture."""
        return int(self.light.shape[0])
