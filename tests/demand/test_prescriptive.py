"""The codes' tables of sizes: which block and column is read, and what a design is told."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand.prescriptive import block_title, carrying
from supplycalc.findings.prescriptive import below_table, table_check
from supplycalc.model import Device, House, WaterSource
from supplycalc.questions.size import study as solve
from supplycalc.sizing.design import Design
from supplycalc.tables import load_table
from tests.houses import FOOT, PSI, cold_fixture, two_storey, well


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
    """A large service and a 1/2 inch trunk: its own 2.7 units over this length ask for 3/4 inch,
    not the 1 inch that all 7.5 units of the house would ask for."""
    house = two_storey(source=well(60, 80))
    runs = tuple(replace(run, size="2" if run.name == "service" else "1/2") for run in house.runs)
    (finding,) = below_table.findings(solve.size(replace(house, runs=runs), mend=False))

    assert finding.where != "service"
    assert "asks for 3/4 inch: 2.7 fixture units" in finding.message


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


def with_valve(method: str, psi: float, setting: float) -> Design:
    """A house on a main with a reducing valve at its entry."""
    valve = Device(
        name="valve", kind="pressure-reducing-valve", start="entry", end="reduced",
        setting=setting * PSI, elevation=0.0,
    )  # fmt: skip
    house = two_storey(source=WaterSource(kind="main", static=psi * PSI, residual=psi * PSI))
    runs = tuple(
        replace(run, start="reduced") if run.start == "entry" else run for run in house.runs
    )
    house = replace(house, runs=runs, devices=(valve, *house.devices))
    return solve.size(house, method, mend=False)


@pytest.mark.parametrize(
    ("method", "psi", "setting", "counted"),
    [("upc", 90.0, 50.0, 40.0), ("irc", 90.0, 50.0, 50.0), ("irc", 60.0, 55.0, 48.0)],
)
def test_what_counts_behind_a_reducing_valve(
    method: str, psi: float, setting: float, counted: float
) -> None:
    """UPC 608.2: 80 % of the setting; IRC AP201.1 (from memory): the setting, or 80 % of what
    stands before the valve where that is less."""
    check = table_check(with_valve(method, psi, setting))
    without = table_check(
        sized(
            two_storey(
                source=WaterSource(kind="main", static=counted * PSI, residual=counted * PSI)
            ),
            method,
        )
    )

    assert check is not None
    assert without is not None
    assert check.pressure == pytest.approx(without.pressure)


def test_a_well_is_read_from_cut_in() -> None:
    """Not from cut-out, and not from what a weak pump holds at the design flow."""
    by_irc = table_check(sized(two_storey(source=well(40, 60)), "irc"))
    main = WaterSource(kind="main", static=40 * PSI, residual=40 * PSI)
    on_main = table_check(sized(two_storey(source=main), "irc"))

    assert by_irc is not None
    assert on_main is not None
    assert by_irc.pressure == pytest.approx(on_main.pressure)


def test_the_uniform_table_adds_nothing_for_fittings() -> None:
    """UPC 610 (from memory): no allowance; IRC AP201.1: 20 %."""
    house = two_storey(source=well(60, 80))
    by_upc, by_irc = (table_check(sized(house, method)) for method in ("upc", "irc"))

    assert by_upc is not None
    assert by_irc is not None
    assert by_irc.length == pytest.approx(1.2 * by_upc.length)


def test_no_branch_of_a_single_fixture_is_read() -> None:
    """A garden tap of 2.5 units on 300 ft of its own: the table of sizes is not for it."""
    house = two_storey(source=well(60, 80))
    tap = cold_fixture("tap", "hose-bibb", "entry", 300.0)
    design = solve.size(replace(house, fixtures=(*house.fixtures, tap)), mend=False)
    check = table_check(design)

    assert check is not None
    assert "tap cold" not in {run.run for run in check.runs}
    assert not [
        finding for finding in below_table.findings(design) if "tap cold" in finding.message
    ]


def test_nothing_is_called_enough_in_a_design_that_falls_short() -> None:
    """1/2 inch throughout, far too little pressure."""
    house = two_storey(source=well(40, 60))
    thin = tuple(replace(run, size="1/2") for run in house.runs)
    design = solve.size(replace(house, runs=thin), mend=False)

    assert design.worst.margin < 0.0
    (finding,) = below_table.findings(design)
    assert "enough" not in finding.message
    assert "show the inspector" not in finding.remedy


def test_the_uniform_building_supply_stands_in_the_second_column() -> None:
    """A 3/4 inch meter may feed 1 inch building supply: 28 units at 150 ft, 46 to 60 psi."""
    rows = {
        (row.service, row.distribution): row.capacity
        for row in carrying("upc", 50 * PSI, 150 * FOOT)
    }
    assert rows["3/4", "3/4"] == 14
    assert rows["3/4", "1"] == 28
    check = table_check(sized(two_storey(source=well(60, 80)), "upc"))
    assert check is not None
    assert check.runs[0].column == "service"
    assert check.service == "3/4"


def test_the_uniform_columns_beyond_200_ft_are_from_memory() -> None:
    """The print that was read ends there."""
    checks = {
        feet: {row.citation.check for row in carrying("upc", 50 * PSI, feet * FOOT)}
        for feet in (150, 250)
    }
    assert "seen" in checks[150]
    assert checks[250] == {"memory"}


def test_flushometer_valves_are_not_read_in_the_uniform_table() -> None:
    """UPC 610 has another table for them (from memory)."""
    house = two_storey(source=well(60, 80))
    closet = cold_fixture("valve closet", "flush-valve-closet", "entry")
    check = table_check(sized(replace(house, fixtures=(*house.fixtures, closet)), "upc"))

    assert check is not None
    assert check.outcome == "no answer"


@pytest.mark.parametrize("method", ["din1988", "en806"])
def test_a_european_method_goes_with_no_american_table(method: str) -> None:
    assert table_check(sized(two_storey(source=well(60, 80)), method)) is None


def test_no_row_of_the_uniform_codes_table_carries_more_farther_away_or_at_less_pressure() -> None:
    """Rows from memory, too: longer pipe carries less, more pressure and larger sizes more."""
    rows = {tuple(row[:3]): row[3] for row in load_table("prescriptive")["upc"]["rows"]}
    pairs = [sizes[1:] for sizes in rows if sizes[0] == 30.0]
    assert ("2", "2-1/2") in pairs
    assert len(rows) == 3 * len(pairs) == 42
    for sizes in pairs:
        low, middle, high = (rows[psi, *sizes] for psi in (30.0, 45.0, 60.0))
        assert low == sorted(low, reverse=True)
        for weak, strong in ((low, middle), (middle, high)):
            assert all(a <= b for a, b in zip(weak, strong, strict=True)), sizes
