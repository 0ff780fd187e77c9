"""What of a wish the planned frame does not hold, and what it cuts."""

from functools import partial

from render.load.asked.shown import cut_off
from render.load.asked.site import Site
from render.load.asked.wish import Wish
from render.load.named import beside_frame

__all__ = ["unseen", "unseen_words"]

_CUT = 0.25  # of a thing: whose edges cut off less holds it (ours)
_AGAIN = "turn, shift or step back to see it"


def unseen_words(site: Site, wishes: list[Wish], narrowed: float) -> tuple[str, ...]:
    """A sentence for each wish, and each named end of a row, that the frame does not hold whole.

    Also for what only the frame on site does not hold, which focusing narrows.

    Parameters
    ----------
    narrowed : float
        Focal length over extension: of what it sees at infinity a lens focused so sees so much.
    """
    found = []
    for wish in wishes:
        ends = [] if wish.kind == "point" else site.named_in(wish)
        where = {part.name: unseen(site, part) for part in (wish, *ends)}
        found += [f"{name} lies {there}: {_AGAIN}" for name, there in where.items() if there]
        if not where[wish.name] and (there := _places(site, wish, narrowed)):
            found.append(
                f"{wish.name} lies {there} once it is focused, when the view is "
                f"{100 * (1 - narrowed):.1f} % narrower: {_AGAIN}"
            )
    return tuple(found)


def unseen(site: Site, wish: Wish) -> str:
    """Say where a wish lies if the frame does not hold it: "below the frame"; else nothing.

    Of several targets, or of a thing that an edge of the frame cuts, or whose middle it does not
    hold, that it lies there in part. Errors as in `Site.targets`.
    """
    where = _places(site, wish)
    if where or wish.kind != "point" or not site.named_in(wish):
        return where
    name = wish.text.strip()
    if site.depths_of is not None and site.camera is not None:
        share, sides = cut_off(site.camera, partial(site.depths_of, name))
        if share >= _CUT:
            return f"partly {' and '.join(sides)} the frame, {100 * share:.0f} % of it"
    if site.middle_of is None:
        return ""
    x, y, z = site.middle_of(name)
    beyond = beside_frame(site.view, [(x / z, y / z)])
    return f"partly {beyond}" if beyond else ""


def _places(site: Site, wish: Wish, narrowed: float = 1.0) -> str:
    """Where the places that stand for a wish lie beside the frame, which is so much narrower."""
    left, top, right, bottom = (narrowed * edge for edge in site.view)
    slopes = [(target.slope_x, target.slope_y) for target in site.targets(wish)]
    return beside_frame((left, top, right, bottom), slopes)
