"""A headless browser for tests of pages, or the reason why there is none."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

PROGRAM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars",
)  # fmt: skip


@contextmanager
def headless_browser() -> Iterator[Any]:
    """A browser with a profile of its own, its console and its requests recorded."""
    if PROGRAM is None or DRIVER is None:
        pytest.skip("no chromium and chromedriver on this machine (Debian: apt install both)")
    pytest.importorskip("selenium", reason="the test extra brings selenium")
    from selenium import webdriver

    with tempfile.TemporaryDirectory() as profile:
        options = webdriver.ChromeOptions()
        options.binary_location = PROGRAM
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        wanted = {"browser": "ALL", "performance": "ALL"}
        options.set_capability("goog:loggingPrefs", wanted)
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
        try:
            yield driver
        finally:
            driver.quit()


def open_page(driver: Any, page: Path, width: int) -> None:
    """Load a file in a window of a width."""
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    driver.get(page.as_uri())
