"""Changes that would mend a design that falls short, each proven by sizing the changed house.

Nothing here is a guess: a remedy is returned only after the changed house was sized and passed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial

from msgspec.structs import replace

from supplycalc.hydraulics.devices import loss_of_device
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Loss, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.problems import ComputationError, InputError
from supplycalc.sizing.changes import (
    free_sizes,
    raise_switch,
    with_device,
    with_run,
    with_size,
    with_sizes,
)
from supplycalc.sizing.choices import METRIC_SLACK
from supplycalc.sizing.crest_changes import over_crest
from supplycalc.sizing.design import CREST, Design, DeviceResult, Remedy, RunResult
from supplycalc.sizing.line_valve import valve_on_line
from supplycalc.sizing.minimums import largest_permitted
from supplycalc.sizing.source_changes import (
    failing,
    first_with_reserve,
    pump_that_would_do,
    raised_at_source,
    reducing_valve,
    remedy_of,
    set_valves,
)
from supplycalc.sizing.trials import Trial, Values, after_marks, few
from supplycalc.sizing.use_changes import before_treatment, in_turns, throttled
from supplycalc.supply.limits import well_limit
from supplycalc.units import PSI, UnitSystem

Try = Callable[[House], Design]
SWITCH_STEP = {"us": 10 * PSI, "metric": 50e3}
"""[Pa] Switches go up by 10 psi (30/50, 40/60, 50/70) or half a bar; common practice, no source."""
SWITCH_RISES: dict[UnitSystem, tuple[float, ...]] = {
    "us": tuple(step * 10 * PSI for step in range(1, 5)),
    "metric": (50e3, 100e3, 150e3, 200e3, 250e3, 275e3),
}
"""[Pa] What is tried: up to 40 psi, or as far in steps of half a bar."""
NEXT_SIZE = 1.5
"""How much more flow a device of the next size takes at the same loss: from 1 to 1-1/4 inch its
passages widen by half; common practice, no source."""
BOOSTER_TOP = 150 * PSI
"""No remedy is sought beyond this pressure at rest."""
MOST_PARALLEL = 3.5
"""Times its rated flow up to which three of a device stand in parallel; common practice, no
source."""
LONGEST_CUT = 0.5
"""A run cannot be made shorter than half by moving things."""


def remedies(design: Design, can_serve: Callable[[House], bool], size: Try) -> tuple[Remedy, ...]:
    """Find changes that mend a design that fails, the cheapest first.

    Returns:
        Changes that were computed to work: free ones first, then by extra cost of pipe, then those
        whose cost is not known, then what the pump needs; empty when nothing tried works.

    How: by trying.
    """

    def sized(house: House) -> Design:
        try:
            return size(house)
        except (ComputationError, InputError):  # such as a size that the price list lacks
            return design

    of_source = [
        *reducing_valve(design, sized),
        *valve_on_line(design, sized),
        *pump_that_would_do(design, sized),
    ]
    for_pressure = _for_pressure(design, can_serve, size) if design.shortfall > 0.0 else ()
    return (*(for_pressure or over_crest(design, higher_switch(design), sized)), *of_source)


def _for_pressure(
    design: Design, can_serve: Callable[[House], bool], size: Try
) -> tuple[Remedy, ...]:
    old_fails = failing(design)

    def works(house: House) -> Design | None:
        try:
            if not can_serve(house):
                return None
            changed = size(house)
        except (ComputationError, InputError):
            return None
        new = failing(changed) - (old_fails - {"pressure-short", CREST})
        return None if changed.shortfall > 0.0 or new else changed

    def hopeful(house: House) -> bool:
        try:
            return can_serve(house)
        except (ComputationError, InputError):
            return True

    def first_that_works(candidates: Iterable[Trial]) -> Iterator[Remedy]:
        for candidate in candidates:
            changed = works(candidate.house)
            remedy = None if changed is None else remedy_of(changed, candidate)
            for other in candidate.also:
                if remedy is not None:
                    turn = works(with_sizes(other, dict(remedy.sizes)))
                    remedy = None if turn is None else _in_both(remedy, turn)
            if remedy is not None:
                yield remedy
                return

    freed = free_sizes(design.house)
    every = replace(freed, limits=replace(freed.limits, larger_than_feed=True))
    larger = _larger(design) if hopeful(every) else ()
    working: list[tuple[int, Remedy]] = []
    ways: tuple[tuple[int, Iterable[Iterable[Trial]]], ...] = (
        (1, [higher_switch(design)]),
        (2, larger),
        (2, _replaced(design)),
        (3, before_treatment(design)),
        (3, _devices(design)),
        (4, throttled(design)),
    )
    for order, kinds in ways:
        for way in kinds:
            tries = list(way)
            # each goes further than the one before: where the last falls short, all do
            if tries and hopeful(tries[-1].house):
                working.extend((order, remedy) for remedy in first_that_works(tries))
    for settings in set_valves(design):
        best = first_with_reserve(settings, lambda trial: works(trial.house))
        if best is not None:
            working.append((1, remedy_of(*best)))
    working.extend((4, remedy) for remedy in first_that_works(in_turns(design)))
    working.extend((4, remedy) for remedy in _shorter(design, hopeful, works))
    if working and all("next to no loss" in remedy.text for _, remedy in working):
        # nobody likes to do without a softener: a larger one and a higher switch
        working.extend((2, remedy) for remedy in first_that_works(_devices_and_switch(design)))
    resorts: tuple[tuple[int, Callable[[], Iterator[Remedy]]], ...] = (
        (5, lambda: _together(design, works)),
        (5, lambda: first_that_works(_every_device(design))),
        (6, lambda: first_that_works(_switch_and_sizes(design))),
        (6, lambda: first_that_works(_devices_and_sizes(design))),
        (7, lambda: _booster(design, hopeful, works)),
    )
    for order, last_resort in resorts:
        if not working:
            working.extend((order, remedy) for remedy in last_resort())
    for (bare,) in _listed_fittings(design):
        # not a change but a closer look, so no sizes go with it
        working.extend((0, replace(remedy, sizes=())) for remedy in first_that_works([bare]))
    working.sort(key=lambda item: (item[0], item[1].cost))
    return tuple(remedy for _, remedy in working)


def _in_both(remedy: Remedy, turn: Design) -> Remedy:
    """What is told of sizes that serve another set of open outlets too."""
    sizes = {result.run.name: result.size.nominal for result in turn.runs} | dict(remedy.sizes)
    remedy = replace(remedy, sizes=tuple(sizes.items()))
    if turn.worst.margin >= remedy.worst_margin:
        return remedy
    return replace(remedy, worst_margin=turn.worst.margin, worst_name=turn.worst.name)


def _listed_fittings(design: Design) -> Iterator[list[Trial]]:
    """Where no fittings are listed, the bare pipe: it tells whether the allowance decides."""
    short = {name for outlet in design.outlets if outlet.margin < 0 for name in outlet.path}
    allowed = [
        result for result in design.runs if result.run.name in short and result.run.fittings is None
    ]
    if not allowed:
        return

    def bare(run: Run) -> Run:
        return replace(run, fittings=()) if run.fittings is None else run

    names = [result.run.name for result in allowed]
    length = sum(result.counted_length - result.run.length for result in allowed)
    yield [
        Trial(
            house=map_runs(design.house, bare),
            text=f"count the fittings of {few(names)} and list them: {{0}} of pipe stands for "
            "them now, and the bare pipe is enough",
            values=((length, "length"),),
        )
    ]


def higher_switch(design: Design) -> Iterator[Trial]:
    """The switch, or the pressure that a pump holds, in steps up to what tank and valve bear."""
    source, pump = design.house.source, design.pump
    now = [source.cut_in, source.cut_out] if pump is None or not pump.held else [pump.pressure]
    settings = [pressure for pressure in now if pressure is not None]
    if source.kind != "well" or not settings or len(settings) < len(now):
        return
    rating = source.tank.max_pressure if source.tank is not None else None
    checks = ["the tank's rating"] if rating is None else []
    if pump is None or not (pump.curve_known and pump.level_known):
        checks.append("that the pump reaches it")
    for rise in SWITCH_RISES[design.house.project.units]:
        if rating is not None and settings[-1] + rise > rating:
            return
        switched = len(now) > 1
        text = "set the pressure switch to {0} / {1}" if switched else "set the pump to hold {0}"
        raised = raise_switch(design.house, rise)
        values: Values = tuple((setting + rise, "setting") for setting in settings)
        tank, margin = raised.source.tank, well_limit("relief-margin").value
        if tank is not None and tank.precharge is not None:
            text += f" and the tank's air charge to {{{len(values)}}}"
            values += ((tank.precharge, "setting"),)
        if checks:
            text += f", after checking {' and '.join(checks)}"
        opens = settings[-1] + rise + margin  # a lower one spills all that the pump gives
        if tank is not None and tank.relief is not None and tank.relief < opens:
            if rating is not None and opens > rating:
                return
            source_then = replace(raised.source, tank=replace(tank, relief=opens))
            raised = replace(raised, source=source_then)
            mark = len(values)
            text += f"; its relief valve then has to open at {{{mark}}} instead of {{{mark + 1}}}"
            values += ((opens, "pressure"), (tank.relief, "pressure"))
        yield Trial(house=raised, text=text, values=values)


def _larger(design: Design) -> Iterator[list[Trial]]:
    """Each run or group on the short fixtures' paths with its larger sizes, the next one first."""
    short = {name for outlet in design.outlets if outlet.margin < 0 for name in outlet.path}
    seen: set[str] = set()
    for result in design.runs:
        run = result.run
        key = f"group {run.group}" if run.group else run.name
        if run.name not in short or key in seen or run.existing:
            continue
        seen.add(key)
        largest = largest_permitted(design.tree, result.index)
        names = [
            size.nominal
            for i, size in enumerate(result.tube.sizes)
            if size.nominal == result.size.nominal
            or (size.common and (largest is None or i <= largest) and _fits_feed(design, result, i))
        ]
        what = f"every run of group {run.group!r}" if run.group else run.name
        yield [
            Trial(
                house=with_size(design.house, run, larger),
                text=f"make {what} {larger} instead of {result.size.nominal}",
            )
            for larger in names[names.index(result.size.nominal) + 1 :]
        ]


