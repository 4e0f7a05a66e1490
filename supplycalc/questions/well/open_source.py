"""Open water that feeds a house: what comes to it and is needed, what its level makes of the
pressure, and the booster that would do where it feeds by its height alone."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.questions.size.study import size
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.design import Design
from supplycalc.sizing.source_changes import failing, raised_at_source, valve_place
from supplycalc.supply.day_need import DayNeed
from supplycalc.supply.open_water import inflow_of
from supplycalc.units import DAY, PSI, UnitSystem, show
from supplycalc.units.quantities import Elevation, Flow, Head, Hours, Inflow, Mass, Pressure, Volume

RISES = {
    "us": (5 * PSI, 10 * PSI, 20 * PSI, 30 * PSI),
    "metric": (50e3, 100e3, 150e3, 200e3),
}
"""[Pa] What boosters are tried with."""


class LevelPoint(Struct, frozen=True, kw_only=True):
    """The house with the water at one level, sizes as they are."""

    name: str
    level: Elevation
    pressure: Pressure
    """Where the water leaves."""
    worst: str
    """The fixture connection with least to spare."""
    gets: Pressure
    margin: Pressure


class Booster(Struct, frozen=True, kw_only=True):
    """A pump behind the tank that holds so much more, sizes chosen anew."""

    rise: Pressure
    head: Head
    flow: Flow
    """That it must give: the design flow."""
    size: str
    """Of the run that carries most from the source."""
    pipe: Mass
    margin: Pressure
    ok: bool
    """Whether every fixture keeps its pressure."""
    before_house: Pressure | None
    """What the line brings without it to where it enters the house: there it may stand instead;
    None: it would suck."""


class OpenSource(Struct, frozen=True, kw_only=True):
    """Open water against the house."""

    inflow: Inflow | None
    """For good; None: not known."""
    comes: Volume | None
    """In a day."""
    needed: Volume
    """In a day, as a supply is planned."""
    people: int
    lasts: Hours | None
    """How long it carries the design flow from full; None: for good, or not known."""
    fills: Hours | None
    """From empty to full with nothing drawn; None: not known."""
    levels: tuple[LevelPoint, ...]
    """The lowest first; empty where a pump draws from it."""
    boosters: tuple[Booster, ...]

    def inflow_said(self, system: UnitSystem) -> str:
        """What comes, so exactly that a day of it is what is told beside it."""
        if self.inflow is None:
            return "unknown"
        return show(self.inflow, "inflow", system)


def open_source(design: Design, need: DayNeed) -> OpenSource | None:
    """Judge open water; None where the house is fed from none."""
    source, flow = design.house.source, design.demand.design_flow[0]
    if not source.open_water:
        return None
    inflow, held = inflow_of(design.house), source.volume
    known = inflow is not None and inflow > 0.0 and held is not None
    return OpenSource(
        inflow=inflow,
        comes=None if inflow is None else inflow * DAY,
        needed=need.volume,
        people=need.people,
        lasts=held / (flow - inflow) if known and held and inflow and flow > inflow else None,
        fills=held / inflow if known and held and inflow else None,
        levels=tuple(_levels(design)) if source.by_gravity else (),
        boosters=tuple(_boosters(design)) if source.by_gravity else (),
    )


def _levels(design: Design) -> Iterator[LevelPoint]:
    """The lowest and the highest level, and the middle between."""
    source = design.house.source
    low = source.elevation if source.lowest_level is None else source.lowest_level
    high = low if source.highest_level is None else source.highest_level
    names = {"lowest": low, "halfway": 0.5 * (low + high), "highest": high}
    for name, level in names.items() if high > low else [("lowest", low)]:
        fixed = with_sizes(design.house, design.sizes)
        at_level = size(replace(fixed, source=replace(source, lowest_level=level)), mend=False)
        yield LevelPoint(
            name=name,
            level=level,
            pressure=at_level.source.design_pressure,
            worst=at_level.worst.name,
            gets=at_level.worst.residual,
            margin=at_level.worst.margin,
        )


def _boosters(design: Design) -> Iterator[Booster]:
    """Usual rises, up to the first that brings too much at rest."""
    house: House = design.house
    for rise in RISES[house.project.units]:
        raised = size(raised_at_source(design, rise), mend=False)
        if failing(raised) - failing(design) - {"pressure-short"}:
            return
        place = valve_place(raised)[0]
        brought = raised.source.design_pressure if not place else _end(raised, place)
        service = raised.service
        yield Booster(
            rise=rise,
            head=rise / specific_weight(house.water.cold),
            flow=raised.demand.design_flow[0],
            size="" if service is None else service.nominal,
            pipe=raised.cost,
            margin=raised.worst.margin,
            ok=raised.shortfall <= 0.0,
            before_house=brought - rise if brought >= rise else None,
        )


def _end(design: Design, link: int) -> float:
    """Pressure at the end of a link while the design flow runs [Pa gauge]."""
    return design.result_at[link].end_pressure
