"""Materials of rooms, by name: what walls, floors, pictures and shelves are made of."""

from typing import Any

__all__ = ["INDOORS"]

#: A painter's brush.
_STROKES = {"rule": "strands", "size_m": [0.007, 0.007], "relief": 0.0}

INDOORS: dict[str, dict[str, Any]] = {
    "white wall": {"colour": "#dcd7cc", "mottle": 0.05, "mottle_m": 1.2},
    "bold strokes": {**_STROKES, "colour": "#c25a4c", "second": "#7c2c34"},
    "sky strokes": {**_STROKES, "colour": "#c9d3d6", "second": "#94aab4"},
    "dark strokes": {**_STROKES, "colour": "#55624c", "second": "#2c3630"},
    "dim strokes": {**_STROKES, "colour": "#9aa79a", "second": "#62706c"},
    "warm strokes": {**_STROKES, "colour": "#e0b070", "second": "#b0713e"},
    "light strokes": {**_STROKES, "colour": "#ece6d4", "second": "#c9bda2"},
    "cork": {"colour": "#a9824f", "mottle": 0.5, "mottle_m": 0.012},
    "sawdust": {"colour": "#cbb083", "mottle": 0.4, "mottle_m": 0.03},
    "painted boards": {"rule": "painted", "colour": "#a3ab9c", "second": "#6a6c5f", "vary": 0.3},
    "painted brick": {
        "rule": "brick",
        "colour": "#dcd7cc",
        "second": "#c2baab",
        "vary": 0.055,
        "relief": 0.4,
    },
    "painted wall": {"rule": "painted", "colour": "#dcd7cc", "second": "#8f8676", "vary": 0.2},
    "ceiling boards": {
        "rule": "planks",
        "colour": "#dcd7cc",
        "second": "#a59c8b",
        "size_m": [3.6, 0.16],
        "vary": 0.13,
        "joint_m": 0.006,
    },
    "room curtain": {
        "rule": "cloth",
        "colour": "#8f8a76",
        "size_m": [0.006, 0.006],
        "relief": 0.0,
        "through": 0.25,
        "two_sided": True,
    },
    "carton": {"colour": "#b28a5a", "mottle": 0.14, "mottle_m": 0.22},
    "grey card": {"colour": "#8f8a80", "mottle": 0.16, "mottle_m": 0.2},
    "white card": {"colour": "#d3cdbf", "mottle": 0.12, "mottle_m": 0.2},
    "paper": {"colour": "#dedacd", "mottle": 0.08, "mottle_m": 0.1},
    "old cloth": {
        "rule": "foliage",
        "colour": "#b08a4a",
        "second": "#4a5a40",
        "vary": 1.0,
        "through": 0.0,
        "two_sided": False,
    },
    "book cloth": {
        "rule": "foliage",
        "colour": "#8a4032",
        "second": "#2f4a5c",
        "vary": 1.0,
        "through": 0.0,
        "two_sided": False,
    },
    "jar glass": {"colour": "#39423f", "gloss": 0.08, "rough": 0.12},
    "floor boards": {
        "rule": "planks",
        "colour": "#a47c50",
        "second": "#7c5a38",
        "size_m": [2.6, 0.18],
        "gloss": 0.03,
        "rough": 0.35,
    },
    "day outside": {"colour": "#dfe8f0", "glow": "#e6eef8", "glow_level": 1.6},
}
