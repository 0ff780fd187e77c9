"""Many tasks, each with an outcome; what is said of many is said once."""

import pytest

from render.errors import InputError
from render.jobs.many.batch import Refusal, code_of, common_notes, done_by, placed, refusal_words
from render.shot.shot import Shot, merged
from render.shot.wishes import CrewWishes


def _work(task: int) -> int:
    if task == 1:
        raise InputError("one is no number to work on")
    if task == 2:
        raise ZeroDivisionError("two")
    if task == 3:
        raise MemoryError
    return 10 * task


def test_nothing_stops_the_others() -> None:
    """A refusal, a fault of ours and too little memory are outcomes; progress counts."""
    told: list[str] = []

    found = dict(done_by(CrewWishes(), _work, [0, 1, 2, 3, 4], lambda what, _: told.append(what)))

    assert (found[0].result, found[4].result) == (0, 40)
    assert found[1].sentence == "one is no number to work on"
    assert found[2].fault
    assert "ZeroDivisionError: two" in found[2].sentence
    assert "memory" in found[3].sentence
    assert told[0] == "picture 1 of 5"
    assert told[-1].startswith("picture 5 of 5, ")


@pytest.mark.parametrize(
    ("done", "refused", "code"),
    [(3, [], 0), (3, [False], 3), (0, [False], 2), (3, [False, True], 70)],
)
def test_the_exit_code_says_how_it_went(done: int, refused: list[bool], code: int) -> None:
    """All, some, none, or a fault of the program."""
    assert code_of(done, [Refusal("a", "s", fault) for fault in refused]) == code


def test_what_all_are_refused_for_is_said_once() -> None:
    """A name stands once in its sentence."""
    assert refusal_words([Refusal("d/a.jpg", "a.jpg is empty")]) == ("a.jpg is empty",)
    assert refusal_words([Refusal("d/a.jpg", "no height")]) == ("d/a.jpg: no height",)
    many = [Refusal(f"d/{n}.jpg", f"{n}.jpg has no height") for n in "abcdefghijklmn"]
    (line,) = refusal_words(many)
    assert line.startswith("d/a.jpg, d/b.jpg, ")
    assert line.endswith(" and 2 more: all 14 alike: a.jpg has no height")


def test_a_note_is_said_once() -> None:
    """Of all without names, of few with them, of many by their number."""
    notes = {name: ["flat", *(["guessed"] if name < "e" else [])] for name in "abcdef"}
    notes["f"].append("odd")

    assert common_notes(notes) == ["Note: flat", "Note: 4 of 6: guessed", "Note: f: odd"]
    assert common_notes({f"{n}": [f"note {n}"] for n in range(50)})[-1].startswith("Note: 20 more")


def test_whole_paths_for_workers_elsewhere(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    """Every file that a shot names, and nothing else."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "d.npy").touch()
    shot = merged(Shot(picture="a.jpg"), {"depth": "d.npy", "lens-file": "long 90"}, "{name}")

    whole = placed(shot)

    assert whole.picture == str(tmp_path / "a.jpg")
    assert whole.depth.file == str(tmp_path / "d.npy")
    assert whole.lens.lens_file == "long 90"
