"""What mends a house whose well gives too little: a tank that it fills, pumped from there."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from msgspec.structs import replace

from supplycalc.model import House, Pump, Well, WellFilling
from supplycalc.sizing.design import Design, Remedy
from supplycalc.sizing.remedies import higher_switch
from supplycalc.sizing.source_changes import FLAT_PART, OF_PUMP, failing, remedy_of
from supplycalc.sizing.trials import Trial, after_marks
from supplycalc.supply.station import pump_station
from supplycalc.units import convert
from supplycalc.units.quantities import Volume

DEPTH = 1.0
"""[m] Between the levels of such a tank, beside the pressure tank; common practice, no source."""
CURVE = (0.0, 0.5, 1.0, 1.5, 2.0)
"""Shares of its design flow at which the second pump's curve is told."""


def with_storage(
    design: Design, others: Sequence[Remedy], size: Callable[[House], Design]
) -> tuple[Remedy, ...]:
    """The changes that mend a house, storage for a weak well among them.

    The tank is that of the drawn years, its second pump gives the design flow above cut-out. Where
    the fixtures are short of pressure, that pump is to hold a higher one.

    Returns:
        The changes; storage first, where the well is what fails and the house with it was sized
        and passed.
    """
    pump, fails, house = design.pump, failing(design), design.house
    single = not (house.source.open_water or house.further_wells)
    if pump is None or not pump.well_is_the_limit or not single:
        return tuple(others)
    short = design.shortfall > 0.0
    if not fails & OF_PUMP and not (short and all(it.mends != "pressure" for it in others)):
        return tuple(others)
    volume = _volume(design)
    if volume is None:
        return tuple(others)
    mended = OF_PUMP | {"pressure-short"}
    for trial in _trials(design, volume, raised=short):
        changed = size(trial.house)
        if changed.shortfall == 0.0 and not failing(changed) - (fails - mended):
            stored = remedy_of(changed, trial, "pressure" if short else "pump")
            # what gives pressure alone leaves the pump as it is, and storage mends both
            both = short and fails & OF_PUMP
            return (stored,) if both else (stored, *others)
    return tuple(others)


def _volume(design: Design) -> Volume | None:
    """What the tank must hold between its levels, rounded up to two digits as drawn years tell no
    more; None where no tank carries the house."""
    from supplycalc.chance.tank_needed import StorageWish, tank_needed
    from supplycalc.chance.well_yield import well_yield

    station = pump_station(design.house)
    supply = well_yield(design, station)
    needed = tank_needed(design, station, supply, StorageWish(asked=True))
    if needed is None or needed.volume is None:
        return None
    shown, _ = convert(needed.volume, "volume", design.house.project.units)
    step = 10.0 ** (math.floor(math.log10(shown)) - 1)
    return needed.volume * math.ceil(shown / step) * step / shown


def _trials(design: Design, volume: Volume, *, raised: bool) -> Iterator[Trial]:
    """The house with storage at its own switch, then at higher ones."""
    from supplycalc.chance.well_yield import second_pump

    pump = design.pump
    assert pump is not None
    new_pump = replace(design, pump=replace(pump, curve_known=True, level_known=True))
    own = Trial(house=design.house, text="")
    for switch in (own, *(higher_switch(new_pump) if raised else ())):
        second = second_pump(replace(design, tree=replace(design.tree, house=switch.house)))
        source = switch.house.source
        assert source.well is not None
        assert source.pump is not None
        low = source.elevation
        top = second.head / FLAT_PART  # falling with the square, as curves do beyond their middle
        curve = tuple(
            (share * second.flow, top - (top - second.head) * share**2) for share in CURVE
        )
        text = (
            "let the well fill a covered tank of {0} slowly through a float, and fit a second pump "
            "that draws from there and gives {1} against {2} of head (its wiring is licensed work)"
        )
        values = ((volume, "volume"), (second.flow, "flow"), (second.head, "head"))
        if switch.text:
            text = f"{text}; {after_marks(len(values), switch.text)}"
        yield Trial(
            house=replace(
                switch.house,
                source=replace(
                    source,
                    pump=Pump(curve=curve),
                    well=Well(static_level=0.0, elevation=low),
                    filled_by=WellFilling(well=source.well, pump=source.pump),
                    lowest_level=low,
                    highest_level=low + DEPTH,
                    volume=volume,
                ),
            ),
            text=text,
            values=(*values, *switch.values),
        )