def _fits_feed(design: Design, result: RunResult, size: int) -> bool:
    """Whether a size of a run is no larger than the pipe that feeds it, or may be."""
    feed = design.result_at.get(design.tree.feeding_run[result.index])
    if design.house.limits.larger_than_feed or not isinstance(feed, RunResult):
        return True
    wanted = result.tube.sizes[size]
    if result.tube.metric or feed.tube.metric:
        return wanted.inside_diameter <= feed.size.inside_diameter * METRIC_SLACK
    return wanted.rank <= feed.size.rank


def _replaced(design: Design) -> Iterator[list[Trial]]:
    """Each pipe on the short fixtures' paths that is there, new in its next sizes."""
    short = {name for outlet in design.outlets if outlet.margin < 0 for name in outlet.path}
    for result in design.runs:
        run = result.run
        if not run.existing or run.size is None or run.name not in short:
            continue
        largest = largest_permitted(design.tree, result.index)

        def new(old: Run, nominal: str) -> Run:
            return replace(old, size=nominal, sizes=(), existing=False, roughness=None)

        yield [
            Trial(
                house=with_run(design.house, run.name, partial(new, nominal=size.nominal)),
                text=f"replace {run.name}, which is there in {run.size}, by new pipe of its kind "
                f"in {size.nominal}",
            )
            for i, size in enumerate(result.tube.sizes)
            if size.common
            and size.inside_diameter >= result.size.inside_diameter
            and (largest is None or i <= largest)
            and _fits_feed(design, result, i)
        ]


