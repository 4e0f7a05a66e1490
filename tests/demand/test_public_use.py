"""Fixtures that guests or the public use count by the public rows.

International Plumbing Code 2018, Table E103.3(2): shower 3.0 cold, 3.0 hot, 4.0 (from memory),
lavatory 1.5, 1.5, 2.0 (print of page 163). The house is invented; sums by hand.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.demand import design_flows
from supplycalc.network import build_tree
from tests.demand.houses import home_runs
from tests.findings.judging import findings_of


@pytest.mark.parametrize("method", ["irc", "ipc"])
def test_a_camp_counts_by_public_rows(method: str) -> None:
    """16 showers: 16 x 4 units, not 16 x 1.4."""
    camp = home_runs(["shower"] * 16, method, use="public")
    tree = build_tree(camp)
    demand = design_flows(tree)
    assert demand.load[0] == pytest.approx(64.0)
    assert demand.load[tree.index["hot manifold"]] == pytest.approx(48.0)
    assert not demand.groups_used


def test_a_fixture_may_say_it_for_itself() -> None:
    house = home_runs(["lavatory", "kitchen-sink"], "irc")
    lavatory, sink = house.fixtures
    house = replace(house, fixtures=(replace(lavatory, use="public"), sink))
    assert design_flows(build_tree(house)).load[0] == pytest.approx(2.0 + 1.4)


def test_many_baths_by_private_rows_are_told() -> None:
    """Six showers in one household are a question; by public rows it is answered."""
    told = home_runs(["shower"] * 6, "irc")
    assert [finding.level for finding in findings_of(told, "private-rows")] == ["note"]
    assert not findings_of(home_runs(["shower"] * 5, "irc"), "private-rows")
    assert not findings_of(home_runs(["shower"] * 6, "irc", use="public"), "private-rows")
