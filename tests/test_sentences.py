"""Sentences: values in the reader's units, sources with their marks, names left alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from msgspec.structs import replace

from supplycalc import reading
from supplycalc.model import Pump, Well
from supplycalc.output.cautions import cautions
from supplycalc.questions.size import tables as view
from supplycalc.questions.size.study import size
from supplycalc.records import quantity, to_json
from supplycalc.records.sentences import amount, cite, sentence
from supplycalc.records.table import Column, Table
from supplycalc.sizing.design import verdict
from supplycalc.tables import Citation
from supplycalc.units import parse
from tests.commands.files import cottage
from tests.houses import FOOT, GPM, two_storey, well

PSI = 6894.757293168361


def test_marks_are_filled_and_other_braces_stay() -> None:
    """A name of the user's with braces in it breaks nothing."""
    text = "{0} at {room {2}}: {1} {7} {"
    values = ((20 * PSI, "pressure"), (1.5 * 0.3048, "length"))

    assert sentence(text, values, "us") == "20.0 psi at {room {2}}: 1.5 ft {7} {"


def test_words_and_figures_of_the_reader_s_trade_are_chosen() -> None:
    """A figure with its unit, commas and capitals, too; no mark of a choice is left to read."""
    text = "bare runs give {1.8 Btu per hour, ft2 and degF|10 W per m2 and kelvin} at {0}"
    values = ((300.0, "temperature"),)

    assert sentence(text, values, "us").startswith("bare runs give 1.8 Btu per hour, ft2 and degF")
    assert "give 10 W per m2 and kelvin at" in sentence(text, values, "metric")
    assert sentence("a {hose bibb|garden tap}", (), "metric") == "a garden tap"


def test_a_source_from_memory_says_so() -> None:
    """So does a limit without any source."""
    seen = Citation(key="a", text="Code X, Table 1, as printed by a city", short="X, Table 1")
    memory = Citation(key="a", text="Code X, Table 1", check="memory")

    assert cite(seen) == "X, Table 1"
    assert cite(memory) == "Code X, Table 1 (from memory, check it)"
    assert cite(None) == "common practice, no source"


def test_what_rounds_to_nothing_is_not_told_as_nothing() -> None:
    """0.02 psi to spare is less than 0.1 psi; nothing at all is 0.0."""
    assert amount(0.02 * PSI, "us") == "less than 0.1 psi"
    assert amount(0.02 * PSI, "metric") == "less than 1 kPa"
    assert amount(0.4 * PSI, "us") == "0.4 psi"
    assert amount(0.0, "us") == "0.0 psi"


def test_json_shows_what_was_written() -> None:
    """60 psi of a file stay 60.0, whatever the way through pascal does to the last bits."""
    shown = quantity(parse("60 psi", "pressure"), "pressure", "us")

    assert shown == {"value": 60.0, "unit": "psi"}
    assert quantity(1.0 / 3.0, "length", "metric") == {"value": 0.33333333333333, "unit": "m"}


def test_json_never_holds_what_json_does_not_know() -> None:
    """Values that are not finite become null; NaN elsewhere is refused."""
    assert quantity(float("inf"), "velocity", "us") is None
    with pytest.raises(ValueError, match="JSON"):
        to_json({"x": float("nan")})


def test_cautions_fit_the_design(tmp_path: Path) -> None:
    """Scald with hot water, trench when buried, pump with a well, the rest always."""
    house = reading.load(cottage(tmp_path))
    text = cottage(tmp_path, name="cold").read_text(encoding="utf-8")
    cold = "\n\n".join(
        part
        for part in text.replace('buried = "40 in"\n', "").split("\n\n")
        if '"tank heater"' not in part
    )
    cold = "\n".join(line for line in cold.splitlines() if not line.startswith("hot = "))
    cold = cold.replace('kind = "well"', 'kind = "main"').replace("cut_in", "residual")
    cold = cold.replace("cut_out", "static").replace("tub-shower", "hose-bibb")
    cold = cold.replace("kitchen-sink", "hose-bibb")

    full = " ".join(cautions(size(house)))
    plain = " ".join(cautions(size(reading.loads(cold))))

    for word in ("Scalding", "Trench", "Electricity", "Contamination", "estimate"):
        assert word in full
        assert (word in plain) is (word in ("Contamination", "estimate"))


