"""Where a prepared shot's tripod stands."""

import math

from render.load.case import on_its_ground
from render.load.prepared import Prepared
from render.plan.stand import Stand
from render.words import length_words

__all__ = ["stand_of"]


def stand_of(prepared: Prepared) -> Stand:
    """Read height, look and place off what was loaded."""
    given, view = prepared.scene.vantage, prepared.view
    vantage = on_its_ground(prepared).scene.vantage
    record, scene = prepared.map_record, prepared.description
    if "latitude_deg" in record:
        where = f"{record['latitude_deg']:.5f}, {record['longitude_deg']:.5f}"
    elif view is not None and scene is not None:
        subject = scene.vantage.look_at_m
        away = math.hypot(subject[0] - view.at_m[0], subject[1] - view.at_m[1])
        where = f"{length_words(away)} from the subject over the ground"
    else:
        found = ", height and pitch found from the depth of its ground"
        where = f"where the picture was taken{_guessed_words(prepared)}"
        where += found if vantage is not given else ""
    return Stand(
        height_m=vantage.height_m if vantage else None,
        pitch_deg=vantage.pitch_deg if vantage else None,
        heading_deg=view.heading_deg if view is not None else None,
        where=where,
    )


def _guessed_words(prepared: Prepared) -> str:
    """What of that is only guessed: " (guessed: its focal length, height and horizon)"."""
    names = [name for values in prepared.guesses.values() for name in values]
    called = ["focal length" if name == "focal-35" else name for name in names]
    every = " and ".join(filter(None, (", ".join(called[:-1]), *called[-1:])))
    return f" (guessed: its {every})" if called else ""
