"""Pump, well and tank of a design: operating points, cycling, yield, tank size, other switches."""

from __future__ import annotations

from typing import ClassVar

from msgspec.structs import replace

from supplycalc.chance.tank_needed import StorageWish, TankNeeded, tank_needed
from supplycalc.chance.well_yield import WellYield, well_yield
from supplycalc.findings.source import pump_cannot_hold
from supplycalc.network import well_side
from supplycalc.problems import InputError, Problem
from supplycalc.questions.well.findings import well_assumptions, well_findings
from supplycalc.questions.well.open_source import OpenSource, open_source
from supplycalc.questions.well.pipe import PipeOption, pipe_options
from supplycalc.questions.well.pump import Duty, Uncertain, duty, points, uncertain
from supplycalc.questions.well.switch import SwitchOption, switch_options
from supplycalc.questions.well.tank import TankCheck, tank_check
from supplycalc.records import Form
from supplycalc.records.sentences import LEVELS, Assumption, Finding, amount
from supplycalc.sizing.design import Design, DesignAnswer, pump_verdict
from supplycalc.supply.day_need import day_need
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.supply.station import OperatingPoint, Station, pump_station, speed_for
from supplycalc.supply.suction import Suction, suction
from supplycalc.supply.well_shares import WellShare, well_shares
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Flow, Pressure


