"""A day's verdicts as one table, best first: lines for people, rows for a spreadsheet."""

import csv
import io
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from render.judge.near_question import KINDS, answer_words
from render.judge.score import Word
from render.judge.verdict_words import IF_OPEN, IF_OPEN_SHORT, if_guessed, if_open
from render.tell.records.declared import JudgedRecord, RefusedRecord
from render.words import scale_words

__all__ = [
    "COLUMNS",
    "best_first",
    "csv_text",
    "day_lines",
    "day_row",
    "do_words",
    "near_lines",
    "read_words",
]

#: Columns of the table, in their order.
COLUMNS = (
    *("rank", "picture", "verdict", "score", "score_low", "score_high"),
    "ways_that_say_it_reads_percent",
    "score_if_built_over",
    *("reads_as", "to_do", "options", "says", "guessed", "near_not_said", "setting"),
    "why_not_judged",
)
_NAMED = 3  # pictures, where many are meant
_ABOUT = 5.0  # points: about the same score (ours)
_FOR_SHARPNESS = "for sharpness, not for a model"


def best_first(records: Mapping[str, JudgedRecord]) -> list[str]:
    """Names of pictures, those that read best as a model first.

    Parameters
    ----------
    records : mapping of name to record
        As `render.tell.judged.judged_record` makes them. Those that ask for sharpness come last;
        one that a guess hangs on stands behind sure ones of about the same score.
    """

    def order(name: str) -> tuple[bool, float, str]:
        record = records[name]
        counts = record["score"]["value"] - (_ABOUT if record["guessed"] else 0.0)
        return record["sharpness"] is not None, -counts, name

    return sorted(records, key=order)


def day_row(rank: int, name: str, record: JudgedRecord) -> dict[str, Any]:
    """One picture's row, by `COLUMNS`."""
    score, built = record["score"], record["built_over_score"]
    return {
        "rank": rank,
        "picture": name,
        "verdict": _word(record),
        "score": round(score["value"]),
        "score_low": round(score["low"]),
        "score_high": round(score["high"]),
        "ways_that_say_it_reads_percent": round(100 * score["shares"]["reads"]),
        "score_if_built_over": "" if built is None else round(built),
        "reads_as": _scale(record),
        "to_do": record["to_do"],
        "options": record["options"],
        "says": record["headline"],
        "guessed": "; ".join(record["guessed"]),
        "near_not_said": record["near_question"]["words"] if record["near_question"] else "",
        "setting": record["setting"]["words"],
        "why_not_judged": "",
    }


def csv_text(rows: Sequence[Mapping[str, Any]], refused: Sequence[RefusedRecord]) -> str:
    """The table as RFC 4180 has it, those that could not be judged below."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, restval="")
    writer.writeheader()
    writer.writerows(rows)
    for each in refused:
        writer.writerow({"picture": each["picture"], "why_not_judged": each["sentence"]})
    return text.getvalue()


def day_lines(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Two lines a picture: how it reads, and what to do; a third where options do that."""
    lines = []
    for row in rows:
        scale = f", {row['reads_as']}" if row["reads_as"] else ""
        reads = f"{row['picture']}: {read_words(row)}{scale}"
        lines.append(f"{row['rank']:>3}. {row['score']:>3} of 100  {reads}")
        lines.append(f"     To do: {row['to_do']}")
        if row["options"]:
            lines.append(f"     As options: {row['options']}")
    asked = [row for row in rows if row["verdict"] != _FOR_SHARPNESS]
    if any(later["score"] > row["score"] for row, later in pairwise(asked)):
        lines.append(
            f"A picture that a guess hangs on stands behind those that are sure, if they have no "
            f"more than {_ABOUT:g} points less"
        )
    return lines


def near_lines(records: Mapping[str, JudgedRecord]) -> list[str]:
    """The question about near things, asked once of all pictures of which it was not said.

    Parameters
    ----------
    records : mapping of name to record
        In the order in which they are told.
    """
    places: dict[str, list[str]] = {}
    for name, record in records.items():
        if (asked := record["near_question"]) is not None:
            places.setdefault(asked["place"], []).append(name)
    count = sum(len(names) for names in places.values())
    if not count:
        return []
    where = "; ".join(f"{place}: {_some_names(names)}" for place, names in places.items())
    return [
        f"Not said of {count} of {len(records)}: does anything stand near the lens, {KINDS}? Until "
        "it is, these verdicts count with it, a little lower and less sure; something there often "
        f"ends the matter. For each, {answer_words()} (of one picture: in its own shot file). "
        f"It would hurt most {where}"
    ]


def read_words(row: Mapping[str, Any], under_picture: bool = False) -> str:
    """How it reads; a guess, and what is taken for granted, are marked as everywhere."""
    flat = row["score_if_built_over"] != "" and row["verdict"] != _FOR_SHARPNESS
    granted = IF_OPEN_SHORT if under_picture else IF_OPEN
    said = str(row["verdict"])
    said = if_open(said, Word(said), granted) if flat else said
    return if_guessed(said) if row["guessed"] else said


def do_words(row: Mapping[str, Any]) -> str:
    """What stands under its picture: the score, and what to do."""
    return f"{row['score']} of 100 · {row['to_do']}"


def _some_names(names: Sequence[str]) -> str:
    """Up to three names, and how many more."""
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def _word(record: JudgedRecord) -> str:
    return str(record["word"]) if record["sharpness"] is None else _FOR_SHARPNESS


def _scale(record: JudgedRecord) -> str:
    if record["reads_as"] is None or not Word(record["word"]).of_a_model:
        return ""
    return scale_words(record["reads_as"]["denominator"])
