"""Whether a well's pump keeps up with a house: what it gives, how long the tank helps, by which
rule it is judged. Pipe is sized apart from this, at the pressure the pump starts or holds at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, ClassVar, Literal

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import BATHING, CLOSETS
from supplycalc.demand.guide import guide_flow
from supplycalc.demand.loads import Demand, is_public
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Fixture, House
from supplycalc.network import Tree
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.supply.limits import seven_minute_peak, well_limit
from supplycalc.supply.pump import (
    OnePoint,
    curve_known,
    level_known,
    one_point,
    total_dynamic_head,
    with_curve,
)
from supplycalc.supply.several_wells import wells_alone, wells_apart
from supplycalc.supply.station import guesses, pump_station
from supplycalc.supply.supply_curve import WellsTogether, flow_at_pressure
from supplycalc.supply.tank import time_until_empty
from supplycalc.supply.well import sustained_yield
from supplycalc.supply.well_shares import sustained_by_all
from supplycalc.tables import Citation
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Flow, Head, Minutes, Pressure, Volume

State = Literal["holds", "short-of-peak", "too-small", "not-known"]
NOT_IN_A_HOME = {"hose-bibb", "yard-hydrant", "stock-waterer", "irrigation", "ice-maker"}
"""Kinds that a guide to a home's uses may leave out: outdoors, or next to nothing."""
SAME_FLOW = 1.0 + 1e-6
"""Flows that differ by less are the same."""
ROUND_FIGURE = 0.95
"""Share of a trade rule's flow that meets it: its figures are round, a curve is not known better
(common practice, no source)."""


class PumpRule(Struct, frozen=True, kw_only=True):
    """What one of the well trade's rules asks of a pump."""

    form: ClassVar[Form] = Form(omit=("source",))
    more_schema: ClassVar[dict[str, Any]] = CITED

    name: str
    """In words that follow "by"."""
    flow: Flow
    source: Citation

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it, with its source."""
        return {**fields_to_data(self, system), **citation_data(self.source)}


class ComesOut(Struct, frozen=True, kw_only=True):
    """What the pump alone delivers while outlets that make the design flow stand open."""

    opened: tuple[str, ...]
    """The outlets, as `flow --open` takes them."""
    pressure: Pressure
    """At the tank."""
    total: Flow
    weakest: str
    weakest_flow: Flow
    rated_flow: Flow
    """Of the weakest."""


class PumpCheck(Struct, frozen=True, kw_only=True):
    """A well's pump against the design flow and against the rules of the well trade."""

    form: ClassVar[Form] = Form(
        omit=("pumps", "yields"),
        add=("state", "needed_flow", "judged_by"),
    )

    held: bool
    """Whether it changes its speed to hold one pressure."""
    pressure: Pressure
    """Cut-in, or the pressure it holds."""
    design_flow: Flow
    listed: bool
    """Whether the design flow is what the file lists as running at once."""
    pump_flow: tuple[Flow, Flow] | None
    """Least and most that it gives at that pressure; None: nothing tells."""
    curve_known: bool
    """Whether its curve is given, not guessed from one point."""
    level_known: bool
    """Whether the file tells how deep the water stands, where that matters."""
    full_tank_time: Minutes | None
    """From a full tank, pump off, until it is empty at the design flow; None: no tank is told, or
    the pump holds the flow."""
    low_tank_time: Minutes | None
    """The same from a tank just above cut-in."""
    drawdown: Volume | None
    """Of the tank."""
    sinks_to: Pressure | None
    """What the pump alone holds at the design flow; None: not known. Never below 0."""
    rules: tuple[PumpRule, ...]
    """The trade's own, the least asking first."""
    largest: str
    """The outlet that asks for most by itself."""
    largest_flow: Flow
    duty_head: Head | None
    """Total head of a pump that gives the design flow at that pressure, the lift included; None
    without the water's level."""
    needed_head: Head | None = None
    """The same for the flow by which the pump is judged."""
    sustained: Flow | None = None
    """What the well gives for good; None: not known."""
    comes_out: ComesOut | None = None
    pumps: int = 1
    """How many share the work, each in a well of its own."""
    yields: Flow | None = None
    """What the wells would give for good with pumps of any size; None: not known of each."""

    @property
    def needed_flow(self) -> Flow:
        """Less than this is too small: by the least asking rule, and for the largest outlet."""
        if self.listed or not self.rules:
            return self.design_flow
        return min(max(self.rules[0].flow, self.largest_flow), self.design_flow)

    @property
    def judging_rule(self) -> PumpRule | None:
        """The trade's rule that decides; None where the design flow or one outlet does."""
        rule = self.rules[0] if self.rules and not self.listed else None
        decides = rule is not None and self.largest_flow <= rule.flow * SAME_FLOW < self.design_flow
        return rule if decides else None

    @property
    def judged_by(self) -> str:
        """The rule that decides, in words that follow "by"."""
        if self.listed:
            return "what the file lists as running at once"
        if self.judging_rule is not None:
            return self.judging_rule.name
        if self.needed_flow < self.design_flow:
            return f"what {self.largest} needs alone"
        return "the design flow"

    @property
    def state(self) -> State:
        """The verdict."""
        if self.pump_flow is None:
            return "not-known"
        least, most = self.pump_flow
        if least * SAME_FLOW >= self.design_flow:
            return "holds"
        if most < self.needed_flow * ROUND_FIGURE or most <= 0.0 or most < self.largest_flow:
            return "too-small"
        if most * SAME_FLOW < self.design_flow and least >= self.needed_flow * ROUND_FIGURE:
            return "short-of-peak"
        return "short-of-peak" if most * SAME_FLOW < self.design_flow else "not-known"

    @property
    def well_is_the_limit(self) -> bool:
        """Whether the well itself gives less than the pump is judged by: then no pump helps."""
        return self.yields is not None and self.yields < self.needed_flow * ROUND_FIGURE


