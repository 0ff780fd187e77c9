"""JSON Schema (draft 2020-12) of what --json prints, made of the records' one declaration."""

import dataclasses
import enum
import types
import typing
from collections.abc import Mapping, Sequence
from typing import Any

from render.errors import InputError
from render.tell.records import commands, declared
from render.tell.records.declared import Fields

__all__ = ["RECORDS", "schema_of"]

_ABOUT = (
    "Numbers are metric, whatever units sentences tell lengths in: the end of a key names the unit "
    "(_m, _mm, _um, _px, _deg, _s)."
)
_DRAFT = "https://json-schema.org/draft/2020-12/schema"
#: What each command may print; one that has parts says them after its name.
RECORDS: Mapping[str, tuple[type, ...]] = {
    "render": (declared.RenderRecord, declared.RenderManyRecord),
    "judge": (declared.JudgedRecord, declared.JudgeManyRecord),
    "compare": (commands.CompareRecord,),
    "solve": (commands.SolveRecord,),
    "depth": (commands.DepthRecord, commands.ProposeRecord),
    "section": (commands.SectionRecord,),
    "loupe": (commands.LoupeRecord,),
    "board": (commands.BoardRecord,),
    "card": (commands.CardRecord,),
    "film": (commands.FilmRecord,),
    "scenes": (commands.ScenesRecord, commands.LinesRecord, commands.GalleryRecord),
    "defaults": (commands.DefaultsRecord,),
    "page": (commands.PageRecord,),
}
_PLAIN: Mapping[Any, dict[str, Any]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": ["number", "null"]},  # endless or unknown
    type(None): {"type": "null"},
    Any: {},
}


def schema_of(command: str, number: int) -> dict[str, Any]:
    """The JSON Schema of what a command prints with --json.

    Parameters
    ----------
    number : int
        The format's.

    Raises
    ------
    InputError
        If there is no such command.
    """
    if command not in RECORDS:
        raise InputError(f'"{command}" prints no JSON; these do: {", ".join(RECORDS)}')
    defined: dict[str, dict[str, Any]] = {}
    roots = [_printed(kind, number, defined) for kind in RECORDS[command]]
    start = roots[0] if len(roots) == 1 else {"anyOf": roots}
    title = f"hingeline {command} --json"
    about = {"title": title, "description": _ABOUT}
    return {"$schema": _DRAFT, **about, **start, "$defs": defined}


def _printed(kind: type, number: int, defined: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A record as it is printed: its format first, and the files that were written."""
    record = _record(kind, defined)
    files = {"type": "array", "items": {"type": "string"}}
    known = {"format": {"const": number}, **record["properties"], "files": files}
    return {**record, "properties": known, "required": ["format", *record["required"]]}


def _record(kind: type, defined: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """An object with the keys that a TypedDict declares, and no others."""
    hints = typing.get_type_hints(kind, include_extras=True)
    return {
        "type": "object",
        "description": " ".join((kind.__doc__ or "").split()),
        "properties": {name: _schema(hint, defined) for name, hint in hints.items()},
        "required": list(hints),
        "additionalProperties": False,
    }


def _schema(hint: Any, defined: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """What a value of a declared type is in JSON."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if hint in _PLAIN:
        return dict(_PLAIN[hint])
    if origin is typing.Annotated:
        marks = [mark for mark in inner[1:] if isinstance(mark, Fields)]
        return _fields(marks[0], defined) if marks else _schema(inner[0], defined)
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [_schema(each, defined) for each in inner]}
    if origin is typing.Literal:
        return {"enum": list(inner)}
    if origin is tuple and not (len(inner) == 2 and inner[1] is ...):
        places = [_schema(each, defined) for each in inner]
        return {"type": "array", "prefixItems": places, "items": False, "minItems": len(places)}
    if origin in (list, tuple, Sequence):
        return {"type": "array", "items": _schema(inner[0], defined)}
    if origin in (dict, Mapping):
        return {"type": "object", "additionalProperties": _schema(inner[1], defined)}
    if isinstance(hint, type) and issubclass(hint, enum.StrEnum):
        return {"enum": [str(each) for each in hint]}
    if typing.is_typeddict(hint):
        return _named(hint.__name__, lambda: _record(hint, defined), defined)
    if dataclasses.is_dataclass(hint):
        return _fields(Fields(typing.cast("type", hint)), defined)
    raise TypeError(f"{hint} has no form in JSON")


def _fields(mark: Fields, defined: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """An object with the fields of a dataclass; with more, it is described where it stands."""

    def made() -> dict[str, Any]:
        hints = typing.get_type_hints(mark.of, include_extras=True)
        names = [each.name for each in dataclasses.fields(mark.of)]
        own = {name: hints[name] for name in names} | dict(mark.more)
        return {
            "type": "object",
            "properties": {name: _schema(hint, defined) for name, hint in own.items()},
            "required": list(own),
            "additionalProperties": False,
        }

    return made() if mark.more else _named(mark.of.__name__, made, defined)


def _named(
    name: str, made: typing.Callable[[], dict[str, Any]], defined: dict[str, dict[str, Any]]
) -> dict[str, Any]:
    if name not in defined:
        defined[name] = {}  # so that one that holds itself ends
        defined[name] = made()
    return {"$ref": f"#/$defs/{name}"}
