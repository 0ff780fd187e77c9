"""The side section and the plan: camera, planes, wedge, ground and scene, drawn to scale."""

import math
from collections.abc import Sequence

import numpy as np

from render.optics.lens import LensSetting
from render.optics.plane import focus_lens, sharp_plane
from render.optics.solving.targets import Target
from render.scene.scene import Scene
from render.sheets.drawing.canvas import Drawing, Point, hatch_lines
from render.sheets.drawing.lettering import line_width, shortened
from render.sheets.drawing.style import (
    BAND,
    BODY,
    FOCUS_PLANE,
    GROUND,
    HAIR,
    HAIRLINE,
    HEAVY,
    INK,
    MEDIUM,
    MUTED,
    SETTING,
    SMALL,
    SOIL,
)
from render.sheets.scaled_view import View, draw_line, draw_scale_bar, draw_wedge, fit
from render.sheets.section_words import mark_ground, name_movement, name_plane, plane_in
from render.sheets.slice import Frame, Kind, Line, Slice, clip_line, slice_scene
from render.sheets.thing_marks import mark_things
from render.words import guess_words, length_words, swing_words, tilt_words

__all__ = ["panel_height", "section_panel", "section_sheet"]

#: The camera stands at least this high above the ground in a panel.
_LOWEST_PT = 30.0
#: Points of the ground's outline.
_SOIL_STEPS = 160


def section_sheet(
    scene: Scene,
    setting: LensSetting,
    coc_mm: float,
    lens: str,
    *,
    width_pt: float = 760.0,
    credit: str = "",
    named: Sequence[Target] = (),
    height_guessed: bool = False,
) -> Drawing:
    """Return side section, detail at the camera, and a plan where the lens is swung.

    A lens that is only swung is shown from above alone.

    Parameters
    ----------
    scene : Scene
    setting : LensSetting
    coc_mm : float
        Circle of confusion, mm.
    lens : str
        The setting in words, for its head.
    width_pt : float
        Width of the drawing, points.
    credit : str
        Whose data the scene is made of, small at the top right.
    named : sequence of Target
        Things to mark; the cut goes through the first of them.
    height_guessed : bool
        The lens's height above the ground is only guessed, and said to be.
    """
    through = named[0] if named else None
    kinds: list[tuple[Kind, str]] = []
    if setting.tilt_deg != 0 or setting.swing_deg == 0:
        kinds.append(("side", f"Side section, through {through.name if through else 'the middle'}"))
    if setting.swing_deg != 0:
        kinds.append(("plan", f"From above, through {through.name if through else 'the middle'}"))
    cuts = [(slice_scene(scene, setting, coc_mm, kind, through), title) for kind, title in kinds]
    heights = [panel_height(cut, width_pt) for cut, _ in cuts]
    head = 44.0
    drawing = Drawing(width_pt, head + sum(heights) + 34 * len(cuts) + 8, unit_pt=1.0)
    room = (0.6 if credit else 1.0) * width_pt - 28
    head_line = shortened(lens, SETTING, room, "semibold")
    drawing.letters(14, 24, head_line, SETTING, weight="semibold")
    facts = _plane_words(scene, setting, guess_words(height_guessed))
    drawing.letters(14, 38, facts, SMALL, colour=MUTED)
    if credit:
        line = shortened(credit, SMALL, 0.4 * width_pt)
        drawing.letters(width_pt - 14, 24, line, SMALL, colour=MUTED, align="right")
    y = head
    for (cut, title), height in zip(cuts, heights, strict=True):
        drawing.letters(14, y + 20, title, BODY, weight="semibold")
        main = 0.66 * width_pt if _needs_detail(cut) else width_pt - 8
        panel = section_panel(
            cut, setting, main - 20, height, named=named, height_guessed=height_guessed
        )
        drawing.place(panel, 14, y + 26)
        if _needs_detail(cut):
            rest = width_pt - main - 20
            drawing.letters(main + 6, y + 20, "At the camera", BODY, weight="semibold")
            drawing.place(_detail_panel(cut, setting, rest, height), main + 6, y + 26)
        y += height + 34
    return drawing


