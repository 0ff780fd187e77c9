"""What was made is known again; what somebody changed since is not taken for it."""

from pathlib import Path

from render.jobs.many.journal import journal_in, mark_of


def test_what_was_made_is_known_again(tmp_path: Path) -> None:
    """Under its mark alone, with or without an end, and not where it was changed or removed."""
    done, half, never = (tmp_path / name for name in ("a.jpg", "b.jpg", "c.jpg"))
    never.write_text("an older one")
    journal = journal_in(tmp_path)
    journal.begin({done: "m1", half: "m1", never: "m1"})
    done.write_text("new")
    half.write_text("new")
    journal.end([done])  # and then the power went

    again = journal_in(tmp_path)

    assert [again.made(path, "m1") for path in (done, half, never)] == [True, True, False]
    assert not again.made(done, "m2")
    done.write_text("edited by hand")
    assert not again.made_here(done)
    half.unlink()
    assert not again.made(half, "m1")


def test_a_damaged_journal_is_an_empty_one(tmp_path: Path) -> None:
    """It costs work, never a result."""
    for text in (
        "",
        "[]",
        '{"format": 1, "made": 3}',
        '{"format": 9, "made": {"a": {}}}',
        '{"made"',
        '{"format": 1, "made": ' + "[" * 200_000,
    ):
        (tmp_path / ".hingeline-made.json").write_text(text)
        (tmp_path / "a").touch()

        assert not journal_in(tmp_path).made_here(tmp_path / "a")


def test_a_mark_changes_with_all_that_matters(tmp_path: Path) -> None:
    """What is asked for, a file's content, the version."""
    path = tmp_path / "a.jpg"
    path.write_text("one")
    first = mark_of(("f", 4), [path], "1")

    assert first == mark_of(("f", 4), [path], "1")
    assert len({first, mark_of(("f", 8), [path], "1"), mark_of(("f", 4), [path], "2")}) == 3
    path.write_text("longer")
    assert mark_of(("f", 4), [path], "1") != first
