"""Libraries of optional extras."""

import subprocess
import sys

import pytest

from render.errors import InputError
from render.extras import needed


@pytest.mark.parametrize(
    ("module", "extra"), [("cv2", "vision"), ("onnxruntime", "predict"), ("laspy", "survey")]
)
def test_a_missing_library_names_its_extra(module, extra, monkeypatch):
    """The sentence says what for and which extra to install."""
    monkeypatch.setitem(sys.modules, module, None)

    with pytest.raises(InputError, match=r"^it needs .*, which is not installed: ") as caught:
        needed(module, "it")

    assert f'{sys.executable} -m pip install ".[{extra}]"' in str(caught.value)


def test_everything_but_the_map_rooms_loads_without_an_extra() -> None:
    """A photo or a demo scene never meets a library that was not asked for."""
    script = (
        "import importlib, pkgutil, sys\n"
        "extras = 'shapely pyproj osmium cv2 onnxruntime laspy pillow_heif rawpy OpenEXR '\n"
        "extras += 'av distributed imageio'\n"
        "sys.modules.update(dict.fromkeys(extras.split()))\n"
        "import render\n"
        "maps = ('render.world.place.', 'render.files.geojson', 'render.files.osm')\n"
        "maps += ('render.files.apart.osm',)\n"
        "for module in pkgutil.walk_packages(render.__path__, 'render.'):\n"
        "    if not module.name.startswith((*maps, 'render.shipped')):\n"
        "        importlib.import_module(module.name)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr
