"""What a depth file tells of how its depth was known, and whether its numbers are still those."""

import base64
import hashlib
import math
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.depth.depthmap import ALL_SAID, Unsaid
from render.depth.ground import LEVEL, Slope
from render.errors import HingelineError, InputError
from render.optics.camera import Camera, Vantage

__all__ = ["Known", "known_of", "written_known"]

#: Of a camera's focal length: nearer than this it is the same camera (EXIF rounds its numbers).
_SAME_CAMERA = 0.01
_PARTS = ("near", "standing", "view")


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """What no number of a depth says, but whoever judges by it must know.

    Attributes
    ----------
    unsaid : Unsaid
        What may stand there without being in the depth.
    vantage : Vantage or None
        Where the camera stood; level ground, or a `Slope`.
    camera : Camera or None
        That sees the depth.
    named : ndarray, shape (H, W), bool, or None
        Where the depth is a named thing's or wall's.
    """

    unsaid: Unsaid = ALL_SAID
    vantage: Vantage | None = None
    camera: Camera | None = None
    named: NDArray[np.bool_] | None = None

    def vantage_for(self, camera: Camera) -> Vantage | None:
        """Where the camera stood, if `camera` is the one that stood there."""
        own = self.camera
        if own is None or (own.width_px, own.height_px) != (camera.width_px, camera.height_px):
            return None
        off_px = math.hypot(
            own.centre_x_px - camera.centre_x_px, own.centre_y_px - camera.centre_y_px
        )
        most_px = _SAME_CAMERA * camera.focal_px
        same = abs(own.focal_px - camera.focal_px) <= most_px and off_px <= most_px
        return self.vantage if same else None


def written_known(known: Known, stored: NDArray[Any]) -> dict[str, Any]:
    """What is known, as a file carries it beside the numbers that are `stored`."""
    said: dict[str, Any] = {
        "numbers": _digest(stored),
        "unsaid": [part for part in _PARTS if getattr(known.unsaid, part)],
    }
    if (camera := known.camera) is not None:
        said["camera"] = {
            "focal_px": camera.focal_px,
            "centre_px": [camera.centre_x_px, camera.centre_y_px],
        }
    if (stood := _vantage_record(known.vantage)) is not None:
        said["vantage"] = stood
    if known.unsaid.named_share is not None:
        named = known.named if known.named is not None else np.zeros(stored.shape, bool)
        packed = zlib.compress(np.packbits(named).tobytes(), 9)
        said["named"] = base64.b64encode(packed).decode()
    return said


def known_of(said: Mapping[str, Any] | None, stored: NDArray[Any]) -> Known | None:
    """What a file tells is known; None where it tells nothing, or of other numbers than `stored`.

    Raises
    ------
    InputError
        If it is ours and damaged.
    """
    if said is None or said.get("numbers") != _digest(stored):
        return None
    try:
        missing = {part: part in said["unsaid"] for part in _PARTS}
        named = _mask(said["named"], stored.shape) if "named" in said else None
        unsaid = Unsaid(**missing, named_share=None if named is None else 0.0)
        camera = None
        if "camera" in said:
            height, width = stored.shape
            camera = Camera(
                width, height, float(said["camera"]["focal_px"]), *said["camera"]["centre_px"]
            )
        return Known(unsaid, _vantage(said.get("vantage")), camera, named)
    except (HingelineError, LookupError, TypeError, ValueError, zlib.error):
        raise InputError("what the depth file says of itself is damaged") from None


def _digest(stored: NDArray[Any]) -> str:
    """Short digest of numbers and their shape, whatever the byte order they lie in."""
    plain = np.ascontiguousarray(stored).astype(stored.dtype.newbyteorder("<"), copy=False)
    head = f"{stored.dtype.kind}{stored.dtype.itemsize} {stored.shape}".encode()
    return hashlib.blake2b(plain.data, digest_size=16, key=head).hexdigest()


def _vantage_record(vantage: Vantage | None) -> dict[str, float] | None:
    """A vantage in numbers; None over ground that no two numbers tell."""
    if vantage is None or not isinstance(slope := vantage.terrain or LEVEL, Slope):
        return None
    return {
        "height_m": vantage.height_m,
        "pitch_deg": vantage.pitch_deg,
        "roll_deg": vantage.roll_deg,
        "climb_deg": slope.climb_deg,
        "bearing_deg": slope.bearing_deg,
    }


def _vantage(said: Mapping[str, Any] | None) -> Vantage | None:
    if said is None:
        return None
    numbers = {name: float(value) for name, value in said.items()}
    slope = Slope(numbers["climb_deg"], numbers["bearing_deg"])
    vantage = Vantage(numbers["height_m"], numbers["pitch_deg"], numbers["roll_deg"])
    return vantage if slope == LEVEL else replace(vantage, terrain=slope)


def _mask(text: str, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    count = math.prod(shape)
    packed = zlib.decompressobj().decompress(base64.b64decode(text), (count + 7) // 8)
    if len(packed) != (count + 7) // 8:
        raise ValueError("another size")
    bits = np.unpackbits(np.frombuffer(packed, np.uint8), count=count)
    return bits.astype(bool).reshape(shape)
