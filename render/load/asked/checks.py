"""Which spots of the picture a shot checks for what was wished sharp."""

import re
from dataclasses import dataclass, replace

from render.load.asked.site import Site
from render.load.asked.spot import to_focus_on
from render.load.asked.standing import nearest_and_farthest, standing_for
from render.load.asked.wish import Wish
from render.optics.blur import blur_mm
from render.optics.plane import FocusedLens
from render.optics.solving.dialling import UNSEEN_CIRCLES
from render.optics.solving.targets import ELSEWHERE, Target
from render.words import BESIDE

__all__ = ["hidden", "shows", "spots"]

#: Depths that differ by less are one: pixels and written shares are no finer (ours).
_SAME = 0.01


@dataclass(frozen=True, slots=True)
class _Place:
    """A place that stands for a wish: its spot as a shot writes it, and what the picture shows."""

    name: str
    spot: str
    target: Target
    shown_m: float
    by_its_line: bool

    @property
    def off(self) -> float:
        """Share by which what the picture shows lies nearer or farther."""
        share = self.shown_m / self.target.depth_m
        return max(share, 1 / share) - 1

    def is_elsewhere(self, lens: FocusedLens | None, coc_mm: float) -> bool:
        """Whether what the picture shows there is another thing, or blurs as if it were."""
        if lens is None or self.off > ELSEWHERE:
            return self.off > ELSEWHERE
        inverse = [1.0 / self.target.depth_m, 1.0 / self.shown_m]
        slopes = [(self.target.slope_x, self.target.slope_y)] * 2
        one, other = blur_mm(lens, slopes, inverse)
        return bool(abs(one - other) > UNSEEN_CIRCLES * coc_mm)


def spots(
    site: Site,
    wish: Wish,
    lens: FocusedLens | None = None,
    coc_mm: float = 0.0,
    *,
    whole: bool = False,
) -> list[tuple[str, str]]:
    """Names and spots, as a shot writes them, that stand for a wish in the picture.

    A row by the very places it is solved for, ground and the like by two ends and the middle,
    an area through a lens by the place of most contrast that is sharp, and by its nearest and
    farthest where the `whole` of it is wished and is deep, whatever else is one
    thing by its middle; of these the frame holds what counts. Where the picture shows
    something else than what was said in metres (`hidden`), the spot says how far its place is.
    What stands at a row's end and has a name in the scene is written by it.
    A point that the frame does not hold at all is kept too, with its distance, be its spot beyond
    the picture's edge: who asked for it is told that it is not in the frame.
    """
    named = _named_ends(site, wish)
    found = [
        (
            place.name,
            f"{place.spot}, {place.target.depth_m:.4g} m"
            if place.is_elsewhere(lens, coc_mm)
            else place.spot,
        )
        if place.name not in named
        else (place.name, named[place.name])
        for place in _places(site, wish, lens, coc_mm, whole=whole)
    ]
    if found or wish.kind != "point" or site.camera is None:
        return found
    return [
        (name, f"{site.spot_words(target)}, {target.depth_m:.4g} m")
        for name, target in standing_for(wish, site.targets(wish), (), site.view)
    ]


def _named_ends(site: Site, wish: Wish) -> dict[str, str]:
    """What stands at the ends of a row, by the names of its places, where a scene has names."""
    if wish.kind != "row":
        return {}
    first, _, last = standing_for(wish, site.targets(wish), (), site.view)
    things = {thing.text.strip() for thing in site.named_in(wish)}
    ends = zip((first, last), re.split(r"\s+to\s+", wish.text), strict=True)
    return {name: text.strip() for (name, _), text in ends if text.strip() in things}


def hidden(site: Site, wish: Wish, lens: FocusedLens | None = None, coc_mm: float = 0.0) -> str:
    """Say which places of a wish the picture shows something behind or before; else nothing.

    A row's middle is known by the row's line: that is no surprise.
    """
    sides = {
        BESIDE[place.shown_m < place.target.depth_m]: place
        for place in _places(site, wish, lens, coc_mm)
        if not place.by_its_line and place.is_elsewhere(lens, coc_mm)
    }
    if not sides:
        return ""
    cure = (
        ""
        if site.things is not None
        else ": to see it as it will be, give it its distance with --thing"
    )
    return (
        f"{wish.name}: in the picture's depth there is what lies {' and '.join(sides)} it, so "
        f"it is checked at its own distance, and the picture draws it as soft as that{cure}"
    )


def shows(site: Site, wish: Wish) -> bool:
    """Whether the picture's depth shows a wish's places where they are."""
    return all(place.off <= _SAME for place in _places(site, wish))


def _places(
    site: Site,
    wish: Wish,
    lens: FocusedLens | None = None,
    coc_mm: float = 0.0,
    *,
    whole: bool = False,
) -> list[_Place]:
    """The places in the frame that stand for a wish, of two on one spot the first."""
    if site.camera is None or site.depth_m is None:
        return []
    found: dict[str, _Place] = {}
    ends = site.row_in_picture(wish)
    names = tuple(ends.seen) if ends else ()
    standing = standing_for(wish, site.targets(wish), names, site.view)
    if lens is not None and wish.is_area:
        best = to_focus_on(site.region(wish), lens, coc_mm, site.camera, site.light)
        standing = [(wish.name, replace(best, name=wish.name))]
        near, far = nearest_and_farthest(site.targets(wish))
        if whole and far.depth_m > (1 + ELSEWHERE) * near.depth_m:
            parts = (("near", near), ("middle", best), ("far", far))
            standing = [(f"{wish.name}, {end}", target) for end, target in parts]
    for name, target in standing:
        x, y = site.camera.positions((target.slope_x, target.slope_y))
        if not (0 <= x < site.camera.width_px and 0 <= y < site.camera.height_px):
            continue
        spot = site.spot_words(target)
        shown_m = float(site.depth_m[int(y), int(x)])
        by_its_line = bool(names) and name.endswith("middle")
        found.setdefault(spot, _Place(name, spot, target, shown_m, by_its_line))
    return list(found.values())
