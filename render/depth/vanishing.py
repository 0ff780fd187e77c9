"""Pitch and roll proposed from a picture's own parallel lines, with their doubt.

A straight line in the picture spans a plane with the lens; all upright lines of the world have
the plumb line in theirs, all level lines of one direction that direction. So the plumb line n is
what the normals m of the upright lines' planes have in common: ``n . m = 0`` (calibrated
vanishing points: S. T. Barnard, "Interpreting perspective images", 1983). Lines are found by the
line segment detector of R. Grompone von Gioi et al. (IPOL 2012) in OpenCV.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from render.depth.sampling import coded_grey, reduced
from render.extras import needed
from render.optics.camera import Camera

__all__ = ["Proposal", "line_segments", "propose_view", "view_from_segments"]

_LONG_SIDE_PX = 1280
_INLIER_DEG = 1.5
_TRIED = 90  # longest lines that are paired into hypotheses
_MOST_ROLL_DEG = (
    8.0  # with its doubt; beyond that it was always another direction of the picture (measured)
)
_LEAST_UPRIGHT = 12  # fewer agreed on wrong pitches in three of four pictures (measured)
_RIVAL, _APART_DEG = 0.08, 5.0  # share of the length that agrees; farther off is another pitch
_MOST_DOUBT_DEG = 15.0  # a blind guess knows as much
_AGREE_DEG = 3.0  # level lines that no upright ones bear out are off by 17 degrees (measured)
_ALL_LEVEL, _NONE_STEEP, _LEVEL_ALONE_DEG = 0.75, 0.25, 10.0  # shares of the length (ours)
_FOCAL_DOUBT = 0.05  # fields of view from EXIF are off by 5 to 10 % (measured)

_Allowed = Callable[[NDArray[np.float64]], NDArray[np.bool_]]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A pitch and roll that the picture suggests; never taken without being asked for.

    Attributes
    ----------
    pitch_deg, roll_deg : float
        Down and clockwise, as in `render.optics.camera.Vantage`.
    pitch_doubt_deg, roll_doubt_deg : float
        One standard deviation: scatter of the lines, 5 % doubt of the focal length, and other
        pitches on which nearly as much of the steep lines agrees.
    lines : int
        How many lines agree.
    source : str
        "upright lines" or "level lines".
    """

    pitch_deg: float
    roll_deg: float
    pitch_doubt_deg: float
    roll_doubt_deg: float
    lines: int
    source: str

    @property
    def within_doubt(self) -> bool:
        """Whether the pitch is no larger than its doubt, so that the camera may be level."""
        return abs(self.pitch_deg) <= self.pitch_doubt_deg

    @property
    def pitch(self) -> str:
        """The pitch as it is given; 0 where it is within its doubt."""
        if self.within_doubt:
            return "0"
        return f"{'down' if self.pitch_deg >= 0 else 'up'} {abs(self.pitch_deg):.1f}"

    @property
    def roll(self) -> str:
        """The roll as it is given; 0 where it is within its doubt."""
        return "0" if abs(self.roll_deg) <= self.roll_doubt_deg else f"{self.roll_deg:.1f}"

    def words(self) -> str:
        """Return the proposal as a sentence."""
        look = "down" if self.pitch_deg >= 0 else "up"
        looking = f"looking {look} {abs(self.pitch_deg):.1f}° (± {self.pitch_doubt_deg:.1f}°)"
        if self.within_doubt:
            looking = f"that is level within the doubt of ± {self.pitch_doubt_deg:.1f}°"
        roll = f"a roll of {self.roll_deg:.1f}° (± {self.roll_doubt_deg:.1f}°)"
        if self.roll == "0":
            roll = f"no roll beyond the doubt of ± {self.roll_doubt_deg:.1f}°"
        return f"{self.lines} {self.source} suggest a camera {looking}, with {roll}"


def line_segments(picture: NDArray[np.float32]) -> NDArray[np.float64]:
    """Straight line segments of a picture.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.

    Returns
    -------
    ndarray, shape (S, 4), float64
        Ends (x0, y0, x1, y1) in px of `picture` (pixel centres at +0.5), longest first.

    Raises
    ------
    InputError
        If OpenCV is not installed.
    """
    cv2 = needed("cv2", "proposing a pitch from the picture's lines")
    small = reduced(picture, _LONG_SIDE_PX)
    grey = np.asarray(255 * coded_grey(small), np.uint8)
    found = cv2.createLineSegmentDetector().detect(grey)[0]
    if found is None:
        return np.empty((0, 4))
    segments = np.asarray(found, float).reshape(-1, 4) + 0.5
    scale = np.array([picture.shape[1] / small.shape[1], picture.shape[0] / small.shape[0]])
    segments *= np.tile(scale, 2)
    length = np.hypot(segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1])
    keep = length > 0.02 * math.hypot(*picture.shape[:2])
    order = np.argsort(-length[keep], kind="stable")
    return np.asarray(segments[keep][order])


