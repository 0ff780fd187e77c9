"""Forms of cars: their lines seen from the side, and the smooth surfaces that follow from them.

y runs from the nose (0) backwards, x to the side, z up; metres.  Lengths and heights are those of
usual cars of their sorts (from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["FORMS", "Form"]

Floats = NDArray[np.float64]
Line = tuple[tuple[float, float], ...]

#: How square a car is seen from above: exponents of its outline along and across.
_ALONG, _ACROSS = 16.0, 2.5
#: Shares of the height between sill and belt, and the width there.
_LEVELS = np.array([0.0, 0.05, 0.16, 0.36, 0.55, 0.66, 0.72, 0.88, 0.96, 1.0])
_WIDE = np.array([0.925, 0.955, 0.975, 0.992, 1.0, 1.0, 0.985, 0.965, 0.94, 0.90])
#: How far nose and tail draw back at those heights: bumpers stand out.
_DRAWN_M = np.array([0.13, 0.05, 0.015, 0.0, 0.012, 0.035, 0.04, 0.055, 0.075, 0.12])
#: Where the skin of bonnet and roof lies over its edge, from edge to middle.
_CROWN = ((1.0, 0.0), (0.86, 0.012), (0.5, 0.032), (0.0, 0.038))


@dataclass(frozen=True, slots=True)
class Form:
    """One sort of car.

    Attributes
    ----------
    wide_m : float
    belt_m, roof_m : tuple of (distance from the nose, height)
        Upper edge of the lower body, and the line of windscreen, roof and rear.
    axles_m : tuple of float
    pillars_m : tuple of float
        Where pillars part the side windows.
    closed_m : float
        From here on the sides are sheet.
    doors_m : tuple of float
        Front edge of the first door, then the back edge of each.
    lean_m : float
        How far the sides of the cabin lean in.
    sill_m : float
    """

    wide_m: float
    belt_m: Line
    roof_m: Line
    axles_m: tuple[float, float]
    pillars_m: tuple[float, ...]
    doors_m: tuple[float, ...]
    closed_m: float = 99.0
    lean_m: float = 0.2
    sill_m: float = 0.21

    @property
    def long_m(self) -> float:
        """From nose to tail."""
        return self.belt_m[-1][0]

    @property
    def boxy(self) -> bool:
        """Its rear is a door of sheet."""
        return self.closed_m < self.long_m

    def belt(self, y: ArrayLike) -> Floats:
        """Height of the lower body's upper edge."""
        return np.asarray(np.interp(np.asarray(y, float), *np.array(self.belt_m).T))

    def roof(self, y: ArrayLike) -> Floats:
        """Height of windscreen, roof and rear."""
        return np.asarray(np.interp(np.asarray(y, float), *np.array(self.roof_m).T))

    def arch(self, y: ArrayLike) -> Floats:
        """Lower edge of the sides: the sill, raised over the wheels."""
        low = np.full(np.shape(y), self.sill_m)
        for axle in self.axles_m:
            high = WHEEL_M + np.sqrt(np.maximum(ARCH_M**2 - (np.asarray(y) - axle) ** 2, 0.0))
            low = np.where(np.abs(np.asarray(y) - axle) < ARCH_M, high, low)
        return low

    def outline(self, along: ArrayLike) -> Floats:
        """Share of the width at a share of the length, -1 (nose) to 1."""
        inside = 1 - np.abs(np.asarray(along, float)) ** _ALONG
        return np.asarray(np.maximum(inside, 0.0) ** (1 / _ACROSS))

    def rings(self, along: Floats) -> Floats:
        """Half of the lower body, shape (n, levels + lid, 3): from the middle below to the lid's.

        along: shares of the length, -1 to 1.
        """
        y = (along + 1) / 2 * self.long_m
        top, low = self.belt(y)[:, None], self.arch(y)[:, None]
        z = np.maximum(self.sill_m + _LEVELS * (top - self.sill_m), low)
        share = (z - self.sill_m) / (top - self.sill_m)
        wide = self.wide_m / 2 * self.outline(along)[:, None] * np.interp(share, _LEVELS, _WIDE)
        back = self._back(along[:, None], share)
        side = np.stack([wide, np.broadcast_to(y[:, None], z.shape) + back, z], -1)
        floor = side[:, :1] * [0.0, 1.0, 1.0]
        lid = [side[:, -1:] * [share_, 1.0, 1.0] + [0.0, 0.0, over] for share_, over in _CROWN[1:]]
        return np.concatenate([floor, side, *lid], axis=1)

    def side(self, y: Floats, z: Floats) -> Floats:
        """The right side of the lower body at a distance from the nose and a height."""
        along = 2 * y / self.long_m - 1
        share = np.clip((z - self.sill_m) / (self.belt(y) - self.sill_m), 0.0, 1.0)
        wide = self.wide_m / 2 * self.outline(along) * np.interp(share, _LEVELS, _WIDE)
        return np.stack([wide, y + self._back(along, share), z], -1)

    def end(self, x: Floats, z: Floats, way: float) -> Floats:
        """The nose (way -1) or the tail (1) of the lower body."""
        along = np.full(np.shape(x), way)
        for _ in range(4):
            share = np.clip(
                (z - self.sill_m) / (self.belt((along + 1) / 2 * self.long_m) - self.sill_m), 0, 1
            )
            across = np.abs(x) / (self.wide_m / 2 * np.interp(share, _LEVELS, _WIDE))
            inside = np.maximum(1 - np.minimum(across, 1.0) ** _ACROSS, 1e-9)
            along = way * inside ** (1 / _ALONG)
        return np.stack([x, (along + 1) / 2 * self.long_m + self._back(along, share), z], -1)

    def lid(self, share: Floats, y: Floats) -> Floats:
        """Bonnet or boot, at a share of the half width and a distance from the nose."""
        along = 2 * y / self.long_m - 1
        over = np.interp(np.abs(share), *np.array(_CROWN[::-1]).T)
        wide = share * self.wide_m / 2 * self.outline(along) * _WIDE[-1]
        back = self._back(along, np.ones(np.shape(y)))
        return np.stack([wide, y + back, self.belt(y) + over], -1)

    def _back(self, along: Floats, share: Floats) -> Floats:
        """How far the skin draws back towards the middle, along y; only near the ends."""
        near = np.clip((np.abs(along) - 0.72) / 0.28, 0.0, 1.0) ** 2
        if self.boxy:  # its tail stands upright
            near = np.where(np.asarray(along) > 0, 0.3 * near, near)
        return np.asarray(-np.sign(along) * near * np.interp(share, _LEVELS, _DRAWN_M))

    # the cabin

    @property
    def _cabin(self) -> float:
        """Its width at the foot, of the car's."""
        return 0.945 if self.boxy else 0.925

    def foot(self, y: Floats) -> Floats:
        """Height from which the cabin rises, within the lower body."""
        return np.asarray(np.minimum(self.belt(y), self.roof(y)) - 0.05)

    def cabin_side(self, y: Floats, share: Floats) -> Floats:
        """The right side of the cabin: share 0 at its foot, 1 at the edge of the roof."""
        low, high = self.foot(y), np.maximum(self.roof(y), self.foot(y) + 0.02)
        wide = self.wide_m / 2 * self._cabin * self.outline(2 * y / self.long_m - 1)
        lean = self.lean_m * np.clip((high - low) / 0.5, 0, 1)
        if self.boxy:
            lean = np.where(y > self.closed_m, self.lean_m, lean)
        return self._bowed(wide - share * lean, y, low + share * (high - low - 0.03))

    def cabin_top(self, share: Floats, y: Floats) -> Floats:
        """Windscreen, roof, rear window, at a share of their half width."""
        edge = self.cabin_side(y, np.ones(np.shape(y)))
        over = 0.035 * (1 - np.abs(share) ** 2.5)
        return self._bowed(share * edge[..., 0], y, edge[..., 2] + over)

    def _bowed(self, x: Floats, y: Floats, z: Floats) -> Floats:
        """Windscreen and rear window bulge, forwards and backwards."""
        first, last = self.roof_m[0][0], self.roof_m[-1][0]
        front = np.clip(1 - (y - first) / 1.2, 0, 1)
        rear = 0.0 if self.boxy else np.clip(1 - (last - y) / 0.9, 0, 1)
        middle = 1 - (x / (self.wide_m / 2 * self._cabin)) ** 2
        return np.stack([x, y + middle * (0.05 * rear - 0.13 * front), z], -1)

    def glazed_m(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """From where to where windscreen and rear window go; the latter is empty in a van."""
        line = np.array(self.roof_m)
        steep = np.abs(np.diff(line[:, 1]) / np.diff(line[:, 0])) > 0.33
        first = int(np.argmin(steep))  # the first flat piece
        last = len(steep) - int(np.argmin(steep[::-1]))
        front = (self.roof_m[0][0] + 0.06, self.roof_m[first][0] - 0.03)
        if self.boxy:
            return front, (0.0, 0.0)
        return front, (self.roof_m[last][0] + 0.04, self.roof_m[-1][0] - 0.05)


#: Radius of a wheel, and of the opening in the body over it.
WHEEL_M, ARCH_M = 0.315, 0.365

FORMS = {
    "car": Form(
        1.78,
        ((0.0, 0.68), (0.14, 0.755), (0.45, 0.835), (1.1, 0.92), (3.3, 0.985), (3.95, 0.975),
         (4.28, 0.93)),
        ((0.98, 0.90), (1.40, 1.15), (1.85, 1.37), (2.15, 1.43), (2.55, 1.445), (2.95, 1.42),
         (3.3, 1.315), (3.62, 1.13), (3.88, 0.99)),
        (0.80, 3.42),
        (2.34, 3.16),
        (1.28, 2.34, 3.16),
    ),
    "estate": Form(
        1.80,
        ((0.0, 0.68), (0.14, 0.76), (0.45, 0.845), (1.1, 0.93), (3.4, 1.0), (4.3, 1.0),
         (4.46, 0.94)),
        ((1.0, 0.91), (1.42, 1.16), (1.88, 1.39), (2.2, 1.455), (2.8, 1.465), (3.6, 1.445),
         (3.95, 1.40), (4.15, 1.18), (4.27, 1.0)),
        (0.82, 3.50),
        (2.36, 3.18),
        (1.3, 2.36, 3.18),
        lean_m=0.17,
    ),
    "hatch": Form(
        1.72,
        ((0.0, 0.70), (0.12, 0.785), (0.38, 0.86), (0.92, 0.945), (3.1, 1.02), (3.55, 1.0),
         (3.74, 0.92)),
        ((0.78, 0.92), (1.16, 1.18), (1.58, 1.42), (1.9, 1.485), (2.4, 1.495), (2.9, 1.47),
         (3.14, 1.41), (3.37, 1.19), (3.53, 1.0)),
        (0.74, 3.08),
        (2.12, 2.92),
        (1.1, 2.12, 2.92),
        lean_m=0.18,
    ),
    "small van": Form(
        1.80,
        ((0.0, 0.72), (0.12, 0.83), (0.38, 0.93), (0.95, 1.03), (3.9, 1.08), (4.3, 1.06)),
        ((0.74, 0.99), (1.12, 1.32), (1.5, 1.66), (1.8, 1.78), (2.3, 1.815), (3.9, 1.82),
         (4.16, 1.78), (4.21, 1.1)),
        (0.80, 3.42),
        (1.62,),
        (1.1, 2.12, 3.2),
        closed_m=2.14,
        lean_m=0.12,
        sill_m=0.25,
    ),
    "van": Form(
        1.95,
        ((0.0, 0.80), (0.10, 0.93), (0.34, 1.06), (0.85, 1.19), (4.7, 1.22), (5.2, 1.2)),
        ((0.66, 1.14), (1.02, 1.54), (1.42, 1.95), (1.75, 2.09), (2.3, 2.13), (4.8, 2.14),
         (5.05, 2.10), (5.11, 1.25)),
        (0.92, 4.10),
        (1.5,),
        (1.08, 2.06, 3.3),
        closed_m=2.08,
        lean_m=0.10,
        sill_m=0.27,
    ),
}  # fmt: skip
