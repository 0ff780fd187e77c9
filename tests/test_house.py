"""The house keeps its own rules: arrows, mirrors, lint, and a light front door."""

import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = sorted(
    ".".join(p.parent.relative_to(ROOT).parts) for p in (ROOT / "render").rglob("__init__.py")
)


def _run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_arrows_run_downward() -> None:
    """Imports keep to the floors that pyproject.toml declares."""
    script = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    done = _run(sys.executable, "-c", script)

    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


@pytest.mark.parametrize("tool", ["ruff check --no-cache .", "ruff format --check ."])
def test_lint_and_format_are_clean(tool: str) -> None:
    """Nothing is found by ruff; what mypy finds is asked by `.ci/run`, for it takes long."""
    done = _run(sys.executable, "-m", *tool.split())

    assert done.returncode == 0, done.stdout + done.stderr


def test_every_room_is_packaged() -> None:
    """The list of packages, written out by hand, equals the folders."""
    rooms = [package for package in PACKAGES if package != "render.hingeline"]
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]

    assert sorted(listed) == sorted([*rooms, "render.shipped", "hingeline"])


def test_tests_mirror_the_package() -> None:
    """Each module that holds something has its test file at the same place under tests/."""
    missing = [
        str(module.relative_to(ROOT))
        for module in (ROOT / "render").rglob("*.py")
        if module.name not in ("__init__.py", "__main__.py")
        and not (
            ROOT / "tests" / module.relative_to(ROOT / "render").parent / f"test_{module.name}"
        ).exists()
    ]

    assert missing == []


def test_every_folder_can_be_taken_in_at_a_glance() -> None:
    """No room holds more than twenty files of code, and no file many more than 450 lines."""
    house = ROOT / "render"
    rooms = {folder: [*folder.glob("*.py")] for folder in (house, *house.rglob("*/"))}
    full = [str(room) for room, modules in rooms.items() if len(modules) > 20]
    long = [
        str(module)
        for modules in rooms.values()
        for module in modules
        if module.read_text(encoding="utf-8").count("\n") > 480
    ]

    assert full + long == []


def test_the_guide_and_the_notes_name_what_is_there() -> None:
    """A file named in DEVELOPERS.md, or in a room's own README, stands somewhere in the tree."""
    here = {str(path.relative_to(ROOT)) for path in ROOT.glob("*/**/*.*") if path.is_file()}
    lost = [
        f"{notes.relative_to(ROOT)}: {name}"
        for notes in (ROOT / "DEVELOPERS.md", *(ROOT / "render").rglob("README.md"))
        for name in re.findall(r"`([a-z_/.-]+\.(?:py|js|html|css))`", notes.read_text("utf-8"))
        if not any(path == name or path.endswith(f"/{name}") for path in here)
    ]

    assert lost == []


def test_help_does_not_load_the_heavy_libraries() -> None:
    """`hingeline --help` imports neither compiler, scipy, picture libraries nor pydantic."""
    script = (
        "import sys; sys.argv = ['hingeline', '--help']\n"
        "from render.cli.door import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'numba', 'scipy', 'PIL', 'imagecodecs', 'tifffile', 'cv2', 'pydantic'}\n"
        "heavy &= set(sys.modules)\n"
        "sys.exit(f'loaded: {heavy}' if heavy else 0)\n"
    )
    done = _run(sys.executable, "-c", script)

    assert done.returncode == 0, done.stderr
    assert "render" in done.stdout


def test_a_plain_render_loads_no_part_of_scipy() -> None:
    """Each takes a tenth of a second or more; what needs one loads it where it is used."""
    script = (
        "import sys, render.jobs.render, render.load.scenes as scenes\n"
        "scenes.load_scene('bench')\n"
        "parts = 'interpolate ndimage optimize signal sparse spatial special'.split()\n"
        "found = {f'scipy.{part}' for part in parts} & set(sys.modules)\n"
        "sys.exit(f'loaded: {found}' if found else 0)\n"
    )
    done = _run(sys.executable, "-c", script)

    assert done.returncode == 0, done.stderr


def test_the_package_says_that_it_is_typed() -> None:
    """py.typed lies beside the package."""
    spec = importlib.util.find_spec("render")

    assert spec is not None
    assert (Path(str(spec.origin)).parent / "py.typed").exists()
