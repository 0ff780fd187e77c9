"""Records of single commands."""

import typing

from render.tell.records import commands
from render.tell.records.schema import RECORDS, schema_of


def test_every_record_is_some_commands() -> None:
    """None is declared that nothing prints."""
    printed = {kind.__name__ for kinds in RECORDS.values() for kind in kinds}
    printed |= {name for command in RECORDS for name in schema_of(command, 1)["$defs"]}
    own = {
        name
        for name, kind in vars(commands).items()
        if typing.is_typeddict(kind) and kind.__module__ == commands.__name__
    }

    assert own - printed == {"CardPlan"}  # the card without setting and verdict
