"""Changes that would mend a design that falls short, each found by really sizing the changed house.

Nothing here is a guess: a remedy is returned only after the changed house was sized and passed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from supplycalc.design import Design, Remedy
from supplycalc.model import Fixture, House, Loss, Run
from supplycalc.supply.pump import with_curve

Try = Callable[[House], Design]
PSI = 6894.757293168361
"""[Pa]"""
SWITCH_STEP = {"us": 10 * PSI, "metric": 50e3}
"""[Pa] Switches go up by 10 psi (30/50, 40/60, 50/70) or half a bar; common practice, no source."""
SWITCH_STEPS = 4
REDUCING_VALVE_TOP = 80 * PSI
"""Highest static pressure the codes allow in a house (IRC P2903.3.1)."""
BOOSTER_TOP = 150 * PSI
"""No remedy is sought beyond this pressure at rest; our own."""
PROTECTIVE = frozenset(
    {
        *("backflow-preventer", "double-check", "dual-check", "check"),
        *("uv", "mixing-valve", "stop-valve"),
    }
)
"""Kinds of device that guard against contamination or scalding, or shut the water off: no remedy is
to do without them."""
LONGEST_CUT = 0.5
"""A run cannot be made shorter than half by moving things; our own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    house: House
    text: str
    values: tuple[tuple[float, str], ...] = ()


def remedies(design: Design, size: Try) -> tuple[Remedy, ...]:
    """Find changes that mend a design whose pressure falls short, the cheapest first.

    Args:
        design: one that falls short [-].
        size: sizes and judges a changed house [-].

    Returns:
        Changes that were computed to work: free ones first, then by extra cost of pipe, then those
        whose cost is not known; empty when nothing tried works.

    Source: our own, by trying.
    """
    if design.shortfall <= 0.0:
        return ()
    old_fails = {finding.code for finding in design.findings if finding.level == "fail"}

    def works(house: House) -> Design | None:
        changed = size(house)
        fails = {finding.code for finding in changed.findings if finding.level == "fail"}
        new = fails - (old_fails - {"pressure-short"})
        return None if changed.shortfall > 0.0 or new else changed

    found: list[tuple[int, Remedy]] = []
    for order, candidates in enumerate(
        (_switch(design), _reducing_valve(design), _larger(design), _devices(design))
    ):
        for candidate in candidates:
            changed = works(candidate.house)
            if changed is not None:
                found.append((order, _remedy(design, changed, candidate)))
                if order < 2:
                    break
    found.extend((4, remedy) for remedy in _shorter(design, works))
    if not found:
        found.extend((5, remedy) for remedy in _together(design, works))
    if not found:
        found.extend((6, remedy) for remedy in _booster(design, works))
    found.sort(key=lambda item: (item[0], item[1].cost))
    return tuple(remedy for _, remedy in found)


def _remedy(design: Design, changed: Design, tried: _Tried) -> Remedy:
    return Remedy(
        text=tried.text,
        values=tried.values,
        worst_margin=changed.worst.margin,
        worst_name=changed.worst.name,
        cost=max(changed.cost - design.cost, 0.0),
    )


def raise_switch(house: House, rise: float) -> House:
    """The same house with cut-in, cut-out and precharge higher.

    Args:
        house: on a well [-].
        rise: [Pa].

    Returns:
        The changed house.

    Source: our own.
    """
    house = with_curve(house)  # a guessed curve does not grow with the switch
    source = house.source
    tank = source.tank
    if tank is not None and tank.precharge is not None:
        tank = replace(tank, precharge=tank.precharge + rise)
    return replace(
        house,
        source=replace(
            source,
            cut_in=(source.cut_in or 0.0) + rise,
            cut_out=None if source.cut_out is None else source.cut_out + rise,
            tank=tank,
        ),
    )


def _switch(design: Design) -> Iterator[_Tried]:
    source = design.house.source
    if source.kind != "well" or source.cut_in is None or source.cut_out is None:
        return
    rating = source.tank.max_pressure if source.tank is not None else None
    for step in range(1, SWITCH_STEPS + 1):
        rise = step * SWITCH_STEP[design.house.project.units]
        if rating is not None and source.cut_out + rise > rating:
            return
        text = "set the pressure switch to {0} / {1}"
        if rating is None:
            text += ", after checking the tank's rating and that the pump reaches it"
        yield _Tried(
            house=raise_switch(design.house, rise),
            text=text,
            values=(
                (source.cut_in + rise, "pressure"),
                (source.cut_out + rise, "pressure"),
            ),
        )


def _reducing_valve(design: Design) -> Iterator[_Tried]:
    for device in design.house.devices:
        if device.setting is None:
            continue
        setting = device.setting
        while setting + 5 * PSI <= REDUCING_VALVE_TOP:
            setting += 5 * PSI
            changed = tuple(
                replace(one, setting=setting) if one.name == device.name else one
                for one in design.house.devices
            )
            yield _Tried(
                house=replace(design.house, devices=changed),
                text=f"set {device.name} to {{0}}",
                values=((setting, "pressure"),),
            )


