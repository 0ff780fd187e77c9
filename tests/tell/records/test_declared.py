"""What mypy cannot see of the declaration."""

import dataclasses
import typing

from render.tell.records import commands, declared
from render.tell.records.declared import Fields


def _marks(hint: object) -> list[Fields]:
    own = [mark for mark in getattr(hint, "__metadata__", ()) if isinstance(mark, Fields)]
    return own + [mark for inner in typing.get_args(hint) for mark in _marks(inner)]


def test_what_replaces_a_field_is_one_of_the_dataclass_or_said_beside_it() -> None:
    """Marks name dataclasses, and every record says what it is."""
    kinds = [
        kind
        for module in (declared, commands)
        for kind in vars(module).values()
        if typing.is_typeddict(kind)
    ]
    marks = [
        mark
        for kind in kinds
        for hint in typing.get_type_hints(kind, include_extras=True).values()
        for mark in _marks(hint)
    ]

    assert len(marks) > 20
    assert all(dataclasses.is_dataclass(mark.of) for mark in marks)
    assert all(kind.__doc__ and kind.__doc__.endswith(".") for kind in kinds)