def propose_view(picture: NDArray[np.float32], camera: Camera) -> tuple[Proposal, ...]:
    """Pitch and roll that a picture's parallel lines suggest, upright lines first; maybe none.

    Parameters
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light.
    camera : Camera
        Of that picture; the pitch follows the focal length, so a wrong one spoils it.
    """
    return view_from_segments(line_segments(picture), camera)


def view_from_segments(segments_px: NDArray[np.float64], camera: Camera) -> tuple[Proposal, ...]:
    """Pitch and roll that line segments (x0, y0, x1, y1) suggest, the surer source first.

    Level lines count where they bear the upright ones out, or where nearly all lines are such and
    hardly one is steep: two directions that are not square, or not level, look like any others.
    """
    if len(segments_px) < 4:
        return ()
    lines = _Lines.of(segments_px, camera)
    steep = lines.kept(lines.steep(35.0))
    upright = _from_upright(steep)
    level, share = _from_level(lines.kept(~lines.steep(25.0)))
    if upright is None:
        alone = share > _ALL_LEVEL and steep.length.sum() < _NONE_STEEP * lines.length.sum()
        if level is None or not alone:
            return ()
        doubt = math.hypot(level.pitch_doubt_deg, _LEVEL_ALONE_DEG)
        return (replace(level, pitch_doubt_deg=doubt),)
    if level is None or abs(upright.pitch_deg - level.pitch_deg) > _AGREE_DEG:
        return (upright,)
    return tuple(sorted((upright, level), key=lambda found: found.pitch_doubt_deg))


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Segments as slopes: middle (S, 2), unit direction (S, 2), plane normal (S, 3), length."""

    middle: NDArray[np.float64]
    along: NDArray[np.float64]
    normal: NDArray[np.float64]
    length: NDArray[np.float64]

    @classmethod
    def of(cls, segments_px: NDArray[np.float64], camera: Camera) -> "_Lines":
        first = camera.slopes(segments_px[:, 0], segments_px[:, 1])
        last = camera.slopes(segments_px[:, 2], segments_px[:, 3])
        reach = last - first
        length = np.hypot(reach[:, 0], reach[:, 1])
        one = np.ones((len(first), 1))
        normal = np.cross(np.hstack([first, one]), np.hstack([last, one]))
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return cls((first + last) / 2, reach / length[:, None], normal, length)

    def steep(self, within_deg: float) -> NDArray[np.bool_]:
        return np.asarray(np.abs(self.along[:, 0]) < math.sin(math.radians(within_deg)))

    def kept(self, which: NDArray[np.bool_]) -> "_Lines":
        return _Lines(self.middle[which], self.along[which], self.normal[which], self.length[which])

    def misses(self, direction: NDArray[np.float64]) -> NDArray[np.float64]:
        """Sine of the angle in the picture between each line and the way to a direction.

        Seen from `middle` the direction v vanishes along ``v_xy - v_z middle``.
        """
        way = direction[..., None, :2] - direction[..., None, 2:] * self.middle
        size = np.maximum(np.hypot(way[..., 0], way[..., 1]), 1e-12)
        return np.asarray(
            np.abs(way[..., 0] * self.along[:, 1] - way[..., 1] * self.along[:, 0]) / size
        )

    def agreeing(self, direction: NDArray[np.float64]) -> NDArray[np.bool_]:
        return np.asarray(self.misses(direction) < math.sin(math.radians(_INLIER_DEG)))


def _may_be_plumb(directions: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Pitch within 75 degrees and roll within what a hand-held camera leans."""
    upright = directions[:, 1] > 0
    most = math.tan(math.radians(_MOST_ROLL_DEG))
    roll = np.abs(directions[:, 0]) < most * directions[:, 1]
    return np.asarray(upright & roll & (np.abs(directions[:, 2]) < math.sin(math.radians(75))))


def _square_to(axis: NDArray[np.float64]) -> _Allowed:
    """Directions within 12 degrees of a right angle to an axis: most buildings are square."""
    return lambda directions: np.asarray(np.abs(directions @ axis) < math.sin(math.radians(12)))


def _anything(directions: NDArray[np.float64]) -> NDArray[np.bool_]:
    return np.ones(len(directions), bool)


def _from_upright(lines: _Lines) -> Proposal | None:
    plumb = _common_direction(lines, _may_be_plumb)
    if plumb is None:
        return None
    agreeing = lines.agreeing(plumb)
    if np.count_nonzero(agreeing) < _LEAST_UPRIGHT:
        return None
    found = _proposal([lines.kept(agreeing)], "upright lines")
    if found is None:
        return None
    doubt = math.hypot(found.pitch_doubt_deg, _rivals_deg(lines, found.pitch_deg))
    return replace(found, pitch_doubt_deg=doubt) if doubt <= _MOST_DOUBT_DEG else None


