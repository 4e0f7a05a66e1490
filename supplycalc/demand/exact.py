"""Demand method `exact`: the whole distribution of simultaneous flow in every run.

Each fixture runs with its probability in the busy hour, independently of the others, and then draws
its flow. The design flow is a percentile of the sum, `percentile` of [project], 99 % by default;
see `distribution` for the grid and the rule for ties.
"""

from __future__ import annotations

from collections.abc import Callable

from supplycalc.demand.distribution import mean_flow, percentile_flows, zero_chance
from supplycalc.demand.loads import Columns, Demand, fixture_flows, greatest_below, largest_flows
from supplycalc.demand.peak_demand_study import outdoor_flows, probabilities
from supplycalc.demand.probability import Use, fixtures_below
from supplycalc.model import Fixture
from supplycalc.network import Tree
from supplycalc.tables import load_table, to_si


def hot_share(mixed: float, cold: float, hot: float) -> float:
    """Share of hot water in a mixture of a wanted temperature.

    Args:
        mixed: wanted temperature [K].
        cold: temperature of the cold water [K].
        hot: temperature of the hot water [K].

    Returns:
        Share between 0 and 1; all hot where the hot water is not warmer than wanted.

    Source: heat balance of two streams of one liquid (textbook).
    """
    if hot <= mixed:
        return 1.0
    return max((mixed - cold) / (hot - cold), 0.0) if hot > cold else 1.0


def design_flows(tree: Tree) -> Demand:
    """Design flows as percentiles of the computed distribution.

    A shower, a bath or a bidet draws both its sides at once, in the ratio that gives the wanted
    temperature. A basin, a sink or a washer may draw its whole flow from either side; a pipe that
    feeds both sides sees it once. Of hose bibbs the largest below a pipe is added.

    Args:
        tree: the supply.

    Returns:
        The design flows in m3/s, chance of no flow and mean; the load is the expected number of
        busy fixtures.

    Source: probabilities from the Peak Water Demand Study, 2017, as copied in public
        source code; flows of the fixture table.
    """
    below = fixtures_below(tree, _use(tree))
    level = tree.house.project.percentile
    flows = percentile_flows(below.counts, below.probability, below.flow, level).tolist()
    outdoor = greatest_below(tree, outdoor_flows(tree))
    mixture = below.mixture.tolist()
    silent = zero_chance(below.counts, below.probability).tolist()
    mean = mean_flow(below.counts, below.probability, below.flow).tolist()
    busy = (below.counts @ below.probability).tolist()
    largest = largest_flows(tree)
    return Demand(
        method="exact",
        load_name="expected busy fixtures",
        load=tuple(busy[row] for row in mixture),
        design_flow=tuple(
            max(flows[row] + outside, alone)
            for row, outside, alone in zip(mixture, outdoor, largest, strict=True)
        ),
        largest=tuple(largest),
        zero_chance=tuple(silent[row] for row in mixture),
        mean_flow=tuple(mean[row] for row in mixture),
    )


def _use(tree: Tree) -> Callable[[Fixture], Use | None]:
    chance = probabilities(tree)
    own = dict(zip((one.name for one in tree.house.fixtures), fixture_flows(tree), strict=True))
    water = tree.house.water
    usual = load_table("demand_probability")["mixing"]
    usual_mixed = to_si(usual["value"], usual["unit"])

    uses: dict[tuple[object, ...], Use] = {}

    def use(fixture: Fixture) -> Use | None:
        if fixture.kind not in chance or fixture.continuous is not None:
            return None
        both = fixture.cold is not None and fixture.hot is not None
        key = (fixture.kind, own[fixture.name], fixture.use_temperature, both)
        if key not in uses:
            flow, mixed = own[fixture.name], fixture.use_temperature
            if mixed is None and tree.kind_of(fixture).valves != ("plain",):
                mixed = usual_mixed
            columns = Columns(cold=flow, hot=flow, total=flow)
            if mixed is not None and both:
                share = hot_share(mixed, water.cold, water.hot)
                columns = Columns(cold=flow * (1.0 - share), hot=flow * share, total=flow)
            uses[key] = Use(probability=chance[fixture.kind], flow=columns)
        return uses[key]

    return use
