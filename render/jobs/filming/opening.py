"""What is filmed, opened: its first frame, its depth, and how its frames are written."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from render.engine.dither import dither
from render.engine.photograph import Photograph
from render.errors import InputError, SettingError
from render.files.clips.kinds import CLIP_ENDINGS, ClipKind, check_held, clip_kind
from render.files.clips.tags import ColourTags, as_written
from render.files.clips.writing import ClipShape
from render.files.pictures import coding_of
from render.files.sequences import is_pattern, stills_in
from render.film.order import FilmOrder
from render.film.ramps import Ramps, ramps_of, setting_at
from render.film.stage import FilmStage, PictureStage, SceneStage
from render.film.steady import Steadier
from render.film.timing import Shutter
from render.load.compiled import say_compiling
from render.load.footage import (
    ClipFootage,
    Footage,
    open_footage,
    plain_still,
    whole_framed,
)
from render.load.highlights import stops_of
from render.load.plan import focus_on
from render.load.prepare import lay_out, prepare, prepare_file
from render.load.prepared import Prepared
from render.load.progress import Progress, silent
from render.scene.colour import SRGB, Encoding
from render.scene.field import frame_field
from render.scene.scene import Scene
from render.shot.belonging import refuse_strange
from render.shot.keyframes import KeyFrame, read_key_frame
from render.shot.shot import Shot, shot_keys

__all__ = [
    "ANIMATIONS",
    "Filmed",
    "as_planned",
    "depth_files",
    "kind_of",
    "open_film",
    "picture_source",
]

#: Endings of animations small enough for a mail.
ANIMATIONS = (".webp", ".gif")
#: Frames of which the clean plate is the median: so many, fewer where they are large (by what
#: their half floats take, bytes), but no fewer than the last.
_PLATES, _PLATE_BYTES, _PLATES_LEAST = 21, 550e6, 11

Light = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Filmed:
    """What is filmed, opened: a stage, and how its frames are written.

    Attributes
    ----------
    stage : FilmStage
    prepared : Prepared
        Its first frame as a still.
    footage : Footage or None
        None for a scene.
    kind : ClipKind or None
        Of a clip; None for stills and animations.
    shape : ClipShape or None
    encoding : Encoding
        Of the stage's light.
    to_written : ndarray or None
        Matrix from that light to the primaries that are written.
    remarks : tuple of str
    """

    stage: FilmStage
    prepared: Prepared
    footage: Footage | None
    kind: ClipKind | None
    shape: ClipShape | None
    encoding: Encoding
    to_written: NDArray[np.float32] | None
    remarks: tuple[str, ...]


def picture_source(shot: Shot, footage: str | None) -> str | None:
    """The footage that is named; None for a scene."""
    return footage or shot.picture


def open_film(order: FilmOrder, progress: Progress) -> Filmed:
    """Prepare the first frame, its depth, and whatever holds for every frame.

    Raises
    ------
    HingelineError
        In one sentence.
    """
    say_compiling(progress)
    source = picture_source(order.shot, order.wishes.footage)
    if source is None:
        return _open_scene(order, progress)
    return _open_footage(order, source, progress)


def _open_footage(order: FilmOrder, source: str, progress: Progress) -> Filmed:
    from render.engine.highlights import lift_highlights

    wishes = order.wishes
    footage = open_footage(source, wishes.frames_per_s)
    shot = replace(order.shot, picture=source, scene=None)
    refuse_strange(shot)
    shot, said = whole_framed(shot, footage)
    depths = depth_files(shot)
    if depths and len(depths) < len(footage.times):
        raise InputError(
            f"{shot.depth.file} names {len(depths)} depth files for {len(footage.times)} frames: "
            "one for each is needed"
        )
    if depths:
        shot = _with_depth(shot, depths[0])
    prepared = prepare_file(shot, footage.first(), progress)
    prepared = replace(prepared, assumed=prepared.assumed.led_by(said))
    setting, scene = prepared.setting, prepared.scene

    stops = stops_of(prepared, 0.0)
    if depths and wishes.steady:
        raise SettingError("--steady is for one depth: files for every frame follow the camera")
    steadied = Steadier(scene.picture, scene.camera, scene.frame) if wishes.steady else None
    stage = PictureStage(
        scene=scene,
        setting=setting,
        ramps=_ramps(order, prepared),
        lights=footage.frames,
        gains=order.gains,
        lift=partial(lift_highlights, stops=stops) if stops else None,
        steadied=steadied,
        parted=_parted(order, footage, prepared, depths, steadied),
        settle=_settling(order, footage, prepared),
        side_by_side=wishes.side_by_side,
    )
    tags = footage.clip.tags if isinstance(footage, ClipFootage) else None
    encoding = prepared.file.encoding if prepared.file else SRGB
    return _with_output(order, stage, prepared, footage, tags, encoding)


def _settling(
    order: FilmOrder, footage: Footage | None, prepared: Prepared
) -> Callable[[Photograph, Scene], Light] | None:
    """What rounds light to the codes of stills of 8 bits, as `render` does; None elsewhere."""
    if order.out.suffix.lower() in (*CLIP_ENDINGS, *ANIMATIONS):
        return None
    like = None
    if footage is not None and prepared.file is not None:
        like = footage.file(0) or plain_still(prepared.file)
    coding, bits = coding_of(order.out, like)
    if bits != 8:
        return None
    grey = like is not None and like.grey

    def settle(photo: Photograph, scene: Scene) -> Light:
        frame = scene.frame
        recorded, field = (
            scene.picture[frame.rows, frame.columns],
            frame_field(scene, photo.setting),
        )
        return dither(photo, recorded, field, coding, grey=grey).light

    return settle


def depth_files(shot: Shot) -> tuple[Path, ...]:
    """A depth for every frame, where the shot's depth is a pattern of files; else nothing."""
    named = shot.depth.file
    return stills_in(named) if named and is_pattern(named) else ()


