"""Records against the schema that we print of them, checked by a library from outside."""

import json
from collections.abc import Mapping
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from render.jobs.made import FORMAT, written_record
from render.tell.records.schema import schema_of

__all__ = ["faults", "validator"]


@cache
def validator(command: str) -> Draft202012Validator:
    """Of what a command prints with --json."""
    return Draft202012Validator(schema_of(command, FORMAT))


def faults(command: str, record: Mapping[str, Any]) -> list[str]:
    """Where a record is not what its schema says, as it would be printed."""
    printed = json.loads(written_record(record))
    errors = validator(command).iter_errors(printed)
    return [f"{error.json_path}: {error.message[:200]}" for error in errors]
