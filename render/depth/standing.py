"""Things that stand on the ground: boards that face the camera, walls on their foot line.

Each is a plane ``m . P = 1`` (see `render.depth.ground`), taken where its outline says, or, for
a wall, where its rays meet it between its ends and its top.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from render.depth.ground import plane_depth, plane_inverse_depth
from render.errors import InputError
from render.optics.camera import Camera

__all__ = ["Standing", "facing_plane", "flat_plane", "foot_point", "stand", "wall"]

Place = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A thing in front of everything else inside its region.

    Attributes
    ----------
    region : ndarray of bool, shape (H, W)
    plane_per_m : ndarray, shape (3,)
        Its surface as a plane ``m . P = 1``.
    name : str
        What messages call it.
    """

    region: NDArray[np.bool_]
    plane_per_m: NDArray[np.float64]
    name: str


def foot_point(
    camera: Camera, ground_per_m: NDArray[np.float64], foot_px: Place, name: str
) -> NDArray[np.float64]:
    """Where a foot stands on the ground, metres in the camera's frame, shape (3,).

    Raises
    ------
    InputError
        If the foot does not meet the ground: it lies on or above the horizon.
    """
    ray = np.append(camera.slopes(*foot_px), 1.0)
    nearness = float(ray @ ground_per_m)
    if not nearness > 1e-9:
        x, y = 100 * foot_px[0] / camera.width_px, 100 * foot_px[1] / camera.height_px
        raise InputError(
            f"the foot of {name} at {x:.3g}%,{y:.3g}% lies on or above the "
            "horizon: place it lower, or give the thing a distance instead"
        )
    return np.asarray(ray / nearness)


def flat_plane(depth_m: float) -> NDArray[np.float64]:
    """Plane of one depth, parallel to the sensor."""
    if not depth_m > 0:
        raise InputError(f"a thing's distance must be above 0 m, not {depth_m!r}")
    return np.array([0.0, 0.0, 1.0 / depth_m])


def facing_plane(foot: NDArray[np.float64], plumb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Upright plane through a foot that faces the camera: its normal is the level way there."""
    level = foot - (foot @ plumb) * plumb
    return np.asarray(level / (level @ foot))


def wall(
    camera: Camera,
    ends: tuple[NDArray[np.float64], NDArray[np.float64]],
    plumb: NDArray[np.float64],
    *,
    height_m: float | None,
    name: str,
) -> Standing:
    """An upright wall over the line between two feet, as high as said or without end.

    A ray meets it at ``P = D / (m.D)``; between the ends is ``0 <= (P - A).e <= |AB|``, above the
    foot line ``(P - A).u >= 0`` with u across the line in the wall. Multiplied by ``m.D > 0`` all
    of them are affine in the pixel.

    Raises
    ------
    InputError
        If the feet coincide, the wall is seen edge on, or nothing of it is in the picture.
    """
    first, last = ends
    line = last - first
    length = float(np.linalg.norm(line))
    if not length > 1e-6:
        raise InputError(f"the foot line of {name} needs two different places")
    along = line / length
    normal = np.cross(along, plumb)
    normal /= np.linalg.norm(normal)
    away = float(normal @ first)
    if not abs(away) > 1e-4 * float(np.linalg.norm(first)):
        raise InputError(f"{name} is seen edge on: draw its outline and give its distance instead")
    plane = normal / away
    up = np.cross(normal, along)
    up *= -np.sign(up @ plumb)
    near = plane_inverse_depth(camera, plane)

    def reached(direction: NDArray[np.float64], least: float, most: float) -> NDArray[np.bool_]:
        columns, rows = camera.grid()
        ray = (direction[1] * rows + direction[2])[:, None] + direction[0] * columns
        place = ray - (direction @ first) * near
        return np.asarray((place >= least * near) & (place <= most * near))

    top = np.inf if height_m is None else height_m
    with np.errstate(invalid="ignore"):  # inf * 0 is nan: not reached
        region = (near > 0) & reached(along, 0.0, length) & reached(up, 0.0, top)
    if not region.any():
        raise InputError(f"nothing of {name} is in the picture: check its foot line and height")
    return Standing(region, plane, name)


def stand(
    depth_m: NDArray[np.float32],
    camera: Camera,
    things: list[Standing],
    *,
    rule: Literal["instead", "nearer"] = "instead",
) -> NDArray[np.float32]:
    """Depth with things standing in it; where they overlap the nearest is seen.

    Parameters
    ----------
    depth_m : ndarray, shape (H, W), float32
    rule : {"instead", "nearer"}
        Whether things replace what was there, or only where they are nearer (walls).
    """
    in_front = np.full(depth_m.shape, np.inf, np.float32)
    taken = np.zeros(depth_m.shape, bool)
    for thing in things:
        surface = plane_depth(camera, thing.plane_per_m)
        seen = thing.region & np.isfinite(surface) & (surface < in_front)
        if not (seen.any() or (taken & thing.region).any()):
            raise InputError(f"{thing.name} lies behind the camera: check its foot and outline")
        in_front[seen] = surface[seen]
        taken |= seen
    if rule == "nearer":
        taken &= in_front < depth_m
    return np.where(taken, in_front, depth_m)
