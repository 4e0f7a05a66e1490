"""The sheets to hand over: the order for the supply house, the pour for the site."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from supplycalc.output.sheet import sheet_files
from supplycalc.output.terminal import to_text
from supplycalc.questions.parts.order import order_page
from supplycalc.questions.parts.study import parts
from supplycalc.questions.parts.supports import sleeves
from supplycalc.questions.slab.pour import pour_page
from supplycalc.questions.slab.study import slab
from supplycalc.reading import load
from supplycalc.reading.prices import load_prices
from supplycalc.records.sentences import sentence
from tests.commands.files import SCENARIOS

FILES = sorted(SCENARIOS.glob("*.toml"))
COUNTER = SCENARIOS / "prices" / "counter.toml"
RIDGE = SCENARIOS / "ridge-cottage.toml"
SHEET = 60
"""[lines] of a page"""


@pytest.mark.parametrize("file", FILES, ids=lambda path: path.stem)
def test_an_order_is_one_sheet_that_lacks_nothing(file: Path) -> None:
    """At most 60 lines of 80 columns; the counts in brackets add up to those of the list."""
    house = load(file)
    priced = load_prices(COUNTER, house.catalogue)
    listed = parts(house, prices=priced if house.project.units == "us" else None)
    text = to_text(order_page(listed, listed.house.project.units), listed.house.project.units)
    counts = [int(number) for number in re.findall(r"\((\d+)\)", text)]

    assert len(text.splitlines()) <= SHEET
    assert max(map(len, text.splitlines())) <= 80
    assert sum(counts) == sum(item.count for item in listed.items)
    assert ("NOT TO BE BOUGHT" in text) == (not listed.ok)


def test_parts_of_one_size_are_counted_together() -> None:
    """Two sleeves of the same size, for two pipes, are two sleeves at the counter."""
    listed = parts(load(SCENARIOS / "ridge-line.toml"))
    text = to_text(order_page(listed, "us"), "us")

    assert "sleeve, pvc-sch40: (2) 1-1/2" in text


@pytest.mark.parametrize("name", ["ridge-cottage", "ranch-on-slab", "holiday-house"])
def test_a_pour_is_one_sheet(name: str) -> None:
    """Every run that gets covered with its sleeves, the test pressures, the checklist."""
    study = slab(load(SCENARIOS / f"{name}.toml"))
    units = study.house.project.units
    text = to_text(pour_page(study, units), units)

    assert len(text.splitlines()) <= SHEET
    for locked in study.runs:
        assert locked.result.name in text
    for sleeve in sleeves(study.design):
        assert f"{sleeve.count} x {sleeve.nominal}" in text
    for item in study.checklist:
        assert f"[ ] {item.title}:" in text
    for test in study.tests:
        assert sentence(test.title, (), units) in " ".join(text.split())
    assert "Trench:" in text


def test_a_sheet_as_pdf_is_one_page_and_the_same_each_time() -> None:
    """Letters that can be searched, no date in it."""
    listed = parts(load(RIDGE))
    write = sheet_files(lambda system: order_page(listed, system), "Ridge cottage")[".pdf"]
    content = write("us")

    assert isinstance(content, bytes)
    assert content.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", content)) == 1
    assert content == write("us")


def test_long_text_goes_on_another_page() -> None:
    """61 lines are two pages."""
    from supplycalc.output.raster import text_pdf

    pages = [
        len(re.findall(rb"/Type /Page\b", text_pdf("a\n" * lines, "Test", "metric")))
        for lines in (SHEET, SHEET + 1)
    ]
    assert pages == [1, 2]


def test_text_needs_no_pictures(tmp_path: Path) -> None:
    """-o order.txt loads no library for pictures; -o order.pdf writes a PDF."""
    target = tmp_path / "order.txt"
    code = (
        "import sys; from supplycalc.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "assert 'matplotlib' not in sys.modules"
    )
    call = [sys.executable, "-c", code, "parts", str(RIDGE), "-o", str(target)]
    subprocess.run(call, check=True, capture_output=True)

    assert target.read_text(encoding="utf-8").startswith("Order for Ridge cottage")


def test_choices_side_by_side_are_no_pdf(tmp_path: Path) -> None:
    """Refused, and nothing written."""
    from tests.commands.test_parts import run

    target = tmp_path / "choices.pdf"
    result = run("parts", RIDGE, "--run", "service", "--sizes", "1", "-o", target)

    assert result.exit_code == 2
    assert "no .pdf file is written here" in result.stderr
    assert not target.exists()
    assert run("slab", RIDGE, "-o", tmp_path / "pour.pdf").exit_code == 0
    assert (tmp_path / "pour.pdf").read_bytes().startswith(b"%PDF")
