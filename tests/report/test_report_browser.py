"""The report in a real browser: no error, no overflow, rows and conductors light each other, by keyboard too.

Skipped only where no chromium is installed.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from invented_design import design
from invented_sheets import sheets
from test_report_examples import EXAMPLES, compiled

from copperplate import drawing
from copperplate.report import document, html, pack

pytestmark = pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")), reason="needs chromium and chromedriver"
)

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
LONG = "Fresh-water-pressure-pump-with-a-title-of-one-unbreakable-word-and-more"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = design(titles={"water-pump": LONG})
    path = tmp_path_factory.mktemp("report") / "dunlin.report.html"
    path.write_text(html(document(made, sheets(made)), sheets(made)), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    yield driver
    driver.quit()


def show(browser: Any, page: Path, width: int, dark: bool = False, fragment: str = "") -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
    )
    scheme = "dark" if dark else "light"
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    )
    browser.get("about:blank")
    browser.get(page.as_uri() + fragment)


DOCUMENTS = ("client", "installer", "inspector", "engineer")
WIDTHS = sorted({*range(320, 1921, 40), 681, 761, 1270})


@pytest.mark.parametrize("reader", DOCUMENTS)
def test_no_overflow_at_any_width(browser: Any, page: Path, reader: str) -> None:
    show(browser, page, 320, fragment=f"#{reader}")
    over = []
    for width in WIDTHS:
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False},
        )
        if browser.execute_script("return document.documentElement.scrollWidth") > width:
            over.append(width)
    assert over == []


def test_a_tab_shows_one_document_and_without_script_all_stand(browser: Any, page: Path) -> None:
    shown = "return [...document.querySelectorAll('.doc')].filter(e => e.offsetHeight > 0).map(e => e.dataset.reader)"
    for reader in DOCUMENTS:
        show(browser, page, 1270, fragment=f"#{reader}")
        assert browser.execute_script(shown) == [reader]
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show(browser, page, 1270)
        assert browser.execute_script(shown) == list(DOCUMENTS)
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_a_tick_and_a_value_stay_on_the_device(browser: Any, page: Path) -> None:
    show(browser, page, 390, fragment="#with-power")
    browser.execute_script(
        "const row = document.querySelector(\"tr[data-key='lost.fridge']\");"
        "const [tick, value] = [row.querySelector('.tick'), row.querySelector('[data-measured]')];"
        "tick.click(); value.value = '0,31'; value.dispatchEvent(new Event('change'));"
    )
    show(browser, page, 390, fragment="#with-power")
    kept = browser.execute_script(
        "const row = document.querySelector(\"tr[data-key='lost.fridge']\");"
        "return [row.querySelector('.tick').checked, row.querySelector('[data-measured]').value]"
    )
    assert kept == [True, "0,31"]


@pytest.mark.parametrize(("width", "dark"), [(1440, False), (1440, True), (390, False), (320, False)])
def test_no_overflow_and_no_console_error(browser: Any, page: Path, width: int, dark: bool) -> None:
    show(browser, page, width, dark, "#inspector")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    outside = browser.execute_script(
        "return [...document.querySelectorAll('main *')].filter(e => !e.closest('.wrap, .labels, .paper, .hide')"
        " && !e.closest('thead') && e.getBoundingClientRect().right > innerWidth + 1)"
        ".map(e => e.outerHTML.slice(0, 90))"
    )
    assert outside == []
    assert browser.get_log("browser") == []
    ground = browser.execute_script("return getComputedStyle(document.body).backgroundColor")
    assert ground == ("rgb(20, 24, 27)" if dark else "rgb(255, 255, 255)")


@pytest.mark.parametrize("width", [1440, 390, 320])
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_overflow_on_any_example(browser: Any, path: Path, width: int, tmp_path: Path) -> None:
    made = compiled(path)
    if made is None or not made.system.runs:
        pytest.skip("a file of parts, or a plate that cannot be resolved")
    file = tmp_path / "report.html"
    file.write_text(pack(made, drawing.sheets(made), path.stem)[f"{path.stem}.report.html"], encoding="utf-8")
    show(browser, file, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    assert browser.get_log("browser") == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_nothing_but_sheets_is_wider_than_a_printed_page(browser: Any, path: Path, tmp_path: Path) -> None:
    """What is wider makes a browser shrink every page, the sheets at true scale too. A4 less two margins of 15 mm
    is 180 mm; a CSS pixel is 25.4/96 mm."""
    made = compiled(path)
    if made is None or not made.system.runs:
        pytest.skip("a file of parts, or a plate that cannot be resolved")
    file = tmp_path / "report.html"
    file.write_text(pack(made, drawing.sheets(made), path.stem)[f"{path.stem}.report.html"], encoding="utf-8")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride", {"width": 680, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        )
        browser.get(file.as_uri())
        wide = browser.execute_script(
            "return [...document.querySelectorAll('main *')].filter(e => !e.closest('.sheet')"
            " && e.getBoundingClientRect().right > 681).map(e => e.outerHTML.slice(0, 90))"
        )
        assert wide == []
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def violations(browser: Any) -> list[str]:
    """What axe-core finds wrong on the page that is shown, by rule and first place."""
    browser.set_script_timeout(120)
    browser.execute_script(files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    return browser.execute_async_script(
        "const done = arguments[0]; axe.run(document, {resultTypes: ['violations']}).then(found => done("
        "found.violations.map(v => `${v.id} (${v.nodes.length}): ${v.nodes[0].html.slice(0, 160)}`)),"
        " problem => done([String(problem)]));"
    )


@pytest.mark.parametrize(("width", "dark"), [(1440, False), (1440, True), (390, False), (320, False)])
def test_axe_core_finds_nothing(browser: Any, page: Path, width: int, dark: bool) -> None:
    for reader in DOCUMENTS:
        show(browser, page, width, dark, f"#{reader}")
        assert violations(browser) == [], reader


def test_axe_core_finds_planted_faults(browser: Any, page: Path) -> None:
    show(browser, page, 1440)
    browser.execute_script(
        "document.documentElement.removeAttribute('lang'); document.querySelector('main p').style.color = '#CCC'"
    )
    assert {found.split()[0] for found in violations(browser)} == {"html-has-lang", "color-contrast"}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_axe_core_finds_nothing_in_any_example(browser: Any, path: Path, tmp_path: Path) -> None:
    made = compiled(path)
    if made is None or not made.system.runs:
        pytest.skip("a file of parts, or a plate that cannot be resolved")
    file = tmp_path / "report.html"
    file.write_text(pack(made, drawing.sheets(made), path.stem)[f"{path.stem}.report.html"], encoding="utf-8")
    show(browser, file, 1440)
    assert violations(browser) == []


def contrast(first: str, second: str) -> float:
    """WCAG 2.2 contrast ratio of two computed colours."""

    def light(colour: str) -> float:
        parts = [float(v) / 255 for v in colour[colour.index("(") + 1 : -1].split(",")[:3]]
        red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((light(first), light(second)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("dark", [False, True])
def test_text_stands_out_from_its_ground(browser: Any, page: Path, dark: bool) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1."""
    show(browser, page, 1440, dark, "#inspector")
    pairs = browser.execute_script(
        "const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;"
        " if (c !== 'rgba(0, 0, 0, 0)') return c; } };"
        "const words = 'main :is(p, td, th, dt, dd, a, strong, code, span, h1, h2, li, caption)';"
        "return [...document.querySelectorAll(words)].filter(e => !e.closest('svg') && e.textContent.trim())"
        ".map(e => [getComputedStyle(e).color, ground(e)].join('|'))"
    )
    assert len(set(pairs)) > 4
    for pair in set(pairs):
        assert contrast(*pair.split("|")) >= 4.5, pair


