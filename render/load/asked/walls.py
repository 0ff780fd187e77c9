"""Walls that are wished sharp and that a photo's depth does not show: they are put into it."""

from dataclasses import replace

from render.load.asked.checks import shows
from render.load.asked.place import Place, place_of
from render.load.asked.wish import Wish
from render.load.progress import Progress
from render.shot.shot import merged
from render.words import listed

__all__ = ["with_walls"]


def with_walls(place: Place, wishes: list[Wish], progress: Progress) -> Place:
    """The place with the wished walls standing in its depth, by foot lines of its shot.

    Over level ground a wall is no part of the depth: what is rendered and judged at its spots
    would be the ground behind them, not what was solved for. Nothing is added where the depth
    shows the wall already, nor in scenes and on maps, which are what they are, nor where a foot
    line would not lay it there.
    """
    site = place.site
    if site.camera is None or site.things is not None:
        return place
    walls = [wish for wish in wishes if wish.kind == "wall" and not shows(site, wish)]
    if not walls:
        return place
    said = dict(place.shot.written).get("wall-foot", ())
    lines = (*((said,) if isinstance(said, str) else said), *map(site.foot_line, walls))
    walled = place_of(merged(place.shot, {"wall-foot": lines}, "--{name}"), progress)
    if not all(shows(walled.site, wish) for wish in walls):
        return place
    names = listed([wish.name for wish in walls])
    note = (
        f"the picture's depth did not show {names}: what is rendered, judged and saved has "
        f"{'it' if len(walls) == 1 else 'them'} standing there (--wall-foot)"
    )
    return replace(walled, notes=(note, *walled.notes), walls=lines)
