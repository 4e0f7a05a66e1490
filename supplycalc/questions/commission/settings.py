"""What is set on the day, and what gauge, bucket and watch should then say."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.catalogue import Role
from supplycalc.delivery.fixture_use import full_use
from supplycalc.delivery.household import Household
from supplycalc.delivery.source_cases import source_cases
from supplycalc.demand import by_the_american_codes
from supplycalc.findings.rule import finding_limit
from supplycalc.findings.words import listed
from supplycalc.model import Device
from supplycalc.questions.commission.expansion import Expansion
from supplycalc.sizing.design import Design
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import pump_station, settings_of_switch, usual_precharge
from supplycalc.supply.tank import fill_time
from supplycalc.tables import code_limit
from supplycalc.units.quantities import (
    Elevation,
    Flow,
    Minutes,
    Pressure,
    Setting,
    Temperature,
    Volume,
)


class SettingToMake(Struct, frozen=True, kw_only=True):
    """One thing to set; one of its three figures is given."""

    what: str
    pressure: Setting | None = None
    temperature: Temperature | None = None
    level: Elevation | None = None
    how: str = ""
    """What goes with it, in a few words."""


class ExpectedReading(Struct, frozen=True, kw_only=True):
    """What the model expects to be read on the day."""

    what: str
    pressure: Pressure | None = None
    flow: Flow | None = None
    time: Minutes | None = None
    volume: Volume | None = None


def settings_to_make(design: Design, expansions: Sequence[Expansion]) -> Iterator[SettingToMake]:
    """Tank, switch, valves and heater, in the order in which they are set.

    Source: the trade's rules for the air charge; relief above cut-out common practice.
    """
    source, settings = design.house.source, settings_of_switch(design.house)
    if settings is not None:
        cut_in, cut_out, held = settings
        charge = usual_precharge(cut_in, cut_out, held)
        own = None if source.tank is None else source.tank.precharge
        if own is not None and abs(own - charge) <= finding_limit("precharge-tolerance").value:
            charge = own
        name = "pressure tank" if source.tank is None else source.tank.name
        yield SettingToMake(what=f"air in the {name}", pressure=charge, how="tank empty, pump off")
        for far in far_tanks_of(design.tree):
            yield SettingToMake(what=f"air in {far.name}", pressure=far.charge, how="tank empty")
        if held:
            yield SettingToMake(what="pump holds", pressure=cut_out, how="at the controller")
        else:
            yield SettingToMake(what="pump on at", pressure=cut_in, how="switch, power locked")
            yield SettingToMake(what="pump off at", pressure=cut_out)
        yield _relief(design, cut_out)
    yield from _levels(design)
    for link in design.house.every_device:
        if link.setting is not None:
            yield SettingToMake(what=link.name, pressure=link.setting, how="read with nothing open")
    yield from _heat(design, expansions)


def _relief(design: Design, cut_out: float) -> SettingToMake:
    tank, name = design.house.source.tank, "relief valve at the tank"
    if tank is not None and tank.relief is not None:
        return SettingToMake(what=name, pressure=tank.relief, how="as bought, never plugged")
    wanted = cut_out + well_limit("relief-margin").value
    if tank is not None and tank.max_pressure is not None:
        wanted = min(wanted, tank.max_pressure)
    return SettingToMake(what=name, pressure=wanted, how="none in the file: fit one")


def _levels(design: Design) -> Iterator[SettingToMake]:
    """The floats of an open tank."""
    source = design.house.source
    if not source.open_water or source.kind == "spring":
        return
    if source.filled_by is not None:
        if source.highest_level is not None:
            yield SettingToMake(what="well pump's float, off", level=source.highest_level)
        if source.float_on is not None:
            yield SettingToMake(what="well pump's float, on", level=source.float_on)
    if source.pump is not None and source.lowest_level is not None:
        yield SettingToMake(
            what="house pump's float, off",
            level=source.lowest_level,
            how="so it never runs dry",
        )


def _heat(design: Design, expansions: Sequence[Expansion]) -> Iterator[SettingToMake]:
    tree, hot = design.tree, design.house.water.hot
    heaters = [
        it.name
        for it in design.devices
        if tree.does(it.device, "stores") or tree.does(it.device, "heats-flow")
    ]
    if not heaters:
        return
    yield SettingToMake(what=f"{listed(heaters)}, thermostat", temperature=hot)
    if by_the_american_codes(design.house):
        mixers = design.devices_that("mixes") or ["stops of shower and bath valves"]
        most = code_limit("scald").value
        yield SettingToMake(
            what=f"{listed(mixers)}, at most", temperature=most, how="by thermometer"
        )
    if expansions:
        stores = listed(each.heater for each in expansions)
        yield SettingToMake(
            what=f"{stores}, relief valve", pressure=expansions[0].relief, how="usual"
        )
    for each in expansions:
        if each.charge is not None:
            yield SettingToMake(
                what=f"air in an expansion tank at {each.heater}",
                pressure=each.charge,
                how="before it is filled",
            )


def expected_readings(design: Design) -> Iterator[ExpectedReading]:
    """The gauge at rest, the far outlet alone, the pump's run.

    Source: `delivery` with one outlet open; the tank by Boyle's law.
    """
    house = design.house
    source, settings = house.source, settings_of_switch(house)
    if settings is not None and not settings[2]:
        yield ExpectedReading(what="gauge, pump just off", pressure=settings[1])
        yield ExpectedReading(what="pump just on", pressure=settings[0])
    elif settings is not None:
        yield ExpectedReading(what="gauge, nothing open", pressure=settings[1])
    else:
        yield ExpectedReading(what="gauge, nothing open", pressure=design.source.static_pressure)
    if source.kind == "main" and source.residual is not None and source.residual_flow is not None:
        yield ExpectedReading(
            what="main while it gives", pressure=source.residual, flow=source.residual_flow
        )
    outlet = design.worst
    when = ", pump just off" if settings is not None and not settings[2] else ""
    yield ExpectedReading(what=f"{outlet.name} at rest{when}", pressure=outlet.static_pressure)
    if outlet.required > 0.0:
        case = source_cases(house)[0]
        (out,) = Household(design).settle((full_use(outlet.fixture),), case.law).outflows
        yield ExpectedReading(
            what=f"{outlet.fixture.name} alone, {_state(case.name)}",
            pressure=out.pressure,
            flow=out.flow,
        )
    station = pump_station(house)
    if station is not None and station.vessel is not None and not station.held:
        run = fill_time(station.vessel, station.supply_curve)
        if math.isfinite(run):
            shut = "".join(f", {tank.name} shut off" for tank in house.far_tanks)
            yield ExpectedReading(
                what=f"pump on to off, nothing open{shut}",
                time=run,
                volume=station.vessel.drawdown,
            )


def _state(name: str) -> str:
    """A state of the source as a reader meets it."""
    return {"cut-in": "gauge at cut-in", "main": "main as usual"}.get(name, name)


def isolated(design: Design, test: Pressure) -> Iterator[str]:
    """What is shut off or taken out for a pressure test: tanks, valves that open, equipment.

    Args:
        test: the highest test pressure [Pa gauge].
    """
    house = design.house
    if house.source.kind == "well":
        yield "pressure tank" if house.source.tank is None else house.source.tank.name
    tank = house.source.tank
    if tank is not None and tank.relief is not None and tank.relief <= test:
        yield "its relief valve"
    yield from (tank.name for tank in house.far_tanks)
    yield from (link.name for link in house.every_device if _is_equipment(design, link))


def _is_equipment(design: Design, device: Device) -> bool:
    tree = design.tree
    roles: tuple[Role, ...] = ("in-house", "meter", "stores", "heats-flow")
    return device.setting is not None or any(tree.does(device, role) for role in roles)


def treatment(design: Design) -> tuple[str, ...]:
    """Softener and filters: what is bypassed while chlorine runs."""
    tree = design.tree
    kinds = tree.catalogue.devices
    return tuple(
        link.name
        for link in design.house.every_device
        if tree.does(link, "in-house") and not kinds[link.kind].hot and not tree.does(link, "mixes")
    )
