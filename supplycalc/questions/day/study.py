"""`day`: a house through one or many days of draws, and what that says of it."""

from __future__ import annotations

import bisect
import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec.structs import replace

from supplycalc.chance.habits import habits
from supplycalc.chance.random_days import (
    PlannedDraw,
    habit_assumptions,
    random_days,
    scheduled,
)
from supplycalc.delivery.open_supply import constant_source
from supplycalc.delivery.source_cases import source_cases
from supplycalc.findings.fixture_flows import own_flow_assumption
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House
from supplycalc.network import well_side
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.day.draw_curve import DrawCurves
from supplycalc.questions.day.engine import Engine, run_on_main
from supplycalc.questions.day.far_motion import STEP, FarMotion
from supplycalc.questions.day.fill_level import USUAL_BAND, FillLevel
from supplycalc.questions.day.findings import day_findings
from supplycalc.questions.day.pump_system import (
    PumpSystem,
    WellPart,
    filling_wells,
    level_assumptions,
    pump_system_assumptions,
    pump_system_of,
)
from supplycalc.questions.day.result import (
    Day,
    FarTankUse,
    FixtureWater,
    HouseholdWater,
    OpenTankUse,
    OutletUse,
    PumpUse,
    SourceRange,
    WaterUse,
    WellRun,
    WellUse,
)
from supplycalc.questions.day.totals import Totals
from supplycalc.records.sentences import Assumption
from supplycalc.sizing.design import Design
from supplycalc.supply.day_need import usual_people
from supplycalc.supply.far_tank import far_tanks_of
from supplycalc.supply.limits import well_limit
from supplycalc.supply.open_water import inflow_of
from supplycalc.supply.pump import level_known
from supplycalc.supply.several_wells import well_names
from supplycalc.supply.storage import OpenLevel
from supplycalc.units import DAY, HOUR
from supplycalc.units.quantities import Energy, Time

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
        days: how many.
        seed: of random days; None takes the file's schedule, or seed 1 where it has none.
        people: for random days; None takes the file's number.
        watch: fixtures to follow; empty: all that are used.
        keep_days: for how many days every event is kept.
        progress: told the share that has passed, now and then.

    Raises:
        InputError: an unknown fixture, too many days, or a supply that is not known well enough.
        ComputationError: flows that do not settle.
    """
    house = design.house
    _check(house, days, watch)
    seed = 1 if seed is None and not house.draws else seed
    given = people if people is not None else house.project.people
    people = None if seed is None else usual_people(house) if given is None else given
    draws = _draws(design, days, seed, people)
    pump_system = pump_system_of(house, waterlogged=waterlogged)
    end, keep = days * DAY, keep_days * DAY
    open_level, second = _open_level(house), None
    if pump_system is None:
        law = source_cases(house)[0].law
        curves = DrawCurves(design, law)
        totals = run_on_main(
            curves, law, draws, end, keep_until=keep, progress=progress, tank=open_level
        )
        tank_change = None
    else:
        middle = 0.5 * (pump_system.cut_in + pump_system.cut_out)
        tanks = far_tanks_of(design.tree)
        far = next((each for each in tanks if each.volume is not None), None)
        curves = DrawCurves(design, constant_source(middle), far)
        if far is not None and far.volume is not None:
            full = curves.of(()).far_pressure_at(pump_system.cut_out)
            second = FarMotion(far, far.volume, full)
        engine = Engine(
            pump_system,
            curves,
            draws,
            end,
            keep_until=keep,
            progress=progress,
            tank=open_level,
            far=second,
        )
        totals = engine.run()
        tank_change = pump_system.air_volume(pump_system.cut_out) - engine.state.air
        if second is not None:
            tank_change += second.water - second.full
    fixtures = tuple(_outlets(totals, curves, watch, pump_system))
    result = Day(
        design=design,
        pump_system=pump_system,
        days=days,
        seed=seed,
        people=people,
        waterlogged=waterlogged,
        draws=totals.draws,
        events=totals.events,
        steps=totals.steps,
        solves=curves.solves,
        water=WaterUse(
            drawn=totals.drawn,
            pumped=None if pump_system is None else totals.pumped,
            tank_change=tank_change,
            by_fixture=tuple(
                FixtureWater(name=name, drawn=drawn) for name, drawn in totals.used.items()
            ),
            by_household=tuple(_by_household(house, totals)),
        ),
        pump=None if pump_system is None else _pump_use(totals, pump_system),
        source=SourceRange(
            lowest=totals.lowest,
            lowest_at=totals.lowest_at,
            highest=totals.highest,
            tank_empty=totals.empty,
        ),
        well=None
        if pump_system is None
        else WellUse(deepest_fall=totals.deepest, dry_runs=tuple(totals.dry_runs)),
        wells=tuple(_well_runs(house, pump_system, totals, open_level)),
        open_tank=None
        if open_level is None
        else OpenTankUse(
            volume=open_level.volume,
            most_missing=open_level.most,
            missing_at_end=open_level.missing,
            came=open_level.came,
            drawn=open_level.drawn,
            lacked=open_level.lacked,
            ran_dry=tuple(open_level.dry),
            fillings=len(open_level.fillings) if house.source.filled_by is not None else None,
            fill_time=open_level.fill_time if house.source.filled_by is not None else None,
        ),
        far_tank=None
        if second is None
        else FarTankUse(
            name=second.far.name,
            full=second.full,
            least=second.least,
            given=second.given,
            empty=second.empty,
        ),
        fixtures=fixtures,
        assumptions=tuple(_assumptions(design, pump_system, seed, people, given is None)),
        series=tuple(totals.series or ()),
    )
    return replace(result, findings=tuple(day_findings(result)))


def _open_level(house: House) -> OpenLevel | None:
    """The open water that feeds a house, where it is known how much it holds and what comes; with
    the wells that fill it, where their pumps are known."""
    source, inflow = house.source, inflow_of(house)
    if not source.open_water or source.volume is None or inflow is None:
        return None
    band = 0.0
    if source.float_on is not None and source.highest_level is not None:
        low = source.lowest_level or 0.0
        band = source.volume * (source.highest_level - source.float_on)
        band /= source.highest_level - low
    if source.filled_by is None:
        return OpenLevel(inflow, source.volume, band)
    wells = filling_wells(house)
    if wells is None:
        return OpenLevel(inflow, source.volume, band)
    band = band or USUAL_BAND * source.volume
    return FillLevel(wells, source.volume, band, well_limit("dry-restart").value)


def _by_household(house: House, totals: Totals) -> Iterator[HouseholdWater]:
    """What each household drew, and last what is everybody's."""
    if not house.households:
        return
    of = {fixture.name: fixture.household for fixture in house.fixtures}
    people = {household.name: household.people for household in house.households}
    for name in (*people, None):
        drawn = math.fsum(drawn for fixture, drawn in totals.used.items() if of[fixture] == name)
        if name is not None or drawn > 0.0:
            yield HouseholdWater(
                name=name or "everybody's", people=people.get(name or "", 0), drawn=drawn
            )


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


