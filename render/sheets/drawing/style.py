"""The one visual system: sizes, colours and spacing of everything that is drawn.

Colours that carry a meaning come from the set of M. Okabe and K. Ito, "Color Universal
Design", 2008, which colour-blind readers tell apart; every one of them also has a word, a
dash or a hatch, so that a grey print loses nothing.
"""

from typing import Literal

__all__ = [
    "BAND",
    "BODY",
    "CAUTION",
    "FOCUS_PLANE",
    "GRID",
    "GROUND",
    "GUTTER",
    "HAIR",
    "HAIRLINE",
    "HEADING",
    "HEAVY",
    "INK",
    "MARGIN",
    "MEDIUM",
    "MUTED",
    "PAPER",
    "PT_PER_PX",
    "SCREEN",
    "SCREEN_INK",
    "SCREEN_MUTED",
    "SETTING",
    "SMALL",
    "SOIL",
    "TELLTALE",
    "TITLE",
    "Colour",
    "Weight",
    "contrast",
]

Colour = tuple[int, int, int]
Weight = Literal["regular", "semibold"]

#: Points in one px of 96 dpi: sheets are laid out in px, pages in points.
PT_PER_PX = 0.75

# Type, in points; a sheet in px multiplies by 4/3.
SMALL, BODY, SETTING, HEADING, TITLE = 8.0, 10.0, 12.5, 16.0, 24.0

# Spacing, px at 96 dpi.
GRID, GUTTER, MARGIN = 8, 8, 24

# Line weights of drawings, points (0.25, 0.5 and 0.75 mm).
HAIR, MEDIUM, HEAVY = 0.71, 1.42, 2.13

PAPER: Colour = (255, 255, 255)
INK: Colour = (0x1A, 0x1C, 0x1E)
MUTED: Colour = (0x5A, 0x60, 0x66)
HAIRLINE: Colour = (0xC9, 0xCE, 0xD3)
SOIL: Colour = (0xEE, 0xF0, 0xF1)
GROUND: Colour = (0x8A, 0x8F, 0x94)

SCREEN: Colour = (0x26, 0x28, 0x2B)
SCREEN_INK: Colour = (0xE8, 0xEA, 0xEC)
SCREEN_MUTED: Colour = (0xA7, 0xAD, 0xB3)

BAND: Colour = (0x00, 0x9E, 0x73)
TELLTALE: Colour = (0xE6, 0x9F, 0x00)
FOCUS_PLANE: Colour = (0x00, 0x72, 0xB2)
CAUTION: Colour = (0xD5, 0x5E, 0x00)


def contrast(first: Colour, second: Colour) -> float:
    """Contrast ratio of two sRGB colours, 1 to 21 (WCAG 2.2, "contrast ratio").

    >>> contrast((0, 0, 0), (255, 255, 255))
    21.0
    """
    light, dark = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: Colour) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    coded = [value / 255 for value in colour]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in coded)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
