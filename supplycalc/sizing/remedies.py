"""Changes that would mend a design that falls short, each proven by sizing the changed house.

Nothing here is a guess: a remedy is returned only after the changed house was sized and passed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.demand import method_record
from supplycalc.hydraulics.devices import loss_of_device
from supplycalc.model import House, Loss, Run
from supplycalc.problems import ComputationError, InputError
from supplycalc.sizing.changes import (
    free_sizes,
    map_runs,
    raise_switch,
    with_device,
    with_run,
    with_size,
)
from supplycalc.sizing.design import Design, DeviceResult, Remedy
from supplycalc.sizing.minimums import largest_branch
from supplycalc.supply.limits import well_limit
from supplycalc.tables import code_limit
from supplycalc.units import PSI, UnitSystem

Try = Callable[[House], Design]
Values = tuple[tuple[float, str], ...]
"""(SI value, dimension) of each mark of a sentence."""
SWITCH_STEP = {"us": 10 * PSI, "metric": 50e3}
"""[Pa] Switches go up by 10 psi (30/50, 40/60, 50/70) or half a bar; common practice, no source."""
SWITCH_RISES: dict[UnitSystem, tuple[float, ...]] = {
    "us": tuple(step * 10 * PSI for step in range(1, 5)),
    "metric": (50e3, 100e3, 150e3, 200e3, 250e3, 275e3),
}
"""[Pa] What is tried: up to 40 psi, or as far in steps of half a bar."""
USUAL_SETTINGS: dict[UnitSystem, tuple[float, ...]] = {
    "us": tuple(setting * PSI for setting in (50, 55, 60, 65, 70, 75)),
    "metric": (350e3, 400e3, 450e3, 500e3),
}
"""[Pa] What reducing valves for houses are set to; most reach 75 psi at most. Common practice, no
source."""
NEXT_SIZE = 1.5
"""How much more flow a device of the next size takes at the same loss: from 1 to 1-1/4 inch its
passages widen by half; common practice, no source."""
BOOSTER_TOP = 150 * PSI
"""No remedy is sought beyond this pressure at rest."""
MOST_NAMED = 4
"""Runs told by name; more are counted."""
LONGEST_CUT = 0.5
"""A run cannot be made shorter than half by moving things."""


class _Tried(Struct, frozen=True, kw_only=True):
    """A house with one thing changed, and in which words."""

    house: House
    text: str
    values: tuple[tuple[float, str], ...] = ()


def remedies(design: Design, can_serve: Callable[[House], bool], size: Try) -> tuple[Remedy, ...]:
    """Find changes that mend a design whose pressure falls short, the cheapest first.

    Args:
        design: one that falls short.
        can_serve: quickly tells whether a changed house has sizes that keep every pressure.
        size: sizes and judges a changed house.

    Returns:
        Changes that were computed to work: free ones first, then by extra cost of pipe, then those
        whose cost is not known; empty when nothing tried works.

    How: by trying.
    """
    if design.shortfall <= 0.0:
        return ()
    old_fails = {finding.code for finding in design.findings if finding.level == "fail"}

    def works(house: House) -> Design | None:
        try:
            if not can_serve(house):
                return None
            changed = size(house)
        except (ComputationError, InputError):  # such as a size that the price list lacks
            return None
        fails = {finding.code for finding in changed.findings if finding.level == "fail"}
        new = fails - (old_fails - {"pressure-short"})
        return None if changed.shortfall > 0.0 or new else changed

    def hopeful(house: House) -> bool:
        try:
            return can_serve(house)
        except (ComputationError, InputError):
            return True

    def first_that_works(candidates: Iterable[_Tried]) -> Iterator[Remedy]:
        for candidate in candidates:
            changed = works(candidate.house)
            if changed is not None:
                yield _remedy(changed, candidate)
                return

    freed = free_sizes(design.house)
    every = replace(freed, limits=replace(freed.limits, larger_than_feed=True))
    larger = _larger(design) if hopeful(every) else ()
    working: list[tuple[int, Remedy]] = []
    for order, ways in enumerate(([_switch(design)], larger, _devices(design)), start=1):
        for way in ways:
            tries = list(way)
            # each goes further than the one before: where the last falls short, all do
            if tries and hopeful(tries[-1].house):
                working.extend((order, remedy) for remedy in first_that_works(tries))
    working.extend((1, remedy) for remedy in _reducing_valves(design, works))
    working.extend((4, remedy) for remedy in _shorter(design, hopeful, works))
    if not working:
        working.extend((5, remedy) for remedy in _together(design, works))
    if not working:
        working.extend((5, remedy) for remedy in first_that_works(_every_device(design)))
    if not working:
        working.extend((6, remedy) for remedy in first_that_works(_switch_and_sizes(design)))
        working.extend((6, remedy) for remedy in first_that_works(_devices_and_sizes(design)))
    if not working:
        working.extend((7, remedy) for remedy in _booster(design, hopeful, works))
    for (bare,) in _listed_fittings(design):
        # not a change but a closer look, so no sizes go with it
        working.extend((0, replace(remedy, sizes=())) for remedy in first_that_works([bare]))
    working.sort(key=lambda item: (item[0], item[1].cost))
    return tuple(remedy for _, remedy in working)


def _remedy(changed: Design, tried: _Tried) -> Remedy:
    return Remedy(
        text=tried.text,
        values=tried.values,
        worst_margin=changed.worst.margin,
        worst_name=changed.worst.name,
        cost=changed.cost,
        sizes=tuple((result.run.name, result.size.nominal) for result in changed.runs),
    )


def _listed_fittings(design: Design) -> Iterator[list[_Tried]]:
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
        _Tried(
            house=map_runs(design.house, bare),
            text=f"count the fittings of {_few(names)} and list them: {{0}} of pipe stands for "
            "them now, and the bare pipe is enough",
            values=((length, "length"),),
        )
    ]


def _few(names: list[str]) -> str:
    """Names in a sentence, the longest rows cut short."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more runs"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _switch(design: Design) -> Iterator[_Tried]:
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
        to = "set the pressure switch to {0} / {1}" if len(now) > 1 else "set the pump to hold {0}"
        text = f"{to}, after checking {' and '.join(checks)}" if checks else to
        raised = raise_switch(design.house, rise)
        values: Values = tuple((setting + rise, "setting") for setting in settings)
        tank, margin = raised.source.tank, well_limit("relief-margin").value
        if tank is not None and tank.relief is not None and tank.relief < values[-1][0] + margin:
            opens = values[-1][0] + margin  # a lower one spills all that the pump gives
            if rating is not None and opens > rating:
                return
            source_then = replace(raised.source, tank=replace(tank, relief=opens))
            raised = replace(raised, source=source_then)
            mark = len(values)
            text += f"; its relief valve then has to open at {{{mark}}} instead of {{{mark + 1}}}"
            values += ((opens, "pressure"), (tank.relief, "pressure"))
        yield _Tried(house=raised, text=text, values=values)


