"""Each result has a name of its own, after its picture."""

from pathlib import Path

import pytest

from render.errors import OutputError
from render.jobs.many.gathering import Piece
from render.jobs.many.naming import named_apart, out_folder, photograph_names
from render.shot.shot import Shot


def _pieces(*names: str) -> list[Piece]:
    return [Piece(name, Shot(picture=name)) for name in names]


@pytest.mark.parametrize(
    ("pictures", "names"),
    [
        (("a.jpg", "b/c.png"), ["a", "c"]),
        (("a.jpg", "a.heic", "b.jpg"), ["a_jpg", "a_heic", "b"]),
        (("north/a.jpg", "south/a.jpg"), ["north_a", "south_a"]),
        (
            ("north/a.jpg", "north/a.png", "south/a.jpg"),
            ["north_a_jpg", "north_a_png", "south_a_jpg"],
        ),
        (("yard/day/../a.jpg", "yard/day/a.jpg"), ["yard_a", "day_a"]),
        (("x/n/a.jpg", "y/n/a.jpg"), ["a", "a_2"]),
        (("x/n/a.jpg", "y/n/a.jpg", "a_2.jpg"), ["a", "a_2", "a_2_2"]),
        (("Roof.jpg", "q/ROOF.JPG"), None),
        (("x/e\u0301.jpg", "y/\u00e9.jpg"), ["x_e\u0301", "y_\u00e9"]),
    ],
)
def test_names_are_told_apart(pictures: tuple[str, ...], names: list[str] | None) -> None:
    """By ending, else folder, else both, else number; case and forms of accents count as one."""
    found = named_apart(_pieces(*pictures))

    assert len({name.casefold() for name in found}) == len(pictures)
    if names is not None:
        assert found == names


def test_two_shots_of_one_picture_are_called_after_their_files() -> None:
    """As settings that were saved side by side."""
    shots = [Piece(f"{name}.toml", Shot(picture="roof.jpg")) for name in ("wide", "tele")]

    assert named_apart(shots) == ["roof_wide", "roof_tele"]


def test_photographs_go_into_a_folder_or_as_a_pattern_says(tmp_path: Path) -> None:
    """A kind that is not written becomes JPEG; a pattern says the kind of all."""
    pieces = _pieces("a.png", "b.heic")

    assert photograph_names(pieces, None) == [Path("a_tilted.png"), Path("b_tilted.jpg")]
    new = str(tmp_path / "new")
    assert photograph_names(pieces, new)[1] == tmp_path / "new" / "b_tilted.jpg"
    assert photograph_names(pieces, f"{new}/*_x.tif")[0] == tmp_path / "new" / "a_x.tif"


@pytest.mark.parametrize("out", ["{0}/there.jpg", "{0}/a/b", "{0}/x.jpg", "{0}/*_*.jpg"])
def test_a_place_for_one_is_none_for_many(tmp_path: Path, out: str) -> None:
    """A file, a folder in a folder that is missing, a pattern with two places."""
    (tmp_path / "there.jpg").touch()

    with pytest.raises(OutputError):
        photograph_names(_pieces("a.png", "b.png"), out.format(tmp_path))
    assert out_folder(str(tmp_path)) == tmp_path
