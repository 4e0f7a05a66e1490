"""`day`: a house through one or many days of draws, and what that says of it."""

from __future__ import annotations

import bisect
import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from supplycalc.delivery.open_supply import constant_source
from supplycalc.delivery.source_cases import source_cases
from supplycalc.model import House
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.day.draws import PlannedDraw, scheduled
from supplycalc.questions.day.engine import Engine
from supplycalc.questions.day.habits import habit_sources, habits, random_days
from supplycalc.questions.day.judging import day_findings
from supplycalc.questions.day.laws import Laws
from supplycalc.questions.day.main import run_on_main
from supplycalc.questions.day.plant import NARROW_CASING, USUAL_CASING, Plant, plant, with_precharge
from supplycalc.questions.day.result import Day, Outlet
from supplycalc.questions.day.tally import Tally
from supplycalc.sizing.design import Assumption, Design
from supplycalc.supply.limits import well_limit
from supplycalc.supply.station import Station, pump_station
from supplycalc.supply.supply_curve import supply_curve
from supplycalc.supply.well import sustained_yield
from supplycalc.tables import citation_of, load_table
from supplycalc.units import DAY, HOUR

MOST_DAYS = 3660


def day(
    design: Design,
    *,
    days: int = 1,
    seed: int | None = None,
    people: int | None = None,
    watch: Sequence[str] = (),
    waterlogged: bool = False,
    keep_days: int = 1,
    progress: Callable[[float], None] | None = None,
) -> Day:
    """Run a sized house through its draws.

    Args:
        design: with a size for every run.
        days: how many.
        seed: of random days; None takes the file's schedule, or seed 1 where it has none.
        people: for random days; None takes the file's number.
        watch: fixtures to follow; empty: all that are used.
        waterlogged: whether the tank has lost its air charge.
        keep_days: for how many days every event is kept.
        progress: told the share that is done, now and then.

    Returns:
        What happened.

    Raises:
        InputError: an unknown fixture, too many days, or a supply that is not known well enough.
        ComputationError: flows that do not settle.

    Source: pump, tank, well and delivery each name theirs.
    """
    house = design.house
    _check(house, days, watch)
    given = people if people is not None else house.project.people
    number = int(load_table("day")["people"]["value"]) if given is None else given
    if seed is None and not house.draws:
        seed = 1
    draws: Iterable[PlannedDraw]
    if seed is None:
        draws = scheduled(house, days)
    else:
        found = habits(design.tree, number)
        if not found:
            message = "no fixture of this house has habits to draw from; write [[draw]] tables"
            raise InputError([Problem(place=house.place, message=message)])
        draws = random_days(found, days, seed)
    one = _plant(house, design, waterlogged)
    end, keep = days * DAY, keep_days * DAY
    imbalance, change = 0.0, 0.0
    if one is None:
        law = source_cases(house)[0].law
        laws = Laws(design, law)
        tally = run_on_main(laws, law, draws, end, keep_until=keep, progress=progress)
    else:
        laws = Laws(design, constant_source(0.5 * (one.cut_in + one.cut_out)))
        engine = Engine(one, laws, draws, end, keep_until=keep, progress=progress)
        tally = engine.run()
        change = one.air / (one.cut_out + one.atmosphere) - engine.state.air
        imbalance = tally.pumped - tally.drawn - change
    result = Day(
        design=design,
        plant=one,
        days=days,
        seed=seed,
        people=number,
        tally=tally,
        outlets=tuple(_outlets(tally, laws, watch, one)),
        solves=laws.solves,
        tank_change=change,
        imbalance=imbalance,
        most_in_an_hour=most_within(tally.starts, HOUR),
        most_in_a_day=max(Counter(int(at / DAY) for at in tally.starts).values(), default=0),
        waterlogged=waterlogged,
        findings=(),
        assumptions=tuple(_assumptions(design, one, seed, number, given is None)),
    )
    return result.judged(tuple(day_findings(result)))


def _check(house: House, days: int, watch: Sequence[str]) -> None:
    names = tuple(fixture.name for fixture in house.fixtures)
    problems = [
        Problem(
            place=Place("--watch"), message=f"there is no fixture {name!r}", value=name, valid=names
        )
        for name in watch
        if name not in names
    ]
    if not 1 <= days <= MOST_DAYS:
        problems.append(Problem(place=Place("--days"), message=f"from 1 to {MOST_DAYS} days"))
    if problems:
        raise InputError(problems)


def _plant(house: House, design: Design, waterlogged: bool) -> Plant | None:
    """The plant of a well; None on a main."""
    if house.source.kind == "main":
        return None
    one: Station | None = pump_station(house)
    if one is None:
        pump = house.source.pump
        place = house.source.place if pump is None else pump.place
        message = (
            "a day needs to know the pump: its curve, or one measured point such as "
            'measured_flow = "5 gal in 28 s" and measured_pressure = "45 psi" in [source.pump]'
        )
        raise InputError([Problem(place=place, message=message)])
    found = plant(one)
    if waterlogged:
        found = with_precharge(found, well_limit("precharge-lost").value)
    return found


