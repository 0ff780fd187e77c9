"""The page to wipe and blink, driven in a real browser."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from render.sheets.compare import Cell
from render.sheets.wipe import wipe_page

CHROMIUM = Path("/usr/bin/chromium")


def _page() -> str:
    cells = [
        Cell(
            picture=Image.new("RGB", (300, 200), colour),
            setting=setting,
            scale="reads as 1:105",
            figures="band 5 %",
            verdict="reads as a model",
            suggested=setting == "f/4",
        )
        for setting, colour in (("f/2.8", (255, 0, 0)), ("f/4", (0, 0, 255)), ("f/8", (0, 99, 0)))
    ]
    title = 'Пристань </script><script>alert(1)</script> "@cells@" & Łódź'
    return wipe_page(cells, title=title, subtitle="45 mm", notes=("Assumed: <nothing>.",))


def test_the_page_holds_everything_itself() -> None:
    """No address is named, and words from outside cannot become markup."""
    text = _page()

    assert "http://" not in text
    assert "https://" not in text
    assert "default-src 'none'" in text
    assert "<script>alert" not in text
    assert text.count('type="application/json"') == 1


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A headless Chromium of the system."""
    if not CHROMIUM.exists():
        pytest.skip("no chromium at /usr/bin/chromium")
    api = pytest.importorskip("playwright.sync_api")
    with api.sync_playwright() as play:
        running = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield running
        running.close()


@pytest.fixture
def page(browser: Any, tmp_path: Path) -> Iterator[Any]:
    """The page opened from a file; afterwards: no console message, no request to anywhere."""
    path = tmp_path / "compare.html"
    path.write_text(_page(), encoding="utf-8")
    opened = browser.new_page(viewport={"width": 1200, "height": 800})
    said: list[str] = []
    asked: list[str] = []
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("request", lambda request: asked.append(request.url))
    opened.goto(path.as_uri())
    yield opened
    opened.close()

    assert said == []
    assert [url for url in asked if not url.startswith("data:")] == [path.as_uri()]


def _edge(page: Any) -> float:
    return float(page.evaluate("parseFloat(document.getElementById('edge').style.left)"))


def _shown(page: Any, share: float) -> tuple[int, int, int]:
    """Colour of the stage at a share of its width."""
    box = page.locator("#stage").bounding_box()
    clip = {"x": box["x"] + share * box["width"], "y": box["y"] + box["height"] / 2}
    png = page.screenshot(clip={**clip, "width": 2, "height": 2})
    red, green, blue = Image.open(BytesIO(png)).convert("RGB").getpixel((0, 0))  # type: ignore[misc]
    return red, green, blue


def _is_red(colour: tuple[int, int, int]) -> bool:
    return colour[0] > 200 and colour[2] < 60


def test_the_wipe_follows_keys_and_pointer(page: Any) -> None:
    """Arrow keys move the edge by steps, a drag moves it to the pointer; pictures follow."""
    assert _edge(page) == 50
    assert _is_red(_shown(page, 0.45))
    assert not _is_red(_shown(page, 0.55))
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    assert _edge(page) == 70
    assert _is_red(_shown(page, 0.65))

    box = page.locator("#stage").bounding_box()
    page.mouse.move(box["x"] + 0.7 * box["width"], box["y"] + 50)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.2 * box["width"], box["y"] + 60)
    page.mouse.up()
    assert _edge(page) == pytest.approx(20, abs=1)
    assert not _is_red(_shown(page, 0.3))


def test_blink_turns_the_whole_picture(page: Any) -> None:
    """B shows the other picture everywhere and back; space blinks until pressed again."""
    page.keyboard.press("b")
    assert not _is_red(_shown(page, 0.1))
    page.keyboard.press("b")
    page.keyboard.press(" ")
    assert page.get_attribute("#blink", "aria-pressed") == "true"
    seen = set()
    for _ in range(8):
        seen.add(_is_red(_shown(page, 0.1)))
        page.wait_for_timeout(250)
    assert seen == {True, False}
    page.keyboard.press(" ")
    assert page.get_attribute("#blink", "aria-pressed") == "false"
    assert _edge(page) == 50


def test_any_two_are_chosen_by_list_or_key(page: Any) -> None:
    """Figures choose the left picture, with shift the right one; X swaps them."""
    page.keyboard.press("3")
    page.keyboard.press("Shift+Digit1")
    assert page.input_value("#left") == "2"
    assert page.input_value("#right") == "0"
    page.keyboard.press("x")
    assert page.input_value("#left") == "0"
    page.select_option("#left", "1")
    assert page.text_content("#tag-left") == "f/4"
    assert "suggested" in (page.text_content("#words-left") or "")


def test_the_title_is_text(page: Any) -> None:
    """Markup in a title is shown, not run; other scripts are in the embedded font."""
    assert page.text_content("h1") == 'Пристань </script><script>alert(1)</script> "@cells@" & Łódź'
    assert page.evaluate("document.fonts.check('16px Inter', 'Пристань')")


@pytest.mark.parametrize("size", [(390, 780), (1920, 1080), (1000, 420)])
def test_the_page_fits_phone_and_desk(page: Any, size: tuple[int, int]) -> None:
    """Nothing runs off sideways, and buttons are at least 44 px high."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.wait_for_timeout(50)

    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    for name in ("#blink", "#swap", "#left"):
        assert page.locator(name).bounding_box()["height"] >= 44


def test_paper_shows_every_picture_and_nothing_to_press(page: Any) -> None:
    """Printed, each picture stands with its words on white, and the controls are gone."""
    page.emulate_media(media="print")

    for figure, setting in zip(page.locator("figure").all(), ("f/2.8", "f/4", "f/8"), strict=True):
        assert setting in figure.inner_text()
        assert figure.locator("img").bounding_box()["height"] > 300
    assert not page.locator("#stage, #controls, .keys").filter(visible=True).all()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