def _draws(
    design: Design, days: int, seed: int | None, people: int | None
) -> Iterable[PlannedDraw]:
    """The file's draws, or random ones from a seed."""
    if seed is None or people is None:
        return scheduled(design.house, days)
    usual = habits(design.tree, people)
    if not usual:
        message = "no fixture of this house has habits to draw from; write [[draw]] tables"
        raise InputError([Problem(place=design.house.place, message=message)])
    return random_days(usual, days, seed)


def most_within(times: Sequence[Time], span: Time) -> int:
    """The most events in any stretch of time."""
    return max((bisect.bisect_left(times, at + span) - i for i, at in enumerate(times)), default=0)


def _pump_use(totals: Totals, system: PumpSystem) -> PumpUse:
    known = level_known(system.house)
    pumps: list[tuple[WellPart, float]] = [(system, totals.work)]
    if system.parts:
        pumps = [(part, well.work) for part, well in zip(system.parts, totals.wells, strict=True)]
    energy = [_energy(pump, work) for pump, work in pumps]
    ranged = known and any(pump.efficiency_range is not None for pump, _ in pumps)
    return PumpUse(
        start_times=tuple(totals.starts),
        runs=tuple(totals.runs),
        most_in_an_hour=most_within(totals.starts, HOUR),
        most_in_a_day=max(Counter(int(at / DAY) for at in totals.starts).values(), default=0),
        run_time=totals.run_time,
        energy=math.fsum(middle for _, middle, _ in energy) if known else None,
        energy_range=(
            math.fsum(low for low, _, _ in energy),
            math.fsum(high for _, _, high in energy),
        )
        if ranged
        else None,
    )


