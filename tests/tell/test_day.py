"""A day's table in words."""

import csv
from typing import Any

from render.tell.day import (
    COLUMNS,
    best_first,
    csv_text,
    day_lines,
    day_row,
    do_words,
    near_lines,
    read_words,
)


def _record(score: float, word: str = "reads as a model", **more: Any) -> dict[str, Any]:
    return {
        "word": word,
        "headline": f"{word}, indeed",
        "score": {
            "value": score,
            "low": score - 5,
            "high": score + 5,
            "agreement": 0.8,
            "shares": {"reads": 0.2, "does_not": 0.8},
        },
        "reads_as": {"denominator": 132.0},
        "built_over_score": None,
        "to_do": 'open to f/2.8, "wide"',
        "guessed": [],
        "setting": {"words": "45 mm"},
        "sharpness": None,
        "options": "--f 2.8",
        "near_question": None,
        **more,
    }


def test_best_first_and_sharpness_last() -> None:
    """By score; what asks for sharpness is no miniature at all, whatever its score."""
    records = {"a": _record(50), "b": _record(80), "c": _record(99, sharpness={}), "d": _record(80)}

    assert best_first(records) == ["b", "d", "a", "c"]
    guess = {"a": _record(91), "b": _record(94, guessed=["taken with 28 mm"]), "c": _record(70)}
    assert best_first(guess) == ["a", "b", "c"]  # sure before what a guess hangs on
    rows = [day_row(rank, name, guess[name]) for rank, name in enumerate(best_first(guess), 1)]
    assert "guess hangs on stands behind" in day_lines(rows)[-1]
    guess["b"] = _record(97, guessed=["taken with 28 mm"])
    assert best_first(guess) == ["b", "a", "c"]
    assert day_row(4, "c", records["c"])["verdict"] == "for sharpness, not for a model"


def test_no_scale_is_named_for_what_is_no_model() -> None:
    """As everywhere."""
    assert day_row(1, "a", _record(80))["reads_as"] == "1:130"
    assert day_row(1, "a", _record(8, "won't read as a model"))["reads_as"] == ""
    assert day_row(1, "a", _record(80, reads_as=None))["reads_as"] == ""


def test_what_to_do_stands_as_options() -> None:
    """To be typed, in the table and under the line; where nothing can be, no line says so."""
    row = day_row(1, "a", _record(80))

    assert row["options"] == "--f 2.8"
    assert day_lines([row])[2:] == ["     As options: --f 2.8"]
    assert len(day_lines([row | {"options": ""}])) == 2


def test_a_spreadsheet_reads_it_back() -> None:
    """Commas, quotes and letters of any script; what was refused stands below (RFC 4180)."""
    rows = [day_row(1, 'a, "b".jpg', _record(80)), day_row(2, "広場.jpg", _record(70))]
    text = csv_text(rows, [{"picture": "c.jpg", "sentence": "c.jpg is empty"}])
    back = [*csv.DictReader(text.splitlines())]

    assert tuple(back[0]) == COLUMNS
    assert [row["picture"] for row in back] == ['a, "b".jpg', "広場.jpg", "c.jpg"]
    assert back[0]["ways_that_say_it_reads_percent"] == "20"
    assert back[0]["to_do"] == 'open to f/2.8, "wide"'
    assert (back[2]["rank"], back[2]["why_not_judged"]) == ("", "c.jpg is empty")
    assert text.count("\r\n") == 4


def test_a_guess_is_marked_wherever_it_is_shown() -> None:
    """In the line and under the picture."""
    row = day_row(1, "a.jpg", _record(80, guessed=["28 mm"]))

    assert day_lines([row])[0] == (
        "  1.  80 of 100  a.jpg: If the guess is right: reads as a model, 1:130"
    )
    assert read_words(row) == "If the guess is right: reads as a model"
    assert do_words(row) == '80 of 100 · open to f/2.8, "wide"'


def test_the_near_question_is_asked_once_for_all_who_left_it_open() -> None:
    """By place, with at most three names each; nothing where all have answered."""
    low, high = (
        {"words": f"is anything near? {k}", "place": k, "limit_m": None, "box": []}
        for k in ("in the lower third", "in the upper third")
    )
    records = {name: _record(50, near_question=low) for name in "abcde"}
    records |= {"f": _record(40, near_question=high), "g": _record(30)}

    (line,) = near_lines(records)

    assert line.startswith("Not said of 6 of 7: does anything stand near the lens, a rail, post")
    assert "in the lower third: a, b, c and 2 more; in the upper third: f" in line
    assert "--near none" in line
    assert near_lines({"g": records["g"]}) == []
    assert day_row(1, "a", records["a"])["near_not_said"] == low["words"]
    assert day_row(7, "g", records["g"])["near_not_said"] == ""
