"""Too little pressure at a fixture, too little to spare, and too much with nothing running."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from supplycalc.demand import highest_at_rest
from supplycalc.findings.outdoor_taps import OUTDOOR_KINDS
from supplycalc.findings.rule import (
    PRESSURE_SLACK,
    YOUR_FILE,
    Remark,
    Values,
    limit_by_book,
    published,
    rule,
)
from supplycalc.findings.words import listed, size_of
from supplycalc.hydraulics.devices import device_loss, held_pressure
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import Loss
from supplycalc.sizing.choices import in_shop, valve_limit
from supplycalc.sizing.design import CREST, Design, DeviceResult, Level, OutletResult
from supplycalc.sizing.minimums import largest_permitted
from supplycalc.sizing.pressure_range import BEFORE_TANK, crests
from supplycalc.sizing.source_changes import USUAL_SETTINGS, valve_place
from supplycalc.tables import Citation, code_limit
from supplycalc.units.quantities import Pressure

NEXT_TO_NOTHING = 500.0
"""[Pa] A margin on either side of 0 below this shows as 0 kPa or 0.1 psi at most."""


@rule("pressure-short", "fail")
def pressure_short(design: Design) -> Iterator[Remark]:
    """Residual pressure under what the fixture needs, one finding for each fixture."""
    for outlet in _worst_sides(design):
        if outlet.margin >= -PRESSURE_SLACK:
            continue
        message = "gets {0} while the design flow runs and needs {1}: short by {2}"
        if outlet.used_up_in is not None:
            message = (
                f"at the design flow the pressure is used up in {outlet.used_up_in}, before the "
                "water gets there; it needs {1}"
            )
        remedy, remedy_values = _where_it_goes(design, outlet)
        yield Remark(
            where=outlet.name,
            message=message,
            values=(
                (outlet.residual, "pressure"),
                (outlet.required, "pressure"),
                (-outlet.margin, "pressure"),
            ),
            remedy=remedy,
            remedy_values=remedy_values,
            source=_required_source(design, outlet),
        )


@rule(CREST, "fail")
def crest(design: Design) -> Iterator[Remark]:
    """A height on the way that the pressure does not lift water over, at rest or at the peak."""
    for top in crests(design):
        if top.below_at_rest > PRESSURE_SLACK:
            yield Remark(
                where=top.name,
                message="stands {0} below the air's pressure while the pump rests: the line draws "
                "in air and dirt there"
                if top.index == BEFORE_TANK
                else "water does not get over it even with nothing running: {0} more are needed "
                "just to reach it",
                values=((top.below_at_rest, "pressure"),),
                remedy="raise the pressure at the source by more than {0}, or lead the line round "
                "the height",
                remedy_values=((max(top.below_at_rest, top.below_flowing), "pressure"),),
            )
        else:
            from supplycalc.sizing.crest_changes import full_up_to

            full = full_up_to(design, top)
            upto = "" if full is None else "; up to {1} at once it stays full"
            yield Remark(
                where=top.name,
                message="while the design flow runs the pressure is used up before it, {0} too "
                f"soon: the line draws in air and dirt, and the flow breaks off{upto}",
                values=((top.below_flowing, "pressure"), (full or 0.0, "flow")),
                remedy="lay larger pipe before it, raise the pressure at the source by more than "
                "{0}, or lead the line round the height",
                remedy_values=((top.below_flowing, "pressure"),),
            )


@rule("pressure-thin", "note")
def pressure_thin(design: Design) -> Iterator[Remark]:
    """Enough pressure, but hardly more: all such fixtures in one finding."""
    limit = code_limit("thin-margin")
    thin = [
        outlet
        for outlet in _worst_sides(design)
        if -PRESSURE_SLACK <= outlet.margin < limit.value - PRESSURE_SLACK
    ]
    if not thin:
        return
    least, most = (max(outlet.margin, 0.0) for outlet in (thin[0], thin[-1]))
    spare = "only {1} to spare" if len(thin) == 1 else "only {1} to {2} to spare"
    yield Remark(
        where=listed(outlet.name for outlet in thin),
        message=f"{spare}; less than {{0}} is thin",
        values=((limit.value, "pressure"), (least, "pressure"), (most, "pressure")),
        remedy="measure pressure and flow at the source before you build on it"
        + _not_tried(design),
        source=published(limit.citation),
    )


def _not_tried(design: Design) -> str:
    """Runs to the worst fixture in the largest size that the file or common practice permits."""
    held: dict[str, list[str]] = {}
    for result in design.runs:
        run, sizes = result.run, result.tube.sizes
        if run.size or run.existing or run.fixture or run.name not in design.worst.path:
            continue
        names = [size.nominal for size in sizes]
        named = run.sizes or [name for name in names if in_shop(name, names, design.house)]
        largest = None if run.sizes else largest_permitted(design.tree, result.index)
        if named and largest is None:
            largest = names.index(max(named, key=names.index))
        chosen = sizes.index(result.size)
        if (
            largest is not None
            and chosen >= largest
            and any(it.common for it in sizes[chosen + 1 :])
        ):
            held.setdefault(size_of(result), []).append(run.name)
    told = [f"than {size} in {listed(names)}" for size, names in held.items()]
    return f"; larger {listed(told)} is tried only where `sizes` says so" if told else ""


@rule("reserve-not-kept", "warn")
def reserve_not_kept(design: Design) -> Iterator[Remark]:
    """The file asks for a reserve that no choice of sizes keeps."""
    reserve = design.house.limits.reserve
    if reserve is None:
        return
    if 0.0 <= design.worst.margin < reserve - PRESSURE_SLACK:
        yield Remark(
            where=design.worst.name,
            message="{0} to spare; you ask for {1}, which no choice of sizes keeps",
            values=((design.worst.margin, "pressure"), (reserve, "pressure")),
            remedy="allow larger sizes, raise the source's pressure, or do with less",
            source=YOUR_FILE,
        )


@rule("static-over-limit", "fail")
def static_over_limit(design: Design) -> Iterator[Remark]:
    """Too much pressure at a fixture with nothing running, and the valve setting that cures it."""
    code = highest_at_rest(design.house)
    own = design.house.limits.max_static
    limit = code.value if own is None else own
    outlets = sorted(design.outlets, key=lambda outlet: (-outlet.static_pressure, outlet.name))
    inside = [outlet for outlet in outlets if outlet.fixture.kind not in OUTDOOR_KINDS]
    outside = [outlet for outlet in outlets if outlet.fixture.kind in OUTDOOR_KINDS]
    if over := _over(inside, limit):
        source = code.citation if own is None else YOUR_FILE
        remedy, values = _valve_advice(design, over[0], limit)
        yield _static(over, limit, "fail", remedy, values, source)
    elif over := _over(inside, code.value):
        remedy, values = _valve_advice(design, over[0], code.value)
        yield _static(over, code.value, "warn", remedy, values, code.citation)
    elif over := _over(outside, limit):
        remedy = (
            "have line and tap rated for it; codes except lines to outdoor taps from this limit"
        )
        source = limit_by_book(design, "outdoor-exception").citation
        yield _static(over, limit, "note", remedy, (), source)


def _over(outlets: list[OutletResult], limit: float) -> list[OutletResult]:
    return [outlet for outlet in outlets if outlet.static_pressure > limit + PRESSURE_SLACK]


def _static(
    over: list[OutletResult],
    limit: float,
    level: Level,
    remedy: str,
    remedy_values: Values,
    source: Citation,
) -> Remark:
    highest = over[0]
    message = "with nothing running {0} stands there; the limit is {1}"
    others = len({outlet.fixture.name for outlet in over}) - 1
    if others:
        message += f" ({others} more {'fixture is' if others == 1 else 'fixtures are'} over it)"
    return Remark(
        level=level,
        where=highest.name,
        message=message,
        values=((highest.static_pressure, "pressure"), (limit, "pressure")),
        remedy=remedy,
        remedy_values=remedy_values,
        source=source,
    )


def _valve_advice(design: Design, highest: OutletResult, limit: float) -> tuple[str, Values]:
    """A usual setting under which the limit is kept, and what it leaves at the worst outlet."""
    excess = highest.static_pressure - limit
    above = set(design.tree.feeding(highest.index))
    valves = [
        result for result in design.devices if result.index in above and result.device.setting
    ]
    if valves:
        valve = valves[-1]
        now = valve.device.setting or 0.0
        behind = design.tree.at_or_below(valve.index)
        worst = next(outlet for outlet in design.outlets if outlet.index in behind)

        def left_at(setting: float) -> float:
            return worst.margin - _lost_at_set_valve(design, valve, now - setting)

        setting = _usual_setting(design, now - excess, left_at)
        text = f"set {valve.device.name} to {{0}}"
    else:
        worst = design.worst

        place, height, where = valve_place(design)
        link = design.result_at.get(place)
        below = specific_weight(design.house.water.cold) * (design.tree.elevation[place] - height)
        at_rest = design.source.static_pressure if link is None else link.static_end_pressure
        at_rest += below
        before = design.source.design_pressure if link is None else link.end_pressure
        flow = design.demand.design_flow[place]

        def left_at(setting: float) -> float:
            return worst.margin - _lost_at_new_valve(design, before + below, flow, setting)

        setting = _usual_setting(design, at_rest - excess, left_at)
        text = (
            f"fit a pressure-reducing valve {where}, with a strainer before it and room for heated "
            "water to expand behind it, set to {0}"
        )
    left = left_at(setting)
    if setting <= 0.0:
        return "split the supply into pressure zones, each behind its own reducing valve", ()
    text += f"; that leaves {_enough(left, 1)} at {worst.name} with these sizes"
    values: Values = ((setting, "setting"), (abs(left), "pressure"))
    if not valves and design.house.source.kind == "well":
        less = design.worst.margin - excess
        if less < 0.0:
            return text, values
        text += f"; or set the pressure switch {{2}} lower, which leaves {_enough(less, 3)}"
        values += ((excess, "pressure"), (abs(less), "pressure"))
    return text, values


def _usual_setting(design: Design, most: Pressure, left_at: Callable[[float], float]) -> float:
    """The lowest usual setting that leaves the reserve at the worst outlet [Pa].

    Args:
        left_at: what a setting leaves to spare at the worst outlet [Pa].

    Returns:
        Where none leaves the reserve, the highest usual one; where all are too high, the most.
    """
    usual = [
        setting
        for setting in USUAL_SETTINGS[design.house.project.units]
        if setting <= most + PRESSURE_SLACK
    ]
    reserve = code_limit("thin-margin").value
    enough = [setting for setting in usual if left_at(setting) >= reserve]
    return next(iter([*enough, *reversed(usual)]), most)


def _enough(margin: float, mark: int) -> str:
    """What is left, in words around the value's mark; next to nothing is told as nothing."""
    if abs(margin) < NEXT_TO_NOTHING:
        return "nothing to spare"
    return f"{{{mark}}} {'to spare' if margin >= 0.0 else 'too little'}"


