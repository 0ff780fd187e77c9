"""Where the depth of a picture comes from: a branch for each source that a shot can name."""

from pathlib import Path

from render.depth.depthmap import DepthMap
from render.depth.ground import ground_depth
from render.errors import InputError
from render.files.depths import read_depth
from render.files.shots import Shot
from render.optics.camera import Camera, Vantage
from render.words import metres, pitch_words

__all__ = ["depth_of"]

#: Level ground is rarely level: a slope of 1 % at the distances of a roof-top view.
_GROUND_UNCERTAINTY = 0.05


def depth_of(shot: Shot, picture: Path, camera: Camera, vantage: Vantage | None) -> DepthMap:
    """Metric depth of the picture, from what the shot names.

    Parameters
    ----------
    picture : Path
        For the sentence when there is no depth.
    camera : Camera
        Of the picture.
    vantage : Vantage or None
        Where the camera stood, if that was given.

    Raises
    ------
    InputError
        If no source is named, or it cannot be used.
    """
    keys = shot.depth
    if keys.file:
        return read_depth(Path(keys.file), camera, kind=keys.kind, scale=keys.scale)
    if vantage is None:
        raise InputError(
            f"{picture.name} has no depth: give a depth file with --depth, or the ground with "
            "--height and --pitch (or --horizon)"
        )
    how = (
        f"level ground seen from {metres(vantage.height_m)}, looking "
        f"{pitch_words(vantage.pitch_deg)}"
    )
    remark = "things that stand on the ground are taken as flat"
    return DepthMap(ground_depth(camera, vantage), how, _GROUND_UNCERTAINTY, (remark,))