def _together(design: Design, works: Callable[[House], Design | None]) -> Iterator[Remedy]:
    """Where no single change is enough: free every size at once and tell which grew."""
    house = free_sizes(design.house)
    wider = replace(house, limits=replace(house.limits, larger_branches=True))
    for tried in (house, wider):
        changed = works(tried)
        if changed is not None:
            break
    else:
        return
    grown = [
        f"{new.run.name} {new.size.nominal} instead of {old.size.nominal}"
        for old, new in zip(design.runs, changed.runs, strict=True)
        if new.size.inside_diameter > old.size.inside_diameter
    ]
    yield remedy_of(
        changed, Trial(house=tried, text=f"make several runs larger: {', '.join(grown)}")
    )


def _with_every_size(trial: Trial) -> Trial:
    """A change, and every size free besides."""
    text = trial.text + ", and allow every size that is made"
    return replace(trial, house=free_sizes(trial.house), text=text)


def _with_switch(trial: Trial, switch: Trial, joined: str = ", and ") -> Trial:
    """A change of devices, and a higher switch besides."""
    return Trial(
        house=replace(trial.house, source=switch.house.source),
        text=f"{trial.text}{joined}{after_marks(len(trial.values), switch.text)}",
        values=(*trial.values, *switch.values),
    )


