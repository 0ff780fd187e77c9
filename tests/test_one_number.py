"""One shot walked through every command and the page: the same numbers everywhere."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from render.files.shots import read_shot, write_shot
from render.jobs.board import board
from render.jobs.card import card
from render.jobs.compare import compare
from render.jobs.judge import judge
from render.jobs.loupe import loupe
from render.jobs.made import Made
from render.jobs.render import render
from render.jobs.section import section
from render.live.preview import Look, Preview
from render.load.progress import silent
from render.shot.shot import Shot, merged
from render.shot.wishes import BoardWishes, DayWishes, JudgeWishes

GIVEN = {
    "view": "44",
    "height": "11",
    "pitch": "19",
    "lens-file": "standard 45",
    "f": "4",
    "tilt": "up 6",
    "swing": "left 2",
    "focus": "50%,58%",
    "coc": "0.04 mm",
}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Made]:
    """The shot read from its file and put through every command."""
    folder = tmp_path_factory.mktemp("walk")
    light = np.random.default_rng(1).integers(60, 200, (80, 120, 3), dtype=np.uint8)
    Image.fromarray(light).save(folder / "roof.png")
    start = Shot(picture=str(folder / "roof.png"))
    given = {**GIVEN, "check": ("cart=50%,58%",)}
    write_shot(folder / "roof.toml", merged(start, given, "{name}"))
    shot = read_shot(folder / "roof.toml")
    sun = DayWishes(weather="sun")
    return {
        "render": render(shot, folder / "out.png", progress=silent),
        "judge": judge(shot, JudgeWishes(), progress=silent),
        "card": card(shot, sun, progress=silent),
        "board": board(shot, folder / "board.pdf", BoardWishes(), progress=silent),
        "section": section(shot, folder / "section.svg", progress=silent),
        "compare": compare(shot, folder / "sheet.png", cell_px=160, progress=silent),
        "loupe": loupe(shot, folder / "loupe.png", progress=silent),
    }


@pytest.fixture(scope="module")
def shown(made: dict[str, Made]) -> dict[str, Any]:
    """What the page says of the same shot."""
    folder = made["render"].files[0].parent
    preview = Preview()
    try:
        shot = read_shot(folder / "roof.toml")
        return preview.look(shot, Look(pixels=80 * 120)).told
    finally:
        preview.close()


def test_every_record_holds_the_same_setting(made: dict[str, Made], shown: dict[str, Any]) -> None:
    """Tilt, ring, hinge, circle, names: equal to the last digit, and JSON holds them."""
    expected = made["render"].record["setting"]

    assert expected["lens"] == "standard 45"
    assert expected["focus_ring_m"] > 0
    assert expected["named"][0]["name"] == "cart"
    for name, job in made.items():
        assert json.loads(json.dumps(job.record, allow_nan=False))["setting"] == expected, name
    on_page = shown["setting"]
    for key, value in expected.items():
        close = pytest.approx(value, rel=2e-3) if isinstance(value, float) else value
        assert key == "named" or on_page[key] == close, key


def test_the_words_of_the_ring_are_the_same_in_render_and_card(made: dict[str, Made]) -> None:
    """The ring's distance and turn, letter for letter."""
    words = made["render"].record["setting"]["focus_ring_words"]
    card_text, render_text = ("\n".join(made[name].lines) for name in ("card", "render"))

    assert f"Focus ring of the standard 45: {words}" in render_text
    assert f"focus ring at {words}" in card_text
    assert f"the ring will stand near {words}" in card_text


def test_verdict_and_circle_agree(made: dict[str, Made]) -> None:
    """Judge, card and the sheet's own cell name one verdict; one circle of confusion serves all."""
    verdict = made["judge"].record
    on_card = made["card"].record["verdict"]
    (cell,) = (one for one in made["compare"].record["cells"] if one["words"] == "f/4")

    assert on_card["word"] == verdict["word"] == cell["word"]
    assert on_card["score"] == verdict["score"] == cell["score"]
    assert made["render"].record["coc_mm"] == verdict["parts"]["visibility"]["coc_mm"]


def test_the_hinge_of_the_section_is_that_of_the_render(made: dict[str, Made]) -> None:
    """What is drawn is what is said."""
    distance = made["render"].record["hinge_distance_m"]
    drawn = Path(made["section"].files[0]).read_text()

    assert made["section"].record["setting"]["hinge_distance_m"] == distance
    assert f"hinge line {distance:.3f} m" in drawn.replace("&#160;", " ")
