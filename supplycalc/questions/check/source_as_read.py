"""The well, its pump and its tank as the file has them, and the heights of the house."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from supplycalc.model import House, Pump, Tank, Well
from supplycalc.network import Tree
from supplycalc.supply.far_tank import FarTank, far_tanks_of
from supplycalc.supply.several_wells import well_names
from supplycalc.supply.well_line import tank_place
from supplycalc.units import UnitSystem, show

NAMED = 6
"""Fixtures named at one height; of more, their number."""


def source_heading(house: House) -> str:
    """What stands at the source of a house with a pump."""
    if not house.source.open_water:
        return "Well, pump and tank"
    return "Open tank, pump and pressure tank"


def source_lines(tree: Tree, system: UnitSystem, *, in_short: bool = False) -> Iterator[str]:
    """Well, pump and tanks, a sentence each; of what the file leaves out, that it does.

    Args:
        in_short: of several wells the figures that decide, a well and its pump in one sentence.
    """
    house, source = tree.house, tree.house.source
    filling = source.filled_by
    if filling is not None:
        yield _sentence("Well that fills the open tank", _well(filling.well, system))
        yield _sentence("Its pump", _pump(filling.pump, system))
    if source.kind != "well":
        return
    first = "Well" if not house.further_wells else well_names(house)[0].capitalize()
    in_short = in_short and bool(house.further_wells)
    if in_short and source.well is not None and source.pump is not None:
        yield _sentence(first, _well_in_short(source.well, source.pump, system))
    elif not source.open_water:
        yield _sentence(first, () if source.well is None else _well(source.well, system))
    name = "Pump that draws from the open tank" if source.open_water else "Pump"
    name = f"Pump of {well_names(house)[0]}" if house.further_wells else name
    if not in_short:
        yield _sentence(name, () if source.pump is None else _pump(source.pump, system))
    for further in house.joined_wells:
        joins = f"joins at {further.joins}"
        if in_short:
            told = (*_well_in_short(further.well, further.pump, system), joins)
            yield _sentence(further.name.capitalize(), told)
            continue
        yield _sentence(further.name.capitalize(), (*_well(further.well, system), joins))
        yield _sentence(f"Pump of {further.name}", _pump(further.pump, system))
    details = () if source.tank is None else _tank(source.tank, system)
    yield _sentence("Tank", (*details, tank_place(house)))
    for far in far_tanks_of(tree):
        yield _sentence(f"Tank {far.tank.name!r}", (*_tank(far.tank, system), *_far(far, system)))


def pressures_said(house: House, system: UnitSystem) -> Iterator[str]:
    """The pressures that the source is counted on with, each in the trade's words."""
    source, us = house.source, system == "us"
    yield from _given(
        system,
        ("cut-in (switch on) {}", source.cut_in, "pressure"),
        ("cut-out (off) {}", source.cut_out, "pressure"),
        ("residual (while flowing) {}" if us else "flow pressure {}", source.residual, "pressure"),
        ("static (nothing running) {}" if us else "pressure at rest {}", source.static, "pressure"),
    )


def levels_said(house: House, system: UnitSystem) -> Iterator[str]:
    """The levels of open water that feeds the house, what it holds and what comes to it."""
    source = house.source
    yield from _given(
        system,
        ("lowest level {}", source.lowest_level, "elevation"),
        ("highest level {}", source.highest_level, "elevation"),
        ("float starts the well's pump at {}", source.float_on, "elevation"),
        ("{} between the levels", source.volume, "volume"),
        ("{} come to it", source.inflow, "inflow"),
    )


def _given(system: UnitSystem, *figures: tuple[str, float | None, str]) -> Iterator[str]:
    """The figures that the file gives; of each its words, its value and its dimension."""
    for words, value, dimension in figures:
        if value is not None:
            yield words.format(show(value, dimension, system))


def gauge_name(house: House) -> str:
    """What stands at the height of the source, in words."""
    kind = house.source.kind
    named = {"well": "tank's gauge", "main": "main's gauge"}
    return named.get(kind, f"outlet of the {kind}")


def _sentence(name: str, details: Iterable[str]) -> str:
    return f"{name}: {'; '.join(details) or 'the file says nothing of it'}"


def _well(well: Well, system: UnitSystem) -> Iterator[str]:
    yield from _given(
        system,
        ("wellhead at {}", well.elevation, "elevation"),
        ("water {} below it at rest", well.static_level, "length"),
        ("{} of drawdown", well.specific_capacity, "specific-capacity"),
        ("sustains {}", well.recovery, "inflow"),
        ("pump {} down", well.pump_depth, "length"),
        ("{} deep", well.depth, "length"),
        ("casing {} inside", well.diameter, "thickness"),
    )