def section_panel(
    cut: Slice,
    setting: LensSetting,
    width: float,
    height: float,
    *,
    size: float = SMALL,
    named: Sequence[Target] = (),
    height_guessed: bool = False,
) -> Drawing:
    """Return the whole slice in a rectangle of `width` by `height` points, with a scale bar.

    Named things are marked where they are, seen from the side (or from above in a plan).
    """
    drawing = Drawing(width, height, unit_pt=1.0)
    foot = 2.6 * size
    places = [(thing.name, cut.place_of(thing)) for thing in named]
    frame = _scene_frame(
        cut, 2.6 * size / (height - foot), _legible_m(cut, width), [at for _, at in places]
    )
    view = fit(frame, width, height - foot)
    _draw_ground(drawing, view, cut)
    draw_wedge(drawing, view, cut)
    _draw_view_limits(drawing, view, cut)
    _draw_profile(drawing, view, cut)
    draw_line(drawing, view, cut.sharp_line(), FOCUS_PLANE, MEDIUM)
    mark_ground(drawing, view, cut, size)
    _draw_camera(drawing, view, cut, size, guess_words(height_guessed))
    name_movement(drawing, view, cut, setting, size)
    mark_things(drawing, view, places, size, plane_in(view, cut))
    name_plane(drawing, view, cut, size)
    draw_scale_bar(drawing, view, height - 0.5 * size, size)
    _draw_key(drawing, width, height - 0.5 * size, size)
    drawing.path([(0, height - foot), (width, height - foot)], colour=HAIRLINE, width=HAIR)
    return drawing


def _detail_panel(cut: Slice, setting: LensSetting, width: float, height: float) -> Drawing:
    """Return the surroundings of the lens: planes of lens and sensor, where all three meet."""
    drawing = Drawing(width, height, unit_pt=1.0)
    foot = 2.6 * SMALL
    hinge, meet = cut.hinge, cut.scheimpflug
    assert hinge is not None
    assert meet is not None
    reach = 1.25 * max(abs(c) for c in (*hinge, *meet))
    upward = hinge[1] > 0
    frame = (
        -0.75 * reach,
        -0.45 * reach if upward else -reach,
        1.1 * reach,
        reach if upward else 0.45 * reach,
    )
    view = fit(frame, width, height - foot, left_share=0.5)
    draw_wedge(drawing, view, cut)
    draw_line(drawing, view, cut.sharp_line(), FOCUS_PLANE, MEDIUM)
    v = cut.lens.extension_mm / 1000.0
    sensor_plane = cut.line(0.0, 1.0, -v)
    lens_plane = cut.line(cut.across, cut.along, 0.0)
    hinge_plane = cut.line(0.0, 1.0, 0.0)
    draw_line(drawing, view, hinge_plane, HAIRLINE, HAIR, dash=(3, 3))
    draw_line(drawing, view, sensor_plane, INK, HAIR, dash=(6, 3))
    draw_line(drawing, view, lens_plane, INK, HAIR)
    body = 0.018
    for along, weight in ((-v, HEAVY), (0.0, HEAVY)):
        normal = (0.0, 1.0) if along else (cut.across, cut.along)
        ends = [
            cut.turned(s * body * normal[1], along - s * body * normal[0]).tolist() for s in (-1, 1)
        ]
        drawing.path([view.at((e[0], e[1])) for e in ends], width=weight)
    _draw_axis(drawing, view, cut, setting, reach)
    name = f"hinge line, {length_words(abs(cut.lens.focal_mm / cut.across) / 1000)}"
    falls = cut.sharp_line().a[0] * cut.sharp_line().a[1] > 0
    _name_point(drawing, view, hinge, name, 1, falls)
    _name_point(drawing, view, meet, "Scheimpflug line", -1, falls)
    for x, y in (view.at(hinge), view.at(meet)):
        drawing.disc(x, y, 3.0, colour=INK)
    drawing.path([(0, height - foot), (width, height - foot)], colour=HAIRLINE, width=HAIR)
    draw_scale_bar(drawing, view, height - 0.5 * SMALL, SMALL)
    low = view.frame[1] + 0.06 * reach if upward else view.frame[3] - 0.06 * reach
    for line, text, align in ((sensor_plane, "sensor", "right"), (lens_plane, "lens", "left")):
        where = _on_line(line, low)
        if where is not None and view.holds(where):
            x, y = view.at(where)
            shift = -4 if align == "right" else 4
            drawing.letters(
                x + shift, y, text, SMALL, align="right" if align == "right" else "left"
            )
    return drawing


