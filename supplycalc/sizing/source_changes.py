"""Changes at the source of a house that has pressure enough and fails by something else: a pump
that would do with its tank, and a reducing valve at a usual setting."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from msgspec.structs import replace

from supplycalc.demand import highest_at_rest
from supplycalc.model import Device, House, Pump
from supplycalc.model.field_paths import hung_elsewhere
from supplycalc.sizing.changes import with_device
from supplycalc.sizing.design import Design, Mends, Remedy, RunResult
from supplycalc.sizing.pressure_range import lowest_heights
from supplycalc.sizing.trials import Trial, Values
from supplycalc.supply.limits import well_limit
from supplycalc.supply.pump import pump_head, total_dynamic_head
from supplycalc.tables import code_limit
from supplycalc.units import PSI, UnitSystem

USUAL_SETTINGS: dict[UnitSystem, tuple[float, ...]] = {
    "us": tuple(setting * PSI for setting in (50, 55, 60, 65, 70, 75)),
    "metric": (350e3, 400e3, 450e3, 500e3),
}
"""[Pa] What reducing valves for houses are set to; most reach 75 psi at most. Common practice, no
source."""
TOO_SMALL, CYCLES, OVER_STATIC = "pump-cannot-hold", "short-cycling", "static-over-limit"
"""Codes of the findings that these changes mend."""
OF_PUMP = frozenset({TOO_SMALL, "switch-above-pump"})
FLAT_PART = 0.85
"""Share of its head without flow above which a pump is a bad choice for a duty point; common
practice, no source."""
ADDED_VALVE = "reducing valve"


def failing(design: Design) -> set[str]:
    """Codes of the findings that fail."""
    return {finding.code for finding in design.findings if finding.level == "fail"}


def remedy_of(changed: Design, trial: Trial, mends: Mends = "pressure") -> Remedy:
    """What is told of a change that works."""
    return Remedy(
        text=trial.text,
        values=trial.values,
        worst_margin=changed.worst.margin,
        worst_name=changed.worst.name,
        cost=changed.cost,
        sizes=tuple((result.run.name, result.size.nominal) for result in changed.runs)
        if mends != "pump"
        else (),
        mends=mends,
        pump=changed.pump if mends == "pump" else None,
    )


def pump_that_would_do(design: Design, size: Callable[[House], Design]) -> Iterator[Remedy]:
    """A pump for what this one is judged by, and a tank of the size for it.

    Yields:
        The change, where the changed house keeps every rule of pump and well; nothing where the
        well itself gives less or the water's level is not known.
    """
    check, house = design.pump, design.house
    if check is None or check.state != "too-small" or check.needed_head is None:
        return
    if check.sustained is not None and check.sustained < check.needed_flow:
        return  # storage, no pump
    larger = _pump_for(house, check.needed_flow, check.needed_head)
    trial = Trial(
        house=replace(house, source=replace(house.source, pump=larger)),
        text="fit a pump that gives {0} against {1} of total head, the lift included",
        values=((check.needed_flow, "flow"), (check.needed_head, "head")),
    )
    changed = size(trial.house)
    tank = house.source.tank
    cycles = [finding for finding in changed.findings if finding.code == CYCLES]
    if cycles and tank is not None and tank.volume is not None:
        volume = cycles[0].remedy_values[0][0]
        source = replace(trial.house.source, tank=replace(tank, volume=volume))
        one = "a tank of" in cycles[0].remedy
        trial = Trial(
            house=replace(house, source=source),
            text=f"{trial.text}, and {'a tank' if one else 'tanks together'} of {{2}}",
            values=(*trial.values, (volume, "volume")),
        )
        changed = size(trial.house)
    new = failing(changed) - failing(design)
    if not new and not failing(changed) & OF_PUMP:
        yield remedy_of(changed, trial, "pump")


def _pump_for(house: House, flow: float, head: float) -> Pump:
    """A pump of the same kind through a duty point [m3/s, m]: its curve widened, and raised where
    the point lies too high on it; one point alone where no curve is given."""
    pump = house.source.pump
    assert pump is not None
    plain = replace(
        pump, motor_power=None, measured_flow=None, measured_pressure=None, reaches=None
    )
    if len(pump.curve) < 2:
        return replace(plain, curve=((flow, head),))
    top = pump.curve[0][1]
    least = head / FLAT_PART
    if house.source.cut_out is not None:
        margin = well_limit("pump-margin").value
        least = max(least, total_dynamic_head(house, 0.0, house.source.cut_out + margin))
    raised = max(least / top, 1.0)
    low, high = 0.0, 10.0 * pump.curve[-1][0]
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if raised * pump_head(pump, middle) > head else (low, middle)
    wider = max(flow / high, 1.0)
    return replace(plain, curve=tuple((wider * q, raised * h) for q, h in pump.curve))


def raised_at_source(design: Design, rise: float) -> House:
    """The house with so much more pressure at its source [Pa], by a pump of its own: on a main, or
    behind open water above it."""
    source = replace(
        design.house.source,
        kind="main",
        static=design.source.static_pressure + rise,
        residual=design.source.design_pressure + rise,
        residual_flow=None,
    )
    return replace(design.house, source=source)


def usual_settings(house: House, lowest: float) -> list[float]:
    """Usual settings of a reducing valve above one, within what the code allows at rest [Pa]."""
    limit = house.limits.max_static or highest_at_rest(house).value
    settings = USUAL_SETTINGS[house.project.units]
    return [setting for setting in settings if lowest < setting <= limit]


def first_with_reserve(
    trials: Iterator[Trial], works: Callable[[Trial], Design | None]
) -> tuple[Design, Trial] | None:
    """The first trial that leaves the reserve, else the first that works at all."""
    best: tuple[Design, Trial] | None = None
    for trial in trials:
        changed = works(trial)
        if changed is None:
            continue
        best = best or (changed, trial)
        if changed.worst.margin >= code_limit("thin-margin").value - 1e-6:
            return changed, trial
    return best


def set_valves(design: Design) -> Iterator[Iterator[Trial]]:
    """Each reducing valve of the house at the usual settings above its own, the lowest first."""
    house = design.house
    for valve in house.devices:
        if valve.setting is not None:
            yield _set_to(house, valve, usual_settings(house, valve.setting))


def _set_to(house: House, valve: Device, settings: Iterable[float]) -> Iterator[Trial]:
    """The house with a reducing valve at each of these settings."""
    for setting in settings:
        yield Trial(
            house=with_device(house, valve.name, replace(valve, setting=setting)),
            text=f"set {valve.name} to {{0}}",
            values=((setting, "setting"),),
        )


def reducing_valve(design: Design, size: Callable[[House], Design]) -> Iterator[Remedy]:
    """A reducing valve at the lowest usual setting that leaves the reserve, its sizes with it.

    Args:
        design: judged, with too much pressure at rest; a valve that it has is set lower.
    """
    house = design.house
    if OVER_STATIC not in failing(design):
        return
    valves = [device for device in house.devices if device.setting is not None]
    if len(valves) > 1:
        return  # zones: which valve is told by the finding

    def works(trial: Trial) -> Design | None:
        changed = size(trial.house)
        over = failing(changed) - failing(design) or OVER_STATIC in failing(changed)
        return None if over or changed.shortfall > 0.0 else changed

    trials = _with_valve(design)
    for valve in valves:  # one at most
        below = [each for each in usual_settings(house, 0.0) if each < (valve.setting or 0.0)]
        trials = _set_to(house, valve, below)
    best = first_with_reserve(trials, works)
    if best is not None:
        yield remedy_of(*best, "static")


def valve_place(design: Design) -> tuple[int, float, str]:
    """Where a reducing valve for the whole house stands: where the line enters it.

    Returns:
        The link at whose end it stands, its height [m], where the file gives none the lowest that
        it feeds, and the place in words: the end of the buried line and its meter, before anything
        branches off; else the source (0).

    Source: common practice.
    """
    tree, place, at = design.tree, 0, 0
    while len(tree.children[at]) == 1:
        [at] = tree.children[at]
        link = design.result_at.get(at)
        if isinstance(link, RunResult):
            if link.run.fixture is not None or (link.run.buried is None and place):
                break
        elif link is None or not tree.does(link.device, "meter"):
            break
        place = at
    if not place:
        return 0, tree.elevation[0], "at the source's gauge"
    return place, lowest_heights(tree)[place], f"where {design.result_at[place].name} ends"


def _with_valve(design: Design) -> Iterator[Trial]:
    """The house with a reducing valve where the line enters it, at each usual setting."""
    house = design.house
    kind = next(kind for kind in house.catalogue.devices.values() if kind.reduces)
    place, height, where = valve_place(design)
    gauge = design.tree.points[place]

    moved = hung_elsewhere(house, {gauge: ADDED_VALVE})
    for setting in usual_settings(house, 0.0):
        values: Values = ((setting, "setting"),)
        valve = Device(
            name=ADDED_VALVE,
            kind=kind.name,
            start=gauge,
            end=ADDED_VALVE,
            elevation=height,
            setting=setting,
        )
        yield Trial(
            house=replace(moved, devices=(valve, *moved.devices)),
            text=f"fit a pressure-reducing valve {where}, set to {{0}}, with a strainer before it "
            "and room for heated water to expand behind it",
            values=values,
        )
