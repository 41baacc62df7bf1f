"""The built page in real browsers, from a file, without a network: what a builder does from the first opening on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from engines import Browser, Chromium, Firefox, WebKit, browser
from selenium.webdriver.common.keys import Keys

from templater.description.load import Source
from templater.page.texts import BUILT, with_job
from templater.pipeline.make import make

CONFIGS = Path(__file__).parents[2] / "configs"
DEMO = (CONFIGS / "whinchat-3.yaml").read_bytes()
pytestmark = pytest.mark.skipif(not BUILT.exists(), reason="the page is built by: bash .ci/setup page")
VIEWS = ("boat", "sheets", "printer", "bench", "fitup", "share")


@pytest.fixture
def chromium(tmp_path: Path) -> Iterator[Chromium]:
    with browser(Chromium, tmp_path / "own") as one:
        yield one


def demo_page(folder: Path) -> Path:
    path = folder / "whinchat.html"
    path.write_bytes(with_job(BUILT.read_bytes(), {"text": DEMO.decode(), "file": "whinchat-3.yaml"}))
    return path


def tab_to(one: Chromium, selector: str, *, back: bool = False) -> None:
    """Reach something by the keyboard alone; whatever has the focus must show it."""
    for _ in range(400):
        one.chord(Keys.SHIFT, Keys.TAB) if back else one.keys(Keys.TAB)
        at, shown = one.run("const e = document.activeElement, s = getComputedStyle(e);"
                            "return [e.matches(args[0]), s.outlineStyle !== 'none']", selector)  # fmt: skip
        assert shown
        if at:
            return
    raise AssertionError(f"{selector} is not reached by keyboard")


def fill(one: Chromium, selector: str, words: str) -> None:
    """Reach a box by keyboard, and type over what stands there."""
    tab_to(one, selector)
    one.chord(Keys.CONTROL, "a")
    one.keys(words)


def holes(manifest: bytes) -> dict[tuple[str, str], tuple[float, float, float]]:
    data = json.loads(manifest)
    return {(sheet["name"], hole["id"]): (hole["x"], hole["y"], hole["diameter"])
            for sheet in data["sheets"] for hole in sheet["holes"]}  # fmt: skip


def seen(one: Browser) -> None:
    """Wait until all is found that is to be found about the boat."""
    one.until(lambda: "being looked at" not in one.text() and "looking at" not in one.text())


def enter(one: Browser, *readings: str) -> None:
    one.there(".places li")
    for reading in readings:
        one.type("#reading", reading)
        one.click("#enter")
        one.until(lambda: one.value("#reading") == "")
    shown = "return document.querySelector('.places').innerText"
    one.until(lambda: all(reading in one.run(shown) for reading in readings))


def test_by_keyboard_from_the_first_opening_to_the_friend_s_own_sheets(chromium: Chromium, tmp_path: Path) -> None:
    one = chromium
    one.open(BUILT)
    assert one.axe() == []
    fill(one, "#name", "Sandpiper 2")
    tab_to(one, "#begin-mm")
    one.keys(Keys.ENTER)
    one.there("#f-plank-length")
    for key, words in (
        ("steering_post-diameter", "3,2 cm"), ("floor-thickness", "9/16 in"), ("floor-outline-1-1", "310"),
        ("plank-length", "2500"), ("plank-thickness", "thick"), ("plank-crown", "45"), ("fixing-half_spread", "200"),
        ("fittings-0-name", "<b>cleat</b> & co"), ("fittings-0-drill", "6"),
    ):  # fmt: skip
        fill(one, f"#f-{key}", words)
    one.says("not a length")  # a mistake, answered at its field, and put right
    assert one.run("return document.querySelector('#f-plank-thickness').getAttribute('aria-invalid')") == "true"
    one.says("The pictures are of the boat before the errors.")
    one.run("[...document.querySelectorAll('.findings button')].find((e) => /not a length/.test(e.innerText)).focus()")
    one.keys(Keys.ENTER)
    assert one.run("return document.activeElement.id") == "f-plank-thickness"
    one.chord(Keys.CONTROL, "a")
    one.keys("35,5", Keys.TAB)
    one.until(lambda: "not a length" not in one.text())
    active = "return document.querySelector('[data-picture=plan] .measure.active text')?.textContent"
    tab_to(one, "#f-plank-length", back=True)
    one.until(lambda: "2500" in (one.run(active) or ""))
    tab_to(one, "#view-sheets", back=True)
    one.keys(Keys.ENTER)
    one.there(".sheet svg")
    tab_to(one, "#print")
    one.keys(Keys.ENTER)
    one.says("read back and proved: the worst mark is")

    one.click("#view-share")
    one.click("#yaml")
    text = one.download("boat.yaml")
    assert b"thickness: 9/16 in " in text  # its comment stands behind it still
    assert b"thickness: 35.5 " in text
    expected = make(Source(text, "boat.yaml")).files
    one.click("#view-sheets")
    one.click("#print")
    for name in expected:
        one.press(f"save {name}")
        assert one.download(name) == expected[name], name

    one.click("#view-share")
    one.click("#copy")
    copy = one.download("sandpiper-2.html")
    assert len(copy) < 14_000_000
    assert one.complaints() == []
    one.asks_nothing()
    friend = tmp_path / "from-a-friend.html"
    friend.write_bytes(copy)
    with browser(Chromium, tmp_path / "other") as other:
        other.open(friend)
        assert other.value("#f-plank-length") == "2500"
        other.type("#f-print-paper", "Letter")
        other.choose("#f-units", "in")
        other.until(lambda: other.value("#f-plank-length") == "2500 mm")
        other.click("#view-sheets")
        other.says("on Letter")
        other.click("#print")
        other.press("save manifest.json")
        there, here = holes(other.download("manifest.json")), holes(expected["manifest.json"])
        assert there.keys() == here.keys()
        for hole, place in here.items():
            assert there[hole] == pytest.approx(place, abs=1e-3), hole


def test_printer_fit_up_and_bench_of_the_demo_boat(chromium: Chromium, tmp_path: Path) -> None:
    one = chromium
    one.open(demo_page(tmp_path))
    one.click("#view-printer")
    one.click("#bars")
    assert one.download("printer-page.pdf").startswith(b"%PDF")
    for bar in ("across", "along"):
        drawn = one.run("return document.querySelector(`label[for=pr-${args[0]}]`).innerText", bar)
        one.type(f"#pr-{bar}", f"{float(drawn.split('drawn ')[1].split()[0]) * 0.99:.2f}".replace(".", ","))
    one.type("#pr-paper", "Letter")  # the bars stay those of the page that was saved, whatever is typed afterwards
    one.click("#keep-printer")
    one.says("the sheets are drawn to make up for it")
    one.click("#view-sheets")
    one.click("#print")
    one.press("save manifest.json")
    a, b, c, d, *_ = json.loads(one.download("manifest.json"))["sheets"][0]["pages"][0]["to_page"]
    assert abs(a * d - b * c) == pytest.approx(1 / 0.99**2, abs=2e-4)

    one.click("#view-fitup")
    enter(one, "2608", "2608.5", "2668")
    one.press("tape, starboard")
    enter(one, "2600", "2600.5", "2600")
    one.says("2668 is +59.8 mm off the others; left out")
    one.run("document.querySelector('button[aria-label^=\"remove 2668\"]').click()")
    one.press("tape, port")
    enter(one, "2608")
    one.says("out of tolerance")
    one.says("port end:")
    assert one.run("return document.querySelectorAll('[data-picture=attempt] svg path').length") > 3
    one.click("#next")
    one.says("Attempt 2")
    one.choose("#setting", "1")
    one.until(lambda: one.value("#setting") == "1")
    one.click("#fit-centreline")
    for number, middle in enumerate((210, 250, 290)):
        for side in ("port", "starboard"):
            one.run("[...document.querySelectorAll('.places button')].filter((one) => one.innerText.endsWith(args[0]))"
                    "[args[1]].click()", side, number)  # fmt: skip
            enter(one, str(middle))
    one.says("Draw the centreline through the two marks")
    one.click("#fit-shim")
    one.press("tilt in degrees, port")
    enter(one, "0.5")
    one.press("tilt in degrees, starboard")
    enter(one, "0.4")
    one.says("port shim, at the bolt")
    one.click("#fit-sheets")
    one.press("save shim-port.pdf")
    assert one.download("shim-port.pdf").startswith(b"%PDF")
    assert one.axe() == []

    one.click("#view-bench")
    box = "document.querySelector('.page').shadowRoot.querySelector('input[type=checkbox]')"
    one.until(lambda: one.run(f"return Boolean(document.querySelector('.page')?.shadowRoot && {box})"))
    one.run(f"{box}.click()")
    one.driver.refresh()
    one.ready()
    one.until(lambda: one.run(f"return document.querySelector('.page')?.shadowRoot && {box}.checked"))
    one.click("#view-fitup")
    one.there(".fitup .page")
    one.run("document.querySelector('details:has(.page)').open = true")
    one.says("0.4")

    one.click("#view-share")
    one.click("#hand-over")
    handed = one.download("whinchat-3-handover.pdf")
    one.press("Undo")
    one.drop("from-a-friend.pdf", handed)
    one.says("from-a-friend.pdf: opened")
    one.click("#yaml")
    assert one.download("whinchat-3.yaml") == DEMO.replace(b"margin: 7}", b"margin: 7, printer: my printer}")
    assert one.complaints() == []


def test_nothing_is_lost_and_no_text_is_taken_for_more_than_text(chromium: Chromium, tmp_path: Path) -> None:
    one = chromium
    page = demo_page(tmp_path)
    one.open(page)
    one.run("const box = document.querySelector('#f-plank-crown'); box.focus(); box.select();")
    one.keys("41")  # and reloaded at once, in the middle of it
    one.driver.refresh()
    one.ready()
    one.until(lambda: one.value("#f-plank-crown") == "41")

    one.click("#as-text")
    one.run("const box = document.querySelector('#text'); box.focus(); box.setSelectionRange(0, 0);")
    one.keys("<script>: [\n")
    one.says("line ")
    one.press("Fields")
    one.click("#view-sheets")
    one.says("once the errors are put right")
    one.drop("holiday.jpg", b"\xff\xd8\xff\xe0 no boat")
    one.says("holiday.jpg: neither text nor PDF")
    for _ in range(len("<script>: [\n")):
        one.press("Undo")
    one.there(".sheet svg")

    first = one.driver.current_window_handle
    one.driver.switch_to.new_window("tab")
    one.open(page)
    one.click("#view-boat")
    one.type("#f-plank-crown", "42")
    one.driver.switch_to.window(first)
    one.says("This boat was changed in another window.")
    one.click("#theirs")
    one.click("#view-boat")
    one.until(lambda: one.value("#f-plank-crown") == "42")

    one.run("Storage.prototype.setItem = () => { throw new Error('full') }")
    one.type("#f-plank-crown", "43")
    one.says("This browser does not keep your work")
    one.drop("other.yaml", (CONFIGS / "whinchat-5.yaml").read_bytes())
    one.says("other.yaml: opened")
    one.until(lambda: one.value("#f-boat") == "Whinchat 5")
    one.run("window.showSaveFilePicker = async () => ({ name: 'kept.yaml', createWritable: async () => ({"
            "write: async (text) => { window.written = text; }, close: async () => {} }) })")  # fmt: skip
    one.click("#save")
    one.says("saved in kept.yaml")
    assert one.run("return window.written").encode() == (CONFIGS / "whinchat-5.yaml").read_bytes()

    # More holes than can be looked at soon: it is stopped, and the text is there still.
    one.run("document.querySelector('#as-text').click()")
    many = DEMO.replace(b"{rectangle: [40, 24]}", b"{circle: {diameter: 30, count: 90000}}")
    one.drop("many.yaml", many)
    one.click("#stop")
    one.says("Stopped; your texts are as they were.")
    assert one.value("#text").encode() == many
    one.press("Undo")
    one.press("Fields")
    one.until(lambda: one.value("#f-boat") == "Whinchat 5")


def test_every_view_is_fit_for_everybody(chromium: Chromium, tmp_path: Path) -> None:
    one = chromium
    one.open(demo_page(tmp_path))
    other = tmp_path / "whinchat-5.yaml"
    other.write_bytes((CONFIGS / "whinchat-5.yaml").read_bytes())
    ready = {"boat": "Whinchat 3", "sheets": "tile 1-1", "printer": "Measure your printer", "bench": "Caution",
             "fitup": "tape, port", "share": "Save a copy"}  # fmt: skip
    for view in VIEWS:
        one.click(f"#view-{view}")
        one.says(ready[view])
        seen(one)
        if view == "share":
            one.run("document.querySelector('#other').scrollIntoView()")
            one.driver.find_element("css selector", "#other").send_keys(str(other))
            one.says("Holes that differ")
        if view == "bench":
            assert one.run("return getComputedStyle(document.querySelector('.page').shadowRoot.querySelector('h1'))"
                           ".fontSize") > "20px"  # fmt: skip
        for scheme in ("light", "dark"):
            one.media(prefers_color_scheme=scheme)
            assert one.axe() == [], (view, scheme)
        # 640 is what 1280 leaves at 200 %; a phone; a tablet held upright.
        for width in (640, 390, 768):
            one.size(width)
            wide, room = one.run("return [document.documentElement.scrollWidth, document.documentElement.clientWidth]")
            assert wide <= room, (view, width)
        one.size(1280)
        one.media(prefers_color_scheme="light", forced_colors="active", prefers_reduced_motion="reduce")
        moving = one.run("return [...document.querySelectorAll('*')].some((e) => parseFloat(getComputedStyle(e)"
                         ".transitionDuration) > 0)")  # fmt: skip
        assert not moving
    widths = one.run("return [...document.querySelectorAll('nav button')].map("
                     "(e) => getComputedStyle(e).borderTopWidth)")  # fmt: skip
    assert widths[-1] not in widths[:-1]  # the view one is in can be told without colours
    assert one.complaints() == []


@pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")  # selenium's own, for WebKit
@pytest.mark.parametrize("engine", [Firefox, WebKit])
def test_the_page_works_in_other_browsers(engine: type[Browser], tmp_path: Path) -> None:
    with browser(engine, tmp_path / "own") as one:
        one.open(demo_page(tmp_path))
        one.type("#f-plank-crown", "39")
        one.until(lambda: "39.0" in one.run("return document.querySelector('[data-picture=plank]').textContent"))
        one.click("#view-sheets")
        one.there(".sheet svg")
        one.note_saved()
        one.click("#print")
        text = DEMO.replace(b"crown: 38", b"crown: 39")
        expected = make(Source(text, "whinchat-3.yaml")).files
        for name in ("floor.pdf", "manifest.json", "job-sheet.pdf"):
            one.press(f"save {name}")
            assert one.saved(name) == expected[name], name
        one.click("#view-fitup")
        enter(one, "2608", "2608.5")
        one.press("tape, starboard")
        enter(one, "2600", "2600.5")
        one.says("port end:")
        assert one.axe() == []
        one.asks_nothing()
