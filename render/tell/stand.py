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
        where = f"{length_words(away)} from the subject along the ground"
    else:
        where = "where the picture was taken"
        if "focal-35" in prepared.guessed:
            where += " (its focal length is guessed)"
        if vantage is not given:
            where += ", height and pitch found from the depth of its ground"
    return Stand(
        height_m=vantage.height_m if vantage else None,
        pitch_deg=vantage.pitch_deg if vantage else None,
        heading_deg=view.heading_deg if view is not None else None,
        where=where,
        guessed=tuple(prepared.guessed),
    )