def _rivals_deg(lines: _Lines, pitch_deg: float) -> float:
    """How far off, as a standard deviation, the pitches lie on which nearly as much agrees.

    Each pitch weighs by the length of lines that agrees on it, with the roll that suits it best.
    """
    pitch = np.arange(-74.0, 75.0, 1.5)
    roll = np.arange(-_MOST_ROLL_DEG, _MOST_ROLL_DEG + 0.5)
    p, r = np.meshgrid(np.radians(pitch), np.radians(roll))
    tried = np.stack([np.sin(r) * np.cos(p), np.cos(r) * np.cos(p), np.sin(p)], -1).reshape(-1, 3)
    parts = np.array_split(tried, 1 + len(tried) // 500)
    votes = np.concatenate([lines.agreeing(part) @ lines.length for part in parts])
    most = votes.reshape(p.shape).max(axis=0)
    weight = np.exp((most / most.max() - 1.0) / _RIVAL)
    off = pitch - pitch_deg
    return float(np.sqrt((weight * off**2)[np.abs(off) > _APART_DEG].sum() / weight.sum()))


def _from_level(lines: _Lines) -> tuple[Proposal | None, float]:
    """Two level directions, each shared by many lines, span the level: their cross is plumb.

    Also the share of the lines' length that runs along the two.
    """
    first = _common_direction(lines, _anything)
    if first is None:
        return None, 0.0
    rest = lines.kept(~lines.agreeing(first))
    second = _common_direction(rest, _square_to(first))
    if second is None:
        return None, 0.0
    families = [lines.kept(lines.agreeing(first)), rest.kept(rest.agreeing(second))]
    share = sum(float(family.length.sum()) for family in families) / float(lines.length.sum())
    return _proposal(families, "level lines"), share


def _common_direction(lines: _Lines, allowed: _Allowed) -> NDArray[np.float64] | None:
    """World direction that the greatest length of lines shares: all pairs of the longest tried."""
    count = min(len(lines.length), _TRIED)
    first, second = np.triu_indices(count, 1)
    tried = np.cross(lines.normal[first], lines.normal[second])
    size = np.linalg.norm(tried, axis=1)
    tried = tried[size > 1e-6] / size[size > 1e-6, None]
    tried *= np.where(tried[:, 1:2] < 0, -1.0, 1.0)
    tried = tried[allowed(tried)]
    if len(tried) == 0:
        return None
    parts = np.array_split(tried, 1 + len(tried) // 500)
    votes = np.concatenate([lines.agreeing(part) @ lines.length for part in parts])
    best = np.asarray(tried[int(np.argmax(votes))])
    for _ in range(5):
        agreeing = lines.agreeing(best)
        if np.count_nonzero(agreeing) < 4:
            return None
        best = _shared(lines.kept(agreeing))
    return best if bool(allowed(best[None])[0]) else None


def _shared(lines: _Lines, drawn: NDArray[np.intp] | None = None) -> NDArray[np.float64]:
    """Direction nearest to all planes of lines, in the least-squares sense, longer ones more."""
    weighted = lines.normal * lines.length[:, None]
    weighted = weighted if drawn is None else weighted[drawn]
    direction = np.linalg.eigh(weighted.T @ weighted)[1][:, 0]
    return np.asarray(direction * (-1.0 if direction[1] < 0 else 1.0))


def _view(directions: list[NDArray[np.float64]]) -> tuple[float, float]:
    """Pitch and roll, degrees, from the plumb line or two level directions."""
    plumb = directions[0] if len(directions) == 1 else np.cross(directions[0], directions[1])
    plumb = plumb / np.linalg.norm(plumb) * (-1.0 if plumb[1] < 0 else 1.0)
    return math.degrees(math.asin(plumb[2])), math.degrees(math.atan2(plumb[0], plumb[1]))


def _proposal(families: list[_Lines], source: str) -> Proposal | None:
    """Doubt by drawing the agreeing lines anew, with replacement, 200 times (fixed seed)."""
    if any(len(family.length) < 4 for family in families):
        return None
    rng = np.random.default_rng(1)
    drawn = np.array(
        [
            _view([_shared(f, rng.choice(len(f.length), len(f.length))) for f in families])
            for _ in range(200)
        ]
    )
    pitch, roll = _view([_shared(family) for family in families])
    scatter = np.sqrt(np.mean((drawn - (pitch, roll)) ** 2, axis=0))
    if not (abs(pitch) < 75 and abs(roll) + 2 * scatter[1] <= _MOST_ROLL_DEG):
        return None
    lens = math.degrees(_FOCAL_DOUBT * abs(math.sin(2 * math.radians(pitch))) / 2)
    return Proposal(
        pitch_deg=pitch,
        roll_deg=roll,
        pitch_doubt_deg=math.hypot(float(scatter[0]), lens, 0.1),
        roll_doubt_deg=math.hypot(float(scatter[1]), 0.1),
        lines=sum(len(family.length) for family in families),
        source=source,
    )
