"""The code's largest flows of fixtures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.delivery.fixture_use import has_regulator
from supplycalc.findings.rule import Remark, by_american_code, rule
from supplycalc.findings.words import listed
from supplycalc.model import Fixture
from supplycalc.records.sentences import Assumption
from supplycalc.sizing.design import Design
from supplycalc.tables import citation_of, load_table, to_si


@rule("flow-over-code-limit", "warn")
def flow_over_limit(design: Design) -> Iterator[Remark]:
    """A flow that the file gives a fixture is more than the code lets it draw."""
    if not by_american_code(design):
        return
    table = load_table("consumption_limits")["flow"]
    limits = {kind: (gpm, psi) for kind, gpm, psi in table["rows"]}
    for fixture in design.house.fixtures:
        if fixture.flow is None or fixture.kind not in limits:
            continue
        gpm, psi = limits[fixture.kind]
        limit = to_si(gpm, "gpm")
        if fixture.flow > limit * (1 + 1e-6):
            yield Remark(
                where=fixture.name,
                message="the file gives it {0}; the code lets it draw at most {1} at {2}",
                values=(
                    (fixture.flow, "flow"),
                    (limit, "flow"),
                    (to_si(psi, "psi"), "pressure"),
                ),
                remedy="fit one that keeps the limit, or count each head of a shower as a fixture",
                source=citation_of(table),
            )


def own_flow_assumption(fixtures: Iterable[Fixture]) -> Iterator[Assumption]:
    """That a flow which the file gives is taken for what a regulator holds, where it is."""
    held = [fixture.name for fixture in fixtures if fixture.flow and has_regulator(fixture)]
    if held:
        yield Assumption(
            text=f"{listed(held)}: the flow that the file gives is what a regulator holds at any "
            'higher pressure; without one, write regulator = "none"'
        )