def pump_check(tree: Tree, demand: Demand) -> PumpCheck | None:
    """Judge a well's pump; None on a main.

    Source: the rules name their own; times by the tank's water balance.
    """
    house = tree.house
    source, pump = house.source, house.source.pump
    if source.kind != "well":
        return None
    held, pressure = source.set_pressure, source.kept_pressure
    flow = demand.design_flow[0]
    known, one_pump = level_known(house), not house.further_wells
    told = known or (pump is not None and not pump.curve)  # a bucket test holds the lift in it
    if not one_pump:
        told = all(
            level_known(alone) or (alone.source.pump is not None and not alone.source.pump.curve)
            for alone in wells_alone(house)
        )
    pump_flow = flow_range(house, pressure)
    station = pump_station(house)
    vessel = None if station is None else station.vessel
    full_time = low_time = None
    short = pump_flow is not None and pump_flow[1] * SAME_FLOW < flow
    if station is not None and vessel is not None and told and short:
        low_time = time_until_empty(vessel, station.supply_curve, flow, vessel.cut_in)
        full_time = vessel.drawdown / flow + low_time
    sinks_to = None
    if station is not None and curve_known(house) and known:
        sinks_to = max(station.supply_curve.pressure_at(flow), 0.0)
    outlets = [outlet for outlet in tree.outlets if not outlet.fixture.planned]
    largest = max(outlets, key=lambda outlet: outlet.flow, default=None)
    check = PumpCheck(
        held=held is not None,
        pressure=pressure,
        design_flow=flow,
        listed=demand.method == "listed",
        pump_flow=pump_flow,
        curve_known=curve_known(house),
        level_known=told,
        full_tank_time=full_time,
        low_tank_time=low_time,
        drawdown=None if vessel is None else vessel.drawdown,
        sinks_to=sinks_to,
        rules=_rules_of_homes(tree),
        largest="" if largest is None else largest.fixture.name,
        largest_flow=0.0 if largest is None else largest.flow,
        duty_head=total_dynamic_head(house, flow, pressure) if one_pump and known else None,
        sustained=sustained_by_all(house),
        pumps=1 + len(house.further_wells),
        yields=_yields(house),
    )
    if one_pump and known:
        head = total_dynamic_head(house, check.needed_flow, pressure)
        check = replace(check, needed_head=head)
    return check


def _rules_of_homes(tree: Tree) -> tuple[PumpRule, ...]:
    """The well trade's rules; none where guests use fixtures, who all come at once."""
    fixtures = [fixture for fixture in tree.house.fixtures if not fixture.planned]
    return () if any(is_public(tree, fixture) for fixture in fixtures) else trade_rules(fixtures)


