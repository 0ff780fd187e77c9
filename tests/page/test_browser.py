"""The whole job by hand, in a real browser."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, CDPSession, Page, Request, expect, sync_playwright

from render.files.shots import read_shot
from tests.page.conftest import Served, begin, end

SLOW_MS = 60_000
SIZES = [(1440, 900), (820, 1180), (390, 844)]


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    """One headless browser."""
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield made
        made.close()


@dataclass
class Watched:
    """A tab, what its console complained of and what it asked for elsewhere."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    foreign: list[str] = field(default_factory=list)


def _open(browser: Browser, served: Served, size: tuple[int, int] = (1440, 900)) -> Watched:
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, accept_downloads=True
    )
    page = context.new_page()
    page.set_default_timeout(SLOW_MS)
    expect.set_options(timeout=SLOW_MS)
    tab = Watched(page)

    def asked(request: Request) -> None:
        if not request.url.startswith((served.address, "data:", "blob:")):
            tab.foreign.append(request.url)

    page.on(
        "console",
        lambda said: (
            tab.complaints.append(said.text) if said.type in ("error", "warning") else None
        ),
    )
    page.on("pageerror", lambda error: tab.complaints.append(str(error)))
    page.on("request", asked)
    page.goto(served.address)
    return tab


def _turn(page: Page, name: str, words: str) -> None:
    ring = page.locator(f"#ring-{name}")
    ring.click()
    ring.fill(words)
    ring.press("Enter")


def _judged(page: Page) -> str:
    """The verdict, once it is about what is shown."""
    page.wait_for_function(
        "() => { const v = document.querySelector('#verdict');"
        " return v.querySelector('.says') && !v.classList.contains('old'); }"
    )
    return page.locator("#verdict .says").inner_text()


def _click_picture(page: Page, x: float, y: float) -> None:
    box = page.locator("#frame").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])


def test_the_whole_job(browser: Browser, street: Path, tmp_path: Path) -> None:
    """Drop, place, tilt, focus, apply advice, pin two, take away, reload, undo."""
    served = begin()
    try:
        tab = _open(browser, served)
        page = tab.page
        page.locator("#file").set_input_files(str(street))
        expect(page.locator("#open-name")).to_have_text("square.jpg")

        assert _judged(page).startswith("If the guess is right: ")
        expect(page.locator("#verdict .guess")).to_contain_text("height 10 m")
        page.click("#tab-place")
        expect(page.locator("#place")).to_contain_text("only guessed so far")
        box = page.locator("#frame").bounding_box()
        assert box is not None
        line = page.locator("#over path.dashed").bounding_box()
        assert line is not None
        page.mouse.move(box["x"] + 200, line["y"] + line["height"] / 2)
        page.mouse.down()
        page.mouse.move(box["x"] + 210, box["y"] + 0.22 * box["height"], steps=3)
        page.mouse.move(box["x"] + 210, box["y"] + 0.20 * box["height"], steps=3)
        page.mouse.up()
        _turn(page, "height", "4 storeys")
        expect(page.locator("#ring-height")).to_have_value("12 m")

        page.click("#tab-lens")
        expect(page.locator("#ring-height")).to_be_hidden()
        _turn(page, "f", "8")
        _turn(page, "tilt", "up 8")
        expect(page.locator("#ring-tilt")).to_have_value("up 8°")
        _click_picture(page, 0.5, 0.6)
        expect(page.locator("#over")).to_contain_text("focus ")
        expect(page.locator("#verdict .guess")).to_contain_text("focal length 28 mm")
        expect(page.locator("#verdict .guess")).not_to_contain_text("horizon")
        page.locator(".guess button", has_text="It is right").click()
        expect(page.locator("#verdict .guess")).to_have_count(0)
        before = _judged(page)
        assert not before.startswith("If the guess")
        expect(page.locator("#status")).to_contain_text(before)
        page.click("[data-switch=band]")
        expect(page.locator("#over .band-edge")).to_be_attached()

        page.locator("#pins button", has_text="Pin this setting").click()
        advice = page.locator("#verdict > .advice button").first
        promised = float(advice.locator(".gain").inner_text().split("→")[1])
        advice.click()
        page.wait_for_function("() => document.querySelector('#verdict.old')")
        assert _judged(page) != before
        found = page.locator("#verdict .why").first.inner_text()
        assert f"{promised:.0f} of 100" in found
        page.locator("#pins button", has_text="Pin this setting").click()
        expect(page.locator(".pin")).to_have_count(2)

        page.click("#save")
        with page.expect_download() as coming:
            page.locator(".takes li", has_text="Shot file").locator("button").click()
        coming.value.save_as(tmp_path / "square.toml")
        written = dict(read_shot(tmp_path / "square.toml").written)
        assert written["height"] == "4 storeys" or written["height"] == "12 m"
        assert abs(float(written["horizon"].rstrip("%")) - 20) < 1
        with page.expect_download() as coming:
            page.locator(".takes li", has_text="full size").locator(
                "button", has_text="Save"
            ).click()
        coming.value.save_as(tmp_path / "photo.jpg")
        with Image.open(tmp_path / "photo.jpg") as photo:
            assert photo.width > 500
        page.get_by_role("button", name="Close", exact=True).click()

        page.click("#open")
        expect(page.locator("#dialog")).to_contain_text("Open already")
        expect(page.locator("#dialog button", has_text="square.jpg")).to_be_visible()
        page.get_by_role("button", name="Close", exact=True).click()

        focus = page.locator("#ring-tilt").input_value()
        page.reload()
        expect(page.locator("#open-name")).to_have_text("square.jpg")
        expect(page.locator("#ring-tilt")).to_have_value(focus)
        expect(page.locator(".pin")).to_have_count(2)
        for _ in range(12):
            if page.locator("#undo").is_disabled():
                break
            page.click("#undo")
        expect(page.locator("#ring-tilt")).to_have_value("not tilted")
        page.click("#redo")
        expect(page.locator("#redo")).to_be_enabled()

        assert tab.complaints == []
        assert tab.foreign == []
    finally:
        end(served)


