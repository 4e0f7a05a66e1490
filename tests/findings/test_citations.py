"""A citation fits its rule: whose book it is, and what it is about."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Project, Pump, Tank, Well
from supplycalc.records.sentences import cite
from tests.findings.judging import findings_of
from tests.houses import FOOT, GPM, cold_fixture, two_storey, well

BOOKS = {
    "irc": {"hose-connection": "IRC P2902.4.3", "shower-valve": "IRC P2708.4"},
    "upc": {
        "hose-connection": "UPC 603.5.7 (from memory, check it)",
        "shower-valve": "UPC 408.3 (from memory, check it)",
    },
    "din1988": {"hose-connection": "EN 1717", "shower-valve": "common practice, no source"},
}


@pytest.mark.parametrize("method", BOOKS)
def test_a_rule_is_cited_from_the_projects_own_book(method: str) -> None:
    """A plain shower valve and a garden tap, by three books."""
    house = two_storey(project=Project(name="Books", demand=method))
    house = replace(
        house,
        fixtures=(
            *(
                replace(fixture, valve="plain") if "shower" in fixture.kind else fixture
                for fixture in house.fixtures
            ),
            cold_fixture("garden tap", "hose-bibb", "entry", 10.0),
        ),
    )
    told = {
        finding.code: cite(finding.source)
        for code in ("hose-connection", "shower-valve")
        for finding in findings_of(house, code)
    }

    assert told == BOOKS[method]


def test_a_dry_run_and_a_switch_cite_the_files_own_figures() -> None:
    """Yield, levels, curve and switch stand in the file: a handbook's total head says nothing of
    them."""
    pump = Pump(curve=tuple((q * GPM, h * FOOT) for q, h in ((0, 150), (8, 130), (14, 90))))
    deep = Well(
        static_level=40.0 * FOOT, pump_depth=120.0 * FOOT, recovery=2.0 * GPM, diameter=0.15
    )
    source = replace(well(cut_in=30.0, cut_out=70.0), pump=pump, well=deep, tank=Tank(volume=0.3))
    house = two_storey(source=source)

    for code in ("pump-oversized", "switch-above-pump"):
        (finding,) = findings_of(house, code)
        assert cite(finding.source) == "your file", code
