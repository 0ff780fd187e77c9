"""Lens files, shipped and one's own."""

import re
from pathlib import Path

import pytest

from render.errors import InputError
from render.files.lenses import read_lens, shipped_lenses

OWN = """format = 1
name = "mine"
focal-mm = 85
f-numbers = [2.8, 22]
tilt-limit-deg = 8
closest-focus-m = 0.39
"""


def test_shipped_lenses_are_found_by_name() -> None:
    """Every name that is listed can be read, in order of focal length, without makers' names."""
    lenses = [read_lens(name) for name in shipped_lenses()]

    assert [lens.name for lens in lenses] == list(shipped_lenses())
    assert [lens.focal_mm for lens in lenses] == sorted(lens.focal_mm for lens in lenses)
    assert {17, 24, 45, 90} <= {lens.focal_mm for lens in lenses}
    assert read_lens("Long 90").tilt_limit_deg > 0


def test_a_lens_of_ones_own(tmp_path: Path) -> None:
    """A file with only what is needed gives a lens with the usual rest."""
    path = tmp_path / "mine.toml"
    path.write_text(OWN)
    lens = read_lens(str(path))

    assert (lens.name, lens.focal_mm, lens.widest_f_number, lens.axis_turns) == (
        "mine",
        85,
        2.8,
        True,
    )


def test_the_lens_file_of_the_readme_is_one(tmp_path: Path) -> None:
    """The lens file that the README shows can be copied and used."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = next(
        block for block in re.findall(r"```toml\n(.*?)```", readme, re.S) if "focal-mm" in block
    )
    path = tmp_path / "mine.toml"
    path.write_text(shown, encoding="utf-8")
    lens = read_lens(str(path))

    assert (lens.focal_mm, lens.pivot_behind_mm, lens.axis_turns) == (90, 40, True)
    assert all(name in readme for name in shipped_lenses())


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("format = 1", "format = 7"), "format = 7"),
        (("focal-mm = 85\n", ""), "focal-mm is missing"),
        (("focal-mm = 85", 'focal-mm = "85"'), "give one number"),
        (("[2.8, 22]", "[2.8]"), "two numbers"),
        (("[2.8, 22]", "[22, 2.8]"), "wide to small"),
        (('"mine"', "3"), "text in quotes"),
        (("tilt-limit-deg = 8", "tilt-limit = 8"), "is tilt-limit-deg meant"),
        (("tilt-limit-deg = 8", "tilt-limit-deg = 80"), "below 45"),
        (("tilt-limit-deg = 8", "tilt-limit-deg = -8"), "either way from straight"),
        (("tilt-limit-deg = 8", "tilt-limit-deg = [2, 8]"), "either way from straight"),
        (("closest-focus-m = 0.39", "closest-focus-m = nan"), "closest-focus-m = nan: give one"),
        (("name", "name = ="), "not a readable TOML"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, change: tuple[str, str], sentence: str) -> None:
    """A wrong line is answered with the file, the key and what can be written."""
    path = tmp_path / "mine.toml"
    path.write_text(OWN.replace(*change))

    with pytest.raises(InputError, match=sentence) as caught:
        read_lens(str(path))
    assert "mine.toml" in str(caught.value)


def test_unknown_names_are_answered_with_the_known() -> None:
    """A lens or file that is not there is said so, with the lenses that are."""
    with pytest.raises(InputError, match="long 90"):
        read_lens("medium 60")
    with pytest.raises(InputError, match="is not there"):
        read_lens("nowhere.toml")
