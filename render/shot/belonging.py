"""What a shot says that its source cannot take: a map's words, a scene's, a picture's."""

from render.errors import SettingError
from render.shot.declaring import Key
from render.shot.shot import Shot, shot_keys

__all__ = ["refuse_strange", "refuse_unheeded"]

#: Of the vantage, what is read off a picture.
_READ_OFF = ("horizon", "roll", "ground-mark", "upright", "guessed")
_OF_SCENES = {
    "distance": "is for demo scenes, and a photo was taken from where it was taken",
    "width": "is for scenes and maps, and a photo keeps its size",
}


def refuse_strange(shot: Shot) -> None:
    """Refuse what the shot's source would not heed, rather than pass over it.

    Raises
    ------
    SettingError
        Naming the first such option and what it is for.
    """
    keys = shot_keys()
    for name, _ in shot.written:
        if use := _strange_use(shot, keys[name]):
            raise SettingError(f"{keys[name].option} {use}: leave it out{_instead(shot, name)}")


def refuse_unheeded(shot: Shot) -> None:
    """Refuse what one photo does not heed that is neither a clip's frame nor a panorama.

    Raises
    ------
    SettingError
        Naming the first such option and what it is for.
    """
    if shot.demo.time_s is not None:
        raise SettingError(
            f"--time is for scenes, maps and clips, and {shot.picture} is one picture: leave it out"
        )
    if shot.demo.heading_deg is not None and None in (shot.place.at_deg, shot.place.when):
        raise SettingError(
            f"--heading says of {shot.picture}, which is no panorama, where the sun stands to it, "
            "and that needs --at and --when too: give those, or leave it out"
        )


def _instead(shot: Shot, name: str) -> str:
    """The lines of a scene file that set its sun by day and place, with what was given of them."""
    if shot.scene is None or shot.on_map or name not in ("at", "when"):
        return ""
    latitude, longitude = shot.place.at_deg or (52.0, 8.5)
    when = shot.place.when or "2026-06-21T21:45+02:00"
    place = f"[{latitude:.6g}, {longitude:.6g}]"
    return (
        f', and write date = "{when}" and place_deg = {place} (latitude, longitude) under [light] '
        f"in {_own_file(shot.scene)}"
    )


def _own_file(scene: str) -> str:
    """Where a scene's light is written: its file, or a copy of one that comes along."""
    if scene.endswith(".toml"):
        return scene
    mine = f"my_{scene}.toml"
    return f"a copy of it (hingeline scenes show {scene} --toml > {mine}) and name {mine}"


def _strange_use(shot: Shot, key: Key) -> str:
    """What a value is for, where that is not the shot's source; else nothing."""
    if key.table == "place" and not shot.on_map:
        if shot.picture and key.name in ("at", "when"):  # for the sun on the card
            return ""
        if shot.scene and key.name in ("at", "when"):
            return "is for photos and map files, and the sun of a scene stands in its file"
        return f"is for map files, and {shot.picture or shot.scene or 'nothing'} is none"
    if shot.picture:
        return _OF_SCENES.get(key.name, "")
    if not shot.scene:
        return ""
    if key.table == "depth" and key.name != "baseline":  # also for the disparity that is written
        return "is for photos, and the depth of a scene or map is known"
    if key.table == "taken" and key.name != "lift-highlights":  # that is answered in words
        return "is for photos, and a scene or map is seen through the planned lens (--lens)"
    if key.name in _READ_OFF:
        return "is for photos, and a scene or map takes --height and --pitch"
    return ""