def flow_range(house: House, pressure: Pressure) -> tuple[float, float] | None:
    """Least and most that a house's pump gives at a pressure at the tank.

    Returns:
        The ends [m3/s], the same where curve and water level are given; None where nothing is
        known of the pump. Without the level a curve tells only the most; of one known point it is
        sure that less pressure gives no less flow, and no more is taken for sure.

    Source: intersection of pump and system curve; the most below the pressure of one known point
        by `guesses` (common practice, no source).
    """
    pump = house.source.pump
    if pump is None:
        return None
    if house.further_wells and not curve_known(house):
        return _range_of_several(house, pressure)
    if len(pump.curve) > 1:
        most = flow_at_pressure(house, pressure)
        return (most if level_known(house) else 0.0), most
    point = one_point(house)
    if point is None:
        return None
    known = pump.measured_pressure if point.measured else _pressure_of(house, point)
    if known is None:
        return 0.0, max((one.supply_curve.flow_at(pressure) for one in guesses(house)), default=0.0)
    least, most = ((1.0 + sign * point.uncertainty) * point.flow for sign in (-1.0, 1.0))
    if known < pressure:
        return 0.0, most
    more = (station.supply_curve.flow_at(pressure) for station in guesses(house))
    return least, max(most, *more) if known > pressure else most


def _range_of_several(house: House, pressure: float) -> tuple[float, float] | None:
    """The same of several wells, of some of which one point is known: at the pressure where their
    lines meet, by the middle of their curves."""
    guessed = with_curve(house)
    if not curve_known(guessed):
        return None
    joint = WellsTogether(guessed).joint_pressure(pressure)
    lost = joint - pressure
    ranges = []
    for alone, apart in zip(wells_alone(house), wells_apart(house), strict=True):
        pump = alone.source.pump
        if pump is not None and not pump.curve and pump.measured_pressure is not None:
            # the bucket test was read at the tank
            measured = pump.measured_pressure + lost
            pump = replace(pump, measured_pressure=measured)
        ranges.append(flow_range(replace(apart, source=replace(apart.source, pump=pump)), joint))
    ends = [each for each in ranges if each is not None]
    return math.fsum(low for low, _ in ends), math.fsum(high for _, high in ends)


def _yields(house: House) -> float | None:
    """What all wells sustain, whatever their pumps [m3/s]; None where one is not known."""
    wells = [house.source.well, *(further.well for further in house.further_wells)]
    allowance = well_limit("submergence").value
    known = [None if well is None else sustained_yield(well, allowance) for well in wells]
    return None if None in known else math.fsum(each for each in known if each is not None)


def _pressure_of(house: House, point: OnePoint) -> float | None:
    """Pressure at the tank at a sheet's one point [Pa gauge]; None without the water's level."""
    if not level_known(house):
        return None
    weight = specific_weight(house.water.cold)
    return weight * point.head - weight * total_dynamic_head(house, point.flow, 0.0)


def trade_rules(fixtures: Sequence[Fixture]) -> tuple[PumpRule, ...]:
    """What the well trade's rules ask of the pump of a home, the least asking first.

    Returns:
        The rules; the guide's only where its table has every indoor fixture.

    Source: the outlets counted, The Driller; the seven-minute peak, well trade's tables; the
        guide's allowances, Private Water Systems.
    """
    if not fixtures:
        return ()
    outlet = well_limit("per-outlet")
    rules = [
        PumpRule(
            name=f"the count of {len(fixtures)} outlets",
            flow=outlet.value * len(fixtures),
            source=outlet.citation,
        )
    ]
    kinds = [fixture.kind for fixture in fixtures]
    bathing, closets = (sum(kind in of_kind for kind in kinds) for of_kind in (BATHING, CLOSETS))
    baths = min(bathing, closets)
    bathrooms = baths + 0.5 * (max(bathing, closets) - baths)
    if bathrooms > 0.0 and (peak := seven_minute_peak(bathrooms)) is not None:
        volume, citation = peak
        rules.append(
            PumpRule(
                name="the seven-minute peak of "
                f"{bathrooms:g} bathroom{'' if bathrooms == 1.0 else 's'}",
                flow=volume / well_limit("peak-minutes").value,
                source=citation,
            )
        )
    guide = guide_flow(kinds)
    if guide is not None and set(guide.left_out) <= NOT_IN_A_HOME:
        rules.append(
            PumpRule(
                name="the guide's allowances for a home's uses",
                flow=guide.allowances,
                source=guide.citation,
            )
        )
    return tuple(sorted(rules, key=lambda rule: rule.flow))
