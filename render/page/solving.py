"""The lens worked out from what was drawn or written on the page."""

from collections.abc import Callable
from typing import Any

from render.jobs.solve import find_answer
from render.load.progress import silent
from render.page.wishes import read_pairs, read_texts
from render.shot.shot import Shot
from render.tell.solve_lines import answer_lines
from render.tell.solve_record import answer_record

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
        answer = find_answer(
            shot,
            sharp,
            soft,
            only=only,
            band=band,
            move=move or "both",
            progress=silent,
        )
        values = dict(answer_record(answer)["shot"])
        if shot.lens.lens_file is not None:
            values.pop("lens", None)
        # the page has turned the lens already: no command need be told
        return {"values": values, "lines": answer_lines(answer, command=False)}

    return work
