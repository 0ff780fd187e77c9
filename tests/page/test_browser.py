"""The whole job by hand, in a real browser."""

import time
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, CDPSession, Page, Request, expect, sync_playwright

from render.files.clips.reading import open_clip
from tests.clips import street as busy_street
from tests.clips import write_clip
from tests.lengths import LENGTHS_M, NO_LENGTHS
from tests.page.conftest import Served, begin, end
from tests.places import bare_yard

SLOW_MS = 60_000
SIZES = [(1440, 900), (820, 1180), (390, 844)]


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    """One headless browser."""
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield made
        made.close()


@pytest.fixture(scope="module")
def empty() -> Iterator[Served]:
    """A page that began with nothing."""
    page = begin()
    yield page
    end(page)


@dataclass
class Watched:
    """A tab, what its console complained of and what it asked for elsewhere."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    foreign: list[str] = field(default_factory=list)


def _open(
    browser: Browser, served: Served, size: tuple[int, int] = (1440, 900), *, touch: bool = False
) -> Watched:
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        accept_downloads=True,
        has_touch=touch,
        is_mobile=touch,
        reduced_motion="reduce",
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
    expect(page.locator(".ring[aria-busy]")).to_have_count(0)  # it has been read


def _judged(page: Page) -> str:
    """The verdict, once it is about what is shown."""
    page.wait_for_function(
        "() => { const v = document.querySelector('#head');"
        " return v.querySelector('.says') && !v.classList.contains('old'); }"
    )
    return page.locator("#head .says").inner_text().split(" ·")[0]


def _box(page: Page, what: str = "#frame") -> dict[str, float]:
    for _ in range(50):
        box = page.locator(what).first.bounding_box()
        if box is not None:
            return dict(box)
        page.wait_for_timeout(100)  # it was drawn anew in this moment
    raise AssertionError(what)


def _horizon_y(page: Page) -> float:
    """Where the horizon is drawn, px from the top of the window."""
    expect(page.locator("#over path.dashed").first).to_be_attached()
    y: float = page.evaluate(
        "() => document.getElementById('frame').getBoundingClientRect().top +"
        " Number(/M0 ([-\\d.]+)/.exec(document.querySelector('#over path.dashed')"
        ".getAttribute('d'))[1])"
    )
    return y


def _click_picture(page: Page, x: float, y: float) -> None:
    box = _box(page)
    page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])


def _drag_picture(page: Page, *places: tuple[float, float]) -> None:
    box = _box(page)
    spots = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in places]
    page.mouse.move(*spots[0])
    page.mouse.down()
    for spot in spots[1:]:
        page.mouse.move(*spot, steps=4)
    page.mouse.up()


def _error_shown(page: Page) -> str:
    expect(page.locator("#trouble")).to_be_visible()
    return page.locator("#trouble-says").inner_text()


def test_the_whole_job(browser: Browser, empty: Served, street: Path, tmp_path: Path) -> None:
    """A picture with its depth, place, tilt, stops, advice, pins, saving, a reload, undo."""
    rows = np.maximum(np.arange(400) - 79.5, 0.5)
    depth_m = np.broadcast_to((12 * 467 / rows)[:, None], (400, 600)).astype(np.float32)
    np.save(tmp_path / "square.npy", depth_m)
    tab = _open(browser, empty)
    page = tab.page
    expect(page.locator("#places li")).not_to_have_count(0)
    page.locator("#file").set_input_files([str(tmp_path / "square.npy"), str(street)])
    expect(page.locator("#open-name")).to_have_text("square.jpg")
    page.click("#tab-place")
    expect(page.locator("#place")).to_contain_text("square.npy")
    page.click("#undo")

    expect(page.locator("#details .guess:not(.near)")).to_contain_text("height 10 m")
    assert _judged(page).startswith("If the guess is right: ")
    line_y = _horizon_y(page)
    box = _box(page)
    page.mouse.move(box["x"] + 200, line_y)
    page.mouse.down()
    page.mouse.move(box["x"] + 210, box["y"] - 0.05 * box["height"], steps=3)
    expect(page.locator("#over")).to_contain_text("above the picture")
    page.mouse.move(box["x"] + 210, box["y"] + 0.20 * box["height"], steps=3)
    page.mouse.up()
    _turn(page, "height", "40 ft")
    expect(page.locator("#ring-height")).to_have_value("12.19 m")
    _turn(page, "height", "4 storeys")
    expect(page.locator("#ring-height")).to_have_value("12 m")
    expect(page.locator("#details .guess:not(.near)")).to_contain_text("so far: focal length 28")

    page.click("#tab-lens")
    _click_picture(page, 0.5, 0.6)
    expect(page.locator("#over")).to_contain_text("focus ")
    page.locator(".guess button", has_text="It is right").click()
    expect(page.locator(".guess:not(.near)")).to_have_count(0)
    before = _judged(page)
    assert not before.startswith("If the guess")
    advice = page.locator("#details > .advice button").first
    promised = float(advice.locator(".gain").inner_text().split("→")[1].split("·")[0])
    advice.click()
    page.wait_for_function("() => document.querySelector('#head.old')")
    _judged(page)
    assert f"{promised:.0f}\u00a0of" in page.locator("#head .why").inner_text()
    _turn(page, "tilt", "up 8")
    _turn(page, "f", "8")
    _judged(page)
    expect(page.locator("#stops .stop[aria-current]")).to_contain_text("f/8")

    page.click("#pin")
    expect(page.locator(".pin")).to_have_count(1)
    page.locator("#stops .stop", has_text="f/4").click()
    expect(page.locator("#ring-f")).to_have_value("f/4")
    page.click("#pin")
    expect(page.locator(".pin")).to_have_count(2)
    expect(page.locator(".pin").first).to_contain_text("f/8")

    page.click("#save")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save: These settings").click()
    coming.value.save_as(tmp_path / "square.zip")
    with zipfile.ZipFile(tmp_path / "square.zip") as packed:
        assert set(packed.namelist()) == {"square.toml", "square.jpg"}
        kept = packed.read("square.toml").decode()
        assert 'picture = "square.jpg"' in kept
        assert 'focal-35 = "28"' in kept  # confirmed by hand
        assert "guessed" not in kept
    expect(page.get_by_role("button", name="Save: Field card")).to_be_disabled()
    expect(page.locator(".takes .lacks")).to_have_text("Before it can be saved, choose: The light.")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save: The photograph, full size").click()
    coming.value.save_as(tmp_path / "photo.jpg")
    with Image.open(tmp_path / "photo.jpg") as photo:
        assert photo.width > 500
    title = page.locator(".takes li", has_text="Client's page").get_by_label("Title")
    title.fill("Square at noon")
    title.press("Enter")
    page.get_by_role("button", name="Close", exact=True).click()

    tilt = page.locator("#ring-tilt").input_value()
    page.reload()
    expect(page.locator("#open-name")).to_have_text("square.jpg")
    expect(page.locator("#ring-tilt")).to_have_value(tilt)
    expect(page.locator(".pin")).to_have_count(2)
    expect(page.get_by_label("Wipe against")).to_have_count(2)
    page.click("#save")
    expect(title).to_have_value("Square at noon")
    page.keyboard.press("Escape")
    for _ in range(14):
        if page.locator("#undo").is_disabled():
            break
        page.click("#undo")
    expect(page.locator("#ring-tilt")).to_have_value("not tilted")
    page.locator("#file").set_input_files(str(tmp_path / "square.zip"))
    expect(page.locator("#ring-f")).to_have_value("f/4")
    expect(page.locator(".guess:not(.near)")).to_have_count(0)
    # pins of what was open before name it, and are no side of this picture's border
    expect(page.locator(".pin").first).to_contain_text("1  square.jpg, f/8")
    expect(page.get_by_label("Wipe against")).to_have_count(0)
    assert tab.complaints == []
    assert tab.foreign == []
    page.context.close()


def test_a_file_dropped_from_outside_is_opened(
    browser: Browser, served: Served, tmp_path: Path
) -> None:
    """The browser's own drag, as from a folder's window; a damaged one is refused in words."""
    Image.effect_noise((300, 200), 90).convert("RGB").save(tmp_path / "roof.jpg")
    (tmp_path / "bad.jpg").write_bytes((tmp_path / "roof.jpg").read_bytes()[:700])
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    line = page.context.new_cdp_session(page)
    for name in ("bad.jpg", "roof.jpg"):
        files = {"items": [], "files": [str(tmp_path / name)], "dragOperationsMask": 1}
        for kind in ("dragEnter", "dragOver", "dragOver"):
            line.send("Input.dispatchDragEvent", {"type": kind, "x": 500, "y": 300, "data": files})
            expect(page.locator("body.over")).to_have_count(1)
            page.wait_for_timeout(150)  # the browser asks the page whether it may be dropped here
        line.send("Input.dispatchDragEvent", {"type": "drop", "x": 500, "y": 300, "data": files})
        if name == "bad.jpg":
            assert "hingeline-page" not in _error_shown(page)
            page.click("#trouble-close")
            expect(page.locator("#trouble")).to_be_hidden()
            assert page.evaluate("document.activeElement.id") == "frame"
    expect(page.locator("#open-name")).to_have_text("roof.jpg")
    expect(page.locator("body.over")).to_have_count(0)
    page.context.close()


@pytest.mark.parametrize("size", [*SIZES, (1280, 720)])
def test_nothing_serious_stands_in_anybodys_way(
    browser: Browser, served: Served, size: tuple[int, int]
) -> None:
    """axe-core finds no serious fault, in both themes and each strip; nothing is cut off.

    A smaller desk has the rules and the parts of the large one, so axe-core looks at one of them.
    """
    tab = _open(browser, served, size)
    page = tab.page
    _judged(page)
    shown = page.locator("#stops .stop").first
    expect(shown).to_be_visible()
    assert _box(page, ".fold")["y"] + 40 <= size[1]
    assert (
        page.evaluate(
            "() => [...document.querySelectorAll('#details > .advice span, #details > .guess p')]"
            ".filter((said) => said.scrollHeight > said.clientHeight + 1 || said"
            ".getBoundingClientRect().bottom > said.parentElement.getBoundingClientRect().bottom)"
            ".map((said) => said.textContent)"
        )
        == []
    )
    advice = _box(page, "#details > *")
    assert advice["y"] + 40 <= min(
        size[1], _box(page, "#hands")["y"] if size[0] < 1000 else size[1]
    )
    page.click(".fold")
    expect(page.locator(".parts dt")).to_have_count(5)
    page.wait_for_timeout(100)
    assert page.evaluate(
        "() => [...document.querySelectorAll('.parts dt')].every((part) => {"
        " const { x, y, width, height } = part.getBoundingClientRect();"
        " return part.contains(document.elementFromPoint(x + width / 2, y + height / 2)); })"
    )
    for press in (None, "#theme", "#tab-place", "#tab-wish", "#save"):
        if press:
            page.click(press)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        if size in SIZES:
            found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
            serious = [
                f"{one['id']}: {one['nodes'][0]['html']}"
                for one in found
                if one["impact"] in ("serious", "critical")
            ]

            assert serious == []
    page.context.close()


def test_on_a_phone_a_finger_does_it_all(browser: Browser, served: Served) -> None:
    """One finger moves the horizon and turns a ring; picture, verdict and undo stay in sight."""
    tab = _open(browser, served, (390, 844), touch=True)
    page = tab.page
    _judged(page)
    page.locator("#tab-place").tap()
    before = page.locator("#ring-pitch").input_value()
    x, y = 180.0, _horizon_y(page)
    touch = page.context.new_cdp_session(page)
    _finger(touch, (x, y), (x, y + 40))
    expect(page.locator("#ring-pitch")).not_to_have_value(before)
    _judged(page)

    page.locator("#tab-lens").tap()
    ring = page.locator("[aria-label='Tilt ring']")
    ring.scroll_into_view_if_needed()
    before = page.locator("#ring-tilt").input_value()
    box = _box(page, "[aria-label='Tilt ring']")
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    _finger(touch, (x, y), (x - 60, y))
    expect(page.locator("#ring-tilt")).not_to_have_value(before)
    _judged(page)
    for what in ("#picture", "#head .says", "#undo", "[aria-label='Tilt ring']"):
        seen = page.evaluate(
            "(what) => { const one = document.querySelector(what);"
            " const { x, y, width, height } = one.getBoundingClientRect();"
            " const there = document.elementFromPoint(x + width / 2, y + height / 2);"
            " return one.contains(there) || there?.closest('#frame, .barrel') !== null; }",
            what,
        )
        assert seen, what
    dimmed = page.evaluate(
        "() => { const head = document.querySelector('#head'); head.classList.add('old');"
        " return getComputedStyle(head).opacity; }"
    )
    assert dimmed == "1", "what scrolls beneath shows through"
    focus = page.locator("#ring-focus").input_value()
    page.locator("[data-switch=loupe]").tap()
    page.locator("#picture").tap()
    expect(page.locator("#loupe")).to_be_visible()
    expect(page.locator("#ring-focus")).to_have_value(focus)
    for wide, high in ((844, 390), (720, 450)):  # held across; a desk at 200 %
        page.set_viewport_size({"width": wide, "height": high})
        page.locator("[aria-label='Shift sideways ring']").scroll_into_view_if_needed()
        for what in ("#picture", "#head .says", "[aria-label='Shift sideways ring']"):
            expect(page.locator(what)).to_be_in_viewport(ratio=1)
    assert tab.complaints == []
    page.context.close()


def _finger(line: CDPSession, start: tuple[float, float], stop: tuple[float, float]) -> None:
    """One finger from here to there."""
    for step in range(7):
        kind = "touchStart" if step == 0 else "touchMove"
        x, y = (a + (b - a) * step / 6 for a, b in zip(start, stop, strict=True))
        line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]})
    line.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_everything_can_be_done_by_keys(browser: Browser, served: Served) -> None:
    """Rings, focus, band, a known distance, an outline and a wish; focus is never lost."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.getAttribute('aria-label')"))
    for name in ("Focus", "Tilt", "Swing", "f-number", "Focal length", "Rise", "Shift sideways"):
        assert f"{name} ring" in reached

    page.locator("[aria-label='Tilt ring']").focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#ring-tilt")).to_have_value("up 1°")
    here = page.locator("#ring-focus").input_value()
    page.locator("#frame").focus()
    page.keyboard.press("Shift+ArrowDown")
    expect(page.locator("#ring-focus")).not_to_have_value(here)
    page.locator("[data-switch=band]").focus()
    page.keyboard.press("Enter")
    handle = page.get_by_role("slider", name="Sharp band, middle")
    expect(handle).to_be_visible()
    was = float(handle.get_attribute("aria-valuenow") or 0)
    handle.focus()
    for _ in range(4):
        page.keyboard.press("Shift+ArrowUp")
        page.wait_for_timeout(300)
    page.wait_for_function(
        "(was) => document.activeElement.getAttribute('aria-valuenow') <= was - 15", arg=was
    )

    page.locator("#tab-place").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#place")).to_be_visible()
    page.locator("[data-tool=mark]").focus()
    page.keyboard.press("Enter")
    page.locator("#frame").focus()
    expect(page.locator("#keys")).to_contain_text("Enter sets a point")
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Enter")
    page.keyboard.type("66 ft")
    page.keyboard.press("Enter")
    expect(page.locator("#over")).to_contain_text("1: 66 ft range")
    page.locator("[data-tool=thing]").focus()
    page.keyboard.press("Enter")
    page.locator("#frame").focus()
    for key in (" ", *["Shift+ArrowUp"] * 3, *["Shift+ArrowLeft"] * 2, "Shift+ArrowDown", " "):
        page.keyboard.press(key)
    expect(page.locator("#place")).to_contain_text("with 1 thing")
    away = page.get_by_role("button", name="Remove Standing thing 1")
    away.focus()
    page.keyboard.press("Enter")
    expect(away).to_have_count(0)
    assert page.evaluate("document.activeElement !== document.body")

    page.locator("#tab-wish").focus()
    page.keyboard.press("Enter")
    page.locator("#frame").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Work out the lens")).to_be_enabled()
    page.get_by_role("button", name="Work out the lens").evaluate(
        "(press) => press.addEventListener('click', () => { for (const _ of 'to') {"
        " document.querySelector('#theme').click();"  # the page follows while it is worked out
        " window.warned = !document.querySelector('#wish p.fault').hidden; } }, { once: true })"
    )
    page.get_by_role("button", name="Work out the lens").focus()
    with page.expect_response("**/api/solve") as first:
        page.keyboard.press("Enter")
    expect(page.locator("#wish .told li").nth(1)).to_be_attached()
    with page.expect_response("**/api/solve") as again:
        page.get_by_role("button", name="Work out the lens").press("Enter")
    asked = [one.value.request.post_data_json["shot"]["values"].get("f") for one in (first, again)]
    assert asked[0] == asked[1] != first.value.json()["values"]["f"]  # what it set is no wish
    answers = [one.value.json() for one in (first, again)]
    assert answers[0]["values"] == answers[1]["values"]
    expect(page.locator("#wish .told .says")).to_be_in_viewport(ratio=1)
    assert page.evaluate("window.warned") is False  # nothing was worked out before
    expect(page.locator("#head .says")).to_contain_text("Place 1 sharp")
    page.locator("#tab-lens").click()
    _turn(page, "tilt", "up 3")  # the ring was set for another lean: as the sheets say
    said = page.get_by_text("was set for another tilt or swing: set anew on place 1")
    expect(said.first).to_be_in_viewport()
    page.click("#undo")
    expect(said).to_have_count(0)
    page.keyboard.press("Control+z")
    page.locator("#tab-wish").click()
    page.get_by_role("button", name="Why").click()
    page.locator("details.judging summary").click()
    for name, answer, usual in (
        ("May be turned", "swing", "both"),
        ("How large it is seen", "phone", ""),
    ):  # each is one step
        page.get_by_label(name).select_option(answer)
        page.click("#undo")
        expect(page.get_by_label(name)).to_have_value(usual)
    assert tab.complaints == []
    page.context.close()


def test_the_band_ends_under_the_pointer(browser: Browser, served: Served) -> None:
    """Dragged by 100 px it lies 100 px lower, drawn so at once and worked out so in the end."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    _turn(page, "tilt", "up 5")
    _click_picture(page, 0.5, 0.45)
    page.click("[data-switch=band]")
    handle = page.get_by_role("slider", name="Sharp band, middle")
    expect(handle).to_be_visible()
    _judged(page)
    box = handle.bounding_box()
    assert box is not None
    x, y = box["x"] + 22, box["y"] + 22
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 60, steps=6)
    page.mouse.move(x, y + 100, steps=2)
    drawn = handle.bounding_box()
    assert drawn is not None
    assert abs(drawn["y"] + 22 - y - 100) < 2
    page.mouse.up()
    page.wait_for_timeout(2500)  # what was drawn for the hand is gone by then
    _judged(page)
    found = handle.bounding_box()
    assert found is not None
    assert abs(found["y"] + 22 - y - 100) < 6
    page.click("#undo")
    expect(page.locator("#undo")).to_be_enabled()
    assert tab.complaints == []
    page.context.close()


def test_before_goes_when_it_is_switched_off(browser: Browser, served: Served) -> None:
    """No half of the picture stays "before" under the verdict of a tilted lens."""
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    _turn(page, "tilt", "up 8")
    _turn(page, "f", "2.8")
    _judged(page)
    strip = (
        "() => { const c = document.getElementById('picture'), p = c.getContext('2d');"
        " const d = p.getImageData(0, Math.round(c.height * 0.9), c.width / 2, 20).data;"
        " let s = 0; for (let i = 4; i < d.length; i += 4) s += Math.abs(d[i] - d[i - 4]);"
        " return s; }"
    )
    soft = page.evaluate(strip)
    page.click("[data-switch=wipe]")
    page.wait_for_function(f"(soft) => ({strip})() > 1.3 * soft", arg=soft)
    page.click("[data-switch=wipe]")
    assert page.evaluate(strip) == pytest.approx(soft, rel=0.1)
    page.context.close()


def test_what_cannot_be_is_said_and_taken_back(browser: Browser, served: Served) -> None:
    """A direction without a word, a unit that is none, a lens too wide; a spot on plain sky.

    Lengths are read as the program reads them.
    """
    tab = _open(browser, served)
    page = tab.page
    _judged(page)
    _turn(page, "tilt", "8")
    expect(page.locator(".ring", has=page.locator("#ring-tilt")).locator(".fault")).to_contain_text(
        'write "down 3", "up 3" or "0"'
    )
    _turn(page, "tilt", "up 8 and a half")  # the command line refuses that too
    expect(page.locator(".ring", has=page.locator("#ring-tilt")).locator(".fault")).to_contain_text(
        "up 8 and a half"
    )
    _turn(page, "focus", "40 furlongs")
    expect(
        page.locator(".ring", has=page.locator("#ring-focus")).locator(".fault")
    ).to_contain_text("ft")
    read = page.evaluate(
        "async (all) => { const { heightKind } = await import('./static/words.js');"
        " return all.map((text) => heightKind.read(text)); }",
        [*LENGTHS_M, *NO_LENGTHS],
    )
    assert read[: len(LENGTHS_M)] == pytest.approx([*LENGTHS_M.values()])
    assert not any(read[len(LENGTHS_M) :])
    told = "import('./static/words.js').then(({ lensKind }) => [28.01, 90].map(lensKind.show))"
    assert page.evaluate(told) == ["28 mm", "90 mm"]  # as `focal_words` tells them
    _turn(page, "lens", "10")
    assert "not all in the picture" in _error_shown(page)
    expect(page.locator(".ring .fault:visible")).to_have_count(0)  # other values hold by now
    _turn(page, "f", "4")
    expect(page.locator("#ring-f")).to_have_value("f/4")
    assert "not all in the picture" in _error_shown(page)
    page.click("#trouble-undo")  # back to what was shown, not to f/4 less
    expect(page.locator("#trouble")).to_be_hidden()
    expect(page.locator("#ring-lens")).not_to_have_value("10 mm")
    _judged(page)
    steps = page.locator("#undo").is_disabled()

    page.click("#tab-place")
    page.click("[data-tool=thing]")
    laid = _box(page)
    _click_picture(page, 0.5, 0.05)
    assert "stands out" in _error_shown(page)
    assert _box(page) == laid  # where the next click goes nothing has moved
    page.click("#trouble-close")
    expect(page.locator("#place .list li")).to_have_count(0)
    page.click("[data-tool=wall-foot]")
    _drag_picture(page, (0.3, 0.05), (0.6, 0.05))
    said = _error_shown(page)
    assert "--" not in said
    expect(page.locator("#place .list li")).to_have_count(0)
    assert page.locator("#undo").is_disabled() == steps
    _drag_picture(page, (0.3, 0.6), (0.6, 0.5))
    expect(page.locator("#place")).to_contain_text("with 1 wall")

    page.click("#tab-wish")
    page.fill("#wish .write input", "banana")
    page.press("#wish .write input", "Enter")
    assert "banana" in _error_shown(page)
    expect(page.locator("#wish .list li")).to_have_count(0)
    for count, spot in enumerate(("50%,70%", "52%,70%"), 1):
        page.fill("#wish .write input", spot)
        page.press("#wish .write input", "Enter")
        expect(page.locator("#wish .list li")).to_have_count(count)
    for press, count in (("Control+z", 1), ("Control+Shift+Z", 2)):  # a mark is a step
        page.locator("#frame").press(press)
        expect(page.locator("#wish .list li")).to_have_count(count)
    one, two = (_box(page, f"#over g:has(text:text-is('{n} sharp')) rect.plate") for n in (1, 2))
    across, down = (abs(one[side] - two[side]) for side in "xy")
    assert across >= min(one["width"], two["width"]) or down >= one["height"]
    page.check("#wish-only")
    page.click("#tab-lens")
    _turn(page, "f", "7.1")
    _judged(page)
    page.click("#open")
    page.locator("dialog .places button").first.click()
    expect(page.locator("#wish .list li")).to_have_count(0)
    expect(page.locator("#wish-only")).not_to_be_checked()
    page.click("#open")
    page.locator("dialog .known button", has_text="square.jpg").click()
    expect(page.locator("#ring-f")).to_have_value("f/7.1")  # as it was left
    expect(page.locator("#place")).to_contain_text("with 1 wall")
    expect(page.locator("#wish .list li")).to_have_count(2)
    expect(page.locator("#wish-only")).to_be_checked()
    page.context.close()


def test_a_film_is_made_by_hand(
    browser: Browser, served: Served, street: Path, tmp_path: Path
) -> None:
    """Key frames are set, moved, taken away and brought back by keys; played, and taken away."""
    tab = _open(browser, served, (1280, 800))
    page = tab.page
    _judged(page)
    page.click("[data-switch=film]")
    film, marks = page.locator("#film"), page.locator("#film .marks button")
    play = film.get_by_role("button", name="Play")
    expect(play).to_be_disabled()

    def at(words: str) -> None:
        page.fill("#film-at", words)
        page.press("#film-at", "Enter")

    _turn(page, "tilt", "0")
    film.get_by_role("button", name="Set key frame").click()
    at("1 s")
    _turn(page, "tilt", "up 8")
    film.get_by_role("button", name="Set key frame").click()
    expect(marks).to_have_count(2)
    marks.nth(1).focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#film [data-key='2 s']")).to_be_focused()
    page.keyboard.press("Delete")
    expect(marks).to_have_count(1)
    expect(play).to_be_disabled()
    late = 1.0  # the moments come when the hand has long been at rest
    page.route("**/moments", lambda route: (time.sleep(late), route.continue_()))
    page.click("#undo")
    at("1 s")
    expect(page.locator("#ring-tilt")).to_have_value("up 4°")
    kept = "() => JSON.stringify({...localStorage, ...sessionStorage}).includes('up 4')"
    page.wait_for_function(kept)
    page.unroute("**/moments")
    page.click("[data-switch=film]")  # put away, the lens is what a hand made it
    expect(page.locator("#ring-tilt")).to_have_value("up 8°")
    page.click("[data-switch=film]")
    before = page.locator("#frame").get_attribute("data-shown")
    play.click()
    page.wait_for_function(
        "(n) => Number(document.getElementById('frame').dataset.shown) > Number(n) + 6",
        arg=before,
    )
    _turn(page, "swing", "left 2")
    expect(play).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 1280
    page.reload()
    expect(marks).to_have_count(2)

    page.fill("#film-length", "0.5")
    page.press("#film-length", "Enter")
    expect(page.locator("#film-length")).to_have_value("2 s")
    expect(page.locator("#film .says.bad")).to_contain_text("frame stands at 2 s")
    page.fill("#film-at", "9 s")
    page.press("#film-at", "Enter")
    expect(page.locator("#film-at")).to_have_value("2 s")
    expect(page.locator("#film .says.bad")).to_have_text("The film ends at 2 s")
    page.fill("#film-length", "0:03")  # read as a command reads a time
    page.press("#film-length", "Enter")
    expect(page.locator("#film-length")).to_have_value("3 s")
    page.click("#save")
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save: These settings").click()
    coming.value.save_as(tmp_path / "film.zip")
    with zipfile.ZipFile(tmp_path / "film.zip") as packed:
        words = packed.read("square.toml").decode()
    assert words.count("[[key-frames]]") == 2
    assert 'at = "2 s"' in words
    assert 'film-length = "3 s"' in words  # it holds for a second at its end
    page.locator("#file").set_input_files([street, tmp_path / "film.zip"])
    expect(marks).to_have_count(2)
    expect(page.locator("#film-length")).to_have_value("3 s")
    assert tab.complaints == []
    page.context.close()


def test_own_footage_is_scrubbed_played_and_taken_away(
    browser: Browser, empty: Served, tmp_path: Path
) -> None:
    """Stills are asked after; a clip shows its frames, is filmed, and a reload brings all back."""
    frames = busy_street(24, 240, 160)
    clip = write_clip(tmp_path / "pond.mp4", frames)
    stills = [tmp_path / f"s{number}.png" for number in range(9, 12)]
    for path, frame in zip(stills, frames, strict=False):
        Image.fromarray(frame).save(path)
    (tmp_path / "bad.mp4").write_bytes(clip.read_bytes()[:900])
    tab = _open(browser, empty, (1024, 700))
    page = tab.page
    page.wait_for_selector("#places button")
    film, told = page.locator("#film"), page.locator("#told")
    page.locator("#file").set_input_files(stills)
    page.get_by_role("button", name="Open as one film").click()
    expect(told).to_contain_text("Frame 1 of 3")
    expect(page.locator("#open-name")).to_contain_text("s%d.png")

    page.locator("#file").set_input_files(clip)
    expect(told).to_contain_text("Frame 1 of 24")
    expect(film).to_be_visible()
    page.fill("#film-at", "0.48")
    page.press("#film-at", "Enter")
    expect(told).to_contain_text("Frame 13 of 24, at 0.48 s")
    page.locator("#film-line").press("ArrowRight")
    expect(told).to_contain_text("Frame 14 of 24")
    shown = int(page.locator("#frame").get_attribute("data-shown") or 0)
    film.get_by_role("button", name="Play").click()
    page.wait_for_function(f"() => document.getElementById('frame').dataset.shown > {shown + 4}")
    film.get_by_role("button", name="Save the film").click()
    with page.expect_download() as coming:
        page.get_by_role("button", name="Save: A clip").click()
    coming.value.save_as(tmp_path / "film.mp4")
    assert len(open_clip(tmp_path / "film.mp4").times) == 24
    page.keyboard.press("Escape")
    page.locator("#file").set_input_files(tmp_path / "bad.mp4")
    assert "bad.mp4" in _error_shown(page)

    page.route(
        "**/api/outline",
        lambda asked: asked.fulfill(json={"corners": ["40%,60%", "60%,60%", "50%,80%"]}),
    )
    page.click("#tab-place")
    page.click("[data-tool=thing]")
    _click_picture(page, 0.5, 0.7)
    mend = page.get_by_role("button", name="Add a part to thing 1")
    expect(mend).to_be_visible()
    page.reload()
    expect(mend).to_be_visible()
    expect(page.locator("#open-name")).to_contain_text("pond.mp4")
    assert page.evaluate("document.documentElement.scrollWidth") == 1024
    assert [said for said in tab.complaints if "422" not in said] == []
    page.context.close()


def test_a_demo_scene_is_walked_round_by_dragging(browser: Browser, tmp_path: Path) -> None:
    """Its own tilt to begin with, and a vantage that follows the hand and each of six notches."""
    served = begin(str(bare_yard(tmp_path)))
    try:
        tab = _open(browser, served, (1024, 768))
        page = tab.page
        expect(page.locator("#ring-tilt")).to_have_value("up 6°")
        page.click("#tab-place")
        expect(page.locator("#ring-height")).to_have_value("12 m")
        _drag_picture(page, (0.3, 0.3), (0.5, 0.3), (0.5, 0.6))
        expect(page.locator("#ring-height")).not_to_have_value("12 m")
        expect(page.locator("#ring-heading")).not_to_have_value("0°")
        page.click("#undo")
        expect(page.locator("#ring-height")).to_have_value("12 m")
        box = _box(page)
        page.mouse.move(box["x"] + 200, box["y"] + 200)
        for _ in range(6):
            page.mouse.wheel(0, 100)
        expect(page.locator("#ring-distance")).to_have_value("28.4 m")
        _turn(page, "distance", "30 yd")
        expect(page.locator("#ring-distance")).to_have_value("27.43 m")
        page.click("#tab-lens")
        assert _judged(page)
        assert tab.complaints == []
        _turn(page, "focus", "eyelash")
        fault = page.locator(".ring", has=page.locator("#ring-focus")).locator(".fault")
        expect(fault).to_contain_text('there is no "eyelash" here; things with names: ')
        _turn(page, "f", "4")  # nothing is left that blocks the next
        assert _judged(page)
        expect(page.locator("#trouble")).to_be_hidden()
        page.context.close()
    finally:
        end(served)


def test_rings_end_at_the_lens_a_second_tab_is_told_and_a_gone_program_too(
    browser: Browser, street: Path, tmp_path: Path
) -> None:
    """A shot that names its lens: tilt stops at 8°, the f-number at f/22, swing at what is left.

    Two tabs know of each other; a killed program is said in one sentence.
    """
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
        _turn(page, "lens", "60")
        lens = page.locator(".ring", has=page.locator("#ring-lens"))
        expect(lens.locator(".fault")).to_contain_text("standard 45")

        _judged(page)
        second = page.context.new_page()
        second.goto(served.address)
        expect(page.locator("#trouble")).to_contain_text("open in another tab too", timeout=SLOW_MS)
        _turn(second, "tilt", "up 5")
        second.locator("#ring-tilt").blur()
        page.reload()  # each tab comes back to its own
        expect(page.locator("#ring-tilt")).to_have_value("up 8°", timeout=SLOW_MS)
        second.reload()
        expect(second.locator("#ring-tilt")).to_have_value("up 5°", timeout=SLOW_MS)
        second.close()
        served.process.kill()
        served.process.wait(timeout=10)
        for pipe in (served.process.stdout, served.process.stderr):
            assert pipe is not None
            pipe.close()
        _turn(page, "tilt", "up 5")

        expect(page.locator("#trouble")).to_contain_text("start it again in the terminal")
        page.context.close()
    finally:
        if served.process.poll() is None:
            end(served)
