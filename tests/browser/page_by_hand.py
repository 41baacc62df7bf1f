"""The built page in real browsers, from a file, without a network: what a builder does from the first opening on."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from templater.description.source import Source
from templater.page.copies import BUILT, with_job
from templater.pipeline.make import make

webdriver = pytest.importorskip("selenium.webdriver")
AXE = Path(__file__).with_name("axe.min.js")
CHROMIUM, DRIVER = Path("/usr/bin/chromium"), Path("/usr/bin/chromedriver")
CONFIGS = Path(__file__).parents[2] / "configs"
pytestmark = [
    pytest.mark.skipif(not BUILT.exists(), reason="the page is not built: bash .ci/setup page"),
    pytest.mark.skipif(not DRIVER.exists(), reason="no chromedriver"),
    pytest.mark.xdist_group("page"),
]


class Browser:
    """One Chromium with a profile and a folder of its own, and no network."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        options = webdriver.ChromeOptions()
        options.binary_location = str(CHROMIUM)
        for argument in ("headless=new", "no-sandbox", "disable-dev-shm-usage", "window-size=1280,900",
                         f"user-data-dir={folder / 'profile'}", "host-resolver-rules=MAP * ~NOTFOUND"):  # fmt: skip
            options.add_argument(f"--{argument}")
        options.add_experimental_option("prefs", {"download.default_directory": str(folder)})
        options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(str(DRIVER)))

    def open(self, page: Path) -> None:
        self.driver.get(page.as_uri())
        self.until(lambda: self.script("return document.documentElement.dataset.ready"), 90)

    def script(self, text: str, *arguments: Any) -> Any:
        return self.driver.execute_script(text, *arguments)

    def until(self, wanted: Callable[[], Any], seconds: float = 40) -> Any:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if found := wanted():
                return found
            time.sleep(0.1)
        raise AssertionError(f"not within {seconds} s; the page says: {self.text()[:600]}")

    def text(self) -> str:
        return str(self.script("return document.body.innerText"))

    def find(self, selector: str) -> Any:
        return self.until(lambda: next(iter(self.driver.find_elements("css selector", selector)), None))

    def click(self, selector: str) -> None:
        self.script("arguments[0].scrollIntoView({block: 'center'})", self.find(selector))
        self.find(selector).click()

    def press(self, words: str) -> None:
        button = self.until(lambda: next((one for one in self.driver.find_elements("css selector", "button")
                                          if one.text == words), None))  # fmt: skip
        self.script("arguments[0].click()", button)

    def type(self, selector: str, words: str) -> None:
        box = self.find(selector)
        box.clear()
        box.send_keys(words)

    def saved(self, name: str) -> bytes:
        path = self.folder / name
        self.until(lambda: path.exists() and path.stat().st_size)
        return path.read_bytes()

    def requests(self) -> list[str]:
        """Every address that was asked for outside the file itself and pieces of it."""
        events = [json.loads(one["message"])["message"] for one in self.driver.get_log("performance")]
        asked = [one["params"]["request"]["url"] for one in events if one["method"] == "Network.requestWillBeSent"]
        return [url for url in asked if not url.startswith(("data:", "blob:", "file:", "https://here.invalid/"))]

    def axe(self) -> list[str]:
        self.script(AXE.read_text("utf-8"))
        found = self.driver.execute_async_script(
            "const done = arguments[0]; axe.run(document).then((r) => done(r.violations.map((v) => v.id + ' ' + "
            "v.nodes.map((n) => n.html.slice(0, 90)).slice(0, 2).join(' | '))))"
        )
        return list(found)


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Browser]:
    one = Browser(tmp_path)
    yield one
    one.driver.quit()


def test_from_first_opening_to_proved_files_like_the_command_s(browser: Browser, tmp_path: Path) -> None:
    browser.open(BUILT)
    browser.type("#name", "Sandpiper 2")
    browser.click("#begin-mm")
    browser.type("#f-plank-length", "2500")
    browser.type("#f-floor-thickness", "9/16 in")
    browser.type("#f-plank-thickness", "thick")
    browser.until(lambda: "not a length" in browser.text())
    assert browser.find("#f-plank-thickness").get_attribute("aria-invalid") == "true"
    browser.type("#f-plank-thickness", "35,5")
    browser.until(lambda: "not a length" not in browser.text())
    assert browser.axe() == []
    browser.click("#view-sheets")
    browser.find(".sheet svg")
    assert browser.axe() == []
    browser.click("#print")
    browser.until(lambda: "proved: the worst mark" in browser.text())
    browser.click("#view-share")
    browser.press("The description (YAML)")
    text = browser.saved("boat.yaml")
    assert b"thickness: 9/16 in" in text
    assert b"thickness: 35.5" in text
    assert b"length: 2500" in text
    expected = make(Source(text, "boat.yaml")).files
    browser.click("#view-sheets")
    browser.click("#print")
    for name in ("floor.pdf", "plank.pdf", "manifest.json", "job-sheet.pdf"):
        browser.press(f"save {name}")
        assert browser.saved(name) == expected[name], name
    browser.driver.refresh()  # what was done is still there
    browser.until(lambda: browser.script("return document.documentElement.dataset.ready"), 90)
    assert "Sandpiper 2" in browser.text()[:200]
    browser.click("#view-share")
    browser.click("#copy")
    browser.saved("sandpiper-2.html")
    assert browser.requests() == []
    other = Browser(tmp_path / "other")
    try:
        other.open(tmp_path / "sandpiper-2.html")
        assert other.find("#f-plank-length").get_attribute("value") == "2500"
        other.type("#f-print-paper", "Letter")
        other.click("#view-sheets")
        other.until(lambda: "on Letter" in other.text())
    finally:
        other.driver.quit()


def test_readings_are_typed_with_large_keys_and_answered(browser: Browser, tmp_path: Path) -> None:
    page = tmp_path / "whinchat.html"
    job = {"text": (CONFIGS / "whinchat-3.yaml").read_text("utf-8"), "file": "w.yaml"}
    page.write_bytes(with_job(BUILT.read_bytes(), job))
    browser.open(page)
    browser.click("#view-fitup")
    browser.until(lambda: browser.script("return document.querySelector('#readings')?.value"))
    for side, figures in (("port", ("2608", "2608.5", "2608")), ("starboard", ("2600", "2600.5", "2600"))):
        browser.press(side)
        for figure in figures:
            browser.type("#reading", figure)
            browser.click("#enter")
            browser.until(lambda figure=figure: browser.find("#reading").get_attribute("value") == "")
            time.sleep(0.3)
    browser.until(lambda: "not square yet" in browser.text())
    assert "port end:" in browser.text()
    assert browser.axe() == []
    assert browser.requests() == []
