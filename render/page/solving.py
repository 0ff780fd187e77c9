"""The lens worked out from what was drawn or written on the page."""

from collections.abc import Callable
from typing import Any

from render.jobs.solve import solve
from render.load.progress import silent
from render.page.wishes import read_pairs, read_texts
from render.shot.shot import Shot

__all__ = ["solved"]


def solved(shot: Shot, wish: dict[str, Any]) -> Callable[[], dict[str, Any]]:
    """The task that answers a wish: values that turn the lens, and what is said of it.

    Raises
    ------
    InputError
        If the page sent something else than wishes.
    """
    sharp, soft = read_pairs(wish, "sharp"), read_texts(wish, "soft")
    only, band = wish.get("only") is True, wish.get("band") is True
    move = read_texts({"it": [wish.get("move") or ""]}, "it")[0]

    def work() -> dict[str, Any]:
        made = solve(
            shot,
            sharp,
            soft,
            only=only,
            band=band,
            move=move or "both",
            progress=silent,
        )
        # the page has turned the lens already: no command need be told
        lines = [line for line in made.lines if not line.startswith("To see it:")]
        values = dict(made.record["shot"])
        if shot.lens.lens_file is not None:
            values.pop("lens", None)
        return {"values": values, "lines": lines}

    return work
