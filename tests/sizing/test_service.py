"""Of several runs from the source the service is the one that carries most, whatever the order."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.questions.demand.study import compare_demand
from supplycalc.questions.size.study import size
from tests.houses import cold_fixture, pipe, two_storey


def two_lines(*, garden_first: bool) -> House:
    """A house and a basin in the pump room on a line of its own."""
    house = two_storey()
    line = pipe("pump room line", "source", "pump room", 5.0)
    runs = (line, *house.runs) if garden_first else (*house.runs, line)
    basin = cold_fixture("pump room basin", "lavatory", "pump room", 5.0)
    return replace(house, runs=runs, fixtures=(*house.fixtures, basin))


def test_the_largest_load_makes_the_service() -> None:
    for garden_first in (True, False):
        design = size(two_lines(garden_first=garden_first), mend=False)
        assert design.service is not None
        assert design.service.name == "service"


def test_demand_looks_at_it() -> None:
    """The first run of the file was taken."""
    comparisons = [
        compare_demand(two_lines(garden_first=first), methods=("irc",)) for first in (True, False)
    ]
    assert [comparison.run for comparison in comparisons] == ["service", "service"]
    assert all(comparison.is_service for comparison in comparisons)