def test_a_file_dropped_from_outside_is_opened(browser: Browser, street: Path) -> None:
    """The browser's own drag of a file, as from a folder's window: dashed while over, then open."""
    served = begin()
    try:
        tab = _open(browser, served)
        page = tab.page
        line = page.context.new_cdp_session(page)
        files = {"items": [], "files": [str(street)], "dragOperationsMask": 1}
        expect(page.locator("#places li")).not_to_have_count(0)
        for kind in ("dragEnter", "dragOver", "dragOver"):
            line.send("Input.dispatchDragEvent", {"type": kind, "x": 500, "y": 300, "data": files})
            expect(page.locator("body.over")).to_have_count(1)
            page.wait_for_timeout(200)  # the browser asks the page whether it may be dropped here
        line.send("Input.dispatchDragEvent", {"type": "drop", "x": 500, "y": 300, "data": files})
        expect(page.locator("#open-name")).to_have_text("square.jpg")
        expect(page.locator("body.over")).to_have_count(0)
        assert _judged(page)
        assert tab.complaints == []
        page.context.close()
    finally:
        end(served)


@pytest.mark.parametrize("size", [(1366, 768), (1440, 900), (1920, 1080), (820, 1180), (390, 844)])
def test_what_the_verdict_is_made_of_can_be_seen_at_any_size(
    browser: Browser, served: Served, size: tuple[int, int]
) -> None:
    """Its button is in sight beside the verdict, and a press brings all five parts into sight."""
    tab = _open(browser, served, size)
    page = tab.page
    _judged(page)
    fold = page.locator(".fold")
    box = fold.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= size[1]
    fold.click()
    expect(fold).to_have_attribute("aria-expanded", "true")
    page.wait_for_timeout(100)
    shown = page.evaluate(
        "() => [...document.querySelectorAll('.parts dt')].map((part) => {"
        " const { x, y, width, height } = part.getBoundingClientRect();"
        " return part.contains(document.elementFromPoint(x + width / 2, y + height / 2)); })"
    )
    assert shown == [True] * 5
    page.context.close()


