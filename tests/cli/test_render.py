"""`hingeline render` as a person runs it: real files in and out, one sentence when refused."""

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.run import hingeline

HORIZON = ["--height", "12", "--pitch", "down 15", "--focal-35", "28"]
DEPTH = ["--focal-35", "28", "--depth-kind", "metres", "--depth"]


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    """A small picture with fine texture, as a phone would hand it over but without EXIF."""
    rng = np.random.default_rng(5)
    coarse = rng.integers(30, 220, (30, 40, 3), dtype=np.uint8)
    picture = Image.fromarray(coarse).resize((320, 240), Image.Resampling.BICUBIC)
    path = tmp_path / "roof.png"
    picture.save(path)
    return path


def test_a_picture_with_height_and_pitch_becomes_a_photograph(roof: Path) -> None:
    """The photograph, blur map, band, comparison and shot are written, and the summary is whole."""
    done = hingeline(
        *("render", "roof.png", *HORIZON, "--lens", "45", "--f", "2.8", "--tilt", "up 8"),
        *("--focus", "50%,60%", "--show", "--save-shot", "roof.toml"),
        cwd=roof.parent,
    )

    assert done.returncode == 0, done.stderr
    names = {path.name for path in roof.parent.iterdir()}
    assert names == {
        *("roof.png", "roof_tilted.png", "roof_tilted_blur.png", "roof_tilted_band.png"),
        *("roof_tilted_compare.png", "roof.toml"),
    }
    for word in (
        "lens up 8°",
        "Sharp down the centre",
        "Blur across: top",
        "hinge line 0.323 m above",
    ):
        assert word in done.stdout
    with Image.open(roof.parent / "roof_tilted.png") as photo:
        assert photo.size == (207, 138)  # 28 mm equivalent by the diagonal: f = 258.9 px


def test_a_shot_repeats_the_same_bytes(roof: Path) -> None:
    """`render shot.toml` writes what the options wrote."""
    options = (*HORIZON, "--lens", "45", "--tilt", "up 8", "--focus", "50%,60%")
    first = hingeline(
        "render", "roof.png", *options, "-o", "a.png", "--save-shot", "s.toml", cwd=roof.parent
    )
    second = hingeline("render", "s.toml", "-o", "b.png", cwd=roof.parent)

    assert (first.returncode, second.returncode) == (0, 0), first.stderr + second.stderr
    a, b = (np.asarray(Image.open(roof.parent / name)) for name in ("a.png", "b.png"))
    np.testing.assert_array_equal(a, b)


def test_the_record_is_for_programs(roof: Path) -> None:
    """With --json standard output is one JSON object, and blur falls towards the focus."""
    done = hingeline(
        *("render", "roof.png", *HORIZON, "--lens", "45", "--tilt", "up 8", "--focus", "50%,50%"),
        "--json",
        cwd=roof.parent,
    )

    record = json.loads(done.stdout)
    assert record["setting"]["tilt_deg"] == -8
    assert record["hinge_distance_m"] == pytest.approx(0.045 / np.sin(np.radians(8)))
    assert record["blur"]["middle"]["diameter_px"] < 0.2 * record["blur"]["top"]["diameter_px"]
    assert record["files"] == ["roof_tilted.png"]


def test_a_depth_file_is_used(roof: Path) -> None:
    """With everything at the focus distance and no tilt, the picture comes back as it is."""
    np.save(roof.parent / "flat.npy", np.full((240, 320), 9.0, np.float32))

    done = hingeline(
        *("render", "roof.png", *DEPTH, "flat.npy", "--lens", "45"),
        *("--focus", "9 m", "-o", "same.png"),
        cwd=roof.parent,
    )

    assert done.returncode == 0, done.stderr
    before = np.asarray(Image.open(roof))[51:189, 56:263].astype(int)
    after = np.asarray(Image.open(roof.parent / "same.png")).astype(int)
    assert np.abs(after - before).max() <= 1


