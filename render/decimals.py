"""Decimal commas: what stands for one number may be typed with one, "f/2,8" as "f/2.8"."""

import re

from render.errors import SettingError

__all__ = ["pointed", "pointed_places"]

_COMMA = r"(?<=\d),(?=\d)"
#: A comma before three digits, as thousands are written too; no thousands begin with 0.
_THOUSANDS = re.compile(r"(?<![\d.,])([1-9]\d{0,2}),(\d{3})(?!\d)")
_UNITS = r"(?:k|c|m)?m|ft|feet|foot|in|inch|inches|yd|yards?|mi|miles?|metres?|stor(?:e?y|ies|eys)"
_LENGTH = re.compile(rf"(?<![\d.,])\d+,\d+(?=\s*(?:{_UNITS})(?![^\W\d_]))")
#: Two places of a spot, each a share.
_SHARES = re.compile(r"(?<![\d.])(-?\d+(?:[.,]\d+)?\s*%)(\s*,\s*)(-?\d+(?:[.,]\d+)?\s*%)")


def pointed(text: str) -> str:
    """Text that holds no list with points for its decimal commas.

    Raises
    ------
    SettingError
        If a comma may as well part thousands.

    Examples
    --------
    >>> pointed("f/2,8"), pointed("up 0,125")
    ('f/2.8', 'up 0.125')
    """
    if found := _THOUSANDS.search(text):
        whole, part = found.groups()
        raise SettingError(
            f'"{text}": {found[0]} may be {whole}.{part} or {whole}{part}: write the one you mean'
        )
    return re.sub(_COMMA, ".", text)


def pointed_places(text: str) -> str:
    """The same where commas also part places: in lengths with a unit, and in spots by shares.

    Examples
    --------
    >>> pointed_places("8 m, 0,5 m"), pointed_places("812,640 18,5 m")
    ('8 m, 0.5 m', '812,640 18.5 m')
    >>> pointed_places("38,5%,59,3% to 812,64%")
    '38.5%,59.3% to 812,64%'
    """
    plain = _SHARES.sub(lambda found: f"{pointed(found[1])}{found[2]}{pointed(found[3])}", text)
    return _LENGTH.sub(lambda found: pointed(found[0]), plain)
