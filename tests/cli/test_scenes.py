"""`hingeline scenes` at the front door."""

import pytest
from typer.testing import CliRunner

from render.cli.scenes import scenes
from render.errors import InputError


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ([], "market  "),
        (["show", "bench"], "third pot"),
        (["show", "market", "--toml"], "[vantage]"),
        (["words"], "house: "),
        (["words", "tree"], "species: "),
    ],
)
def test_it_lists_shows_and_explains(given: list[str], said: str) -> None:
    """Plain text on standard output."""
    done = CliRunner().invoke(scenes, given)

    assert done.exit_code == 0
    assert said in done.output


def test_an_unknown_scene_is_the_users_mistake() -> None:
    """Turned into one sentence by the caller."""
    done = CliRunner().invoke(scenes, ["show", "moon"])

    assert isinstance(done.exception, InputError)
