"""Which spots of the picture a shot checks for what was wished sharp."""

from dataclasses import replace

from render.load.asked.row import ELSEWHERE
from render.load.asked.site import Site
from render.load.asked.spot import to_focus_on
from render.load.asked.standing import nearest_and_farthest, standing_for
from render.load.asked.wish import Wish
from render.optics.plane import FocusedLens
from render.words import BESIDE

__all__ = ["hidden", "spots"]


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
    thing by its middle; what the frame does not hold is left out. Where the picture shows
    something else than what was said in metres (`hidden`), the spot says how far its place is.
    """
    places = _places(site, wish, lens, coc_mm, whole=whole)
    return [(name, spot) for name, spot, _ in places]


def hidden(site: Site, wish: Wish) -> str:
    """Say which places of a wish the picture shows something behind or before; else nothing."""
    sides = {side: name for name, _, side in _places(site, wish) if side}
    if not sides:
        return ""
    return (
        f"{wish.name}: in the picture's depth there is what lies {' and '.join(sides)} it, so "
        "it is checked at its own distance, and the picture draws it as soft as that: to see "
        "it as it will be, give it its distance with --thing"
    )


def _places(
    site: Site,
    wish: Wish,
    lens: FocusedLens | None = None,
    coc_mm: float = 0.0,
    *,
    whole: bool = False,
) -> list[tuple[str, str, str]]:
    """Name and spot of each place, and on which side of it lies what the picture shows."""
    if site.camera is None or site.depth_m is None:
        return []
    found: dict[str, tuple[str, str]] = {}
    ends = site.row_in_picture(wish)
    names = tuple(ends.seen) if ends else ()
    standing = standing_for(wish, site.targets(wish), names)
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
        share = float(site.depth_m[int(y), int(x)]) / target.depth_m
        side = BESIDE[share < 1] if max(share, 1 / share) > 1 + ELSEWHERE else ""
        across = 100 * (site.left_px + float(x)) / site.whole_px[0]
        down = 100 * (site.top_px + float(y)) / site.whole_px[1]
        spot = f"{across:.2f}%,{down:.2f}%"
        if side:
            spot = f"{spot}, {target.depth_m:.4g} m"
        if names and name.endswith("middle"):  # known by the row's line: that is no surprise
            side = ""
        found.setdefault(spot, (name, side))
    return [(name, spot, side) for spot, (name, side) in found.items()]