def _with_depth(shot: Shot, path: Path) -> Shot:
    return replace(shot, depth=replace(shot.depth, file=str(path)))


def _parted(
    order: FilmOrder,
    footage: Footage,
    prepared: Prepared,
    depths: tuple[Path, ...],
    steadied: Callable[[Light], Light] | None,
) -> Callable[[Light, int], Scene] | None:
    """What gives each frame its own depth: its file, and what moves, told from a clean plate."""
    scene, file = prepared.scene, prepared.file
    assert file is not None, "footage has a first frame"

    def of_file(light: Light, number: int) -> Scene:
        shot = _with_depth(prepared.shot, depths[number])
        laid = lay_out(shot, replace(file, light=light), scene.camera, silent)
        return replace(scene, picture=light, depth_m=laid.scene.depth_m)

    if not order.wishes.movers:
        return of_file if depths else None
    from render.film.movers import clean_plate, with_movers

    last = len(footage.times) - 1
    fit = int(_PLATE_BYTES / (6 * scene.depth_m.size))
    count = max(_PLATES_LEAST, min(_PLATES, fit))
    numbers = sorted({round(last * k / (count - 1)) for k in range(count)})
    if len(numbers) < 5:
        raise SettingError("--movers needs five frames or more to know the place without them")
    looks = (next(footage.frames(each, each + 1)) for each in numbers)
    plate = clean_plate(steadied(each) if steadied else each for each in looks)
    if not depths:
        return lambda light, _: with_movers(scene, plate, light)
    return lambda light, number: with_movers(of_file(light, number), plate, light)


def _open_scene(order: FilmOrder, progress: Progress) -> Filmed:
    from render.load.moving import MovingScene

    wishes = order.wishes
    moves = order.shot.key_frames or wishes.keys or wishes.reveal_s or wishes.follow
    held = not (moves or wishes.side_by_side)
    given = (*order.shot.key_frames, *(read_key_frame(text, shot_keys()) for text in wishes.keys))
    prepared = prepare(replace(order.shot, key_frames=given), progress, held=held)

    ramps = _ramps(order, prepared)
    times = sorted({0.0, *(float(t) for track in ramps.tracks.values() for t in track.times_s)})
    moving = MovingScene(
        prepared, tuple(setting_at(prepared.setting, ramps, each) for each in times), held=held
    )
    follow = wishes.follow
    stage = SceneStage(
        scene_at=moving.scene,
        setting=prepared.setting,
        ramps=ramps,
        spot_at=partial(moving.spot, follow) if follow else None,
        open_s=_open_seconds(order),
        settle=_settling(order, None, prepared),
        side_by_side=wishes.side_by_side,
    )
    if follow:
        moving.spot(follow, 0.0)  # refused here, before anything is made
    return _with_output(order, stage, prepared, None, None, SRGB)


