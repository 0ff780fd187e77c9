"""A page in one file: wipe or blink between any two pictures of a sheet.

It asks nothing of the network: pictures, fonts and script lie inside, and its own content
policy forbids the rest.
"""

import base64
import json
import re
from collections.abc import Sequence
from html import escape
from importlib.resources import files

from render.sheets.compare import Cell
from render.sheets.drawing.vector import font_rules, jpeg_bytes

__all__ = ["wipe_page"]


def wipe_page(
    cells: Sequence[Cell], *, title: str, subtitle: str, notes: Sequence[str] = ()
) -> str:
    """Return the HTML of the page.

    Parameters
    ----------
    cells : sequence of Cell
        At least one; the first two are shown first.
    title, subtitle : str
    notes : sequence of str
        Small print.
    """
    shown = [
        {
            "picture": "data:image/jpeg;base64,"
            + base64.b64encode(jpeg_bytes(cell.picture)).decode("ascii"),
            "width": cell.picture.width,
            "height": cell.picture.height,
            "setting": cell.setting,
            "scale": cell.scale,
            "figures": cell.figures,
            "verdict": cell.verdict,
            "suggested": cell.suggested,
        }
        for cell in cells
    ]
    template = files("render.sheets").joinpath("templates", "wipe.html").read_text("utf-8")
    written = " ".join([title, subtitle, *notes, template, json.dumps(shown, ensure_ascii=False)])
    parts = {
        "title": escape(title),
        "subtitle": escape(subtitle),
        "notes": "".join(f"<p>{escape(note)}</p>" for note in notes),
        "fonts": font_rules({"regular": set(written), "semibold": set(written)}),
        "cells": json.dumps(shown, ensure_ascii=False).replace("<", "\\u003c"),
    }
    return re.sub("@(" + "|".join(parts) + ")@", lambda match: parts[match[1]], template)
