"""What is lit when it gets dark: windows by the hour, street lamps with their pools, cars.

Luminances are usual ones (from memory); which windows are lit is our rule, no table was found.
By day a description comes back as it is.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np

from render.world.description import Description, Ground, Lamp, LightWords, Thing
from render.world.ground import ground_height
from render.world.sky import STREET_LUX, clear_light, horizontal_lux, lamplight, sun_words
from render.world.surfaces.material import Material

__all__ = [
    "STREET_LAMPS_LUX",
    "light_words",
    "lit_share",
    "nearest",
    "street_lux_at",
    "under_the_sun",
]

#: Street lamps are switched on when daylight falls to this on level ground (common practice).
STREET_LAMPS_LUX = 70.0
#: Luminance of a lit room seen through its window, of lamp glass, head and tail lights, cd/m2.
_ROOM, _GLASS, _HEAD, _TAIL = 14.0, 6000.0, 3000.0, 150.0
_WARM, _WHITE, _RED = "#ffbe70", "#ffeccf", "#ff3020"
#: What a lamp sends down or round, cd: 10 lx or more under a mast of 6 m.
_CANDELAS = 700.0
#: Both dipped head lamps of a car together, cd where they are brightest (usual, from memory: UN
#: Regulation 112 asks for 12 lx or more 25 m ahead, 7,500 cd of each), and how wide they shine.
_DIPPED, _BEAM_DEG = 15000.0, 70.0
#: A shop's windows at dusk, cd/m2 on the mean (usual, from memory); one lamp for so many metres.
_SHOP, _SHOP_M = 45.0, 4.0
#: So many lamps light what is round them, those in view first; the others only shine.
_MOST_LAMPS = 48
#: Half the angle that counts as in view, and how much farther others seem.
_VIEW_DEG, _BEHIND = 40.0, 3.0
#: Share of windows lit in the dark, by the hour.
_HOURS = (0.0, 2.0, 5.0, 6.5, 8.0, 16.0, 18.0, 20.0, 22.0, 23.0, 24.0)
_SHARES = (0.12, 0.04, 0.06, 0.25, 0.20, 0.25, 0.45, 0.55, 0.45, 0.28, 0.12)
#: Sun heights at which the first and all of those who are in have switched on.
_FIRST_DEG, _ALL_DEG = 4.0, -6.0
#: Material of lit panes, lamp glass and car lights.
_PANE, _LAMP, _FRONT, _BACK = "lit pane", "lit lamp glass", "lit head lamp", "lit tail lamp"


def under_the_sun(
    description: Description,
    heading_deg: float,
    height_deg: float,
    when: str,
    said: Mapping[str, Any] | None = None,
) -> Description:
    """A place under the sun at a date: its sky, and what people have switched on.

    Parameters
    ----------
    when : str
        ISO 8601; its own clock says the hour.
    said : mapping, optional
        Fields of the light that somebody set: the date does not change them.

    Raises
    ------
    InputError
        If it is night and nothing is lit.
    """
    light = replace(
        description.light, sun_heading_deg=heading_deg, sun_height_deg=height_deg, when=when
    )
    moment = datetime.fromisoformat(when)
    share = lit_share(height_deg, moment.hour + moment.minute / 60)
    street_lux = street_lux_at(description, height_deg)
    lamps_on = street_lux is not None
    light = clear_light(replace(light, street_lux=street_lux))
    light = replace(light, **(said or {}))
    if share == 0.0:
        return replace(description, light=light)
    unit = lamplight(1.0)  # of 1 cd/m2, before the exposure
    gain = unit * 2.0**light.exposure_ev
    materials = {
        name: _window(material, share, gain) if material.rule == "windows" else material
        for name, material in description.materials.items()
    }
    glass = materials.get("glass", Material())
    materials[_PANE] = _window(replace(glass, rule="panes"), share, gain)
    materials[_LAMP] = _glowing(glass, _WHITE, _GLASS, gain)
    materials[_FRONT] = _glowing(glass, _WHITE, _HEAD, gain)
    materials[_BACK] = _glowing(glass, _RED, _TAIL, gain)
    things = tuple(_lit(thing, unit, lamps_on=lamps_on) for thing in description.things)
    if lamps_on:
        posts = _posts(description)
        found = list(_lamps(posts, description.ground, unit))
        light = replace(light, lamps=nearest(found, description, _MOST_LAMPS))
    return replace(description, light=light, materials=materials, things=things)


def street_lux_at(description: Description, sun_height_deg: float) -> float | None:
    """What street lamps give at a height of the sun, lux; None where none is lit by rule.

    Lamps that a scene names itself leave none to the rule.
    """
    light = description.light
    own = bool(light.lamps) and light.street_lux is None
    if own or horizontal_lux(sun_height_deg) >= STREET_LAMPS_LUX or not _posts(description):
        return None
    return light.street_lux or STREET_LUX


def _posts(description: Description) -> list[Thing]:
    return [thing for thing in description.things if thing.kind.name == "lamp post"]


def lit_share(sun_height_deg: float, hour: float) -> float:
    """Share of windows that are lit: by who is up at an hour, and by how dark it is."""
    dark = (_FIRST_DEG - sun_height_deg) / (_FIRST_DEG - _ALL_DEG)
    return float(np.interp(hour % 24.0, _HOURS, _SHARES)) * min(max(dark, 0.0), 1.0)


def light_words(light: LightWords, things: Sequence[Thing] = ()) -> tuple[str, ...]:
    """Say where the sun of a date stands, and what is lit; nothing without a date."""
    if light.when is None:
        return ()
    words = [sun_words(light.sun_heading_deg, light.sun_height_deg)]
    if light.street_lux is not None:
        lit = len(light.lamps)
        which = "the street lamp" if lit == 1 else f"{lit} street lamps, the nearest in view,"
        words.append(f"{which} lit by rule: about {light.street_lux:.0f} lx on the street")
    carry = [(thing, len(thing.places)) for thing in things if thing.lamps]
    shops = sum(count for thing, count in carry if thing.motion is None)
    cars = sum(count for _, count in carry) - shops
    before = [
        f"{n} {what}{'s' if n > 1 else ''}" for n, what in ((cars, "car"), (shops, "shop")) if n
    ]
    if before:
        light_what = (
            "light what is before them, the nearest in view"
            if cars + shops > 1
            else "lights what is before it"
        )
        words.append(f"{' and '.join(before)} {light_what}")
    hour = datetime.fromisoformat(light.when)
    if share := lit_share(light.sun_height_deg, hour.hour + hour.minute / 60):
        words.append(f"{100 * share:.0f} % of windows lit by rule, as at that hour")
    return tuple(words)


def _window(material: Material, share: float, gain: float) -> Material:
    glowing = _glowing(material, _WARM, _ROOM, gain)
    return replace(glowing, lit=max(share, material.lit))


def _glowing(material: Material, colour: str, luminance: float, gain: float) -> Material:
    """The same that shines so brightly, cd/m2; `gain` is the light of 1 cd/m2 in the picture."""
    level = min(luminance * gain, 1000.0)
    return replace(material, glow=colour, glow_level=level)


def _lit(thing: Thing, unit: float, *, lamps_on: bool) -> Thing:
    """A thing with its lights on: panes, the glass of lamps, cars on their way, shops.

    unit: the light of 1 cd/m2.
    """
    stuff = dict(thing.kind.stuff) | dict(thing.stuff)
    changed = {}
    if stuff.get("pane") == "glass":
        changed["pane"] = _PANE
    if lamps_on and thing.kind.name == "lamp post":
        changed["lamp"] = _LAMP
    carried: tuple[Lamp, ...] = ()
    if stuff.get("light") == "head lamp" and thing.motion is not None:
        changed |= {"light": _FRONT, "tail": _BACK}
        carried = (_dipped(thing, unit),)
    if thing.kind.name == "house" and thing.values["shop"]:
        carried = tuple(_shop_windows(thing.values["size_m"], unit))
    if not changed and not carried:
        return thing
    return replace(thing, stuff=dict(thing.stuff) | changed, lamps=carried)


def _dipped(thing: Thing, unit: float) -> Lamp:
    """Both head lamps of a car as one: before its front, looking along the road."""
    feet = thing.kind.feet(thing.values) if thing.kind.feet else ()
    front = min((float(foot.outline_m[:, 1].min()) for foot in feet), default=0.0)
    at = (0.0, front - 0.3, 0.62)
    return Lamp(
        at_m=at,
        colour=_WHITE,
        strength=unit * _DIPPED / math.pi,
        radius_m=0.5,
        toward_m=(0.0, at[1] - 1.0, at[2] - 0.05),
        cone_deg=_BEAM_DEG,
        soft=1.0,
        dipped=True,
    )


def _shop_windows(size_m: Sequence[float], unit: float) -> Iterator[Lamp]:
    """What a shop front sends out: its glass takes the front but for a door, 2 m high."""
    glass = size_m[0] - 1.5
    count = max(1, round(glass / _SHOP_M))
    for k in range(count):
        x, y = glass * ((k + 0.5) / count - 0.5), -size_m[1] / 2 - 0.15
        yield Lamp(
            at_m=(x, y, 1.55),
            colour=_WARM,
            strength=unit * _SHOP * 2.0 * glass / count / math.pi,
            radius_m=0.7,
            toward_m=(x, y - 1.0, 1.55),
            soft=1.0,
        )


def _lamps(posts: Sequence[Thing], ground: Ground | None, unit: float) -> Iterator[Lamp]:
    """One lamp for each mast; `unit` is the light of 1 cd/m2."""
    for thing in posts:
        arm, high = thing.values["style"] == "arm", thing.values["height_m"]
        for x, y, lift, turn, scale in thing.places:
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            out = -1.75 * scale if arm else 0.0
            at_x, at_y = x - s * out, y + c * out
            floor = float(ground_height(ground, np.array(x), np.array(y))) if ground else 0.0
            z = lift + floor + scale * (high + (0.10 if arm else 0.2))
            yield Lamp(
                at_m=(at_x, at_y, z),
                colour=_WHITE,
                strength=unit * _CANDELAS / math.pi,
                radius_m=0.08 if arm else 0.24,
                toward_m=(at_x, at_y, z - 1.0) if arm else (),
                cone_deg=156.0 if arm else 180.0,
            )


def nearest(lamps: Sequence[Lamp], description: Description, most: int) -> tuple[Lamp, ...]:
    """So many of those that light what is seen, the nearest in view first."""
    stand, target = description.vantage.stand_m, description.vantage.look_at_m
    ahead = math.atan2(target[1] - stand[1], target[0] - stand[0])

    def far(lamp: Lamp) -> float:
        east, north = lamp.at_m[0] - stand[0], lamp.at_m[1] - stand[1]
        aside = math.remainder(math.atan2(north, east) - ahead, 2 * math.pi)
        return math.hypot(east, north) * (1 if abs(math.degrees(aside)) < _VIEW_DEG else _BEHIND)

    return tuple(sorted(lamps, key=far)[:most])