def _reducing_valves(design: Design, works: Callable[[House], Design | None]) -> Iterator[Remedy]:
    """Each reducing valve at the lowest usual setting that leaves the reserve, or else works."""
    limit = design.house.limits.max_static or method_record(design.demand.method).max_static.value
    for device in design.house.devices:
        if device.setting is None:
            continue
        best: tuple[Design, _Tried] | None = None
        for setting in USUAL_SETTINGS[design.house.project.units]:
            if setting <= device.setting or setting > limit:
                continue
            raised = replace(device, setting=setting)
            tried = _Tried(
                house=with_device(design.house, device.name, raised),
                text=f"set {device.name} to {{0}}",
                values=((setting, "setting"),),
            )
            changed = works(tried.house)
            if changed is None:
                continue
            best = best or (changed, tried)
            if changed.worst.margin >= code_limit("thin-margin").value - 1e-6:
                best = (changed, tried)
                break
        if best is not None:
            yield _remedy(*best)


def _larger(design: Design) -> Iterator[list[_Tried]]:
    """Each run or group on the short fixtures' paths with its larger sizes, the next one first."""
    short = {name for outlet in design.outlets if outlet.margin < 0 for name in outlet.path}
    seen: set[str] = set()
    for result in design.runs:
        run = result.run
        key = f"group {run.group}" if run.group else run.name
        if run.name not in short or key in seen or run.existing:
            continue
        seen.add(key)
        largest = largest_branch(design.tree, result.index)
        names = [
            size.nominal
            for i, size in enumerate(result.tube.sizes)
            if size.nominal == result.size.nominal
            or (size.common and (largest is None or i <= largest))
        ]
        what = f"every run of group {run.group!r}" if run.group else run.name
        yield [
            _Tried(
                house=with_size(design.house, run, larger),
                text=f"make {what} {larger} instead of {result.size.nominal}",
            )
            for larger in names[names.index(result.size.nominal) + 1 :]
        ]