def _energy(system: WellPart, work: float) -> tuple[Energy, Energy, Energy]:
    """Least, likely and most electricity for so much head times flow over time [m4]."""
    done = work * specific_weight(system.house.water.cold)
    usual = system.efficiency_range
    likely = done / system.efficiency
    return (likely, likely, likely) if usual is None else (
        done / usual.high, likely, done / usual.low
    )  # fmt: skip


def _well_runs(
    house: House, system: PumpSystem | None, totals: Totals, tank: OpenLevel | None
) -> Iterator[WellRun]:
    """What each of several wells did, or each that fills an open tank."""
    before = well_side(house)
    names: tuple[str, ...] = well_names(before)
    parts, runs = (() if system is None else system.parts), totals.wells
    if isinstance(tank, FillLevel):
        parts, runs = tank.wells.parts, tank.of_wells
        names = names if before.further_wells else ("well",)
    for name, part, well in zip(names, parts, runs, strict=False):
        yield WellRun(
            name=name,
            pumped=well.pumped,
            run_time=well.run_time,
            held_shut=well.held_shut,
            deepest_fall=well.deepest,
            dry_runs=tuple(well.dry_runs),
            energy=_energy(part, well.work)[1] if level_known(part.house) else None,
        )


def _filling_assumptions(house: House) -> Iterator[Assumption]:
    """What was taken for granted of a well that fills an open tank."""
    wells, source = filling_wells(house), house.source
    if wells is None or source.volume is None:
        yield Assumption(
            text="the well's pump, by its float switch, brings what it lifts to the tank, at most "
            "what the well sustains"
        )
        return
    for part in wells.parts:
        yield from level_assumptions(part, 0.0, "")
    if source.float_on is None or source.highest_level is None:
        yield Assumption(
            text="the float starts the well's pump when {0} are missing, a fiftieth of the tank "
            "(the file has no float_on)",
            values=((USUAL_BAND * source.volume, "volume"),),
        )


def _outlets(
    totals: Totals, curves: DrawCurves, watch: Sequence[str], pump_system: PumpSystem | None
) -> Iterator[OutletUse]:
    """What happened at each connection, its lowest pressure settled anew by the solver."""
    for seen in totals.watches.values():
        outlet = seen.outlet
        if watch and outlet.fixture.name not in watch:
            continue
        if not math.isfinite(seen.lowest):
            continue
        curve = curves.of(seen.open_uses, seen.head)
        lowest = seen.lowest
        if pump_system is not None:
            rung = curves.settle(curve, constant_source(seen.source_pressure))
            names = [connection.name for connection in curve.outlets]
            lowest = rung.pressure[names.index(outlet.name)]
        yield OutletUse(
            outlet=outlet,
            lowest=lowest,
            interpolated=seen.lowest,
            lowest_at=seen.lowest_at,
            source_pressure=seen.source_pressure,
            beside=tuple(use.name for use in curve.uses if use.fixture.name != outlet.fixture.name),
            running=seen.running,
            below=seen.below,
        )


def _assumptions(
    design: Design,
    pump_system: PumpSystem | None,
    seed: int | None,
    people: int | None,
    people_assumed: bool,
) -> Iterator[Assumption]:
    if seed is not None and people is not None:
        yield from habit_assumptions(seed, people, people_assumed)
    yield Assumption(
        text="each mixing valve is set once, as when its outlet runs alone, and stays there"
    )
    yield from own_flow_assumption(design.house.fixtures)
    if pump_system is not None:
        yield from pump_system_assumptions(pump_system)
    if design.house.source.by_gravity:
        yield Assumption(
            text="the water is full at first; pressures are those at its lowest level all the time"
        )
    elif design.house.source.open_water:
        yield Assumption(
            text="the open tank is full at first; its pump lifts from the lowest level all the "
            "time, and rests when the tank is dry"
        )
    for far in far_tanks_of(design.tree):
        if far.volume is None:
            yield Assumption(text=f"{far.name} is left out: the file gives it no volume")
            continue
        yield Assumption(
            text=f"{far.name} is full at first; its water is counted exactly, but the house sees "
            "its pressure in steps of {0}, and it rests while it stands within one of the line's; "
            "while the first tank is empty and the pump off, it is taken to give nothing",
            values=((STEP, "pressure"),),
        )
    if design.house.source.filled_by is not None:
        yield from _filling_assumptions(design.house)
    words = ("pump", "well", "gauge")
    yield from (
        assumption
        for assumption in design.assumptions
        if any(word in assumption.text for word in words)
    )
