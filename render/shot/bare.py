"""Lengths of a shot that came without a unit, where others would take them for feet."""

from render.shot.shot import Shot, shot_keys
from render.typed import bare_lengths
from render.units import in_feet
from render.words import shell_word

__all__ = ["bare_words"]


def bare_words(shot: Shot) -> tuple[str, ...]:
    """One note where lengths are told in feet and some were typed without a unit."""
    if not in_feet():
        return ()
    keys, found = shot_keys(), []
    for name, words in shot.written:
        for text in (words,) if isinstance(words, str) else words:
            with bare_lengths() as bare:
                keys[name].read(text)
            if bare:
                found.append(f"{keys[name].option} {shell_word(text)}")
    if not found:
        return ()
    return (
        f"read as metres, since no unit was typed: {', '.join(found)}; feet are typed as ft, "
        "such as 40 ft",
    )