def _plane_words(scene: Scene, setting: LensSetting, guess: str) -> str:
    """Where the hinge line lies and how the plane of sharp focus stands, in a line."""
    plane = sharp_plane(focus_lens(setting))
    if math.isinf(plane.hinge_distance_m):
        text = "the plane of sharp focus is parallel to the sensor"
    else:
        side = "from"
        if setting.swing_deg == 0:
            side = "above" if setting.tilt_deg < 0 else "below"
        elif setting.tilt_deg == 0:
            side = "left of" if setting.swing_deg < 0 else "right of"
        text = (
            f"hinge line {length_words(plane.hinge_distance_m)} {side} the lens · "
            "plane of sharp focus "
            f"at {plane.angle_deg:.1f}° to the sensor"
        )
    if scene.vantage is not None:
        text += f" · lens {length_words(scene.vantage.height_m)} above the ground{guess}"
    return text + " · drawn to scale"


def panel_height(cut: Slice, width_pt: float) -> float:
    """Return a height that suits what is drawn: flat scenes lie in flat panels."""
    left, bottom, right, top = _scene_frame(cut)
    share = (top - bottom) / (right - left)
    return width_pt * (0.66 if _needs_detail(cut) else 1.0) * min(max(share, 0.42), 0.75)


def _needs_detail(cut: Slice) -> bool:
    return cut.hinge is not None and math.hypot(*cut.hinge) < 0.5 * _reach_m(cut)


def _reach_m(cut: Slice) -> float:
    """How far out the drawing goes: past what is sharp, not to the end of the world."""
    out = np.concatenate([run.points[:, 0] for run in cut.runs]) if cut.runs else np.empty(0)
    sharp = [run.points[:, 0].max() for run in cut.runs if run.sharp]
    far = float(np.quantile(out, 0.97)) if out.size else 10.0
    wanted = 2.2 * max(sharp) if sharp else far
    near = float(out.min()) if out.size else 1.0
    return max(min(1.05 * far, wanted), 1.3 * near, 0.5)


def _legible_m(cut: Slice, width: float) -> float:
    """How far out a panel may reach before the camera's height is drawn too low to read."""
    if cut.ground_m is None:
        return math.inf
    sharp = [float(np.median(run.points[:, 0])) for run in cut.runs if run.sharp]
    return max(width * cut.ground_m / _LOWEST_PT, 1.25 * min(sharp, default=0.0))


def _scene_frame(
    cut: Slice, word_share: float = 0.0, most_m: float = math.inf, places: Sequence[Point] = ()
) -> Frame:
    """Choose the rectangle of the slice to show, with room below for a line of words.

    Where things are named, they are what is shown.
    """
    reach = min(_reach_m(cut), most_m)
    if places:
        reach = max(0.5, 1.35 * max(out for out, _ in places))
    inside = [run.points[run.points[:, 0] <= reach] for run in cut.runs if not places]
    up = np.concatenate([p[:, 1] for p in inside]) if inside else np.empty(0)
    lows = [0.0]
    if cut.ground_m is not None:
        lows.append(float(cut.ground_up(np.linspace(0.0, reach, _SOIL_STEPS)).min()))
        up = up[up >= 1.2 * lows[-1]]
    up = np.concatenate([up, [height for _, height in places]]) if places else up
    lows += [up.min()] if up.size else []
    highs = [0.0, *([float(np.quantile(up, 0.995))] if up.size else [])]
    bottom, top = float(min(lows)), float(max(highs))
    left, right = -0.06 * reach, 1.02 * reach
    pad = 0.08 * max(top - bottom, 0.2 * reach)
    below = max(1.6 * pad, word_share / max(1 - word_share, 0.2) * (top - bottom + 2.0 * pad))
    bottom, top = bottom - below, top + 2.0 * pad
    return left, bottom, right, top


