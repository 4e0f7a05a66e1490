"""The codes' tables of sizes: which block and column is read, and what a design is told."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand.prescriptive import block_title, carrying
from supplycalc.findings.prescriptive import below_table, table_check
from supplycalc.model import House
from supplycalc.questions.size import study as solve
from supplycalc.sizing.design import Design
from tests.houses import FOOT, PSI, two_storey, well


def sized(house: House, method: str, **service: object) -> Design:
    """A design by a method, the service changed."""
    runs = tuple(
        replace(run, **service) if run.name == "service" else run  # type: ignore[arg-type]
        for run in house.runs
    )
    return solve.size(replace(house, runs=runs), method, mend=False)


@pytest.mark.parametrize(
    ("psi", "title"),
    [(29.9, "below 30 psi"), (30, "30 to 39 psi"), (39.9, "30 to 39 psi"), (40, "40 to 49 psi"),
     (60, "50 to 60 psi"), (60.1, "over 60 psi"), (90, "over 60 psi")],
)  # fmt: skip
def test_blocks_of_the_residential_table(psi: float, title: str) -> None:
    """Four pressure ranges; 60 psi still belongs to the third."""
    assert block_title("irc", psi * PSI) == title


@pytest.mark.parametrize(
    ("psi", "title"), [(45, "30 to 45 psi"), (46, "46 to 60 psi"), (61, "over 60 psi")]
)
def test_blocks_of_the_uniform_table(psi: float, title: str) -> None:
    """Three pressure ranges."""
    assert block_title("upc", psi * PSI) == title


def test_the_next_longer_column_is_read() -> None:
    """81 ft reads the 100 ft column; beyond 500 ft there is none."""
    at_81 = {row.distribution: row.capacity for row in carrying("irc", 35 * PSI, 81 * FOOT)
             if row.service == "3/4"}  # fmt: skip

    assert at_81["3/4"] == 5.5
    assert list(carrying("irc", 35 * PSI, 501 * FOOT)) == []
    assert list(carrying("irc", 29 * PSI, 81 * FOOT)) == []


def test_a_design_smaller_than_the_table_gets_a_finding() -> None:
    """A 3/4 inch service for nine fixture-unit fixtures over a long way: exact demand is content,
    the table asks for more; the finding says which size and from which table."""
    house = two_storey(source=well(60, 80))
    design = sized(house, "exact", length=350 * FOOT)
    check = table_check(design)
    findings = list(below_table.findings(design))

    assert check is not None
    assert check.outcome == "smaller"
    (finding,) = findings
    assert finding.level == "warn"
    assert finding.code == "below-code-table"
    assert "IRC Table AP201.1" in finding.message
    assert "AP201.1" in str(finding.source)


def test_a_design_of_the_tables_size_gets_none() -> None:
    """With every run at 1 inch there is nothing to tell."""
    house = two_storey(source=well(60, 80))
    inch = tuple(replace(run, size="1") for run in house.runs)
    design = solve.size(replace(house, runs=inch), mend=False)

    check = table_check(design)

    assert check is not None
    assert check.outcome in ("larger", "agrees")
    assert list(below_table.findings(design)) == []


def test_a_distribution_pipe_smaller_than_the_table_is_told_too() -> None:
    """A large service and a 1/2 inch trunk: 7.5 units over this length ask for 1 inch beyond."""
    house = two_storey(source=well(60, 80))
    runs = tuple(replace(run, size="2" if run.name == "service" else "1/2") for run in house.runs)
    (finding,) = below_table.findings(solve.size(replace(house, runs=runs), mend=False))

    assert finding.where != "service"
    assert "asks for 1 inch" in finding.message


def test_the_load_is_counted_in_the_tables_own_units() -> None:
    """Whatever method sized the pipes: IRC units for the IRC table, UPC units for the UPC's."""
    house = two_storey(source=well(60, 80))
    by_exact = table_check(solve.size(house, "exact", mend=False))
    by_irc = table_check(solve.size(house, "irc", mend=False))
    by_upc = table_check(solve.size(house, "upc", mend=False))

    assert by_exact is not None
    assert by_irc is not None
    assert by_upc is not None
    assert by_exact.fixture_units == by_irc.fixture_units
    assert by_upc.title == "UPC Table 610.4"
    assert by_upc.fixture_units == pytest.approx(4.0 + 1.0 + 2.5 + 1.5 + 2.5)


def test_metric_tube_is_not_looked_up() -> None:
    """The tables know inch sizes only."""
    house = two_storey()
    metric = tuple(
        replace(run, material="copper-en1057", joining="soldered") if run.name == "service" else run
        for run in house.runs
    )
    assert table_check(solve.size(replace(house, runs=metric), mend=False)) is None