def _lost_at_set_valve(design: Design, valve: DeviceResult, excess: float) -> float:
    """How far pressure behind a valve falls at the design flow when its setting is lowered [Pa]."""
    catalogue = design.tree.catalogue
    lowered = valve_limit(valve.device, catalogue, valve.design_flow) - excess
    return max(valve.end_pressure - lowered, 0.0)


def _lost_at_new_valve(design: Design, before: float, flow: float, setting: float) -> float:
    """How much pressure a new valve of the usual kind takes from what stands before it [Pa]."""
    kind = next(kind for kind in design.tree.catalogue.devices.values() if kind.reduces)
    wide_open = device_loss(kind.loss or Loss(), flow)
    held = held_pressure(setting, kind.falloff or 0.0, kind.falloff_flow or 1.0, flow)
    return before - min(before - wide_open, held)


def _worst_sides(design: Design) -> list[OutletResult]:
    """For each fixture the side with less margin, worst first."""
    seen: dict[str, OutletResult] = {}
    for outlet in design.outlets:
        seen.setdefault(outlet.fixture.name, outlet)
    return list(seen.values())


def _where_it_goes(design: Design, outlet: OutletResult) -> tuple[str, Values]:
    """Which part of the path takes most, so that a cure starts there."""
    path = set(outlet.path)
    losses = [(result.loss, result.run.name) for result in design.runs if result.run.name in path]
    losses += [
        (result.loss, result.device.name)
        for result in design.devices
        if result.device.name in path and result.device.setting is None
    ]
    largest, name = max(losses, default=(0.0, ""))
    rise = -outlet.static_change
    if rise > largest and rise > 0.0:
        return (
            "the rise to it takes {0}, more than any pipe or device on its path: only more "
            "pressure makes up for that",
            ((rise, "pressure"),),
        )
    if largest <= 0.0:
        return "", ()
    return f"start with {name}, which takes {{0}}, the most on its path", ((largest, "pressure"),)


def _required_source(design: Design, outlet: OutletResult) -> Citation:
    if outlet.fixture.pressure is not None:
        return YOUR_FILE
    return design.tree.kind_of(outlet.fixture).citation
