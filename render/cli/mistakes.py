"""A mistyped command line in one sentence: what, where, what to do."""

import difflib
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import typer

from render.errors import InputError
from render.files.shipped import shipped_names

__all__ = [
    "Mistake",
    "mistake_words",
    "refuse_empty",
    "refuse_split",
    "refuse_twice",
    "stray_words",
]

#: What the command line's library raises for any misuse; it offers the class under no public name.
Mistake: type[Exception] = typer.BadParameter.__mro__[2]

#: What others call a command of ours.
_TAKEN_FOR = dict.fromkeys(("unset", "remove", "delete", "reset"), "clear")
#: What others call a command whose bare name does it.
_LISTS = ("list", "ls", "all", "show")

#: More words has no name of a file.
_WORDS_IN_NAME = 12
#: Above this likeness (0 to 1) a name is taken for a mistyped one.
_ALIKE = 0.6


def mistake_words(
    error: Exception, arguments: Sequence[str], commands: Mapping[str, Callable[[], Any]]
) -> str:
    """Say what was mistyped.

    Parameters
    ----------
    error : Exception
        A `Mistake`.
    arguments : sequence of str
        What was typed after the program's name.
    commands : mapping of name to function
        Every command; the function loads it.
    """
    message = str(getattr(error, "message", error))
    name = next((word for word in arguments if word in commands), None)
    kind = type(error).__name__
    if kind == "NoSuchOption":
        return _no_such_option(str(error.option_name), name, commands)  # type: ignore[attr-defined]
    if kind == "BadOptionUsage":
        option = str(error.option_name)  # type: ignore[attr-defined]
        if "not take" in message:
            return f"{option} takes no value: write {option} alone"
        return f"{option} needs a value after it{_explained(option, name, commands)}"
    if kind == "MissingParameter":
        return _missing(error)
    if kind == "BadParameter":
        return _bad_value(error, message, arguments)
    if unknown := re.search(r"No such command '(.*?)'", message):
        return _no_such_command(unknown[1], error, commands)
    if extra := re.search(r"unexpected extra arguments? \((.*)\)|\(s\) \((.*)\)", message):
        if "." in (extra[1] or extra[2]):
            return f"{_path(error)} works on one thing at a time: leave {extra[1] or extra[2]} out"
        return stray_words(extra[1] or extra[2], _path(error), arguments)
    return message


def stray_words(word: str, command: str, arguments: Sequence[str]) -> str:
    """That a word is too many, with the option before it as it would be in quotes."""
    example = '--tilt "up 8"'
    for option, value, after in zip(arguments, arguments[1:], arguments[2:], strict=False):
        if after == word and option.startswith("-") and not value.startswith("-"):
            example = f'{option} "{value} {word}"'
    return (
        f'"{word}" is one word too many after {command}: a value with spaces or commas goes into '
        f"quotes, such as {example}"
    )


def refuse_split(arguments: Sequence[str]) -> None:
    """Refuse the name of a file that a shell took apart at its spaces.

    Raises
    ------
    InputError
        With the name as it is to be typed.
    """
    for first in range(len(arguments)):
        for last in range(first + 2, min(first + _WORDS_IN_NAME, len(arguments)) + 1):
            words = arguments[first:last]
            if words[-1].startswith("-") or words[0].startswith("-"):
                break
            name = " ".join(words)
            if os.path.exists(name) and not all(map(os.path.exists, words)):  # noqa: PTH110 (any length)
                raise InputError(f'"{name}" is one name with spaces: put it into quotes')


def refuse_empty(arguments: Sequence[str], commands: Mapping[str, Callable[[], Any]]) -> None:
    """Refuse an empty value: an empty name of a file would be taken for the folder one is in.

    Raises
    ------
    InputError
        Naming the first such option.
    """
    if not any(word == "" or word.endswith("=") for word in arguments):
        return
    for parameter in _with_values(arguments, commands):
        taken = [option for option in parameter.opts if option.startswith("-")]
        if _value_of(taken, arguments) != "":
            continue
        typed = {word.partition("=")[0] for word in arguments}
        option = next(option for option in taken if option in typed)
        raise InputError(f"{option} is empty: give a value, or leave it out")


def refuse_twice(arguments: Sequence[str], commands: Mapping[str, Callable[[], Any]]) -> None:
    """Refuse an option that is given twice and can only mean one: the last would win unsaid.

    Raises
    ------
    InputError
        Naming the first such option.
    """
    typed = [word.partition("=")[0] for word in arguments if word.startswith("-")]
    if len(set(typed)) == len(typed):
        return
    for parameter in _with_values(arguments, commands):
        given = [option for option in typed if option in parameter.opts]
        if len(given) > 1 and not getattr(parameter, "multiple", False):
            names = " and ".join(dict.fromkeys(given))
            raise InputError(
                f"{names}: given {len(given)} times, and only one can hold: leave the others out"
            )


def _with_values(
    arguments: Sequence[str], commands: Mapping[str, Callable[[], Any]]
) -> Iterator[Any]:
    """What the command that is asked takes, but for its flags."""
    name = next((word for word in arguments if word in commands), None)
    if name is None:
        return
    command = commands[name]()
    for part in getattr(command, "commands", {"": command}).values():
        yield from (each for each in part.params if not getattr(each, "is_flag", False))