def test_a_row_lights_its_conductor_and_shows_it_where_its_sheet_is_out_of_sight(browser: Any, page: Path) -> None:
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.by import By

    show(browser, page, 1440, fragment="#wiring")
    row = browser.find_element(By.CSS_SELECTOR, "tr[data-at='fridge.run+']")
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", row)
    ActionChains(browser).move_to_element(row).perform()
    mark = browser.find_element(By.CSS_SELECTOR, "g[data-at='fridge.run+']")
    assert "lit" in mark.get_attribute("class") and "lit" in row.get_attribute("class")
    strip = browser.find_element(By.CLASS_NAME, "strip")
    assert strip.is_displayed() and "Sheet 2" in strip.text


def test_a_conductor_lights_its_rows_by_keyboard(browser: Any, page: Path) -> None:
    show(browser, page, 1440, fragment="#installer")
    # A window that has no focus, as a headless one may, gives its links none either.
    browser.execute_cdp_cmd("Emulation.setFocusEmulationEnabled", {"enabled": True})
    lit = browser.execute_script(
        "const link = document.querySelector(\"g[data-at='fan.run+']\").closest('a'); link.focus();"
        "return [...document.querySelectorAll('tr.lit')].map(row => row.id)"
    )
    assert lit and lit[0].endswith("-fan+")


