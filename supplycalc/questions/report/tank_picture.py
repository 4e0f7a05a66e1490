"""The picture of the tanks: what stands in each at the levels that matter."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from supplycalc.model import House, Tank
from supplycalc.output.blocks import Figure
from supplycalc.output.drawing import (
    Drawing,
    Ink,
    Label,
    Mark,
    Stroke,
    rectangle,
    stacked,
)
from supplycalc.output.plot import EDGE, LEADING, end_labels
from supplycalc.questions.draw.riser import NARROW
from supplycalc.supply.far_tank import FarTank
from supplycalc.supply.station import vessel_at_switch
from supplycalc.supply.tank import Vessel, water_held
from supplycalc.units import UnitSystem, show

WIDE = 660.0
BROAD, TALL = 92.0, 150.0
"""Of a tank."""
BESIDE = 26.0
"""From a tank to what is said of it."""
INSIDE = 14.0
"""From its wall to where the space in it is pointed at."""


class TankLevel(Struct, frozen=True, kw_only=True):
    """What is said of a height in a tank."""

    share: float
    """Of the tank's height."""
    words: str
    across: bool = True
    """Whether a line marks it; else it is said of the space there."""
    strong: bool = False


class DrawnTank(Struct, frozen=True, kw_only=True):
    """One tank of the picture."""

    name: str
    levels: tuple[TankLevel, ...]
    """From the top down."""
    low: float
    """Share of its height up to which water always stands."""
    high: float
    """Share up to which it comes."""
    closed: bool


def tank_figure(
    house: House, system: UnitSystem, far_tanks: Sequence[FarTank] = ()
) -> Figure | None:
    """The pressure tanks at cut-in and cut-out, the open tank at its floats.

    Returns:
        The picture; None where neither volume nor levels are known.
    """
    further = (_far_tank(tank, house, system) for tank in far_tanks)
    drawn = (_pressure_tank(house, system), *further, _open_tank(house, system))
    tanks = [each for each in drawn if each]
    if not tanks:
        return None
    wide, narrow = (stacked([_drawn(tank, width) for tank in tanks]) for width in (WIDE, NARROW))
    return Figure(
        wide=wide, narrow=narrow, caption="Grey: the water that can be drawn. Not to scale."
    )


def _pressure_tank(house: House, system: UnitSystem) -> DrawnTank | None:
    vessel, tank = vessel_at_switch(house), house.source.tank
    if tank is None or vessel is None:
        return None
    return _closed_tank("Pressure tank", tank, vessel, house, system)


def _far_tank(far: FarTank, house: House, system: UnitSystem) -> DrawnTank | None:
    """A further pressure tank, by the pressures at its own gauge."""
    if far.vessel is None or far.cut_in <= 0.0:
        return None
    name = f"{far.name[:1].upper()}{far.name[1:]}"
    return _closed_tank(name, far.tank, far.vessel, house, system)


def _closed_tank(
    name: str, tank: Tank, vessel: Vessel, house: House, system: UnitSystem
) -> DrawnTank:
    held, usual = house.source.set_pressure is not None, tank.precharge is None
    low, high = (
        water_held(vessel.volume, vessel.precharge, pressure, vessel.atmosphere)
        for pressure in (vessel.cut_in, vessel.cut_out)
    )

    def volume(value: float) -> str:
        return show(value, "volume", system)

    at_high, at_low, air = (
        show(value, "pressure", system)
        for value in (vessel.cut_out, vessel.cut_in, vessel.precharge)
    )
    starts, ends = ("wakes", "rests") if held else ("starts", "stops")
    the_pump, rests = "the pump", "the pump rests"
    if house.further_wells:
        the_pump, starts, ends, rests = "the pumps", "start", "stop", "the pumps rest"
    share_low, share_high = low / vessel.volume, high / vessel.volume
    return DrawnTank(
        name=f"{name}, {volume(vessel.volume)}",
        levels=(
            TankLevel(
                share=(1.0 + share_high) / 2,
                words=f"air, {air} in the empty tank" + (" (usual)" if usual else ""),
                across=False,
            ),
            TankLevel(
                share=share_high, words=f"{at_high}, {the_pump} {ends}: {volume(high)} in it"
            ),
            TankLevel(
                share=(share_low + share_high) / 2,
                words=f"{volume(vessel.drawdown)} can be drawn while {rests}",
                across=False,
                strong=True,
            ),
            TankLevel(share=share_low, words=f"{at_low}, {the_pump} {starts}: {volume(low)} in it"),
        ),
        low=share_low,
        high=share_high,
        closed=True,
    )


def _open_tank(house: House, system: UnitSystem) -> DrawnTank | None:
    source = house.source
    lowest, highest = source.lowest_level, source.highest_level
    if lowest is None or highest is None or highest <= lowest:
        return None
    bottom, top = 0.14, 0.9

    def at(height: float) -> float:
        return bottom + (top - bottom) * (height - lowest) / (highest - lowest)

    def high(value: float) -> str:
        return show(value, "elevation", system)

    filled = source.filled_by is not None
    full = f"{high(highest)}, full" + (": the float stops the well's pump" if filled else "")
    levels = [TankLevel(share=top, words=full)]
    if source.float_on is not None:
        on = f"{high(source.float_on)}: the float starts the well's pump"
        levels.append(TankLevel(share=at(source.float_on), words=on))
    if source.volume is not None:
        words = f"{show(source.volume, 'volume', system)} between full and lowest"
        below = highest if source.float_on is None else source.float_on
        levels.append(
            TankLevel(share=at((below + lowest) / 2), words=words, across=False, strong=True)
        )
    taken = "its outlet" if lowest <= source.elevation else "drawn no lower"
    if source.pump is not None:
        taken = "the pump of the house takes no more"
    levels.append(TankLevel(share=bottom, words=f"{high(lowest)}, lowest: {taken}"))
    return DrawnTank(name="Open tank", levels=tuple(levels), low=bottom, high=top, closed=False)


def _drawn(tank: DrawnTank, width: float) -> Drawing:
    top = EDGE + LEADING + 10.0
    bottom, left, right = top + TALL, EDGE, EDGE + BROAD

    def at(share: float) -> float:
        return bottom - TALL * share

    marks: list[Mark] = [Label(x=EDGE, y=EDGE + 10.0, text=tank.name, bold=True)]
    waters: tuple[tuple[float, float, Ink], ...] = (
        (0.0, tank.low, "cold"),
        (tank.low, tank.high, "pale"),
    )
    for under, over, ink in waters:
        if over > under:
            box = rectangle(left, at(over), right, at(under), fill=ink, edge="none", width=0.0)
            marks.append(box)
    walls = ((left, top), (left, bottom), (right, bottom), (right, top))
    marks.append(Stroke(points=(*walls, walls[0]) if tank.closed else walls, width=2.0))
    for level in tank.levels:
        if level.across:
            line = ((left, at(level.share)), (right, at(level.share)))
            marks.append(Stroke(points=line, width=1.2))
    ends = [
        (right - (0.0 if level.across else INSIDE), at(level.share), level.words, level.strong)
        for level in tank.levels
    ]
    start = right + BESIDE
    marks += end_labels(ends, start, width - EDGE - start, top, bottom)
    low = max(mark.box[3] for mark in marks if isinstance(mark, Label))
    told = "; ".join(level.words for level in tank.levels)
    return Drawing(
        title=tank.name,
        description=f"{tank.name}: {told}.",
        width=width,
        height=max(bottom, low) + EDGE,
        marks=tuple(marks),
    )
