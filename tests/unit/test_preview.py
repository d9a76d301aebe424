"""The preview as its user meets it: a real process, a real browser where there is one."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import socket
import struct
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("watchfiles")

PLATE = """\
system "Follow me"
  nominal 12 V
battery house "House" 12.8 V, 100 Ah, lifepo4
  fault-current 3 kA
panel block blade, 100 A, ways 4
load lamp "Lamp" 2 A
house -//- 1 m -- [main: fuse class-t] -- 1 m -- block
block.1 -//- 3 m -- lamp
"""


class Preview:
    def __init__(self, plate: Path) -> None:
        command = [sys.executable, "-m", "copperplate", "preview", str(plate), "--no-browser"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        assert self.process.stdout is not None
        self.first = self.process.stdout.readline()
        said = self.process.stdout.readline()
        found = re.match(r"(http://127\.0\.0\.1:\d+/) shows ", said)
        assert found, self.first + said
        self.address = found[1]

    def page(self, host: str | None = None, path: str = "") -> str:
        request = urllib.request.Request(self.address + path, headers={"Host": host} if host else {})
        with urllib.request.urlopen(request, timeout=10) as answer:
            return str(answer.read().decode())


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    path = tmp_path / "follow.plate"
    path.write_text(PLATE)
    return path


@pytest.fixture
def preview(plate: Path) -> Iterator[Preview]:
    running = Preview(plate)
    yield running
    running.process.kill()
    running.process.communicate()


def until(true: Any, seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.05)


def test_a_save_reaches_the_page(preview: Preview, plate: Path) -> None:
    assert "Follow me" in preview.page() and "<svg" in preview.page()
    with urllib.request.urlopen(preview.address + "changes", timeout=20) as changes:
        assert changes.readline() == b"data: 1\n"
        changes.readline()
        plate.write_text(PLATE.replace("Follow me", "Seen and followed"))
        assert changes.readline() == b"data: 2\n"
    assert "Seen and followed" in preview.page()


def test_a_plate_with_errors_is_drawn_as_a_draft_with_its_findings_beside(preview: Preview, plate: Path) -> None:
    plate.write_text(PLATE.replace("3 m -- lamp", "3 m -- lmap").replace("Follow me", "With an error"))
    until(lambda: 'data-state="2"' in preview.page())
    page = preview.page()
    assert "error CP" in page and "lamp" in page
    assert "Draft: With an error" in page and 'data-draft="1"' in page
    assert page.index('<aside class="findings"') < page.index('<main id="report">') and "<ol><li><pre>error" in page


def test_a_plate_that_begins_with_errors_shows_them(plate: Path) -> None:
    plate.write_text("<b>x</b>\n")
    running = Preview(plate)
    try:
        assert "Nothing to draw yet" in running.page() and "error CP" in running.page()
        assert "<b>x" not in running.page()
    finally:
        running.process.kill()
        running.process.communicate()


def test_a_file_that_goes_and_comes_back(preview: Preview, plate: Path) -> None:
    plate.unlink()
    time.sleep(0.3)
    assert "Follow me" in preview.page()
    plate.write_text(PLATE.replace("Follow me", "Back again"))
    until(lambda: "Back again" in preview.page())


def test_the_page_says_that_the_plate_is_gone(preview: Preview, plate: Path) -> None:
    plate.unlink()
    until(lambda: "no such file or directory; this is what it said last" in preview.page())
    assert "Follow me" in preview.page()


def test_a_folder_that_goes_and_is_made_anew(tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    folder.mkdir()
    plate = folder / "follow.plate"
    plate.write_text(PLATE)
    running = Preview(plate)
    try:
        for round in ("first", "second"):
            shutil.rmtree(folder)
            until(lambda: "this is what it said last" in running.page())
            folder.mkdir()
            plate.write_text(PLATE.replace("Follow me", f"The {round} time"))
            until(lambda round=round: f"The {round} time" in running.page())
    finally:
        running.process.kill()
        running.process.communicate()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes in folders here")
def test_a_pipe_in_the_place_of_the_plate_is_a_sentence(preview: Preview, plate: Path) -> None:
    plate.unlink()
    os.mkfifo(plate)
    until(lambda: "no file, but a folder, pipe or device" in preview.page())
    command = [sys.executable, "-m", "copperplate", "preview", str(plate), "--no-browser"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=30)
    assert done.returncode != 0 and "no file, but a folder, pipe or device" in done.stderr
    assert "Traceback" not in done.stderr


def test_readers_that_hang_up_or_stop_half_way_do_no_harm(preview: Preview) -> None:
    """Far more than are served at once; those that send nothing more are let go."""
    port = int(preview.address.rsplit(":", 1)[1].strip("/"))
    half = [socket.create_connection(("127.0.0.1", port)) for _ in range(100)]
    for each in half:
        with contextlib.suppress(OSError):
            each.sendall(b"GET / HT")
    time.sleep(0.5)
    with contextlib.suppress(OSError):  # The places are taken: what comes now is closed.
        preview.page()
    until(lambda: _served(preview), 30)
    for each in half:
        each.close()
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", port)) as hasty:
            hasty.sendall(f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n".encode())
            hasty.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    until(lambda: _served(preview))
    preview.process.send_signal(signal.SIGINT)
    rest, _ = preview.process.communicate(timeout=20)
    assert "Traceback" not in rest and "Error" not in rest


def _served(preview: Preview) -> bool:
    try:
        return "Follow me" in preview.page()
    except OSError:
        return False


@pytest.mark.parametrize(("host", "path", "code"), [("elsewhere.invalid", "", 403), (None, "etc/passwd", 404)])
def test_others_get_nothing(preview: Preview, host: str | None, path: str, code: int) -> None:
    with pytest.raises(urllib.error.HTTPError) as refused:
        preview.page(host, path)
    assert refused.value.code == code


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
def test_interrupting_is_the_way_to_end_it(preview: Preview) -> None:
    preview.process.send_signal(signal.SIGINT)
    rest, _ = preview.process.communicate(timeout=20)
    assert preview.process.returncode == 0 and "Traceback" not in rest


@pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")), reason="needs chromium and chromedriver"
)
def test_a_browser_follows(preview: Preview, plate: Path, tmp_path: Path) -> None:
    pytest.importorskip("selenium")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    try:
        driver.get(preview.address)
        assert "Follow me" in driver.title
        plate.write_text(PLATE.replace("Follow me", "Seen and followed"))
        until(lambda: "Seen and followed" in driver.title)
        assert driver.get_log("browser") == []
        preview.process.kill()
        until(lambda: "The preview has ended" in driver.page_source)
    finally:
        driver.quit()