def _digest(folder: Path) -> dict[str, str]:
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.is_file()
    }


def _prepare_bad_files(folder: Path) -> None:
    (folder / "words.jpg").write_text("not a picture")
    (folder / "cut.png").write_bytes((folder / "roof.png").read_bytes()[:9000])
    good = np.full((240, 320), 9.0, np.float32)
    np.save(folder / "small.npy", good[:100])
    np.save(folder / "zero.npy", 0 * good)
    np.save(folder / "minus.npy", -good)
    good[5, 5] = np.nan
    np.save(folder / "nan.npy", good)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["words.jpg", *HORIZON], "words.jpg"),
        (["cut.png", *HORIZON], "cut.png"),
        (["missing.jpg", *HORIZON], "missing.jpg"),
        (["roof.png", "--focal-35", "28"], "--height and --pitch"),
        (["roof.png", "--focal-35", "28", "--height", "9"], "add --pitch, or --horizon"),
        (["roof.png", *DEPTH, "small.npy"], "320 x 240"),
        (["roof.png", *DEPTH, "zero.npy"], "zero.npy"),
        (["roof.png", *DEPTH, "minus.npy"], "minus.npy"),
        (["roof.png", *DEPTH, "nan.npy"], "nan.npy"),
        (["roof.png", *HORIZON, "--tilt", "up 95"], "tilt"),
        (["roof.png", *HORIZON, "--f", "0"], "--f"),
        (["roof.png", *HORIZON, "--lens", "17"], "missing of the frame"),
        (["roof.png", *HORIZON, "--focus", "900,40"], "outside the picture"),
        (["roof.png", *HORIZON, "-o", "nowhere/a.png"], "nowhere"),
        (["roof.png", *HORIZON, "-o", "roof.png", "--overwrite"], "roof.png"),
        (["roof.png", *HORIZON, "-o", "a.docx"], "a.docx"),
    ],
)
def test_bad_input_is_one_sentence_and_writes_nothing(
    roof: Path, arguments: list[str], sentence: str
) -> None:
    """Exit code 2, one line that names the thing, no traceback, nothing new, nothing changed."""
    _prepare_bad_files(roof.parent)
    before = _digest(roof.parent)

    done = hingeline("render", *arguments, cwd=roof.parent)

    assert done.returncode == 2
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    assert sentence in lines[0]
    assert done.stdout == ""
    assert _digest(roof.parent) == before


def test_what_is_there_is_not_overwritten_unless_told(roof: Path) -> None:
    """A second run is refused before any work; --overwrite replaces the file."""
    options = ("render", "roof.png", *HORIZON, "--lens", "45", "--tilt", "up 8")
    hingeline(*options, cwd=roof.parent)

    again = hingeline(*options, cwd=roof.parent)
    told = hingeline(*options, "--overwrite", "--f", "8", cwd=roof.parent)

    assert again.returncode == 2
    assert "roof_tilted.png is there already" in again.stderr
    assert told.returncode == 0, told.stderr


def test_a_picture_without_exif_is_answered_with_a_guess(roof: Path) -> None:
    """The answer comes, and says that it hangs on a guess and how to put it right."""
    where = ("--height", "9", "--pitch", "9", "--lens", "60", "--f", "2.8", "--tilt", "up 6")

    done = hingeline("judge", "roof.png", *where, cwd=roof.parent)
    record = json.loads(hingeline("judge", "roof.png", *where, "--json", cwd=roof.parent).stdout)
    sure = hingeline("judge", "roof.png", *where, "--focal-35", "28", cwd=roof.parent)

    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("If the guess is right: ")
    assert "put it right with --focal-35 or --view" in done.stdout
    assert len(record["guessed"]) == 1
    assert "guess is right" not in sure.stdout
    assert sure.stdout.splitlines()[0].lower() in done.stdout.splitlines()[0].lower()
