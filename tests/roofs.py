"""A roof over flat ground with upright fronts, in closed form: what most judgements stand on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from render.optics.camera import Camera, Vantage
from render.optics.lens import FocusSpot, LensSetting
from render.optics.plane import focus_lens
from render.scene.scene import Scene


@dataclass(frozen=True)
class Front:
    """An upright wall across the view, its foot `away_m` from the camera's foot point."""

    away_m: float
    height_m: float
    left_m: float
    right_m: float


@dataclass(frozen=True)
class Roof:
    """A camera above flat ground, focused on the ground at the picture's middle."""

    height_m: float = 20.0
    pitch_deg: float = 20.0
    focal_mm: float = 90.0
    sensor_mm: tuple[float, float] = (36.0, 24.0)
    size_px: tuple[int, int] = (240, 160)

    @property
    def focus_m(self) -> float:
        """Depth of the ground on the axis."""
        return self.height_m / math.sin(math.radians(self.pitch_deg))

    @property
    def foot_m(self) -> float:
        """Ground distance of the picture's middle."""
        return self.height_m / math.tan(math.radians(self.pitch_deg))

    def setting(self, f_number: float, tilt_deg: float = -8.0, swing_deg: float = 0.0):
        """A setting focused on the ground at the middle of the picture."""
        return LensSetting(
            focal_mm=self.focal_mm,
            f_number=f_number,
            focus=FocusSpot(0.0, 0.0, self.focus_m),
            tilt_deg=tilt_deg,
            swing_deg=swing_deg,
        )

    def camera(self) -> Camera:
        """The camera whose sensor is 36 x 24 mm at the extension of an 8 degree tilt."""
        extension = focus_lens(self.setting(4.0)).extension_mm
        return Camera(*self.size_px, extension * self.size_px[0] / self.sensor_mm[0])

    def inverse(self, fronts: Sequence[Front] = ()) -> NDArray[np.float64]:
        """1/z of ground, fronts and sky, shape (H, W)."""
        return _inverse(self, tuple(fronts)).copy()

    def scene(
        self,
        fronts: Sequence[Front] = (),
        *,
        scale: float = 1.0,
        picture: NDArray[np.float32] | None = None,
        known: bool = True,
    ) -> Scene:
        """The scene with all distances divided by `scale`; plain grey unless given a picture."""
        camera = self.camera()
        with np.errstate(divide="ignore"):
            depth = (1.0 / (scale * self.inverse(fronts))).astype(np.float32)
        if picture is None:
            picture = np.full((*depth.shape, 3), 0.2, np.float32)
        vantage = Vantage(self.height_m / scale, self.pitch_deg) if known else None
        return Scene(picture, depth, camera, vantage=vantage)


@lru_cache(maxsize=32)  # a law looks at one roof many times
def _inverse(roof: Roof, fronts: tuple[Front, ...]) -> NDArray[np.float64]:
    pitch = math.radians(roof.pitch_deg)
    x, y = np.meshgrid(*roof.camera().grid())
    inverse = np.maximum((math.sin(pitch) + y * math.cos(pitch)) / roof.height_m, 0.0)
    for front in fronts:
        wall = (math.cos(pitch) - y * math.sin(pitch)) / front.away_m
        z = 1.0 / wall
        above = roof.height_m - (y * math.cos(pitch) + math.sin(pitch)) * z
        hit = (above >= 0) & (above <= front.height_m) & (wall > inverse)
        hit &= (x * z >= front.left_m) & (x * z <= front.right_m)
        inverse = np.where(hit, wall, inverse)
    return inverse