def test_a_thin_margin_is_called_thin(tmp_path: Path) -> None:
    """The bath is raised until less than 5 psi are left; above that nothing is said of it."""
    words = []
    for feet in range(0, 40, 2):
        design = size(reading.load(cottage(tmp_path, bath=f"{feet} ft")), mend=False)
        said = verdict(design, "us")
        words.append(said.split()[0])
        if design.ok:
            assert ("thin margin" in said) is (design.worst.margin < 5 * PSI)
            assert "only less" not in said

    assert words[0] == "Works"
    assert words[-1] == "Fails:"


def test_a_weak_pump_has_a_verdict_of_its_own() -> None:
    """Where the pump gives less than one outlet needs, no pipe mends that; a strong one keeps up.

    The curve falls from 240 ft to 100 ft; at 0.4 of its flows it gives a few gpm at 40 psi.
    """
    said = {}
    for scale in (0.4, 3.0):
        curve = tuple(
            (scale * q * GPM, h * FOOT) for q, h in ((0, 240), (5, 220), (10, 180), (15, 100))
        )
        source = replace(well(), pump=Pump(curve=curve), well=Well(static_level=60.0 * FOOT))
        design = size(two_storey(source=source))
        said[scale] = verdict(design, "us")

    assert said[0.4].startswith("Fails, though at cut-in no fixture is short of pressure. The pump")
    assert "to mend it, " in said[0.4]
    assert "a pump that gives 5.0 gpm against" in said[0.4]
    assert said[3.0].startswith("Works")
    assert "The pump keeps up" in said[3.0]


def test_an_account_that_rounds_is_found_out(tmp_path: Path) -> None:
    """37.8 - 2.8 = 35.0 adds up; one tenth off does not."""
    columns = (
        Column(name="step"),
        Column(name="height", dimension="pressure"),
        Column(name="loss", dimension="pressure"),
        Column(name="pressure", dimension="pressure"),
    )

    def steps(loss: float) -> Table:
        rows = (
            ("source", None, None, 37.8 * PSI),
            ("run", 0.0, loss * PSI, 35.0 * PSI),
            ("needed", None, None, 20.0 * PSI),
            ("to spare", None, None, 15.0 * PSI),
        )
        return Table(title="t", columns=columns, rows=rows)

    assert view.adds_up(steps(2.8), "us")
    assert not view.adds_up(steps(2.9), "us")


def test_the_account_ends_where_the_fixture_does(tmp_path: Path) -> None:
    """Every step's pressure follows from the one before, manifolds included; no step is lost."""
    design = size(reading.load(cottage(tmp_path)))
    for outlet in design.outlets:
        rows = view.account(design, outlet).rows
        pressure = float(rows[0][-1] or 0.0)
        for _, _, _, height, loss, after in rows[1:-2]:
            pressure += float(height or 0.0) - float(loss or 0.0)
            assert after == pytest.approx(pressure, abs=1e-6)
        assert pressure == pytest.approx(outlet.residual, abs=1e-6)
        names = [row[0] for row in rows]
        assert [name for name in names if name in outlet.path] == list(outlet.path)


def test_json_escapes_what_could_steer_a_terminal() -> None:
    """Letters of every script stand as they are; controls and direction marks do not."""
    data = {"x": "J\u00f6rg \u65e5 \u202e \x9b31m \x1b[2J \U000e0001"}
    text = to_json(data)

    assert json.loads(text) == data
    assert "J\u00f6rg \u65e5" in text
    assert all(letter == "\n" or letter.isprintable() for letter in text)
