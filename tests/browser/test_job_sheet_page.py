"""The job sheet's page in a browser: quiet, alone, reachable by keyboard, narrow enough for a phone, fit for printing.

Accessibility is judged by axe-core (WCAG 2.2 A and AA rules among its own), which lies beside this file unchanged
under its licence, MPL-2.0.
"""

import base64
import json
import shutil
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pypdfium2
import pytest
from fitup_boats import Builder, attempt, both, readings, repeats, station, whinchat
from job_sheets import BOATS, Page, boxes_on, job, pdf_pages, stacked
from selenium import webdriver
from selenium.webdriver import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from templater.boat.solved import Side
from templater.fitup.readings import CentrelineReadings, Readings, ShimReadings, Toe
from templater.fitup.record import record
from templater.report.fitup import fitup_page

AXE = (Path(__file__).parent / "axe.min.js").read_text("utf-8")
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip
FIT_UP = "fit-up"
PHONE, DESKTOP = (390, 844), (1200, 900)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("pages")
    for name in BOATS:
        (folder / f"{name}.html").write_bytes(job(name).html)
    (folder / f"{FIT_UP}.html").write_bytes(fitup_page(record(season(), whinchat()), whinchat()))
    return {name: (folder / f"{name}.html").as_uri() for name in (*BOATS, FIT_UP)}


def season() -> Readings:
    """Readings of the plank's squareness in two attempts, of the centreline and of the shims."""
    attempts = [
        attempt(both(*([Builder(yaw).tape(side)] * 3 for side in Side)), number=number)
        for number, yaw in enumerate((0.5, 0.02), 1)
    ]
    rows = tuple(station(x, both([200.0], [200.0], "centreline.stations.0")) for x in (100.0, 900.0, 1700.0))
    toe = Toe(fore=repeats([2200]), aft=repeats([2201]), apart=900.0)
    line = CentrelineReadings(stations=rows, post_offset=repeats([0.5]))
    return readings(*attempts, centreline=line, shim=ShimReadings(least=2.0, toe=toe))


def show(browser: webdriver.Chrome, url: str, size: tuple[int, int], scheme: str = "light") -> None:
    metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size[0] < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    browser.get(url)


@pytest.mark.parametrize("name", BOATS)
def test_the_page_is_quiet_and_asks_nothing_of_the_network(
    browser: webdriver.Chrome, files: dict[str, str], name: str
) -> None:
    browser.get("about:blank")
    browser.get_log("browser")
    browser.get_log("performance")
    show(browser, files[name], DESKTOP)
    assert browser.title == f"{job(name).boat.description.boat}: job sheet"
    assert browser.get_log("browser") == []
    events = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    asked = [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]
    assert asked == [files[name]]


@pytest.mark.parametrize("width", [320, 390, 768, 1200])
@pytest.mark.parametrize("name", [*BOATS, FIT_UP])
def test_the_page_is_never_wider_than_the_screen(
    browser: webdriver.Chrome, files: dict[str, str], name: str, width: int
) -> None:
    show(browser, files[name], (width, 800))
    content, room, window = browser.execute_script(
        "const e = document.documentElement; return [e.scrollWidth, e.clientWidth, window.innerWidth]"
    )
    assert window == width
    assert content <= room


#: Notes every element that takes the focus: kind, words, outline as it then is, and whether it has a name.
WATCH = """
window.seen = [];
document.addEventListener("focusin", event => {
  const e = event.target;
  window.seen.push([e.type || e.tagName, e.textContent.trim().slice(0, 30), getComputedStyle(e).outlineStyle,
    Boolean(e.labels && e.labels.length || e.ariaLabel || e.getAttribute("aria-labelledby") || e.textContent.trim())]);
});
"""


def test_everything_to_tick_is_reached_and_ticked_by_keyboard(browser: webdriver.Chrome, files: dict[str, str]) -> None:
    show(browser, files["whinchat-3"], DESKTOP)
    boxes = len(browser.find_elements(By.CSS_SELECTOR, "input[type=checkbox]"))
    stops = browser.execute_script("return document.querySelectorAll('a[href], input, [tabindex=\"0\"]').length")
    browser.execute_script(WATCH)
    keys = ActionChains(browser)
    for _ in range(stops):
        keys.send_keys(Keys.TAB, Keys.SPACE)
    keys.perform()
    seen = browser.execute_script("return window.seen")
    assert len(seen) == stops
    assert seen[0][1] == "To the content"
    assert all(outline != "none" and named for _, _, outline, named in seen)
    assert [kind for kind, _, _, _ in seen].count("checkbox") == boxes > 30
    assert len(browser.find_elements(By.CSS_SELECTOR, "input:checked")) == boxes


@pytest.mark.parametrize(
    ("name", "size", "scheme"),
    [
        ("whinchat-3", PHONE, "light"),
        ("whinchat-3", DESKTOP, "dark"),
        ("whinchat-5", PHONE, "dark"),
        ("whinchat-5", DESKTOP, "light"),
        (FIT_UP, PHONE, "light"),
    ],
)
def test_no_serious_hindrance_to_anyone(
    browser: webdriver.Chrome, files: dict[str, str], name: str, size: tuple[int, int], scheme: str
) -> None:
    show(browser, files[name], size, scheme)
    browser.execute_script(AXE)
    found = browser.execute_async_script("const done = arguments[0]; axe.run().then(done)")
    assert len(found["passes"]) > 20
    assert {rule["id"] for rule in found["passes"]} >= {"color-contrast", "label", "svg-img-alt", "document-title"}
    weighty = [
        (rule["id"], rule["impact"], [node["html"][:120] for node in rule["nodes"][:3]])
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
    assert weighty == []


def test_light_and_dark_differ(browser: webdriver.Chrome, files: dict[str, str]) -> None:
    shades = []
    for scheme in ("light", "dark"):
        show(browser, files["whinchat-3"], PHONE, scheme)
        colours = browser.execute_script(
            "const b = getComputedStyle(document.body);"
            "const s = getComputedStyle(document.querySelector('figure svg line'));"
            "return [b.backgroundColor, b.color, s.stroke]"
        )
        shades.append([sum(int(part) for part in colour[4:-1].split(",")) for colour in colours])
    (paper, ink, line), (dark_paper, dark_ink, dark_line) = shades
    assert paper > 700
    assert dark_paper < 100
    assert ink == line < 100
    assert dark_ink == dark_line > 600


@pytest.mark.parametrize(("paper", "wide", "high"), [("A4", 8.27, 11.69), ("Letter", 8.5, 11.0)])
def test_it_prints_with_the_bolt_at_true_size(
    browser: webdriver.Chrome, files: dict[str, str], paper: str, wide: float, high: float
) -> None:
    show(browser, files["whinchat-3"], DESKTOP)
    printed = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": wide, "paperHeight": high})
    data = base64.b64decode(printed["data"])
    pages = pdf_pages(data)
    assert 5 <= len(pages) <= 16
    text = "".join(pages).replace(" ", "")
    for section in job("whinchat-3").sheet.sections:
        assert section.heading.replace(" ", "") in text
    number = next(number for number, words in enumerate(pages) if "Section through a bolt, 1:1" in words)
    boxes = boxes_on(pypdfium2.PdfDocument(data)[number])
    assert stacked(boxes, [3.0, 14.0, 34.0, 2.0], slack=0.1)


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = [int(tag[1]) for tag, _ in Page(job("whinchat-5").html).elements if tag in ("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
