"""The code's largest flows of fixtures, IRC Table P2903.2 (seen): exact figures."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.findings.fixture_flows import flow_over_limit
from supplycalc.model import House
from supplycalc.questions.size import study as solve
from tests.houses import GPM, mixed_fixture, two_storey


def with_flow(kind: str, gpm: float) -> House:
    """A house whose only fixture of a kind has a flow of its own."""
    house = two_storey()
    fixture = replace(mixed_fixture("odd one", kind, "hall", "hot hall"), flow=gpm * GPM)
    return replace(house, fixtures=(*house.fixtures, fixture))


@pytest.mark.parametrize(
    ("kind", "limit"), [("lavatory", 2.2), ("shower", 2.5), ("kitchen-sink", 2.2)]
)
def test_a_flow_above_the_limit_is_told(kind: str, limit: float) -> None:
    """At the limit nothing, a tenth above it a warning with both flows."""
    assert list(flow_over_limit.findings(solve.size(with_flow(kind, limit), mend=False))) == []

    (finding,) = flow_over_limit.findings(solve.size(with_flow(kind, limit + 0.1), mend=False))
    assert finding.level == "warn"
    assert finding.where == "odd one"
    assert finding.values[1][0] / GPM == pytest.approx(limit)
    assert "P2903.2" in str(finding.source)


def test_the_tables_own_flows_keep_the_limits() -> None:
    """A house without flows of its own has no such finding."""
    assert list(flow_over_limit.findings(solve.size(two_storey(), mend=False))) == []
