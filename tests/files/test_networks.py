"""What is said beside a network."""

from pathlib import Path

import pytest

from render.errors import InputError
from render.files.networks import read_network_use


@pytest.fixture
def model(tmp_path: Path) -> Path:
    """A file with a network's name."""
    path = tmp_path / "net.onnx"
    path.write_bytes(b"x")
    return path


def test_the_toml_beside_it_is_read(model: Path) -> None:
    """Size, kind and normalisation come from the file of the same name."""
    text = 'width = 518\nheight = 392\ngives = "relative inverse"\nmean = [0.4, 0.4, 0.4]\n'
    model.with_suffix(".toml").write_text(text)

    use = read_network_use(model)

    assert (use.width_px, use.height_px, use.gives) == (518, 392, "relative inverse")
    assert use.mean == (0.4, 0.4, 0.4)
    assert use.std == (1, 1, 1)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (None, "is not there: write width"),
        ("width = ", "not a readable TOML"),
        ("width = 64\nheight = 64", "does not say gives"),
        ('width = 64\nheight = 64\ngives = "relative"\nmean = [1]', "net.toml"),
        ('width = 64\nheight = 64\ngives = "relative"\nscale = 1', "scale is not known"),
    ],
)
def test_what_is_missing_or_wrong_is_said(model: Path, text: str | None, sentence: str) -> None:
    """Each fault is one sentence with the file's name."""
    if text is not None:
        model.with_suffix(".toml").write_text(text)

    with pytest.raises(InputError, match=sentence):
        read_network_use(model)


@pytest.mark.parametrize(
    "key", [b"\n\x08", b"\x8a\0\x08", b"\n\x88\0", b"\x8a\x80\0\x88\x80\x80\0"]
)
def test_weights_in_other_files_are_refused(model: Path, key: bytes) -> None:
    """However long the key of such an entry is written, the file that it names is not opened."""
    model.write_bytes(b"\x08\x09weights" + key + b"location\x12\x0bpasswd.data")

    with pytest.raises(InputError, match="keeps its weights in other files"):
        read_network_use(model)


def test_a_place_of_that_name_is_no_other_file(model: Path) -> None:
    """A layer may be called a location."""
    model.write_bytes(b"\x08\x09\n\x0dhead/location\n\x09locations")
    model.with_suffix(".toml").write_text('width = 518\nheight = 392\ngives = "metres"\n')

    assert read_network_use(model).gives == "metres"
