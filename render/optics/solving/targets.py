"""What should be sharp, and what the mount can turn: the question put to `solve`."""

import math
from dataclasses import dataclass

from render.errors import SettingError
from render.optics.solving.movements import total_and_azimuth

__all__ = ["ELSEWHERE", "Freedom", "Target"]


#: Of a distance: what is seen so far nearer or farther there is another thing (ours).
ELSEWHERE = 0.15


@dataclass(frozen=True, slots=True)
class Target:
    """A point of the scene that should be sharp.

    Attributes
    ----------
    slope_x, slope_y : float
        Its ray.
    depth_m : float
        z, > 0; ``inf`` is the sky.
    weight : float
        How much its blur counts against the others', > 0.
    name : str
    doubt_m : float
        How far from there it may truly lie, as it was measured; 0 where that is exact.
    """

    slope_x: float
    slope_y: float
    depth_m: float
    weight: float = 1.0
    name: str = ""
    doubt_m: float = 0.0

    def __post_init__(self) -> None:
        called = f' "{self.name}"' if self.name else ""
        if not (math.isfinite(self.slope_x) and math.isfinite(self.slope_y)):
            raise SettingError(f"the point{called} needs a finite direction")
        if not self.depth_m > 0:
            raise SettingError(
                f"the point{called} lies behind the camera (z = {self.depth_m:g} m): "
                "only points in front of the lens can be sharp"
            )
        if not (math.isfinite(self.weight) and self.weight > 0):
            raise SettingError(f"the weight of the point{called} must be a number above 0")
        if not (math.isfinite(self.doubt_m) and self.doubt_m >= 0):
            raise SettingError(f"the doubt of the point{called} must be a length, 0 m or more")

    @property
    def place_m(self) -> tuple[float, float, float]:
        """Where it lies in the camera's frame (right, down, forward), m."""
        return self.slope_x * self.depth_m, self.slope_y * self.depth_m, self.depth_m

    @classmethod
    def at(
        cls, x_m: float, y_m: float, z_m: float, *, weight: float = 1.0, name: str = ""
    ) -> "Target":
        """Target at a point of the camera's frame (right, down, forward)."""
        if not z_m > 0:
            return cls(0.0, 0.0, z_m, weight, name)  # refuses it by name
        return cls(x_m / z_m, y_m / z_m, z_m, weight, name)


@dataclass(frozen=True, slots=True)
class Freedom:
    """What the mount can turn.

    Attributes
    ----------
    tilt, swing : bool
        Whether this movement may be chosen; if not, it stays where `tilt_deg`, `swing_deg` say.
        Both free is also a lens that tilts about one axis on a revolving mount.
    tilt_deg, swing_deg : float
        The movement that is not free.
    limit_deg : float
        Largest angle between lens axis and sensor normal.
    """

    tilt: bool = True
    swing: bool = True
    tilt_deg: float = 0.0
    swing_deg: float = 0.0
    limit_deg: float = 89.0

    def __post_init__(self) -> None:
        if not 0 <= self.limit_deg < 90:
            raise SettingError(f"the tilt limit must lie from 0 to below 90°, not {self.limit_deg}")
        total, _ = total_and_azimuth(
            0.0 if self.tilt else self.tilt_deg, 0.0 if self.swing else self.swing_deg
        )
        if not total <= self.limit_deg + 1e-9:
            raise SettingError(
                f"the movement that is held fixed ({total:g}°) exceeds the limit of "
                f"{self.limit_deg:g}°"
            )
