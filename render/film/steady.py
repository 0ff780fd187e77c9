"""A hand-held clip steadied: every frame turned back on the first one about the lens.

A camera that only turns sees every frame as the first one through one rotation, whatever stands
how far; one that walks does not, and is told by what the rotation leaves over.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.extras import needed
from render.optics.camera import Camera, Window
from render.scene.resize import fitted

__all__ = ["Steadied", "Steadier", "best_turn"]

Light = NDArray[np.float32]
Floats = NDArray[np.float64]

#: Longer side at which features are looked for, px, and how many at most.
_SIDE_PX, _FEATURES = 960, 2000
#: A match counts if its next best is so much worse (Lowe 2004).
_CLEARER = 0.75
#: Features agree with a turn within so many px of the picture looked at (ours).
_AGREE_PX = 1.5
#: So many, and such a share of all matches, have to agree, in so many of nine fields (ours).
_LEAST, _SHARE, _FIELDS = 24, 0.6, 6
#: Share of the planned frame that may be missing and is filled from the first (ours).
_MISSING = 0.05
_TRIES, _SEED = 300, 1


@dataclass(frozen=True, slots=True, eq=False)
class Steadied:
    """A frame laid on the first one.

    Attributes
    ----------
    light : ndarray, shape (H, W, 3), float32
    turn_deg : float
        How far the camera had turned.
    off_px : float
        What the turn leaves over, root mean square of the features that agree, px.
    missing : float
        Share of the planned frame that the frame did not show.
    """

    light: Light
    turn_deg: float
    off_px: float
    missing: float


def best_turn(
    first: Floats, other: Floats, agree_rad: float
) -> tuple[Floats, NDArray[np.bool_]] | None:
    """The rotation that takes directions seen first to the same ones seen later.

    Two directions give a rotation (W. Kabsch, Acta Cryst. A 32, 1976); of many pairs the one that
    most others agree with is taken (M. Fischler, R. Bolles, Comm. ACM 24, 1981) and fitted anew
    to all of these.

    Parameters
    ----------
    first, other : ndarray, shape (n, 3)
        Unit directions.
    agree_rad : float
        What a direction may be off.

    Returns
    -------
    rotation, agrees : ndarray, shapes (3, 3) and (n,)
        None where there are fewer than two.
    """
    if len(first) < 2:
        return None
    rng = np.random.default_rng(_SEED)
    best = np.zeros(len(first), bool)
    for _ in range(_TRIES):
        pair = rng.choice(len(first), 2, replace=False)
        agrees = _off(_kabsch(first[pair], other[pair]), first, other) < agree_rad
        if agrees.sum() > best.sum():
            best = agrees
    if best.sum() < 2:
        return None
    for _ in range(3):
        rotation = _kabsch(first[best], other[best])
        best = _off(rotation, first, other) < agree_rad
        if best.sum() < 2:
            return None
    return rotation, best


def _kabsch(first: Floats, other: Floats) -> Floats:
    left, _, right = np.linalg.svd(other.T @ first)
    turned = np.diag([1.0, 1.0, np.linalg.det(left @ right)])
    return np.asarray(left @ turned @ right)


def _off(rotation: Floats, first: Floats, other: Floats) -> Floats:
    return np.asarray(np.linalg.norm(first @ rotation.T - other, axis=1))


class Steadier:
    """Lays frames on the first one.

    Parameters
    ----------
    light : ndarray, shape (H, W, 3), float32
        The first frame.
    camera : Camera
        That took it.
    frame : Window
        The planned frame, which has to be seen.
    """

    def __init__(self, light: Light, camera: Camera, frame: Window) -> None:
        self._cv2 = needed("cv2", "steadying a clip")
        self._first, self._camera, self._frame = light, camera, frame
        scale = min(1.0, _SIDE_PX / max(light.shape[:2]))
        self._small = camera.resized(
            max(1, round(camera.width_px * scale)), max(1, round(camera.height_px * scale))
        )
        self._finder = self._cv2.SIFT_create(nfeatures=_FEATURES)
        self._known = self._features(light)

    def __call__(self, light: Light) -> Light:
        """The frame's light as the camera of the first would have seen it."""
        return self.steadied(light).light

    def steadied(self, light: Light) -> Steadied:
        """Turn a frame back, and say by how much and how well.

        Raises
        ------
        InputError
            If too few features agree on one turn: the camera moved along, zoomed, or shows too
            little; or if it turned so far that too much of the planned frame is missing.
        """
        if light is self._first:
            return Steadied(light, 0.0, 0.0, 0.0)
        rotation, off_px = self._turn(light)
        seen, covered = self._turned(light, rotation)
        missing = 1.0 - float(np.mean(covered[self._frame.rows, self._frame.columns]))
        angle = float(np.degrees(np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1, 1))))
        if missing > _MISSING:
            raise InputError(
                f"the camera turns too far to be steadied: by {angle:.1f}°, and {missing:.0%} of "
                "the planned frame is not seen then; film a shorter part with --to, or plan a "
                "smaller frame with a longer --lens"
            )
        np.copyto(seen, self._first, where=~covered[..., None])
        return Steadied(seen, angle, off_px, missing)

    def _turn(self, light: Light) -> tuple[Floats, float]:
        points, words = self._features(light)
        pairs = self._pairs(words)
        first, other = self._known[0][pairs[:, 0]], points[pairs[:, 1]]
        focal_px = self._small.focal_px
        found = best_turn(self._directions(first), self._directions(other), _AGREE_PX / focal_px)
        agrees = found[1] if found else np.zeros(len(pairs), bool)
        fields = (first[agrees] * 3 // [self._small.width_px, self._small.height_px]).astype(int)
        spread = len({(int(x), int(y)) for x, y in fields})
        if len(pairs) < _LEAST or found is None:
            raise InputError(
                f"the clip cannot be steadied: {len(pairs)} features are the same in its first "
                f"frame and a later one, {_LEAST} and more are needed"
            )
        if agrees.sum() < max(_LEAST, _SHARE * len(pairs)) or spread < _FIELDS:
            raise InputError(
                f"the clip cannot be steadied: {agrees.sum()} of {len(pairs)} features, in "
                f"{spread} of nine fields, agree on one turn of the camera; it moves along or "
                "zooms, and one depth cannot hold: give a depth for every frame, "
                '--depth "depth/%04d.npy"'
            )
        seen = self._directions(first[agrees]) @ found[0].T
        back = self._small.positions(seen[:, :2] / seen[:, 2:])
        off = np.sqrt(np.mean(np.sum((back - other[agrees]) ** 2, axis=1)))
        return found[0], float(off) * self._camera.width_px / self._small.width_px

    def _features(self, light: Light) -> tuple[Floats, Any]:
        """Places (px of the small picture) and descriptions (SIFT, D. Lowe, IJCV 60, 2004)."""
        small = fitted(light, _SIDE_PX)
        grey = np.sqrt(np.clip(small @ np.array([0.25, 0.65, 0.1], np.float32), 0, 1))
        codes = np.rint(255 * grey).astype(np.uint8)
        found, words = self._finder.detectAndCompute(codes, None)
        if words is None:
            return np.zeros((0, 2)), np.zeros((0, 128), np.float32)
        return np.array([one.pt for one in found], float) + 0.5, words

    def _pairs(self, words: Any) -> NDArray[np.intp]:
        known = self._known[1]
        if len(known) < 2 or len(words) < 2:
            return np.zeros((0, 2), np.intp)
        matches = self._cv2.BFMatcher(self._cv2.NORM_L2).knnMatch(known, words, k=2)
        clear = [
            (one.queryIdx, one.trainIdx)
            for one, next_best in matches
            if one.distance < _CLEARER * next_best.distance
        ]
        return np.array(clear, np.intp).reshape(-1, 2)

    def _directions(self, places: Floats) -> Floats:
        slopes = self._small.slopes(places[:, 0], places[:, 1])
        rays = np.concatenate([slopes, np.ones((len(slopes), 1))], axis=1)
        return np.asarray(rays / np.linalg.norm(rays, axis=1, keepdims=True))

    def _turned(self, light: Light, rotation: Floats) -> tuple[Light, NDArray[np.bool_]]:
        """The frame looked up where the first one's rays fall in it, and where it has them."""
        height, width = light.shape[:2]
        slope_x, slope_y = self._camera.grid()
        rays = np.empty((height, width, 3), np.float32)
        rays[..., 0], rays[..., 1], rays[..., 2] = slope_x, slope_y[:, None], 1.0
        seen = rays @ rotation.T.astype(np.float32)
        ahead = np.maximum(seen[..., 2:], np.float32(1e-6))
        places = self._camera.positions(seen[..., :2] / ahead).astype(np.float32) - np.float32(0.5)
        x, y = np.ascontiguousarray(places[..., 0]), np.ascontiguousarray(places[..., 1])
        covered = (x >= 0) & (x <= width - 1) & (y >= 0) & (y <= height - 1) & (seen[..., 2] > 0)
        cv2 = self._cv2
        moved = cv2.remap(light, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
        return np.maximum(moved, np.float32(0)), covered
