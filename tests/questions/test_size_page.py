"""Pages: what reads well when much is wrong at once."""

from __future__ import annotations

from pathlib import Path

from supplycalc import reading
from supplycalc.output.terminal import to_text
from supplycalc.questions.new.answers import Answers
from supplycalc.questions.new.starter_file import file_text
from supplycalc.questions.size import tables
from supplycalc.questions.size.page import size_page
from supplycalc.questions.size.study import size
from tests.commands.files import cottage, run

PORCH = """
[[fixture]]
name = "{name}"
kind = "shower"
elevation = "{height} ft"
cold = {{ from = "clean", length = "40 ft" }}
"""


def test_fixtures_short_for_one_reason_are_told_in_one_line(tmp_path: Path) -> None:
    """The worst in full, the rest of its kind by name and range; each stays in the data."""
    text = cottage(tmp_path, bath="90 ft").read_text(encoding="utf-8")
    text += "".join(PORCH.format(name=f"high {i}", height=100 + i) for i in range(3))
    design = size(reading.loads(text), mend=False)
    told = to_text(size_page(design, "us"), "us")

    short = [finding for finding in design.findings if finding.code == "pressure-short"]
    assert len(short) == 4
    assert told.count("  FAIL ") == 2
    words = " ".join(told.split())
    assert "for the same reason, each as the table above shows" in words
    assert all(finding.where in told.split("Findings")[1] for finding in short)


def test_tubes_over_one_rating_are_told_in_one_line(tmp_path: Path) -> None:
    """The first in full, the rest by name; each stays in the data."""
    text = cottage(tmp_path, cut_in="100 psi").read_text(encoding="utf-8")
    text = text.replace('cut_out = "60 psi"', 'cut_out = "190 psi"')
    text += "".join(PORCH.format(name=f"porch {i}", height=i) for i in range(3))
    design = size(reading.loads(text), mend=False)
    told = " ".join(to_text(size_page(design, "us"), "us").split("Findings")[1].split())

    over = [finding for finding in design.findings if finding.code == "rating-exceeded"]
    assert len(over) > 3
    assert told.count("is rated for") < len(over)
    assert ": the same, with " in told


def test_a_reducing_valves_loss_is_explained(tmp_path: Path) -> None:
    """Its figure in the account follows from no flow and no data sheet."""
    text = cottage(tmp_path).read_text(encoding="utf-8")
    plain = to_text(size_page(size(reading.loads(text), mend=False), "us"), "us")
    text = text.replace(
        'kind = "cartridge-filter"', 'kind = "pressure-reducing-valve"\nsetting = "45 psi"'
    )
    valved = to_text(size_page(size(reading.loads(text), mend=False), "us"), "us")
    words = "filter: a reducing valve set to 45.0 psi; its loss is what it takes away at this flow."

    assert words in " ".join(valved.split())
    assert "reducing valve" not in plain


def test_small_loads_keep_a_digit_more(tmp_path: Path) -> None:
    """0.15 l/s of a shower and 0.07 l/s of a basin (DIN 1988-300) are not both 0.1."""
    house = reading.load(cottage(tmp_path))
    few = size(house, "din1988", mend=False)
    told = to_text(size_page(few, "metric", details=True), "metric")

    assert few.demand.load[0] < tables.SMALL_LOAD
    assert f", {few.demand.load[0]:.2f} litres per second summed;" in " ".join(told.split())
    assert tables.load_digits(size(house, "irc", mend=False)) == 1


def test_a_house_that_fails_tells_its_remedy_once(tmp_path: Path) -> None:
    """The change of the verdict is not listed again, and all stands on one screen."""
    answers = Answers(
        given={
            "supply": "well",
            "switch": "40/60 psi",
            "tank_place": "house",
            "well_line": "150 ft",
            "near": "15 ft",
            "rise": "4 ft",
            "equipment": "softener, cartridge-filter",
            "layout": "manifold",
            "slab": "yes",
            "fixtures_1": "tub 70 ft, shower 70 ft, 2 toilets 70 ft, 3 lavs, kitchen sink 25 ft, "
            "dishwasher 25 ft, washer 15 ft, 2 hose bibs 40 ft",
            "fixtures_2": "none",
        }
    )
    path = tmp_path / "house.toml"
    path.write_text(file_text(answers), encoding="utf-8")

    told = run("size", path).stdout

    words = " ".join(told.split())
    assert words.startswith("Fails")
    assert words.count("fit softener in the next size") == 1
    assert "(IRC Table P2903.6), with that change" in words
    assert "Or leave softener out of this path" in words
    assert len(told.splitlines()) <= 30
