"""Records that JSON can hold: no tuples, no infinity, no NaN."""

import enum
import math
from collections.abc import Mapping
from typing import Any, TypeVar, cast

import numpy as np

__all__ = ["plain"]


Record = TypeVar("Record", bound=Mapping[str, Any])


def plain(record: Record) -> Record:
    """The record with tuples as lists, numbers as Python's own, and None for what JSON lacks."""
    return cast("Record", {key: _plain(part) for key, part in record.items()})


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return plain(value)
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    return str(value) if isinstance(value, enum.StrEnum) else value
