"""What was assumed of a place, in words."""

from collections.abc import Mapping

from render.units import round_metres
from render.world.place.buildings.footprints import Counts
from render.world.place.grounds.cover import Cover
from render.world.place.mapdata import MapData
from render.world.place.standing.planting import Planted

__all__ = ["counts_words", "notes_of"]


def notes_of(
    data: MapData,
    counts: Counts,
    cover: Cover,
    trees: Planted,
    furniture: int,
    made_up: Mapping[str, int],
    bridges: int,
    flat: bool,
) -> tuple[str, ...]:
    """Every assumption, a sentence each, the file's own remarks last.

    Parameters
    ----------
    furniture : int
        Pieces that the map has.
    made_up : mapping of name to number
        What was made up by rule.
    bridges : int
    flat : bool
        No terrain was given.
    """
    notes = [counts_words(counts)]
    if counts.refused:
        were = "was" if counts.refused == 1 else "were"
        notes.append(
            f"{_many(counts.refused, 'height')} of the file {were} not understood or cannot be: "
            "taken from storeys or guessed instead"
        )
    if counts.roofs_guessed:
        notes.append(
            f"{_many(counts.roofs_guessed, 'roof')} that nothing is said of: guessed to be gables"
        )
    if trees.mapped or trees.strewn:
        mapped = _many(trees.mapped, "tree")
        notes.append(f"{mapped} of the map, {trees.strewn} strewn over its woods by rule")
    if furniture:
        stand = "stands" if furniture == 1 else "stand"
        notes.append(f"{_many(furniture, 'piece')} of street furniture {stand} where the map says")
    made = ", ".join(_many(n, name) for name, n in made_up.items() if n)
    if made:
        notes.append(f"made up by rule, as maps leave them out (--as-mapped does too): {made}")
    notes.append(
        "no terrain was given: the ground is level" if flat else "the ground is the terrain's"
    )
    if bridges:
        notes.append(f"{_many(bridges, 'bridge')} at the height that what they cross asks for")
    if cover.coastlines and not cover.sea_drawn:
        notes.append("no sea is drawn: the coastline of the map does not come within reach")
    if cover.coast_carried_on:
        notes.append("the coastline of the map ends within reach: it was drawn straight on")
    if counts.mended:
        notes.append(f"{_many(counts.mended, 'outline')} mended (lines that crossed)")
    return (*notes, *data.remarks)


def counts_words(counts: Counts) -> str:
    """How the buildings' heights came about, in one phrase."""
    if not counts.total:
        return "no buildings within reach"
    least, most = counts.guessed_m
    at = f" at {round_metres(most)}"
    if most - least >= 0.05:
        low, high = round_metres(least), round_metres(most)
        same = low.split()[1] == high.split()[1]
        at = f" at {low.split()[0] if same else low} to {high}"
    storeys = f"{counts.storeys} from storeys of {round_metres(3.0)}"
    given, guessed = _many(counts.given, "height"), f"{counts.guessed} guessed"
    return (
        f"{_many(counts.total, 'building')}: {given} given, {storeys}, "
        f"{guessed}{at if counts.guessed else ''}"
    )


def _many(count: int, noun: str) -> str:
    plural = "people" if noun == "person" else f"{noun}s"
    return f"{count} {noun if count == 1 else plural}"
