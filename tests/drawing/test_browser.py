"""A real browser measures the lettering: no text is wider than the table says, and none is small.

Skipped only where no chromium is installed.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from built import PLATES, example
from svgcheck import read

pytestmark = pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")), reason="needs chromium and chromedriver"
)

MEASURE = """
return Array.from(document.querySelectorAll('svg text')).map(t => [t.textContent, t.getComputedTextLength()]);
"""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--user-data-dir={tmp_path_factory.mktemp('profile')}",
    ):
        options.add_argument(flag)
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    yield driver
    driver.quit()


@pytest.mark.parametrize("name", PLATES)
def test_texts_are_as_wide_as_measured(name: str, browser: Any, tmp_path: Path) -> None:
    for sheet in example(name)[1]:
        path = tmp_path / f"{sheet.slug}.html"
        path.write_text(f"<!doctype html><meta charset=utf-8>{sheet.svg}", encoding="utf-8")
        browser.get(path.as_uri())
        expected = [(text.content, text.box[2] - text.box[0]) for text in read(sheet.svg).texts]
        measured = browser.execute_script(MEASURE)
        assert len(measured) == len(expected)
        for (content, wide), (_, seen) in zip(expected, measured, strict=True):
            assert seen <= wide * 1.02 + 0.2, (content, wide, seen)
