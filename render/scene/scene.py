"""`Scene`: what the lens looks at."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from render.errors import InputError
from render.optics.camera import Camera, Vantage, Window
from render.threads import each_share
from render.words import length_words

__all__ = ["Behind", "Finer", "Scene", "doubled"]


#: Every so many pixels, both ways, a scene looks whether its quarters are of its picture.
_CHECKED = 16


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Behind:
    """What lies behind the depth edges of a scene, where somebody knows it.

    Attributes
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear light of the next surface along each pixel's ray.
    depth_m : ndarray, shape (H, W), float32
        Its z in metres (``inf`` is the sky); **NaN where it is not known**.
    """

    picture: NDArray[np.float32]
    depth_m: NDArray[np.float32]

    def __repr__(self) -> str:
        """How much is known, without the pixels."""
        known = np.mean(~np.isnan(self.depth_m))
        return f"Behind({_size(self.depth_m)}, {100 * known:.1f} % known)"

    def __post_init__(self) -> None:
        _check_picture(self.picture, self.depth_m)
        known = self.depth_m[~np.isnan(self.depth_m)]
        if not np.all(known > 0):
            raise InputError("depth behind edges must be above 0 m, or NaN where it is not known")
        _freeze(self)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Finer:
    """A scene's picture and depth with four values a pixel, where somebody knows them.

    Attributes
    ----------
    picture : ndarray, shape (2 H, 2 W, 3), float32
        Four of its pixels have the mean of one of the scene's.
    depth_m : ndarray, shape (2 H, 2 W), float32
    """

    picture: NDArray[np.float32]
    depth_m: NDArray[np.float32]

    def __repr__(self) -> str:
        """Size, without the pixels."""
        return f"Finer({_size(self.depth_m)})"

    def __post_init__(self) -> None:
        _check_picture(self.picture, self.depth_m)
        _freeze(self)

    def check(self, picture: NDArray[np.float32]) -> None:
        """Raise an `InputError` if it is not of that picture, as far as some places tell."""
        height, width = picture.shape[:2]
        if self.depth_m.shape != (2 * height, 2 * width):
            raise InputError("quarters of pixels must be two by two for each of the picture")
        places = (
            self.picture[down :: 2 * _CHECKED, across :: 2 * _CHECKED]
            for down in (0, 1)
            for across in (0, 1)
        )
        if not np.allclose(sum(places) / 4, picture[::_CHECKED, ::_CHECKED], 1e-3, 1e-4):
            raise InputError("quarters of pixels must have the mean of theirs: leave them out")


@dataclass(frozen=True, slots=True, weakref_slot=True, eq=False, repr=False)
class Scene:
    """A linear picture with metric depth, seen by a camera. Checked once, where it is made.

    Attributes
    ----------
    picture : ndarray, shape (H, W, 3), float32
        Linear, scene-referred light, >= 0; it may go above 1.
    depth_m : ndarray, shape (H, W), float32
        z in metres, > 0; ``inf`` is the sky.
    camera : Camera
        Of the whole picture, H x W.
    window : Window or None
        The planned frame inside the picture; what lies outside is margin, seen only by
        blur that reaches in. None: the whole picture is the frame.
    behind : Behind or None
        The surface behind depth edges, if known.
    vantage : Vantage or None
        Height above ground and pitch, if known.
    finer : Finer or None
        Light and depth of the four quarters of each pixel, if known; whoever changes the picture
        or the depth leaves it out.

    Raises
    ------
    InputError
        If shapes disagree, or a value is NaN, negative light, or depth not above 0.
    """

    picture: NDArray[np.float32]
    depth_m: NDArray[np.float32]
    camera: Camera
    window: Window | None = None
    behind: Behind | None = None
    vantage: Vantage | None = None
    finer: Finer | None = None

    def __post_init__(self) -> None:
        _check_picture(self.picture, self.depth_m)
        if not isinstance(self.camera, Camera):
            raise InputError(f"a scene needs the Camera that saw it, not {self.camera!r}")
        height, width = self.depth_m.shape
        if (self.camera.width_px, self.camera.height_px) != (width, height):
            raise InputError(
                f"the camera is {self.camera.width_px} x {self.camera.height_px} px, "
                f"the picture {width} x {height}: they must be the same"
            )
        if not np.all(self.depth_m > 0):  # nan fails too
            raise InputError("depth must be above 0 m everywhere (infinity is the sky)")
        if self.window is not None and (
            self.window.left + self.window.width > width
            or self.window.top + self.window.height > height
        ):
            raise InputError(f"the frame {self.window} does not lie inside {width} x {height} px")
        if self.behind is not None and self.behind.depth_m.shape != self.depth_m.shape:
            raise InputError("the surface behind edges must be as large as the picture")
        if self.finer is not None:
            self.finer.check(self.picture)
        _freeze(self)

    def __repr__(self) -> str:
        """Size, depth and frame, without the pixels."""
        height, width = self.depth_m.shape
        near, far = self.depth_m.min(), self.depth_m.max()
        depth = f"{length_words(float(near))} to {length_words(float(far))}"
        return f"Scene({width} x {height} px, {depth}, frame={self.frame}, vantage={self.vantage})"

    @property
    def frame(self) -> Window:
        """The planned frame; the whole picture unless a window was given."""
        height, width = self.depth_m.shape
        return self.window or Window(0, 0, width, height)

    @property
    def frame_camera(self) -> Camera:
        """The camera of the planned frame alone."""
        return self.camera.cropped(self.frame)


def doubled(scene: Scene, finer: Finer) -> Scene:
    """The scene at twice the size, with four values of its own for each pixel."""
    behind = scene.behind and Behind(_twice(scene.behind.picture), _twice(scene.behind.depth_m))
    height, width = finer.depth_m.shape
    frame = scene.frame
    return Scene(
        picture=finer.picture,
        depth_m=finer.depth_m,
        camera=scene.camera.resized(width, height),
        window=Window(2 * frame.left, 2 * frame.top, 2 * frame.width, 2 * frame.height),
        behind=behind,
        vantage=scene.vantage,
    )


def _twice(array: NDArray[np.float32]) -> NDArray[np.float32]:
    height, width = array.shape[:2]
    twice = np.empty((2 * height, 2 * width, *array.shape[2:]), array.dtype)

    def laid(first: int, last: int) -> None:
        wide = array[first:last].repeat(2, axis=1)
        twice[2 * first : 2 * last : 2] = twice[2 * first + 1 : 2 * last : 2] = wide

    each_share(height, laid)
    return twice


def _check_picture(picture: NDArray[np.float32], depth_m: NDArray[np.float32]) -> None:
    for name, array in (("picture", picture), ("depth_m", depth_m)):
        if not (isinstance(array, np.ndarray) and array.dtype.kind == "f"):
            found = f"an array of {array.dtype}" if isinstance(array, np.ndarray) else repr(array)
            raise InputError(
                f"{name} must be an array of floats, not {found[:60]}: light is linear, 1 is "
                "white, and depth is in metres; read_picture and read_depth give both"
            )
    if picture.ndim != 3 or picture.shape[2] != 3:
        raise InputError(f"a picture must be (height, width, 3), not {picture.shape}")
    if depth_m.shape != picture.shape[:2]:
        raise InputError(
            f"the depth is {_size(depth_m)}, the picture {_size(picture)}: resize one of them"
        )
    if depth_m.size == 0:
        raise InputError("the picture is empty")
    if not (picture.min() >= 0 and np.isfinite(picture.max())):  # nan fails too
        raise InputError("the picture holds light that is negative or not a number")


def _size(array: NDArray[np.float32]) -> str:
    return f"{array.shape[1]} x {array.shape[0]} px"


def _freeze(owner: Scene | Behind | Finer) -> None:
    for name in ("picture", "depth_m"):
        view = np.ascontiguousarray(getattr(owner, name), dtype=np.float32).view()
        view.flags.writeable = False  # on a view: the caller's own array stays writable
        object.__setattr__(owner, name, view)