def _open_seconds(order: FilmOrder) -> float:
    """Seconds of the scene that an exposure lasts."""
    wish = order.wishes.shutter
    if wish is None or len(order.moments) < 2:
        return 0.0
    held = 2 if order.wishes.on_twos else 1
    step_s = order.moments[min(held, len(order.moments) - 1)].source_s - order.moments[0].source_s
    return float(Shutter(wish.angle_deg, wish.seconds).open_s(step_s))


def key_frames_of(order: FilmOrder, prepared: Prepared) -> tuple[KeyFrame, ...]:
    """Key frames of the shot and the command, or those of a reveal; by their times."""
    keys = shot_keys()
    given = [*order.shot.key_frames, *(read_key_frame(text, keys) for text in order.wishes.keys)]
    if order.wishes.reveal_s:
        setting = prepared.setting
        tilt, swing = setting.tilt_deg, setting.swing_deg
        given += [
            KeyFrame(0.0, (("tilt", "0"), ("swing", "0"))),
            KeyFrame(
                order.wishes.reveal_s,
                (
                    ("tilt", f"{'down' if tilt > 0 else 'up'} {abs(tilt)!r}"),
                    ("swing", f"{'right' if swing > 0 else 'left'} {abs(swing)!r}"),
                ),
            ),
        ]
    return tuple(sorted(given, key=lambda each: each.at_s))


def _ramps(order: FilmOrder, prepared: Prepared) -> Ramps:
    frames = key_frames_of(order, prepared)
    ramps = ramps_of(frames, partial(focus_on, prepared), prepared.setting)
    return _ended_ramps(order, ramps)


def as_planned(order: FilmOrder, filmed: Filmed) -> Filmed:
    """The same film with what only the plan knew: its gains, exposure, rate and last frame."""
    stage = filmed.stage
    if isinstance(stage, PictureStage):
        stage.gains = order.gains
        stage.ramps = _ended_ramps(order, stage.ramps)
    elif isinstance(stage, SceneStage):
        stage.open_s = _open_seconds(order)
        stage.ramps = _ended_ramps(order, stage.ramps)
    shape = filmed.shape and replace(filmed.shape, rate=order.rate, tick=order.tick)
    return replace(filmed, shape=shape)


def _ended_ramps(order: FilmOrder, ramps: Ramps) -> Ramps:
    """Key frames at the film's end brought to its last frame, once its moments are known."""
    if not order.moments:
        return ramps
    last = order.moments[-1].at_s
    return ramps.ended(float(last), float(last + 1 / order.rate))


def _with_output(
    order: FilmOrder,
    stage: FilmStage,
    prepared: Prepared,
    footage: Footage | None,
    tags: ColourTags | None,
    encoding: Encoding,
) -> Filmed:
    """Add how frames are written: the source's own colours where it is a clip."""
    remarks = list(footage.remarks if footage else ())
    frame = prepared.scene.frame
    height, width = frame.height, frame.width * (2 if order.wishes.side_by_side else 1)
    ending = order.out.suffix.lower()
    shape = matrix = None
    kind = kind_of(order)
    if kind is not None:
        down, across = kind.shared
        if width % across or height % down:
            parts = [*(["column"] if width % across else []), *(["row"] if height % down else [])]
            cut = f"{' and '.join(parts)} {'are' if len(parts) > 1 else 'is'} cut"
            remarks.append(f"{kind.words} holds even sizes: the last {cut}")
        wide, high = width - width % across, height - height % down
        check_held(kind, wide, high)
        if tags is None:
            tags, written, remark = as_written(encoding)
            remarks += [remark] if remark else []
            if written.to_xyz != encoding.to_xyz:
                matrix = encoding.matrix_to(written).astype(np.float32)
        elif tags.matrix == 0:  # R'G'B' is written as luma and colour difference
            tags = replace(tags, matrix=9 if tags.primaries == 9 else 1, full_range=False)
        shape = ClipShape(wide, high, order.rate, order.tick, tags)
    elif ending in ANIMATIONS and not np.allclose(encoding.to_xyz, SRGB.to_xyz):
        matrix = encoding.matrix_to(SRGB).astype(np.float32)
    return Filmed(stage, prepared, footage, kind, shape, encoding, matrix, tuple(remarks))


def kind_of(order: FilmOrder) -> ClipKind | None:
    """How a clip is coded; None for stills and animations."""
    is_clip = order.out.suffix.lower() in CLIP_ENDINGS
    return clip_kind(order.out, order.wishes.codec) if is_clip else None
