"""Raising the switch: what changes at the worst fixture, for pump, tank and pipe."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.problems import ComputationError
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import map_runs, raise_switch
from supplycalc.sizing.design import Design
from supplycalc.supply.limits import least_run_time, switch_settings
from supplycalc.supply.pump import total_dynamic_head, with_curve
from supplycalc.supply.station import guesses, pump_station, usual_precharge
from supplycalc.supply.tank import Cycling, volume_for_run_time
from supplycalc.tables import code_limit, to_si


class SwitchOption(Struct, frozen=True, kw_only=True):
    """One setting of the switch, with the sizes as they are."""

    cut_in: float
    """[Pa gauge]"""
    cut_out: float
    """[Pa gauge]"""
    now: bool
    """Whether it is the present setting."""
    precharge: float
    """To be set [Pa gauge]."""
    worst: str
    residual: float
    """At the worst fixture [Pa gauge]."""
    margin: float
    """[Pa]"""
    pump_flow: tuple[float, float] | None
    """At cut-in and cut-out [m3/s]; None: pump not known."""
    perhaps_reached: bool
    """Whether the pump may get to cut-out by the best curve that its one known point leaves open;
    as `reached` where its curve is given."""
    required_head: float
    """Total head for the design flow at cut-in [m]."""
    cycles: Cycling | None
    tank_needed: float | None
    """Least volume for the run time [m3]."""
    highest: float
    """Highest pressure at rest anywhere in the house [Pa gauge]."""
    limit: float
    """Highest pressure at rest that the file, or else the codes, allow in a house [Pa gauge]."""
    weakest: str
    """The part with the least rating left: a run or the tank; empty where none is known."""
    rating: float | None
    """Of that part [Pa gauge]."""
    pressure_there: float
    """At rest at that part [Pa gauge]."""

    @property
    def reached(self) -> bool:
        """Whether the pump gets to cut-out, as far as is known."""
        return self.pump_flow is None or self.pump_flow[1] > 0.0

    @property
    def rated(self) -> bool:
        """Whether no rating is exceeded, as far as is known."""
        return self.rating is None or self.pressure_there <= self.rating

    @property
    def over_limit(self) -> bool:
        """Whether the highest pressure is above what is allowed in a house."""
        return self.highest > self.limit + 1.0


def switch_options(design: Design) -> tuple[SwitchOption, ...]:
    """The usual settings beside the present one, every size kept.

    Args:
        design: sized, on a well.

    Returns:
        One option per setting, low to high; empty where there is no switch to raise.

    Raises:
        ComputationError: the present setting itself cannot be computed.

    Source: settings as the Water Systems Council names them; each is really computed.
    """
    source = design.house.source
    if source.cut_in is None or source.cut_out is None:
        return ()
    if source.pump is not None and source.pump.kind == "constant-pressure":
        return ()
    settings = {(round(low), round(high)): (low, high) for low, high in switch_settings()}
    settings.setdefault(
        (round(source.cut_in), round(source.cut_out)), (source.cut_in, source.cut_out)
    )
    bare = frozen(design)
    strongest = max((one.supply_curve.pressure[0] for one in guesses(bare)), default=-math.inf)
    house = with_curve(bare)
    return tuple(_options(design, house, sorted(settings.values()), strongest))


def frozen(design: Design) -> House:
    """The design's house with every size fixed as it was chosen.

    Args:
        design: sized.

    Returns:
        The house.
    """
    chosen = {result.run.name: result.size.nominal for result in design.runs}
    return map_runs(design.house, lambda run: replace(run, size=chosen[run.name], sizes=()))


def _options(
    design: Design, house: House, settings: list[tuple[float, float]], strongest: float
) -> Iterator[SwitchOption]:
    source = house.source
    assert source.cut_in is not None
    for cut_in, cut_out in settings:
        raised = raise_switch(house, cut_in - source.cut_in)
        now = raised.source.cut_in == source.cut_in and abs(cut_out - (source.cut_out or 0.0)) < 1.0
        charge = usual_precharge(cut_in, cut_out, held=False)
        tank = raised.source.tank
        if tank is not None and not now:
            tank = replace(tank, precharge=charge)
        changed = replace(raised, source=replace(raised.source, cut_out=cut_out, tank=tank))
        try:
            sized = size(changed, mend=False)
        except ComputationError:
            if now:
                raise
            continue
        yield _option(design, sized, now, charge, strongest)


def _option(
    before: Design, design: Design, now: bool, charge: float, strongest: float
) -> SwitchOption:
    source = design.house.source
    assert source.cut_in is not None
    assert source.cut_out is not None
    one = pump_station(design.house)
    cycles, needed = None, None
    if one is not None:
        vessel = one.vessel
        trial = vessel or one.vessel_of(to_si(44.0, "gal"))
        cycles = one.cycles(trial)
        least, _ = least_run_time(cycles.mean_flow, one.motor_power)
        needed = volume_for_run_time(trial, one.supply_curve, least) or None
        cycles = cycles if vessel is not None else None
    flows = None
    if one is not None:
        flows = (one.supply_curve.flow_at(one.cut_in), one.supply_curve.flow_at(one.cut_out))
    weakest, rating, there = _weakest(design)
    return SwitchOption(
        cut_in=source.cut_in,
        cut_out=source.cut_out,
        now=now,
        precharge=source.tank.precharge
        if now and source.tank is not None and source.tank.precharge is not None
        else charge,
        worst=design.worst.name,
        residual=design.worst.residual,
        margin=design.worst.margin,
        pump_flow=flows,
        perhaps_reached=flows is None or flows[1] > 0.0 or strongest > source.cut_out,
        required_head=total_dynamic_head(design.house, before.demand.design_flow[0], source.cut_in),
        cycles=cycles,
        tank_needed=needed,
        highest=max(outlet.static_pressure for outlet in design.outlets),
        limit=code_limit("max-static").value
        if design.house.limits.max_static is None
        else design.house.limits.max_static,
        weakest=weakest,
        rating=rating,
        pressure_there=there,
    )


def _weakest(design: Design) -> tuple[str, float | None, float]:
    """Name, rating and pressure of the part with the least rating left."""
    found: list[tuple[float, str, float, float]] = []
    for result in design.runs:
        rating = result.tube.pressure_rating(result.size, result.temperature)
        if rating is not None:
            there = result.static_end_pressure + max(-result.static_gain, 0.0)
            found.append((rating - there, result.run.name, rating, there))
    tank, cut_out = design.house.source.tank, design.house.source.cut_out
    if tank is not None and tank.max_pressure is not None and cut_out is not None:
        found.append((tank.max_pressure - cut_out, "pressure tank", tank.max_pressure, cut_out))
    if not found:
        return "", None, 0.0
    _, name, rating, there = min(found)
    return name, rating, there