def test_a_finger_drags_the_horizon_and_turns_a_ring(browser: Browser, served: Served) -> None:
    """On a phone: one finger on the dashed line moves it, one on a ring turns it."""
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
    )
    page = context.new_page()
    page.set_default_timeout(SLOW_MS)
    page.goto(served.address)
    _judged(page)
    page.locator("#tab-place").tap()
    line = page.locator("#over path.dashed").bounding_box()
    assert line is not None
    before = page.locator("#ring-pitch").input_value()
    x, y = 180.0, line["y"] + line["height"] / 2
    touch = context.new_cdp_session(page)
    _drag(touch, (x, y), (x, y + 40))
    expect(page.locator("#ring-pitch")).not_to_have_value(before)
    _judged(page)

    page.locator("#tab-lens").tap()
    expect(ring := page.locator("[aria-label='Tilt ring']")).to_be_visible()
    ring.scroll_into_view_if_needed()
    box = ring.bounding_box()
    assert box is not None
    before = page.locator("#ring-tilt").input_value()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    _drag(touch, (x, y), (x - 60, y))
    expect(page.locator("#ring-tilt")).not_to_have_value(before)
    context.close()


def _drag(line: CDPSession, start: tuple[float, float], stop: tuple[float, float]) -> None:
    """One finger from here to there."""
    for step in range(7):
        kind = "touchStart" if step == 0 else "touchMove"
        x, y = (a + (b - a) * step / 6 for a, b in zip(start, stop, strict=True))
        line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


@pytest.mark.parametrize("size", SIZES)
def test_nothing_serious_stands_in_anybodys_way(
    browser: Browser, served: Served, size: tuple[int, int]
) -> None:
    """axe-core finds no serious fault, in both themes and each strip, and nothing overflows."""
    tab = _open(browser, served, size)
    page = tab.page
    _judged(page)
    for press in (None, "#theme", "#tab-place", "#save"):
        if press:
            page.click(press)
        found = Axe().run(page).response["violations"]
        serious = [
            f"{one['id']}: {one['nodes'][0]['html']}"
            for one in found
            if one["impact"] in ("serious", "critical")
        ]

        assert serious == []
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= size[0]
    page.context.close()


def test_everything_can_be_reached_by_keys(browser: Browser, served: Served) -> None:
    """Tab comes to every ring; arrows turn them; the focus spot moves by arrows; Ctrl-Z undoes."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate(
                "document.activeElement.getAttribute('aria-label') || document.activeElement.id"
            )
        )
    assert "Picture: arrow keys move the focus" in reached
    for name in ("Focus", "Tilt", "Swing", "f-number", "Lens", "Rise", "Shift sideways"):
        assert f"{name} ring" in reached

    page.locator("[aria-label='Tilt ring']").focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#ring-tilt")).to_have_value("up 1°")
    here = page.locator("#ring-focus").input_value()
    page.locator("#frame").focus()
    page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("#ring-focus")).not_to_have_value(here)
    page.keyboard.press("Control+z")
    page.wait_for_timeout(400)
    page.keyboard.press("Control+z")
    expect(page.locator("#ring-tilt")).to_have_value("not tilted")
    assert tab.complaints == []
    page.context.close()


def test_what_cannot_be_is_said_where_it_was_written(browser: Browser, served: Served) -> None:
    """A direction without a word, a lens too wide for the picture; the picture stays."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    _turn(page, "tilt", "8")
    expect(page.locator(".ring", has=page.locator("#ring-tilt")).locator(".fault")).to_contain_text(
        'write "down 3", "up 3" or 0'
    )
    _turn(page, "lens", "10")
    expect(page.locator("#trouble")).to_contain_text("not all in the picture")
    page.keyboard.press("Escape")
    page.click("#undo")
    expect(page.locator("#trouble")).to_be_hidden()
    page.context.close()


def test_a_second_tab_is_told_and_a_gone_program_too(browser: Browser, street: Path) -> None:
    """Two tabs know of each other; a killed program is said in one sentence."""
    served = begin(str(street), "--focal-35", "28", "--height", "12", "--horizon", "20%")
    tab = _open(browser, served)
    _judged(tab.page)
    second = tab.page.context.new_page()
    second.goto(served.address)
    expect(tab.page.locator("#trouble")).to_contain_text("open in another tab too", timeout=SLOW_MS)
    second.close()
    served.process.kill()
    served.process.wait(timeout=10)
    for pipe in (served.process.stdout, served.process.stderr):
        assert pipe is not None
        pipe.close()
    _turn(tab.page, "tilt", "up 5")

    expect(tab.page.locator("#trouble")).to_contain_text("start it again in the terminal")
    tab.page.context.close()


