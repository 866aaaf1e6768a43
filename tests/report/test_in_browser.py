"""The report opened in a real browser, at the width of a phone and of a desk."""

import base64
import itertools
import shutil
import time
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest
import sheet_of_sines as sines
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from fem_motor.report import write_report

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
SWITCHES = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
TOO_WIDE = """
return [...document.querySelectorAll('body *')].filter(one =>
  one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0
  && getComputedStyle(one).display !== 'inline').map(one => one.outerHTML.slice(0, 120))
"""
REQUESTS = "return performance.getEntriesByType('resource').map(one => one.name)"
LEVELS = "return [...document.querySelectorAll('h1,h2,h3,h4')].map(one => +one.tagName[1])"
NAMES = "return [...document.images].map(one => [one.alt, one.complete && one.naturalWidth > 0])"
TURNING_PARTS = ("field", "mark")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        BROWSER is None or DRIVER is None,
        reason="chromium is not installed: apt-get install chromium chromium-driver",
    ),
]


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    options = webdriver.ChromeOptions()
    options.binary_location = str(BROWSER)
    for switch in (*SWITCHES, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    with webdriver.Chrome(options=options, service=Service(executable_path=DRIVER)) as driver:
        yield driver


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("browser") / "a <b> & 'c'-report"
    write_report(sines.sheet(title="<script>alert(1)</script> & \"quoted\" 'boat'"), folder)
    return folder / "report.html"


def resize(browser: webdriver.Chrome, width: int) -> None:
    """Give the page this width; the window of a desk cannot be made as narrow as a phone."""
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_is_wider_than_the_window_or_cut(
    browser: webdriver.Chrome, report: Path, width: int
) -> None:
    resize(browser, width)
    browser.get(report.as_uri())
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    assert browser.execute_script(TOO_WIDE) == []


def test_the_page_asks_for_nothing_and_complains_of_nothing(
    browser: webdriver.Chrome, report: Path
) -> None:
    browser.get(report.as_uri())
    assert [name for name in browser.execute_script(REQUESTS) if not name.startswith("data:")] == []
    assert browser.get_log("browser") == []


def test_markup_in_a_title_is_shown_and_not_run(browser: webdriver.Chrome, report: Path) -> None:
    browser.get(report.as_uri())
    shown = browser.execute_script("return document.querySelector('h1').textContent")
    assert shown == "<script>alert(1)</script> & \"quoted\" 'boat'"
    scripts = browser.execute_script("return [...document.scripts].map(one => one.textContent)")
    assert scripts == [(files("fem_motor.report.pages") / "turning.js").read_text(encoding="utf-8")]


def test_headings_leave_out_no_level_and_pictures_have_words(
    browser: webdriver.Chrome, report: Path
) -> None:
    browser.get(report.as_uri())
    levels = browser.execute_script(LEVELS)
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    images = browser.execute_script(NAMES)
    assert images
    assert all(len(alt) > 40 and is_shown for alt, is_shown in images)


def test_the_page_prints(browser: webdriver.Chrome, report: Path) -> None:
    browser.get(report.as_uri())
    printed = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {})["data"])
    assert printed.startswith(b"%PDF-")


def turned(browser: webdriver.Chrome) -> list[str | None]:
    """Return by how much the field and the dot on pole 1 are turned."""
    parts = (browser.find_element(By.CSS_SELECTOR, f".turning .{name}") for name in TURNING_PARTS)
    return [part.get_attribute("transform") for part in parts]


def test_arrow_keys_turn_the_rotor_and_say_its_angle(
    browser: webdriver.Chrome, report: Path
) -> None:
    browser.get(report.as_uri())
    slider = browser.find_element(By.CSS_SELECTOR, ".turning input")
    assert slider.accessible_name == "Rotor angle"
    shown = browser.find_element(By.CSS_SELECTOR, ".turning output")
    first = turned(browser)
    slider.send_keys(Keys.ARROW_RIGHT)
    # 18 slots, 16 poles: 360° / lcm = 2.5° a step; 8 slots of 20° less 7 poles of 22.5° are 2.5°.
    # The y of a drawing points down, so counter-clockwise is negative.
    assert shown.text == "2.5°"
    assert turned(browser) == ["rotate(-160 50 50)", "rotate(-2.5 50 50)"] != first
    slider.send_keys(Keys.HOME)
    assert turned(browser) == first
    assert slider.get_attribute("aria-valuetext") == "rotor angle 0°"
    assert browser.get_log("browser") == []


def test_nothing_turns_by_itself_and_less_motion_means_no_button(
    browser: webdriver.Chrome, report: Path
) -> None:
    for wish, is_there in (("no-preference", True), ("reduce", False)):
        feature = {"name": "prefers-reduced-motion", "value": wish}
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [feature]})
        browser.get(report.as_uri())
        button = browser.find_element(By.CSS_SELECTOR, ".turning button")
        assert button.is_displayed() is is_there
        before = turned(browser)
        time.sleep(0.8)
        assert turned(browser) == before
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_without_scripts_the_first_position_stands_and_the_slider_is_away(
    browser: webdriver.Chrome, report: Path
) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get(report.as_uri())
        assert browser.find_element(By.CSS_SELECTOR, ".turning svg").is_displayed()
        assert not browser.find_element(By.CSS_SELECTOR, ".turning input").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