def _draw_ground(drawing: Drawing, view: View, cut: Slice) -> None:
    if cut.ground_m is None:
        return
    left, bottom, right, top = view.frame
    out = np.linspace(left, right, _SOIL_STEPS)
    up = np.clip(cut.ground_up(out), bottom, top)
    if up.max() <= bottom:
        return
    surface = [view.at(point) for point in zip(out.tolist(), up.tolist(), strict=True)]
    drawing.area([*surface, view.at((right, bottom)), view.at((left, bottom))], colour=SOIL)
    drawing.path(surface, colour=GROUND, width=MEDIUM)


def _draw_view_limits(drawing: Drawing, view: View, cut: Slice) -> None:
    for out, up in cut.view:
        far = 2.0 * max(abs(c) for c in view.frame) / max(abs(out), 1e-6)
        end = _cut_at_frame((out * far, up * far), view.frame)
        drawing.path([view.at((0.0, 0.0)), view.at(end)], colour=HAIRLINE, width=HAIR)


def _cut_at_frame(end: Point, frame: Frame) -> Point:
    """Shorten a line from the lens to the frame's border."""
    parts = [1.0]
    for value, low, high in ((end[0], frame[0], frame[2]), (end[1], frame[1], frame[3])):
        if value > high:
            parts.append(high / value)
        if value < low:
            parts.append(low / value)
    part = min(parts)
    return end[0] * part, end[1] * part


def _draw_profile(drawing: Drawing, view: View, cut: Slice) -> None:
    """The scene's outline: heavy and dark where it is sharp, thin and grey elsewhere."""
    left, bottom, right, top = view.frame
    for sharp, colour, width in ((False, GROUND, HAIR), (True, INK, HEAVY)):
        lines: list[list[Point]] = []
        for run in cut.runs:
            if run.sharp is not sharp:
                continue
            line: list[Point] = []
            for out, up in run.points.tolist():
                if left <= out <= right and bottom <= up <= top:
                    line.append(view.at((out, up)))
                elif line:
                    lines.append(line)
                    line = []
            lines.append(line)
        drawing.strokes([line for line in lines if len(line) >= 2], colour=colour, width=width)


def _draw_camera(drawing: Drawing, view: View, cut: Slice, size: float, guess: str) -> None:
    """A plain box with its lens, and its height above the ground as a measure."""
    x, y = view.at((0.0, 0.0))
    turn = math.radians(cut.turn_deg)
    right, down = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))

    def corner(along: float, across: float) -> Point:
        return x + along * right[0] + across * down[0], y + along * right[1] + across * down[1]

    if cut.ground_m is not None and view.holds((0.0, -cut.ground_m)):
        foot = view.at((0.0, -cut.ground_m))
        drawing.path([(x, y), foot], width=HAIR, dash=(2, 2), colour=MUTED)
        text = length_words(cut.ground_m) + guess
        clear = y + 6 + 0.8 * size  # of the camera, which is drawn over it
        below = max((y + foot[1]) / 2, clear)
        crossed = _crosses(view, cut, x)
        if abs(crossed - below) < 2.0 * size:  # off the plane of sharp focus
            lower, higher = crossed + 2.6 * size, crossed - 1.9 * size
            below = lower if lower + 0.6 * size < foot[1] else max(higher, clear)
        if below + 0.6 * size < foot[1]:
            drawing.label(x, below, text, size, align="middle", colour=INK)
        else:  # too low to stand between camera and ground
            drawing.label(x + 6, (y + foot[1]) / 2 + 0.3 * size, text, size, colour=INK)
    drawing.area([corner(-9, -5), corner(0, -5), corner(0, 5), corner(-9, 5)], colour=INK)
    across, along = cut.across, cut.lens.axis[2]
    ends = [corner(2 - s * 6 * across, s * 6 * along) for s in (-1, 1)]
    drawing.path(ends, width=HEAVY)