def most_within(times: Sequence[float], span: float) -> int:
    """The most events in any stretch of time.

    Args:
        times: ascending [s].
        span: length of the stretch [s].

    Returns:
        How many.
    """
    return max((bisect.bisect_left(times, at + span) - i for i, at in enumerate(times)), default=0)


def _outlets(tally: Tally, laws: Laws, watch: Sequence[str], one: Plant | None) -> Iterator[Outlet]:
    """What happened at each connection, its lowest pressure settled anew by the solver."""
    for seen in tally.watches.values():
        outlet = seen.outlet
        if watch and outlet.fixture.name not in watch:
            continue
        if not math.isfinite(seen.lowest):
            continue
        opened = laws.of(seen.lowest_open)
        lowest = seen.lowest
        if one is not None:
            rung = laws.settle(opened, constant_source(seen.lowest_source))
            places = [link.outlet.name for link in opened.connections]
            lowest = rung.pressure[places.index(outlet.name)]
        yield Outlet(
            outlet=outlet,
            lowest=lowest,
            interpolated=seen.lowest,
            lowest_at=seen.lowest_at,
            source_pressure=seen.lowest_source,
            beside=tuple(
                use.name for use in opened.uses if use.fixture.name != outlet.fixture.name
            ),
            running=seen.running,
            below=seen.below,
        )


def _assumptions(
    design: Design, one: Plant | None, seed: int | None, people: int, people_assumed: bool
) -> Iterator[Assumption]:
    if seed is not None:
        uses, hours = habit_sources()
        yield Assumption(
            text=f"random days of {people} people (seed {seed}): how often and how long",
            source=uses,
        )
        yield Assumption(
            text="when: hours of the day; in the busy hour each fixture runs at least as often as "
            "the Peak Water Demand Study has it, at most half of "
            "a day's uses",
            source=hours,
        )
        if people_assumed:
            yield Assumption(
                text=f"{people} people (no number given)",
                source=citation_of(load_table("day")["people"]),
            )
        yield Assumption(text="no garden taps, no leaks: write [[draw]] tables for those")
    yield Assumption(
        text="each mixing valve is set once, as when its outlet runs alone, and stays there"
    )
    yield from _plant_assumptions(one)
    words = ("pump", "well", "gauge")
    yield from (each for each in design.assumptions if any(word in each.text for word in words))


def _plant_assumptions(one: Plant | None) -> Iterator[Assumption]:
    if one is None:
        return
    if one.efficiency_range is not None:
        yield Assumption(
            text=f"{one.efficiency:.0%} of the electricity becomes work on the water (usual: "
            f"{one.efficiency_range.low:.0%} to {one.efficiency_range.high:.0%})",
            source=one.efficiency_range.citation,
        )
    yield from _level_assumptions(one)
    yield from _relief_assumptions(one)
    well = one.house.source.well
    lasting = None if well is None else sustained_yield(well, well_limit("submergence").value)
    if lasting is not None and lasting < one.supply_curve.flow_at(one.cut_in):
        yield Assumption(
            text="storage that a second pump draws from is not run: a file holds one pump; a copy "
            "of it with the second in [source.pump] and without [source.well] shows that side"
        )
    if one.station.precharge_assumed:
        yield Assumption(
            text="air charge of the tank {0}", values=((one.station.precharge, "pressure"),)
        )


def _level_assumptions(one: Plant) -> Iterator[Assumption]:
    """What the well's level was taken to do, and how much that weighs."""
    well = one.house.source.well
    capacity = None if well is None else well.specific_capacity
    if one.casing_assumed:
        text = "a casing of 6 in (152 mm), as [source.well] names no diameter"
        values: tuple[tuple[float, str], ...] = ()
        if math.isfinite(one.dry):
            text += "; it holds {0} down to the pump, one of 4 in (102 mm) {1}: so much later or "
            text += "earlier the pump runs dry"
            volume = one.area * one.dry
            values = (
                (volume, "volume"),
                (volume * (NARROW_CASING / USUAL_CASING) ** 2, "volume"),
            )
        yield Assumption(text=text, values=values)
    elif capacity and not one.area:
        flow = one.supply_curve.flow_at(one.cut_in)
        full = supply_curve(one.house, level_follows=False)
        yield Assumption(
            text="the well's level follows the pump at once, to {0} below rest at cut-in, as no "
            "casing diameter is given: water standing in the bore would let it fall slowly, and "
            "the pump give {1} instead of {2} at first",
            values=(
                (flow / capacity, "length"),
                (full.flow_at(one.cut_in), "flow"),
                (flow, "flow"),
            ),
        )
    elif not one.area:
        yield Assumption(
            text="the well gives all that is pumped and cannot run dry here: neither recovery nor "
            "specific capacity is given"
        )


def _relief_assumptions(one: Plant) -> Iterator[Assumption]:
    tank = one.house.source.tank
    relief = None if tank is None else tank.relief
    if relief is None:
        return
    if relief > one.cut_out:
        text = "the relief valve at {0} stays shut: the pump stops at {1}"
    else:
        text = "the relief valve does not act here, though it opens at {0}, below cut-out at {1}"
    yield Assumption(text=text, values=((relief, "pressure"), (one.cut_out, "pressure")))