def _well_in_short(well: Well, pump: Pump, system: UnitSystem) -> Iterator[str]:
    yield from _given(
        system,
        ("wellhead at {}", well.elevation, "elevation"),
        ("water {} below it", well.static_level, "length"),
        ("sustains {}", well.recovery, "inflow"),
        ("pump {} down", well.pump_depth, "length"),
    )
    yield from _curve(pump, system)


def _curve(pump: Pump, system: UnitSystem) -> Iterator[str]:
    if pump.curve:
        (least, most), (flow, low) = pump.curve[0], pump.curve[-1]
        yield (
            f"curve from {show(least, 'flow', system)} at {show(most, 'head', system)} to "
            f"{show(flow, 'flow', system)} at {show(low, 'head', system)}"
        )


def _pump(pump: Pump, system: UnitSystem) -> Iterator[str]:
    yield pump.kind
    yield from _curve(pump, system)
    at = ""
    if pump.measured_pressure is not None:
        at = f" at {show(pump.measured_pressure, 'pressure', system)}"
    yield from _given(
        system,
        (f"bucket test {{}}{at}", pump.measured_flow, "flow"),
        ("holds {}", pump.set_pressure, "pressure"),
        ("motor {}", pump.motor_power, "power"),
        ("at {}", pump.elevation, "elevation"),
    )


def _tank(tank: Tank, system: UnitSystem) -> Iterator[str]:
    yield from _given(
        system,
        ("{}", tank.volume, "volume"),
        ("precharge {}", tank.precharge, "pressure"),
        ("rated for {}", tank.max_pressure, "pressure"),
        ("relief valve opens at {}", tank.relief, "pressure"),
    )


def _far(far: FarTank, system: UnitSystem) -> Iterator[str]:
    """Where a second tank stands, the charge that its height asks for and what it then gives."""
    height = show(far.elevation, "elevation", system)
    yield f"at {far.tank.at}, its gauge at {height}"
    low, high = (show(end, "pressure", system) for end in (far.cut_in, far.cut_out))
    if far.cut_out <= 0.0:
        yield "no pressure reaches it"
    elif far.cut_in > 0.0:
        yield f"{low} to {high} at it, which asks for a charge of " + show(
            far.charge, "pressure", system
        )
    if far.vessel is not None:
        yield f"gives {show(far.vessel.drawdown, 'volume', system)} between them"


def household_lines(house: House) -> Iterator[str]:
    """Who shares the source and what is whose, a line each; nothing where it is one household."""
    for household in house.households:
        own = [each.name for each in house.fixtures if each.household == household.name]
        who = f"{household.people} people" if household.people else "nobody lives there"
        yield f"{household.name}: {who}; {_listed(own)}"
    shared = [each.name for each in house.fixtures if each.household is None]
    if house.households and shared:
        yield f"everybody's: {_listed(shared)}"


def height_lines(tree: Tree, system: UnitSystem) -> Iterator[str]:
    """What stands how high, by storey where the file has storeys, the highest first."""
    house = tree.house
    heights = sorted(
        {(fixture.elevation, fixture.name) for fixture in house.fixtures},
        key=lambda pair: (-pair[0], pair[1]),
    )
    floors = sorted(((storey.floor, storey.name) for storey in house.storeys), reverse=True)
    gauge = house.source.elevation
    named = gauge_name(house)
    rows = sorted([*heights, (gauge, named)], key=lambda pair: (-pair[0], pair[1]))
    if not floors:
        levels: dict[str, list[str]] = {}
        for height, name in rows:
            levels.setdefault(show(height, "elevation", system), []).append(name)
        for height_shown, names in levels.items():
            yield f"{height_shown}: {_listed(names)}"
        return
    for floor, storey in floors:
        above = min((each for each, _ in floors if each > floor), default=float("inf"))
        inside = [pair for pair in rows if floor <= pair[0] < above]
        yield f"{storey}, floor at {show(floor, 'elevation', system)}: {_spread(inside, system)}"
    below = [pair for pair in rows if pair[0] < floors[-1][0]]
    if below:
        yield f"below the lowest floor: {_spread(below, system)}"


def _spread(rows: list[tuple[float, str]], system: UnitSystem) -> str:
    return (
        ", ".join(f"{name} {show(height, 'elevation', system)}" for height, name in rows)
        or "nothing of what the file names"
    )


def _listed(names: list[str]) -> str:
    more = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {more} more" if more > 0 else "")