YARD = """
line = "A bare yard."

[vantage]
stand_m = [0, -20]
height_m = 12
look_at_m = [0, 0, 0]
focal_mm = 60

[setting]
f_number = 2.8
tilt = "up 6"

[ground]
material = "asphalt"
"""


def test_a_demo_scene_is_walked_round_by_dragging(browser: Browser, tmp_path: Path) -> None:
    """Its own tilt to begin with, a draft, a clean picture, and a vantage that follows the hand."""
    (tmp_path / "yard.toml").write_text(YARD, encoding="utf-8")
    served = begin(str(tmp_path / "yard.toml"))
    try:
        tab = _open(browser, served)
        page = tab.page
        expect(page.locator("#ring-tilt")).to_have_value("up 6°")
        page.click("#tab-place")
        expect(page.locator("#ring-height")).to_have_value("12 m")
        box = page.locator("#frame").bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 300, box["y"] + 200)
        page.mouse.down()
        page.mouse.move(box["x"] + 380, box["y"] + 200, steps=4)
        page.mouse.move(box["x"] + 380, box["y"] + 320, steps=4)
        page.mouse.up()
        expect(page.locator("#ring-height")).not_to_have_value("12 m")
        expect(page.locator("#ring-heading")).not_to_have_value("0°")
        page.click("#undo")
        expect(page.locator("#ring-height")).to_have_value("12 m")
        page.click("#tab-lens")
        assert _judged(page)
        assert tab.complaints == []
        page.context.close()
    finally:
        end(served)


def test_what_is_known_of_the_place_is_set_in_the_picture(browser: Browser, served: Served) -> None:
    """A click and a number make a known distance, a box a standing thing; both are taken back."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    page.click("#tab-place")
    page.get_by_role("button", name="Known distance").first.click()
    _click_picture(page, 0.5, 0.8)
    page.fill("#ask-m", "20")
    page.get_by_role("button", name="Set this distance").click()
    expect(page.locator("#over")).to_contain_text("1: 20 m range")
    expect(page.locator("#place")).to_contain_text("marked distances")

    page.get_by_role("button", name="Standing thing").first.click()
    box = page.locator("#frame").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.4 * box["width"], box["y"] + 0.4 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.6 * box["height"], steps=4)
    page.mouse.up()
    expect(page.locator("#place")).to_contain_text("with 1 thing")
    page.get_by_role("button", name="Remove Standing thing 1").click()
    page.get_by_role("button", name="Remove Known distance 1").click()
    expect(page.locator("#place")).not_to_contain_text("marked distances")
    assert tab.complaints == []
    page.context.close()


def test_rings_turn_no_farther_than_the_lens(
    browser: Browser, street: Path, tmp_path: Path
) -> None:
    """A shot that names its lens: tilt stops at 8°, the f-number at f/22, swing at what is left."""
    shot = tmp_path / "square.toml"
    shot.write_text(
        f'format = 1\npicture = "{street}"\nview = "60"\nheight = "12"\nhorizon = "20%"\n'
        'lens-file = "standard 45"\nfocus = "50%,60%"\n'
    )
    served = begin(str(shot))
    try:
        page = _open(browser, served).page
        tilt, swing = (page.locator(f"#ring-{name} + .barrel") for name in ("tilt", "swing"))
        expect(tilt).to_have_attribute("aria-valuemax", "8")
        for _ in range(8):
            tilt.press("PageUp")
        expect(page.locator("#ring-tilt")).to_have_value("up 8°")
        expect(swing).to_have_attribute("aria-valuemax", "0")
        stop = page.locator("#ring-f + .barrel")
        expect(stop).to_have_attribute("aria-valuemin", "2.8")
        for _ in range(12):
            stop.press("PageUp")
        expect(page.locator("#ring-f")).to_have_value("f/22")
        assert page.locator(".fault:visible").count() == 0
        page.context.close()
    finally:
        end(served)