def _crosses(view: View, cut: Slice, x: float) -> float:
    """How far down the plane of sharp focus crosses the upright through x; NaN where it doesn't."""
    ends = clip_line(cut.sharp_line(), view.frame)
    if ends is None:
        return math.nan
    (left, one), (right, other) = sorted(view.at(end) for end in ends)
    return one + (x - left) / (right - left) * (other - one) if left <= x < right else math.nan


def _draw_axis(
    drawing: Drawing, view: View, cut: Slice, setting: LensSetting, reach: float
) -> None:
    """The lens axis against the sensor's normal, with the angle as an arc and in words."""
    straight = cut.turned(0.0, 0.62 * reach).tolist()
    axis = cut.turned(0.62 * reach * cut.across, 0.62 * reach * cut.lens.axis[2]).tolist()
    drawing.path(
        [view.at((0.0, 0.0)), view.at((straight[0], straight[1]))],
        colour=MUTED,
        width=HAIR,
        dash=(2, 2),
    )
    drawing.path([view.at((0.0, 0.0)), view.at((axis[0], axis[1]))], width=HAIR)
    angle = math.atan2(cut.across, cut.lens.axis[2])
    turns = np.linspace(0.0, angle, 16)
    arc = cut.turned(0.5 * reach * np.sin(turns), 0.5 * reach * np.cos(turns)).tolist()
    drawing.path([view.at((p[0], p[1])) for p in arc], width=HAIR)
    words = tilt_words(setting.tilt_deg) if cut.kind == "side" else swing_words(setting.swing_deg)
    x, y = view.at((axis[0], axis[1]))
    away = -0.6 * SMALL if cut.across < 0 else 1.3 * SMALL
    width = line_width(words, SMALL, "semibold")
    x = min(x - 0.3 * width, drawing.width - width - 2)
    drawing.letters(x, y + away, words, SMALL, weight="semibold")


def _name_point(
    drawing: Drawing, view: View, point: Point, text: str, side: int, falls: bool
) -> None:
    """Write a point's name beside it, on the side of the sloping plane that is free."""
    x, y = view.at(point)
    width = line_width(text, SMALL) + 0.8 * SMALL
    left = x + 5 if side > 0 else x - 5 - width
    drawing.label(left, y + (-1.3 if (side > 0) == falls else 1.3) * SMALL, text, SMALL)


def _on_line(line: Line, up: float) -> Point | None:
    if abs(line.a[0]) < 1e-12:
        return None
    return (line.b - line.a[1] * up) / line.a[0], up


def _draw_key(drawing: Drawing, width: float, y: float, size: float) -> None:
    """What the hatch and the heavy line mean, at the right of the foot."""
    entries = ("sharp enough", "stands sharp")
    x = width - sum(line_width(e, size) + 4.4 * size for e in entries)
    if x < 0.5 * width:
        return
    box = [(x, y - 1.1 * size), (x + 2 * size, y - 1.1 * size)]
    box += [(x + 2 * size, y - 0.2 * size), (x, y - 0.2 * size)]
    drawing.area(box, colour=BAND, opacity=0.13)
    drawing.strokes(hatch_lines([np.asarray(box, float)], 4.0), colour=BAND, width=0.35)
    drawing.letters(x + 2.5 * size, y - 0.35 * size, entries[0], size)
    x += line_width(entries[0], size) + 4.4 * size
    drawing.path([(x, y - 0.65 * size), (x + 2 * size, y - 0.65 * size)], width=HEAVY)
    drawing.letters(x + 2.5 * size, y - 0.35 * size, entries[1], size)