def _larger(design: Design) -> Iterator[_Tried]:
    """Each run or group on the short fixtures' paths, freed to take larger sizes."""
    short = {name for outlet in design.outlets if outlet.margin < 0 for name in outlet.path}
    seen: set[str] = set()
    for result in design.runs:
        run = result.run
        key = f"group {run.group}" if run.group else run.name
        if run.name not in short or key in seen:
            continue
        seen.add(key)
        names = [
            size.nominal
            for size in result.tube.sizes
            if size.common or size.nominal == result.size.nominal
        ]
        for larger in names[names.index(result.size.nominal) + 1 :]:
            what = f"every run of group {run.group!r}" if run.group else run.name
            house = with_size(design.house, run, larger)
            yield _Tried(house=house, text=f"make {what} {larger} instead of {result.size.nominal}")


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
        design, changed, _Tried(house=house, text="make several runs larger: " + ", ".join(grown))
    )


def _devices(design: Design) -> Iterator[_Tried]:
    """Devices with a loss of their own on the worst fixture's path, left out.

    Heaters, reducing valves and what protects stay; a meter can only be a larger one.
    """
    path = set(design.worst.path)
    for result in design.devices:
        device = result.device
        if device.name not in path or device.setting is not None or result.loss <= 0.0:
            continue
        if design.tree.catalogue.devices[device.kind].hot or device.kind in PROTECTIVE:
            continue
        what = f"leave {device.name} out of this path, or fit one with next to no loss"
        if device.kind == "meter":
            what = f"have {device.name} replaced by a larger one with next to no loss"
        changed = tuple(
            replace(one, loss=Loss()) if one.name == device.name else one
            for one in design.house.devices
        )
        yield _Tried(
            house=replace(design.house, devices=changed),
            text=what + " (it takes {0} at {1})",
            values=((result.loss, "pressure"), (result.design_flow, "flow")),
        )


def _shorter(design: Design, works: Callable[[House], Design | None]) -> Iterator[Remedy]:
    """The longest run on the worst path, shortened by the least length that is enough."""
    path = set(design.worst.path)
    runs = [result for result in design.runs if result.run.name in path]
    if not runs:
        return
    longest = max(runs, key=lambda result: result.loss)
    run = longest.run

    def shortened(share: float) -> House:
        return with_run(design.house, run.name, lambda one: replace(one, length=one.length * share))

    if works(shortened(1.0 - LONGEST_CUT)) is None:
        return
    fails, passes = 1.0, 1.0 - LONGEST_CUT
    for _ in range(12):
        middle = 0.5 * (fails + passes)
        if works(shortened(middle)) is None:
            fails = middle
        else:
            passes = middle
    changed = works(shortened(passes))
    if changed is not None:
        cut = run.length * (1.0 - passes)
        yield _remedy(
            design,
            changed,
            _Tried(
                house=shortened(passes),
                text=f"make {run.name} shorter by {{0}}",
                values=((cut, "length"),),
            ),
        )


def _booster(design: Design, works: Callable[[House], Design | None]) -> Iterator[Remedy]:
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

    rise = PSI
    while works(boosted(rise)) is None:
        rise += PSI
        if rest + rise > BOOSTER_TOP:
            return
    changed = works(boosted(rise))
    if changed is not None:
        yield _remedy(
            design,
            changed,
            _Tried(
                house=boosted(rise),
                text="raise the pressure at the source by {0}, to {1} while water flows, with a "
                "booster pump (licensed work)",
                values=((rise, "pressure"), (changed.source.design_pressure, "pressure")),
            ),
        )


def with_run(house: House, name: str, change: Callable[[Run], Run]) -> House:
    """The same house with one run, or one fixture's branch, changed.

    Args:
        house: the house [-].
        name: of the run [-].
        change: gives the new run for the old one [-].

    Returns:
        The changed house.

    Source: our own.
    """

    def each(run: Run) -> Run:
        return change(run) if run.name == name else run

    return map_runs(house, each)


def map_runs(house: House, each: Callable[[Run], Run]) -> House:
    """The same house with every run and branch passed through a function.

    Args:
        house: the house [-].
        each: gives the new run for the old one [-].

    Returns:
        The changed house.

    Source: our own.
    """

    def fixture(one: Fixture) -> Fixture:
        cold = None if one.cold is None else each(one.cold)
        hot = None if one.hot is None else each(one.hot)
        return replace(one, cold=cold, hot=hot)

    return replace(
        house,
        runs=tuple(each(run) for run in house.runs),
        fixtures=tuple(fixture(one) for one in house.fixtures),
    )


def with_size(house: House, like: Run, nominal: str) -> House:
    """The same house with one run, or its whole group, fixed at a size.

    Args:
        house: the house [-].
        like: the run, or any run of the group [-].
        nominal: the size [-].

    Returns:
        The changed house.

    Source: our own.
    """

    def each(run: Run) -> Run:
        same = run.name == like.name or (like.group is not None and run.group == like.group)
        return replace(run, size=nominal, sizes=()) if same else run

    return map_runs(house, each)


def free_sizes(house: House) -> House:
    """The same house with no size fixed or excluded.

    Args:
        house: the house [-].

    Returns:
        The changed house.

    Source: our own.
    """
    return map_runs(house, lambda run: replace(run, size=None, sizes=()))