class WellCheck(DesignAnswer, frozen=True, kw_only=True):
    """What pump, well and tank of a house can do, and whether they keep up with it."""

    schema: ClassVar[str] = "supplycalc-well/1"
    form: ClassVar[Form] = Form(
        omit=("design", "station"), add=("verdict", "holds", "design_pressure")
    )

    station: Station | None
    """None where nothing is known of the pump."""
    points: tuple[OperatingPoint, ...]
    design_flow: Flow
    held_pressure: Pressure | None
    """What the pump alone holds at the design flow; 0: it cannot lift it at all; None: not
    known."""
    speeds: tuple[float, float] | None
    """Of a constant-pressure pump without draw and at the design flow, over full speed."""
    shares: tuple[WellShare, ...]
    """What each of several wells gives; empty with one."""
    uncertain: Uncertain | None
    duty: Duty | None
    tank: TankCheck | None
    suction: Suction | None
    well: WellYield
    storage: TankNeeded | None
    """The open tank that a weak well needs; None: none, or it is not known."""
    open_source: OpenSource | None
    """Open water that feeds the house; None: it stands on its well."""
    pipe: tuple[PipeOption, ...]
    """Other sizes of the pipe from the wellhead to a tank in the house."""
    switches: tuple[SwitchOption, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def design_pressure(self) -> Pressure:
        """At the source, as `size` counts on it."""
        return self.design.source.design_pressure

    @property
    def held(self) -> bool:
        """Whether the pump changes its speed to hold one pressure."""
        return self.station is not None and self.station.held

    @property
    def holds(self) -> bool | None:
        """Whether the pump holds the design flow at cut-in; None: not known."""
        state = None if self.design.pump is None else self.design.pump.state
        return None if state in (None, "not-known") else state == "holds"

    @property
    def pressure_to_hold(self) -> Pressure:
        """Cut-in, or the pressure of a constant-pressure pump."""
        if self.station is not None and self.station.held:
            return self.station.cut_out
        return self.house.source.cut_in or 0.0

    def verdict(self, system: UnitSystem) -> str:
        """Does the supply hold, in one or two sentences; what fails comes first."""
        if self.house.source.by_gravity:
            return _by_gravity(self, system)
        fails = [finding for finding in self.findings if finding.level == "fail"]
        if not fails:
            return _holding(self, system)
        text = f"Fails ({fails[0].where}): {fails[0].said(system)}."
        if fails[0].code == pump_cannot_hold.code:
            return text
        return f"{text} {_holding(self, system)}"


def well_check(
    design: Design, people: int | None = None, wish: StorageWish | None = None
) -> WellCheck:
    """Check pump, well and tank of a sized house.

    Args:
        people: who live there; None takes the file's number.
        wish: what is asked of a storage tank; None: to carry the drawn years.

    Raises:
        InputError: the house stands on a main.
    """
    house = design.house
    if house.source.kind == "main":
        message = "this supply comes from a main; 'well' is for a house with a supply of its own"
        raise InputError([Problem(place=house.source.place, message=message)])
    if people is not None:
        house = replace(house, project=replace(house.project, people=people))
        design = replace(design, tree=replace(design.tree, house=house))
    station = pump_station(house)
    flow = design.demand.design_flow[0]
    supply = well_yield(design, station)
    tank = (
        None
        if station is None
        else tank_check(station, flow, next(iter(far_tanks_of(design.tree)), None))
    )
    storage = tank_needed(design, station, supply, wish or StorageWish())
    findings = well_findings(design, station, tank, storage)
    tested_yield = None if supply.by_drawdown else supply.sustained
    return WellCheck(
        design=design,
        station=station,
        points=() if station is None else tuple(points(station, flow)),
        design_flow=flow,
        held_pressure=None
        if station is None or not (design.pump is not None and design.pump.level_known)
        else max(station.supply_curve.pressure_at(flow), 0.0),
        speeds=(speed_for(station, 0.0), speed_for(station, flow))
        if station is not None and station.held
        else None,
        shares=well_shares(well_side(house)),
        uncertain=None if house.further_wells else uncertain(house, flow),
        duty=duty(design, tested_yield) if station is None else None,
        tank=tank,
        suction=None if station is None else suction(station),
        well=supply,
        storage=storage,
        open_source=open_source(design, day_need(house)),
        pipe=pipe_options(design),
        switches=switch_options(design),
        findings=tuple(sorted(findings, key=lambda finding: LEVELS.index(finding.level))),
        assumptions=tuple(well_assumptions(design, station, supply, storage)),
    )


def _by_gravity(check: WellCheck, system: UnitSystem) -> str:
    """What falls short, else how what comes compares with what is needed, and the pressure."""
    water, worst = check.open_source, check.design.worst
    assert water is not None
    if not check.design.ok:
        return check.design.verdict(system)
    fails = [finding for finding in check.findings if finding.level == "fail"]
    if fails:
        return f"Fails: {fails[0].opening(system)}{fails[0].said(system)}."
    needed = show(water.needed, "volume", system)
    comes = "how much comes to it is not known"
    if water.comes is not None and water.inflow is not None:
        flow, day = water.inflow_said(system), show(water.comes, "volume", system)
        comes = f"{flow} come to it, {day} a day"
    spare = amount(worst.margin, system)
    name = check.house.source.kind
    if water.comes is None:
        carries = f"Measure what comes before you count on the {name}"
    elif water.comes >= water.needed:
        carries = f"The {name} carries the house"
    else:
        carries = f"The {name} carries ordinary days at most"
    return (
        f"{carries}: {comes}, and {water.people} people need {needed}; with the water "
        f"at its lowest level {worst.name} has {spare} to spare."
    )


def _holding(check: WellCheck, system: UnitSystem) -> str:
    """What the pump gives, in the words of `size`, or what one must give."""
    pump = check.design.pump
    if pump is not None and pump.pump_flow is not None:
        return pump_verdict(pump, system)
    flow = show(check.design_flow, "flow", system)
    pressure = show(check.pressure_to_hold, "pressure", system)
    known = check.house.source.pump is not None
    lack = "does not say what the pump can give" if known else "names no pump"
    if check.duty is None:
        return (
            f"The file {lack}: it must give {flow} and hold {pressure}; against which head is "
            "known when static_level stands in [source.well]: measure how deep the water stands."
        )
    head = show(check.duty.head, "head", system)
    return f"The file {lack}: it must give {flow} against {head} to hold {pressure}."
