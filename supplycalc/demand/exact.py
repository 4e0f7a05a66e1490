"""Demand method `exact`: the whole distribution of simultaneous flow in every run.

Each fixture runs with its probability in the busy hour, independently of the others, and then draws
its flow. The design flow is a percentile of the sum, `percentile` of [project], 99 % by default;
see `distribution` for the grid and the rule for ties.
"""

from __future__ import annotations

from collections.abc import Callable

from supplycalc.demand.distribution import percentile_flows
from supplycalc.demand.loads import Below, Columns, LinkFlows, has_own_demand, outlet_flows
from supplycalc.demand.method import Formula, Method
from supplycalc.demand.probability import BusyHourUse, fixtures_below, link_flows, probabilities
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si
from supplycalc.units.quantities import Temperature


def hot_share(mixed: Temperature, cold: Temperature, hot: Temperature) -> float:
    """Share of hot water in a mixture of a wanted temperature.

    Returns:
        Share between 0 and 1; all hot where the hot water is not warmer than wanted.

    Source: heat balance of two streams of one liquid (textbook).
    """
    if hot <= mixed:
        return 1.0
    return max((mixed - cold) / (hot - cold), 0.0) if hot > cold else 1.0


def _flows(tree: Tree) -> LinkFlows:
    """Flows as percentiles of the computed distribution.

    A shower, a bath or a bidet draws both its sides at once, in the ratio that gives the wanted
    temperature. A basin, a sink or a washer may draw its whole flow from either side; a pipe that
    feeds both sides sees it once. Of hose bibbs the largest below a pipe is added.

    Returns:
        Flows in m3/s, chance of no flow and mean; the load is the expected number of busy fixtures.

    Source: probabilities from the Peak Water Demand Study, 2017 (from memory); flows of the fixture
        table.
    """
    below = _below(tree)
    level = tree.house.project.percentile
    percentiles = percentile_flows(below.counts, below.probability, below.flow, level)
    return link_flows(tree, below, percentiles.tolist())


def _below(tree: Tree) -> Below:
    """The fixtures below each link, by their chances and what they draw from it."""
    return fixtures_below(tree, _use(tree))


def _use(tree: Tree) -> Callable[[Fixture], BusyHourUse | None]:
    """How each fixture is used, at its own flow and temperature; None where no chance is known."""
    chance, own, water = probabilities(tree), outlet_flows(tree), tree.house.water
    usual = load_table("demand_probability")["mixing"]
    usual_mixed = to_si(usual["value"], usual["unit"])

    def use(fixture: Fixture) -> BusyHourUse | None:
        if fixture.kind not in chance or not has_own_demand(fixture):
            return None
        flow, mixed = own[fixture.name], fixture.use_temperature
        if mixed is None and tree.kind_of(fixture).valves != ("plain",):
            mixed = usual_mixed
        columns = Columns.alike(flow)
        if mixed is not None and fixture.cold is not None and fixture.hot is not None:
            share = hot_share(mixed, water.cold, water.hot)
            columns = Columns(cold=flow * (1.0 - share), hot=flow * share, total=flow)
        return BusyHourUse(probability=chance[fixture.kind], flow=columns)

    return use


METHOD = Method(
    name="exact",
    flows=_flows,
    counts="the computed chance of every combination of fixtures in the busy hour, quiet moments "
    "counted; it rests on the study's chances of use in homes and on your fixtures' own flows, so "
    "it does not hold where many bathe at once by the clock",
    verb="counts how seldom fixtures run together, quiet moments included",
    load_name="expected busy fixtures",
    fixture_table="fixtures",
    below=_below,
    unknown_outdoors="chance of use",
    whole_distribution=True,
    formulas=(
        Formula(
            name="exact-demand",
            words="distribution of the sum of independent fixtures by convolution, fixture after "
            "fixture, on a grid of 0.05 gpm; the percentile is the least flow whose cumulative "
            "probability is at least the level less 1e-12",
            source="textbook probability; the tests hold it equal to the binomial and to the "
            "characteristic function",
            check="tested",
        ),
    ),
)