def _switch_and_sizes(design: Design) -> Iterator[Trial]:
    """A higher switch and every size free."""
    return map(_with_every_size, higher_switch(design))


def _devices_and_switch(design: Design) -> Iterator[Trial]:
    """A device in the next size, or two in parallel, and a higher switch."""
    for switch in higher_switch(design):
        for tries in _devices(design):
            for trial in tries:
                if "next to no loss" not in trial.text:
                    yield _with_switch(trial, switch)


def _devices_and_sizes(design: Design) -> Iterator[Trial]:
    """Devices changed and every size free; then a higher switch too: one device in a larger size,
    then all at once, then one left out."""
    switches = list(higher_switch(design))
    devices = list(_devices(design))
    milder = [trial for tries in devices for trial in tries if "in parallel" in trial.text]
    single = [tries[-1] for tries in devices if tries[-1] not in milder]
    for changes in (milder, list(_every_device(design)), single):
        yield from map(_with_every_size, changes)
        for trial in changes:
            freed = replace(trial, house=free_sizes(trial.house))
            for switch in switches:
                yield _with_switch(freed, switch, ", allow every size that is made, and ")


def _replaceable(design: Design) -> Iterator[DeviceResult]:
    """Devices with a loss of their own on the worst fixture's path that come in other sizes.

    Reducing valves have settings; a heater with a tank in it is changed only where it is run far
    beyond the flow that its loss is known at.
    """
    path = set(design.worst.path)
    for result in design.devices:
        device = result.device
        if device.name not in path or device.setting is not None or result.loss <= 0.0:
            continue
        if design.tree.does(device, "stores") and _times_rated(design, result) <= 1.0:
            continue
        yield result


def _times_rated(design: Design, result: DeviceResult) -> float:
    """How many times the flow that its loss is known at a device carries."""
    loss = loss_of_device(result.device, design.tree.catalogue)
    rated = loss.curve[-1][0] if loss.curve else loss.reference_flow
    return result.design_flow / rated if loss.linear or loss.quadratic or loss.curve else 1.0


def _stays(design: Design, result: DeviceResult) -> bool:
    """Whether a device must not be left out: what heats, and what protects."""
    device = result.device
    return design.tree.does(device, "protects") or design.tree.catalogue.devices[device.kind].hot


def _devices(design: Design) -> Iterator[list[Trial]]:
    """Each device that can be replaced: in the next size, two in parallel, left out.

    A meter can only be a larger one; a heater and what protects stay.
    """
    for result in _replaceable(design):
        device = result.device
        out = f"leave {device.name} out of this path, or fit one with next to no loss"
        if design.tree.does(device, "meter"):
            out = f"have {device.name} replaced by a larger one with next to no loss"
        loss = loss_of_device(device, design.tree.catalogue)
        sizes = [
            (f"fit {device.name} in the next size", wider(loss, NEXT_SIZE)),
            (f"fit a second {device.name} in parallel", wider(loss, 2.0)),
        ]
        if 2.0 < _times_rated(design, result) <= MOST_PARALLEL:
            sizes.append((f"fit two more of {device.name} in parallel", wider(loss, 3.0)))
        if not _stays(design, result):
            sizes.append((out, Loss()))
        yield [
            Trial(
                house=with_device(design.house, device.name, replace(device, loss=less)),
                text=text + " (it takes {0} at {1})",
                values=((result.loss, "pressure"), (result.design_flow, "flow")),
            )
            for text, less in sizes
        ]


