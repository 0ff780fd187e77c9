"""`hingeline schema` as a program asks it."""

import json
from pathlib import Path

from tests.cli.run import hingeline


def test_a_schema_is_printed(tmp_path: Path) -> None:
    """Of the command that is named; another name is answered with those there are."""
    done = hingeline("schema", "judge", cwd=tmp_path)
    wrong = hingeline("schema", "paint", cwd=tmp_path)

    assert json.loads(done.stdout)["title"] == "hingeline judge --json"
    assert wrong.returncode == 2
    assert "these do: render, judge" in wrong.stderr