def _no_such_option(
    option: str, name: str | None, commands: Mapping[str, Callable[[], Any]]
) -> str:
    known = {each: _options(load()) for each, load in commands.items()}
    first = name or next((each for each in ("render", *commands) if option in known[each]), None)
    if first is not None and option in known[first]:
        return f"{option} comes after the command and what it works on: " + (
            f"hingeline {first} {'... ' if first != 'defaults' else 'set '}{option} ..."
        )
    if name is None:
        return f"hingeline has no option {option} before a command: hingeline --help lists them"
    near = _nearest(option, known[name])
    others = [other for other in commands if option in known[other]]
    if others == ["defaults"]:
        return (
            f"{name} has no option {option}, which is said once for all: hingeline defaults set "
            f"{option} ..."
        )
    if others:
        have = "has" if len(others) == 1 else "have"
        return f"{name} has no option {option}; {', '.join(others)} {have} it"
    if near:
        return f"{name} has no option {option}: did you mean {near}?"
    return f"{name} has no option {option}: hingeline {name} --help lists them all"


def _options(command: Any) -> dict[str, str]:
    """Options of a command, or of every part of it, with what they say of themselves."""
    parts = getattr(command, "commands", {"": command}).values()
    return {
        option: str(getattr(parameter, "help", "") or "")
        for part in parts
        for parameter in part.params
        for option in parameter.opts
        if option.startswith("-")
    }


def _nearest(word: str, known: Any) -> str | None:
    found = difflib.get_close_matches(word, [*known], n=1, cutoff=_ALIKE)
    return found[0] if found else None


def _explained(option: str, name: str | None, commands: Mapping[str, Callable[[], Any]]) -> str:
    said = _options(commands[name]()).get(option, "") if name else ""
    return f": {_uncapped(said).rstrip('.')}" if said else ""


def _missing(error: Exception) -> str:
    parameter = getattr(error, "param", None)
    said = _uncapped(str(getattr(parameter, "help", "") or "").rstrip("."))
    names = [option for option in getattr(parameter, "opts", ()) if option.startswith("-")]
    needs = f"the option {names[0]}" if names else "something to work on"
    return f"{_path(error)} needs {needs}" + (f": {said}" if said else "")


def _bad_value(error: Exception, message: str, arguments: Sequence[str]) -> str:
    parameter = getattr(error, "param", None)
    options = list(getattr(parameter, "opts", ()))
    said = str(getattr(parameter, "help", "") or "").rstrip(".")
    value = _value_of(options, arguments)
    kind = re.search(r"\b(int|float|number)", message)
    wants = None if kind is None else "a whole number" if kind[1] == "int" else "a number"
    if bound := re.search(r"(greater|less) than or equal to (\S+)", message):
        wants = f"at {'least' if bound[1] == 'greater' else 'most'} {bound[2]}"
    elif bound := re.search(r"in the range (.+?)\.?$", message):  # how older parsers say it
        ends = re.findall(r"-?\d+(?:\.\d+)?", bound[1])
        wants = f"{'at least' if '>=' in bound[1] else 'at most'} {ends[0]}"
        wants = f"{ends[0]} to {ends[1]}" if len(ends) == 2 else wants
    shown = f' "{value}"' if value is not None else ""
    where = options[0] if options else "a value"
    if wants is None:
        return f"{where}{shown}: {_uncapped(message)}"
    return f"{where}{shown} is not {wants}" + (f": {_uncapped(said)}" if said else "")


def _value_of(options: list[str], arguments: Sequence[str]) -> str | None:
    """What was typed after one of these options, or behind its equals sign."""
    for place, word in enumerate(arguments):
        before, equals, after = word.partition("=")
        if before in options:
            if equals:
                return after
            return arguments[place + 1] if place + 1 < len(arguments) else None
    return None


def _no_such_command(word: str, error: Exception, commands: Mapping[str, Callable[[], Any]]) -> str:
    context = getattr(error, "ctx", None)
    within = _path(error)
    known = [*getattr(getattr(context, "command", None), "commands", {})] if within else [*commands]
    meant = _TAKEN_FOR.get(word)
    if meant in known:
        return f'{within} has no command "{word}": it is called {meant}'
    if within and word in _LISTS:
        return f'{within} has no command "{word}": hingeline {within} alone lists them'
    near = None if not within and word in shipped_names() else _nearest(word, known)
    if near:
        return f'there is no command "{f"{within} {word}".strip()}": did you mean {near}?'
    if not within:
        return (
            f'"{word}" is no command: a command comes first, such as hingeline render {word}; '
            "hingeline --help lists them"
        )
    return f'{within} has no command "{word}": there are {", ".join(known)}'


def _path(error: Exception) -> str:
    """The command as typed, without the program's name: "scenes show"."""
    context = getattr(error, "ctx", None)
    return " ".join(str(context.command_path).split()[1:]) if context is not None else ""


def _uncapped(text: str) -> str:
    """The text as the rest of a sentence; a first word with capitals inside stays as it is."""
    first = text.split(" ", 1)[0]
    return text[:1].lower() + text[1:] if first[1:] == first[1:].lower() else text