def _every_device(design: Design) -> Iterator[Trial]:
    """All devices of the worst path at once: in the next size, two of each, made for their flow."""
    results = list(_replaceable(design))
    if len(results) < 2:
        return
    names = few([result.device.name for result in results])
    lost = sum(result.loss for result in results)

    def each(times: Callable[[DeviceResult], float], text: str) -> Trial:
        house = design.house
        for result in results:
            loss = wider(loss_of_device(result.device, design.tree.catalogue), times(result))
            house = with_device(house, result.device.name, replace(result.device, loss=loss))
        return Trial(
            house=house,
            text=text + " (together they take {0})",
            values=((lost, "pressure"),),
        )

    yield each(lambda result: NEXT_SIZE, f"fit {names} in the next size, each")
    yield each(lambda result: 2.0, f"fit a second one in parallel to each of {names}")
    if max(_times_rated(design, result) for result in results) > 2.0:
        yield each(
            lambda result: max(_times_rated(design, result), 1.0),
            f"fit {names} each in a size made for the flow it carries",
        )


def wider(loss: Loss, times: float) -> Loss:
    """The loss of a device that takes more flow at the same loss [Pa over m3/s]."""
    return replace(
        loss,
        reference_flow=loss.reference_flow * times,
        curve=tuple((flow * times, lost) for flow, lost in loss.curve),
    )


def _shorter(
    design: Design,
    hopeful: Callable[[House], bool],
    works: Callable[[House], Design | None],
) -> Iterator[Remedy]:
    """The longest run on the worst path, shortened by the least length that is enough."""
    path = set(design.worst.path)
    runs = [result for result in design.runs if result.run.name in path and not result.run.existing]
    if not runs:
        return
    longest = max(runs, key=lambda result: result.loss)
    run = longest.run

    def shortened(share: float) -> House:
        return with_run(design.house, run.name, lambda old: replace(old, length=old.length * share))

    if not hopeful(shortened(1.0 - LONGEST_CUT)):
        return
    fails, passes = 1.0, 1.0 - LONGEST_CUT
    for _ in range(12):
        middle = 0.5 * (fails + passes)
        if hopeful(shortened(middle)):
            passes = middle
        else:
            fails = middle
    changed = works(shortened(passes))
    if changed is not None:
        cut = run.length * (1.0 - passes)
        yield remedy_of(
            changed,
            Trial(
                house=shortened(passes),
                text=f"make {run.name} shorter by {{0}}",
                values=((cut, "length"),),
            ),
        )


def _booster(
    design: Design,
    hopeful: Callable[[House], bool],
    works: Callable[[House], Design | None],
) -> Iterator[Remedy]:
    """A main's pressure, or that of open water, raised by a pump of the house's own, by the least
    that is enough."""
    source = design.house.source
    if source.kind == "well":
        return
    rest = design.source.static_pressure

    def boosted(rise: float) -> House:
        return raised_at_source(design, rise)

    short, enough = 0, max(int((BOOSTER_TOP - rest) / PSI), 1)
    if not hopeful(boosted(enough * PSI)):
        return
    while enough - short > 1:
        middle = (short + enough) // 2
        if hopeful(boosted(middle * PSI)):
            enough = middle
        else:
            short = middle
    rise = enough * PSI
    changed = works(boosted(rise))
    if changed is not None:
        yield remedy_of(
            changed,
            Trial(
                house=boosted(rise),
                text="raise the pressure at the source by {0}, to {1} while water flows, with a "
                "booster pump (licensed work)"
                if source.kind == "main"
                else "fit a booster pump behind the tank that gives {2} against {3}, and holds {1} "
                "with the water at its lowest level (its wiring is licensed work)",
                values=(
                    (rise, "pressure"),
                    (changed.source.design_pressure, "pressure"),
                    *(
                        ()
                        if source.kind == "main"
                        else (
                            (changed.demand.design_flow[0], "flow"),
                            (rise / specific_weight(design.house.water.cold), "head"),
                        )
                    ),
                ),
            ),
        )
