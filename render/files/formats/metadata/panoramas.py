"""What a picture's XMP says of the panorama it is (GPano properties), and the XMP without it."""

import math
import xml.etree.ElementTree as ET

from render.errors import InputError
from render.files.formats.metadata.xmp import properties, tree_of
from render.scene.panorama import Panorama

__all__ = ["panorama_of", "without_panorama"]

_SPACE = "ns.google.com/photos/1.0/panorama"
_SHORTEST_TURN_RAD = 0.05


def panorama_of(xmp: bytes | None, width_px: int, height_px: int) -> Panorama | None:
    """How a picture's pixels lie round its viewpoint, if it says that it is a panorama.

    Raises
    ------
    InputError
        If it says so in a projection, or with numbers, that cannot be.

    References
    ----------
    The open "Photo Sphere XMP Metadata" properties: ProjectionType, FullPano*, CroppedArea*,
    PoseHeadingDegrees (from memory).
    """
    said = properties(tree_of(xmp), _SPACE)
    form = said.get("ProjectionType", "").strip().lower()
    if not form:
        return None
    if form not in ("equirectangular", "cylindrical"):
        raise InputError(
            f'the picture is a panorama in the projection "{form}", which is not read: export it '
            "as equirectangular or cylindrical"
        )
    # the properties count the pixels of the file that was first written; this one may be smaller
    whole_px = _number(said, "FullPanoWidthPixels", float(width_px))
    high_px = _number(said, "FullPanoHeightPixels", float(height_px))
    part_px = _number(said, "CroppedAreaImageWidthPixels", whole_px)
    scale = width_px / part_px if part_px > 0 else 0.0
    px_per_rad = scale * whole_px / (2 * math.pi)
    if not (px_per_rad > 0 and width_px / px_per_rad >= _SHORTEST_TURN_RAD and high_px > 0):
        raise InputError("the picture's panorama properties do not fit its size: take them out")
    left, top = (_number(said, f"CroppedArea{side}Pixels", 0.0) for side in ("Left", "Top"))
    heading = _number(said, "PoseHeadingDegrees", math.nan)
    return Panorama(
        form="equirectangular" if form == "equirectangular" else "cylindrical",
        px_per_rad=px_per_rad,
        left_px=scale * (whole_px / 2 - left),
        horizon_px=scale * (high_px / 2 - top),
        heading_deg=None if math.isnan(heading) else heading % 360,
        closed=abs(part_px - whole_px) < 1.5 / max(scale, 1e-9),
    )


def without_panorama(xmp: bytes | None) -> bytes | None:
    """The XMP without the panorama's properties, which a flat picture made of it does not have."""
    tree = tree_of(xmp)
    if tree is None:
        return None
    for element in list(tree.iter()):
        for key in [key for key in element.attrib if _SPACE in key]:
            del element.attrib[key]
        for child in [child for child in element if _SPACE in child.tag]:
            element.remove(child)
    packet: bytes = ET.tostring(tree, encoding="utf-8")
    return packet


def _number(said: dict[str, str], name: str, start: float) -> float:
    try:
        value = float(said[name]) if name in said else start
    except ValueError:
        value = math.inf
    if math.isinf(value):
        raise InputError(f"the panorama property {name} is {said[name]!r}, which is no number")
    return value
