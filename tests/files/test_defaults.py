"""One's own defaults lie in one file, which is read, written and refused with care."""

from pathlib import Path

import pytest

from render.errors import HingelineError
from render.files.defaults import change_defaults, defaults_file, read_defaults


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where this test's own defaults lie; nothing is there yet."""
    monkeypatch.delenv("HINGELINE_DEFAULTS")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setattr("sys.platform", "linux")
    return tmp_path / "settings" / "hingeline" / "defaults.toml"


def test_what_is_set_is_read_again(place: Path) -> None:
    """The folder is made; a second value leaves the first."""
    assert read_defaults() == {}
    assert change_defaults({"lens-file": "long 90"}) == place
    change_defaults({"by": "Mara Ellingsen"})

    assert read_defaults() == {"lens-file": "long 90", "by": "Mara Ellingsen"}


def test_comments_and_order_stay(place: Path) -> None:
    """A file that its owner wrote is changed where it was asked, and nowhere else."""
    place.parent.mkdir(parents=True)
    place.write_text('# my kit\nformat = "44x33" # the back\npaper = "a3"\n', encoding="utf-8")
    change_defaults({"coc": "0.02 mm"}, ["paper"])

    assert place.read_text(encoding="utf-8") == (
        '# my kit\nformat = "44x33" # the back\ncoc = "0.02 mm"\n'
    )


def test_one_way_of_naming_the_lens_takes_the_others_place(place: Path) -> None:
    """Both together would contradict each other in every shot."""
    change_defaults({"lens-file": "long 90"})
    change_defaults({"lens": "45"})

    assert read_defaults() == {"lens": "45"}


def test_files_are_meant_wherever_a_command_runs(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A logo named from here is found from there; by hand, it is named from the file's folder."""
    (tmp_path / "logo.png").write_bytes(b"x")
    monkeypatch.chdir(tmp_path)
    change_defaults({"logo": "logo.png"})
    found = read_defaults()["logo"]
    place.write_text('logo = "mark.png"\n', encoding="utf-8")

    assert found == str((tmp_path / "logo.png").resolve())
    assert read_defaults()["logo"] == str(place.parent / "mark.png")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b'lens-fil = "long 90"\n', "lens-fil can have no default"),
        (b"lens = \n", "not a readable TOML"),
        (b"\xff\xfe", "no text in UTF-8"),
        (b'coc = "very"\n', "circle of confusion"),
        (b"coc = [1]\n", "give a number"),
    ],
)
def test_a_broken_file_is_named_in_one_sentence(place: Path, content: bytes, sentence: str) -> None:
    """It is read by every command, so whoever reads must know which file is meant."""
    place.parent.mkdir(parents=True)
    place.write_bytes(content)
    for attempt in (read_defaults, lambda: change_defaults({"by": "Mara"})):
        with pytest.raises(HingelineError, match=sentence) as said:
            attempt()
        assert str(place) in str(said.value)
    assert place.read_bytes() == content


def test_nothing_is_set_that_is_not_there(place: Path, tmp_path: Path) -> None:
    """A lens or a logo is looked for when it is said, not when it is needed."""
    for given in ({"lens-file": "long 91"}, {"logo": str(tmp_path / "none.png")}):
        with pytest.raises(HingelineError, match=r"there is no lens|is not there"):
            change_defaults(given)
    assert not place.exists()


def test_the_environment_names_another_file_or_none(
    place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that is named there must be there; "none" is for tests and scripts."""
    change_defaults({"by": "Mara"})
    monkeypatch.setenv("HINGELINE_DEFAULTS", "none")
    assert defaults_file() is None
    assert read_defaults() == {}
    with pytest.raises(HingelineError, match="no place for defaults"):
        change_defaults({"by": "Mara"})
    monkeypatch.setenv("HINGELINE_DEFAULTS", str(tmp_path / "other.toml"))
    with pytest.raises(HingelineError, match=r"other\.toml is not there"):
        read_defaults()


def test_without_a_home_there_are_no_defaults(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands work all the same."""

    def homeless() -> Path:
        raise RuntimeError

    monkeypatch.delenv("XDG_CONFIG_HOME")
    monkeypatch.setattr(Path, "home", homeless)

    assert defaults_file() is None
    assert read_defaults() == {}