def test_links_light_without_script(browser: Any, page: Path) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show(browser, page, 1440, fragment="#s2-fridge.run+")
        style = "return getComputedStyle(document.querySelector(':target')).filter"
        assert "drop-shadow" in browser.execute_script(style)
        row = browser.execute_script("return document.querySelector(\"tr[data-at='fridge.run+']\").id")
        show(browser, page, 1440, fragment=f"#{row}")
        ground = "return getComputedStyle(document.querySelector(':target > td')).backgroundColor"
        assert browser.execute_script(ground) == "rgb(227, 238, 249)"
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_a_sheet_can_be_made_larger(browser: Any, page: Path) -> None:
    from selenium.webdriver.common.by import By

    show(browser, page, 1440, fragment="#installer")
    drawing = browser.find_element(By.CSS_SELECTOR, "#sheet-2 svg")
    before = drawing.size["width"]
    button = next(b for b in browser.find_elements(By.CSS_SELECTOR, "#sheet-2 button") if b.text == "Larger")
    browser.execute_script("arguments[0].click()", button)
    assert drawing.size["width"] > 1.4 * before
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 1440


def test_controls_and_regions_have_names(browser: Any, page: Path) -> None:
    """What a screen reader needs at least: a language, one main, names for links, buttons and scrolled regions,
    roles of tables that have become cards."""
    show(browser, page, 390)
    assert browser.execute_script("return document.documentElement.lang") == "en"
    assert browser.execute_script("return document.querySelectorAll('main').length") == 1
    unnamed = browser.execute_script(
        "return [...document.querySelectorAll('a, button, [role=region], [role=img]')].filter(e =>"
        " !(e.textContent.trim() || e.getAttribute('aria-label'))).map(e => e.outerHTML.slice(0, 80))"
    )
    assert unnamed == []
    missing = browser.execute_script(
        "return [...document.querySelectorAll('table, tr, td, th')].filter(e => !e.getAttribute('role')).length"
    )
    assert missing == 0


def test_print_gives_a_document_alone_with_its_sheet_at_true_scale(browser: Any, page: Path, tmp_path: Path) -> None:
    import base64
    import re

    show(browser, page, 1440, fragment="#client")
    data = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True})["data"]
    pdf = base64.b64decode(data)
    boxes = [tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox ?\[([^\]]+)\]", pdf)]
    points = {(round(right - left), round(top - bottom)) for left, bottom, right, top in boxes}
    assert points == {(842, 595), (595, 842)} or points == {(595, 842), (842, 596)}, points
    assert sum(1 for left, _, right, _ in boxes if right - left > 800) == 1
