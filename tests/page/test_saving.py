"""Things are made in a process of their own."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from render.errors import InputError
from render.files.shots import read_shot
from render.page.desk import Desk
from render.page.orders import Order
from render.page.saving import Saving
from render.shot.shot import Shot, merged

VALUES = {"focal-35": "28", "height": "12", "horizon": "20%", "tilt": "up 8"}


@pytest.fixture
def saving() -> Iterator[Saving]:
    made = Saving(Desk())
    yield made
    made.close()
    made.desk.clear()


def _wait(saving: Saving, name: str) -> dict[str, object]:
    for _ in range(600):
        state = saving.state(name)
        if state["done"] or state["problem"]:
            return state
        time.sleep(0.05)
    raise AssertionError("it did not end")


def test_a_thing_is_made_and_can_be_fetched(saving: Saving, street: Path) -> None:
    """The file lies in the desk's own folder."""
    shot = merged(Shot(picture=str(street)), dict(VALUES), "{name}")
    name = saving.begin(Order("shot", "toml"), [shot])
    state = _wait(saving, name)

    assert state["done"], state
    assert saving.desk.folder in saving.made(name).parents
    assert read_shot(saving.made(name)) == shot


def test_a_problem_comes_back_as_its_sentence(saving: Saving, tmp_path: Path) -> None:
    """What the job says is what is shown."""
    name = saving.begin(Order("photograph", "jpg"), [Shot(picture=str(tmp_path / "gone.jpg"))])
    state = _wait(saving, name)

    assert "gone.jpg" in str(state["problem"])
    with pytest.raises(InputError, match="not finished"):
        saving.made(name)


def test_one_is_made_at_a_time_and_can_be_stopped(saving: Saving, street: Path) -> None:
    """Stopping ends the process and removes what it wrote."""
    shot = merged(Shot(picture=str(street)), dict(VALUES), "{name}")
    name = saving.begin(Order("photograph", "jpg"), [shot])
    with pytest.raises(InputError, match="something else is being made"):
        saving.begin(Order("shot", "toml"), [shot])
    saving.stop(name)

    assert saving.state(name)["problem"] == "stopped"
    assert list(saving.desk.folder.iterdir()) == []
    assert _wait(saving, saving.begin(Order("shot", "toml"), [shot]))["done"]


def test_an_unknown_thing_is_refused(saving: Saving) -> None:
    """An id that was never given leads nowhere."""
    with pytest.raises(InputError, match="no longer kept"):
        saving.state("x")