def _together(design: Design, works: Callable[[House], Design | None]) -> Iterator[Remedy]:
    """Where no single change is enough: free every size at once and tell which grew."""
    house = free_sizes(design.house)
    changed = works(house)
    if changed is None:
        return
    grown = [
        f"{new.run.name} {new.size.nominal} instead of {old.size.nominal}"
        for old, new in zip(design.runs, changed.runs, strict=True)
        if new.size.inside_diameter > old.size.inside_diameter
    ]
    yield _remedy(
        changed, _Tried(house=house, text="make several runs larger: " + ", ".join(grown))
    )


def _switch_and_sizes(design: Design) -> Iterator[_Tried]:
    """A higher switch and every size free."""
    for tried in _switch(design):
        yield replace(
            tried,
            house=free_sizes(tried.house),
            text=tried.text + ", and allow every size that is made",
        )


def _devices_and_sizes(design: Design) -> Iterator[_Tried]:
    """A device left out and every size free; with a higher switch too where that is not enough."""
    switches = list(_switch(design))
    for *_, tried in _devices(design):
        freed = free_sizes(tried.house)
        yield replace(tried, house=freed, text=tried.text + ", and allow every size that is made")
    for *_, tried in _devices(design):
        for switch in switches:
            source = switch.house.source
            yield _Tried(
                house=replace(free_sizes(tried.house), source=source),
                text=f"{tried.text}, allow every size that is made, and "
                f"{_after_marks(len(tried.values), switch.text)}",
                values=(*tried.values, *switch.values),
            )


def _after_marks(count: int, text: str) -> str:
    """A sentence whose marks are counted on from those of the one before it."""
    return re.sub(r"\{(\d+)\}", lambda mark: f"{{{int(mark[1]) + count}}}", text)


def _replaceable(design: Design) -> Iterator[DeviceResult]:
    """Devices with a loss of their own on the worst fixture's path.

    Heaters, reducing valves and what protects stay as they are.
    """
    path = set(design.worst.path)
    for result in design.devices:
        device = result.device
        if device.name not in path or device.setting is not None or result.loss <= 0.0:
            continue
        kind = design.tree.catalogue.devices[device.kind]
        if not kind.hot and "protects" not in kind.roles:
            yield result


def _devices(design: Design) -> Iterator[list[_Tried]]:
    """Each device that can be replaced: in the next size, two side by side, left out.

    A meter can only be a larger one.
    """
    for result in _replaceable(design):
        device = result.device
        kind = design.tree.catalogue.devices[device.kind]
        out = f"leave {device.name} out of this path, or fit one with next to no loss"
        if "meter" in kind.roles:
            out = f"have {device.name} replaced by a larger one with next to no loss"
        loss = loss_of_device(device, design.tree.catalogue)
        yield [
            _Tried(
                house=with_device(design.house, device.name, replace(device, loss=less)),
                text=text + " (it takes {0} at {1})",
                values=((result.loss, "pressure"), (result.design_flow, "flow")),
            )
            for text, less in (
                (f"fit {device.name} in the next size", wider(loss, NEXT_SIZE)),
                (f"fit two of {device.name} side by side", wider(loss, 2.0)),
                (out, Loss()),
            )
        ]


def _every_device(design: Design) -> Iterator[_Tried]:
    """All devices of the worst path at once in the next size, or two of each side by side."""
    devices = list(_devices(design))
    if len(devices) < 2:
        return
    names = [result.device.name for result in _replaceable(design)]
    for place, text in (
        (0, f"fit {_few(names)} in the next size, each"),
        (1, f"fit two side by side of each of {_few(names)}"),
    ):
        house = design.house
        for tried, name in zip((tries[place] for tries in devices), names, strict=True):
            device = next(item for item in tried.house.devices if item.name == name)
            house = with_device(house, name, device)
        lost = sum(result.loss for result in _replaceable(design))
        yield _Tried(
            house=house,
            text=text + " (together they take {0})",
            values=((lost, "pressure"),),
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
    runs = [result for result in design.runs if result.run.name in path]
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
        yield _remedy(
            changed,
            _Tried(
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
    """A main's pressure raised by a pump of the house's own, by the least that is enough."""
    source = design.house.source
    if source.kind != "main":
        return
    rest = design.source.static_pressure

    def boosted(rise: float) -> House:
        changed = replace(
            source,
            static=rest + rise,
            residual=design.source.design_pressure + rise,
            residual_flow=None,
        )
        return replace(design.house, source=changed)

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
        yield _remedy(
            changed,
            _Tried(
                house=boosted(rise),
                text="raise the pressure at the source by {0}, to {1} while water flows, with a "
                "booster pump (licensed work)",
                values=((rise, "pressure"), (changed.source.design_pressure, "pressure")),
            ),
        )
