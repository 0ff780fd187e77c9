"""The schema is made of the records' declaration, and real records are what it says."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from render.cli.main import COMMANDS
from render.errors import InputError
from render.tell.records.schema import RECORDS, schema_of
from tests.cli.run import hingeline
from tests.jobs.many.day import ASKED, scouting_day
from tests.schemas import faults, validator

NUMBER = 1
ROOF = ("roof.jpg", "--near", "none")


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return scouting_day(tmp_path_factory.mktemp("schema") / "day")


@pytest.mark.parametrize("command", RECORDS)
def test_each_is_a_schema_of_the_draft_that_it_names(command: str) -> None:
    """As the meta-schema of JSON Schema 2020-12 has it; every reference leads somewhere."""
    schema = schema_of(command, NUMBER)
    Draft202012Validator.check_schema(schema)

    text = json.dumps(schema, allow_nan=False)
    named = {part.split('"')[0] for part in text.split("#/$defs/")[1:]}
    assert named == set(schema["$defs"])
    assert schema["$schema"] == Draft202012Validator.META_SCHEMA["$id"]


def test_every_command_that_prints_json_has_one() -> None:
    """All but the one that prints the schema itself."""
    assert set(RECORDS) == set(COMMANDS) - {"schema"}


@pytest.mark.parametrize(
    ("command", "arguments"),
    [
        ("render", (*ROOF, *ASKED, "-o", "a.jpg", "--overwrite")),
        ("render", ("roof.jpg", "tower.jpg", "bad.jpg", *ASKED, "-o", "out/")),
        ("judge", (*ROOF, *ASKED, "--as", "87", "--best")),
        ("judge", ("roof.jpg", *ASKED[:-1], "16", "--check", "door=50%,60%")),
        ("judge", ("roof.png", "bad.jpg", *ASKED)),
        ("compare", (*ROOF, *ASKED, "--across", "f=2.8,8", "-o", "c.png", "--cell", "150")),
        ("solve", (*ROOF, *ASKED, "--sharp", "a=50%,65%", "--sharp", "b=50%,40%")),
        ("solve", (*ROOF, *ASKED, "--sharp", "a=45%,50%,55%,60%", "--only")),
        ("solve", (*ROOF, *ASKED, "--band")),
        ("depth", (*ROOF, *ASKED[:4], "--mark", "50%,90% 18 m", "-o", "d.npy")),
        ("section", (*ROOF, *ASKED, "-o", "s.svg")),
        ("loupe", (*ROOF, *ASKED, "-o", "l.png")),
        ("board", (*ROOF, *ASKED, "-o", "b.pdf")),
        ("card", (*ROOF, *ASKED, "--weather", "sun", "--interval", "1 s", "--on-site", "10 min")),
        ("scenes", ()),
        ("scenes", ("words", "house")),
        ("defaults", ()),
    ],
)
def test_what_a_command_prints_is_what_its_schema_says(
    day: Path, command: str, arguments: tuple[str, ...]
) -> None:
    """Strict JSON, the format first, no key too many and none too few."""
    done = hingeline(command, *arguments, "--json", cwd=day)
    assert done.returncode in (0, 3), done.stderr
    record = json.loads(done.stdout, parse_constant=pytest.fail)

    assert next(iter(record)) == "format"
    assert faults(command, record) == []


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*path, key)
            yield from _places(inner, (*path, key))


def test_a_key_that_goes_or_comes_is_a_fault(day: Path) -> None:
    """So that no record drifts away from its schema: each key of a verdict is held to it."""
    record = json.loads(hingeline("judge", *ROOF, *ASKED, "--json", cwd=day).stdout)

    free = {"files", "from_defaults"}
    for *path, last in _places(record):
        if free & {*path, last}:
            continue
        changed = json.loads(json.dumps(record))
        holder = changed
        for key in path:
            holder = holder[key]
        value = holder.pop(last)
        assert not validator("judge").is_valid(changed), f"{path} {last} may be left out"
        holder[f"{last}_too"] = value
        holder[last] = value
        assert not validator("judge").is_valid(changed), f"{path} {last}_too may be added"


def test_what_prints_no_json_is_said() -> None:
    """With those that do."""
    with pytest.raises(InputError, match='"paint" prints no JSON; these do: render, judge'):
        schema_of("paint", NUMBER)
