"""truth.py FOLDER RESULTS: photograph every setting of a folder of traced scenes.

FOLDER holds SCENE/SETTING.json (lens and camera) and SCENE/picture*.npz (``linear``, ``depth_m``);
RESULTS gets SCENE/SETTING.npy, linear light.
"""

import argparse
import json
from pathlib import Path

import numpy as np

from render.engine.photograph import photograph
from render.engine.quality import FINAL, PREVIEW
from render.optics.camera import Camera
from render.optics.lens import FocusExtension, Iris, LensSetting
from render.scene.scene import Scene


def traced_scene(folder: Path, meta: dict) -> Scene:
    """Read the pinhole picture of one setting."""
    with np.load(folder / meta["picture"]) as picture:
        linear, depth_m = picture["linear"].astype(np.float32), picture["depth_m"]
    height, width = depth_m.shape
    fx_px, extension_mm = meta["fx_px"], meta["extension_mm"]
    camera = Camera(
        width,
        height,
        fx_px,
        width / 2 - fx_px * meta["lateral_mm"] / extension_mm,
        height / 2 + fx_px * meta["rise_mm"] / extension_mm,
    )
    return Scene(linear, depth_m, camera)


def traced_setting(meta: dict) -> LensSetting:
    """Read the lens of one setting."""
    return LensSetting(
        focal_mm=meta["focal_mm"],
        f_number=meta["f_number"],
        focus=FocusExtension(meta["extension_mm"]),
        tilt_deg=meta["tilt_deg"],
        swing_deg=meta["swing_deg"],
        iris=Iris(meta["blades"], meta["blade_rotation_deg"]),
    )


def main() -> None:
    """Photograph them all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("results", type=Path)
    parser.add_argument("--preview", action="store_true", help="in PREVIEW quality")
    options = parser.parse_args()
    quality = PREVIEW if options.preview else FINAL
    for described in sorted(options.folder.glob("*/*.json")):
        meta = json.loads(described.read_text())
        scene = traced_scene(described.parent, meta)
        shot = photograph(scene, traced_setting(meta), quality=quality)
        out = options.results / described.parent.name / f"{described.stem}.npy"
        out.parent.mkdir(parents=True, exist_ok=True)
        np.save(out, shot.light)


if __name__ == "__main__":
    main()
