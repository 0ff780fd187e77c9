"""What every job hands back."""

import json
from pathlib import Path

from render.jobs.made import made


def test_files_are_named_to_people_and_to_programs() -> None:
    """The last line and the record's "files" say the same names."""
    done = made([Path("a.png"), Path("b.toml")], ["Found: much"], {"found": 3})

    assert done.lines == ("Found: much", "Wrote: a.png, b.toml")
    assert json.loads(json.dumps(done.record)) == {"found": 3, "files": ["a.png", "b.toml"]}
    assert done.files == (Path("a.png"), Path("b.toml"))


def test_a_job_that_writes_nothing_says_nothing_of_files() -> None:
    """Neither a line nor a key."""
    done = made([], ["Found: much"], {"found": 3})

    assert done.lines == ("Found: much",)
    assert done.record == {"found": 3}
