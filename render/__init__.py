"""Hingeline: the photograph a tilted lens would make, before travelling to make it.

What is promised to programs is listed in `__all__`; everything else may move. Names load when
they are first used, so that importing the package stays cheap.
"""

from importlib import import_module

from render.version import __version__

#: As checkers of types know it; `typing` itself is what starting would wait for longest.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from render.engine.photograph import Photograph, photograph
    from render.errors import HingelineError, InputError, OutputError, SettingError
    from render.files.depths import read_depth
    from render.files.pictures import read_picture, write_picture
    from render.judge.verdict import Verdict
    from render.library import open_picture, open_scene, solve, turn, verdict
    from render.load.prepared import Prepared
    from render.optics.blur import BlurField, blur_field
    from render.optics.camera import Camera, Sensor, Vantage, Window
    from render.optics.lens import FocusDistance, FocusExtension, FocusSpot, Iris, LensSetting
    from render.optics.plane import focus_lens
    from render.scene.scene import Behind, Scene
    from render.tell.solve_answer import Answer

__all__ = [
    "Answer",
    "Behind",
    "BlurField",
    "Camera",
    "FocusDistance",
    "FocusExtension",
    "FocusSpot",
    "HingelineError",
    "InputError",
    "Iris",
    "LensSetting",
    "OutputError",
    "Photograph",
    "Prepared",
    "Scene",
    "Sensor",
    "SettingError",
    "Vantage",
    "Verdict",
    "Window",
    "__version__",
    "blur_field",
    "focus_lens",
    "open_picture",
    "open_scene",
    "photograph",
    "read_depth",
    "read_picture",
    "solve",
    "turn",
    "verdict",
    "write_picture",
]

_HOMES = {
    "render.engine.photograph": ("Photograph", "photograph"),
    "render.errors": ("HingelineError", "InputError", "OutputError", "SettingError"),
    "render.files.depths": ("read_depth",),
    "render.files.pictures": ("read_picture", "write_picture"),
    "render.judge.verdict": ("Verdict",),
    "render.library": ("open_picture", "open_scene", "solve", "turn", "verdict"),
    "render.load.prepared": ("Prepared",),
    "render.optics.blur": ("BlurField", "blur_field"),
    "render.optics.camera": ("Camera", "Sensor", "Vantage", "Window"),
    "render.optics.lens": ("FocusDistance", "FocusExtension", "FocusSpot", "Iris", "LensSetting"),
    "render.optics.plane": ("focus_lens",),
    "render.scene.scene": ("Behind", "Scene"),
    "render.tell.solve_answer": ("Answer",),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> object:
    if name not in _HOME_OF:
        raise AttributeError(f"module 'render' has no attribute {name!r}")
    return getattr(import_module(_HOME_OF[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
