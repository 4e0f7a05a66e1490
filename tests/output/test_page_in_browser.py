"""The page of every scenario in a real browser: quiet, accessible, within its width, printable."""

from __future__ import annotations

import base64
import io
import json
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import supplycalc
from supplycalc.output.svg import INKS
from tests.output.browser import headless_browser, open_page

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
WIDTHS = (360, 800, 1400)
PHONES = ("lake-hut", "tower-loft")
"""Scenarios whose page is checked as a phone shows it, the others as a screen does."""

MOST_SHEETS = {"bunkhouse": 25}
"""Printed, where a house has some fifty fixtures; else 16."""
PAPER = ((8.27, 11.69), (8.5, 11.0))
"""[in]"""

OUTSIDE = """
const width = document.documentElement.clientWidth, out = [];
for (const it of document.querySelectorAll("main *, header *, footer *")) {
  const box = it.getBoundingClientRect();
  const seen = box.width && !it.closest("thead, pre");
  if (seen && box.right > width + 1) out.push(it.outerHTML.slice(0, 90));
}
return [document.documentElement.scrollWidth - width, out.slice(0, 5)];
"""
OVERLAPS = """
const bad = [];
for (const picture of document.querySelectorAll("figure div")) {
  const texts = [...picture.querySelectorAll("text")].map(it => [it.getBoundingClientRect(), it])
    .filter(pair => pair[0].width);
  for (const [box, it] of texts) {
    const sheet = it.ownerSVGElement.getBoundingClientRect();
    const out = box.left < sheet.left - 1 || box.right > sheet.right + 1;
    if (out) bad.push("out: " + it.textContent);
  }
  for (let i = 0; i < texts.length; i++) for (let j = 0; j < i; j++) {
    const a = texts[i][0], b = texts[j][0];
    if (texts[i][1].ownerSVGElement !== texts[j][1].ownerSVGElement) continue;
    // a line box is taller than its letters
    const over = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.35 * a.height;
    if (over && a.left < b.right - 0.5 && b.left < a.right - 0.5)
      bad.push(texts[i][1].textContent + " | " + texts[j][1].textContent);
  }
}
return bad.slice(0, 5);
"""
CELLS = """
return [...document.querySelectorAll("main tbody tr")].map(row =>
  [...row.children].map(cell => cell.innerText).filter(text => text.trim()));
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One for all pages."""
    with headless_browser() as driver:
        yield driver


@pytest.fixture(scope="module", params=SCENARIOS, ids=lambda path: path.stem)
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of a scenario as a file."""
    path = tmp_path_factory.mktemp("pages") / f"{request.param.stem}.html"
    path.write_text(supplycalc.report(supplycalc.load(request.param)), encoding="utf-8")
    return path


def test_the_console_is_quiet_and_nothing_is_asked_for(browser: Any, page: Path) -> None:
    """No error, no warning; the only request is that for the page itself."""
    browser.get("about:blank")
    browser.get_log("performance")
    browser.get_log("browser")
    open_page(browser, page, 1400)
    asked = [
        message["params"]["request"]["url"]
        for entry in browser.get_log("performance")
        if (message := json.loads(entry["message"])["message"])["method"]
        == "Network.requestWillBeSent"
    ]

    assert [url for url in asked if not url.startswith("data:")] == [page.as_uri()]
    assert browser.get_log("browser") == []
    assert "<script" not in page.read_text(encoding="utf-8")


def test_an_accessibility_engine_finds_nothing(browser: Any, page: Path) -> None:
    """Contrast, landmarks, headings, table headers, alternative texts, by axe."""
    axe = pytest.importorskip("axe_core_python.selenium", reason="the test extra brings it")
    open_page(browser, page, 360 if page.stem in PHONES else 1400)
    browser.set_script_timeout(300)
    # texts of pictures are seen by their contrast alone, which is tested below
    left_out = {"exclude": [["figure svg"]]}
    found = axe.Axe().run(browser, left_out, {"resultTypes": ["violations"]})

    assert [(it["id"], it["nodes"][0]["html"][:120]) for it in found["violations"]] == []
    assert {"color-contrast", "landmark-one-main", "region"} <= {it["id"] for it in found["passes"]}


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb" by WCAG 2.1."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("ink", ["black", "grey", "cold", "hot"])
def test_inks_of_pictures_stand_out_from_white(ink: str) -> None:
    """Seven to one, the stricter of WCAG's two contrasts of text (1.4.6)."""
    assert 1.05 / (luminance(INKS[ink]) + 0.05) >= 7.0


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_wider_than_the_window(browser: Any, page: Path, width: int) -> None:
    """On a phone, a tablet and a screen."""
    open_page(browser, page, width)
    over, out = browser.execute_script(OUTSIDE)

    assert out == []
    assert over <= 0


@pytest.mark.parametrize("width", [360, 1000])
def test_texts_of_the_pictures_stand_apart(browser: Any, page: Path, width: int) -> None:
    """As the browser's own face sets them."""
    open_page(browser, page, width)

    assert browser.execute_script(OVERLAPS) == []


def squeezed(text: str) -> str:
    """Letters and digits alone: line breaks and ligatures fall where they fall."""
    return re.sub(r"[^a-z0-9]", "", unicodedata.normalize("NFKC", text).lower())


@pytest.mark.parametrize("paper", PAPER, ids=["A4", "letter"])
def test_no_row_is_cut_in_print(browser: Any, page: Path, paper: tuple[float, float]) -> None:
    """Every row of every table stands whole on one page; so does every picture's part."""
    pypdf = pytest.importorskip("pypdf", reason="the test extra brings it")
    open_page(browser, page, 1400)
    rows = browser.execute_script(CELLS)
    asked = {"paperWidth": paper[0], "paperHeight": paper[1], "printBackground": False}
    printed = browser.execute_cdp_cmd("Page.printToPDF", {**asked, "preferCSSPageSize": False})
    reader = pypdf.PdfReader(io.BytesIO(base64.b64decode(printed["data"])))
    pages = [squeezed(sheet.extract_text()) for sheet in reader.pages]

    assert 2 < len(pages) <= MOST_SHEETS.get(page.stem, 16)
    for cells in rows:
        words = [squeezed(cell) for cell in cells]
        assert any(all(word in text for word in words) for text in pages), cells
