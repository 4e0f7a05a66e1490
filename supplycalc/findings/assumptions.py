"""What a design had to assume because the file leaves it out, and how much each one weighs."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.catalogue import BATHING
from supplycalc.demand import by_the_american_codes, method_record
from supplycalc.demand.loads import GroupUse
from supplycalc.findings.well import is_long_line
from supplycalc.findings.words import listed
from supplycalc.hydraulics.fittings import (
    default_allowance,
    manifold_port_citation,
    manifold_port_k,
)
from supplycalc.hydraulics.water import specific_weight
from supplycalc.model import House, Manifold, Run, WaterSource
from supplycalc.network import Tree
from supplycalc.sizing.choices import device_port, port_loss, valve_limit
from supplycalc.sizing.design import Assumption, Design, DeviceResult
from supplycalc.sizing.pressure_range import lowest_heights, pipe_pressures, taken_lower
from supplycalc.supply.limits import one_point_ratios
from supplycalc.supply.pump import one_point
from supplycalc.supply.several_wells import named_wells
from supplycalc.supply.well_line import tank_place_known, trench_runs
from supplycalc.tables import Citation

SAME_PLACE = 1.0
"""[m] A gauge is not meant to stand at the wellhead where their heights differ by more."""
DEEP_DIP = 20.0
"""[m] A line in the ground hardly dips more than this between its ends."""
SHORT_LINE = 10.0
"""[m] A line from a wellhead to a house is longer than this or buried."""
MAIN_SAG = Citation(key="nfpa_291", text="NFPA 291", check="memory")
"""Why the exponent 1.852: fire flow tests are carried over so (from memory)."""


def assumptions(design: Design) -> tuple[Assumption, ...]:
    """What was assumed, with its weight on the worst fixture where that is plain arithmetic."""
    return (
        *assumed_in(design.tree),
        *_groups(design),
        *_fittings(design),
        *_devices(design),
        *_one_point(design),
        *_ports(design),
        *_dips(design),
        *_line_without_pump(design),
    )


def assumed_in(tree: Tree) -> tuple[Assumption, ...]:
    """List what a file leaves out that can be told before anything is sized.

    Returns:
        The assumptions, those of reading first.
    """
    return (
        *(Assumption(text=text) for text in tree.house.assumptions),
        *_water(tree),
        *_valves(tree),
        *_heights(tree),
        *_source(tree.house),
        *_tank_place(tree),
        *_far_tanks(tree),
        *_line_from_well(tree),
        *_roughness(tree),
    )


def _water(tree: Tree) -> Iterator[Assumption]:
    water = tree.house.water
    if "cold" not in water.given:
        yield Assumption(text="cold water at {0}", values=((water.cold, "temperature"),))
    if "hot" not in water.given and "hot" in tree.side:
        yield Assumption(text="hot water at {0}", values=((water.hot, "temperature"),))


def _valves(tree: Tree) -> Iterator[Assumption]:
    """The mixing valves that the file does not name, where people bathe."""
    by_valve: dict[str, list[str]] = {}
    for fixture in tree.house.fixtures:
        bathes = fixture.kind in BATHING and fixture.hot is not None
        if bathes and fixture.valve is None:
            by_valve.setdefault(tree.kind_of(fixture).valves[0], []).append(fixture.name)
    for valve, names in by_valve.items():
        yield Assumption(
            text=f"a {valve} valve at {listed(names)}, as the file names none: it decides what "
            "pressure is asked for there"
        )


def _roughness(tree: Tree) -> Iterator[Assumption]:
    """A roughness that the friction formula in force has no place for."""
    if tree.house.project.friction != "hazen-williams":
        return
    rough = [run.name for _, run in tree.runs() if run.roughness is not None]
    if rough:
        yield Assumption(
            text=f"the roughness of {', '.join(rough)} is left aside: Hazen-Williams knows only C, "
            "and new tube's C is taken"
        )


def _groups(design: Design) -> Iterator[Assumption]:
    """Group values of the demand method's table that were used, by run."""
    for use in design.demand.groups_used:
        times = f"{use.count} x " if use.count > 1 else ""
        part = "" if use.complete else ", as a cap for a part of that group"
        yield Assumption(
            text=f"demand: {_fixtures_of(use)} count as {times}{use.title} ({use.value:.4g}){part}",
            source=method_record(design.demand.method).source,
        )


def _fixtures_of(use: GroupUse) -> str:
    if use.room is not None:
        return f"the fixtures of the room {use.room!r}"
    return f"the fixtures that {use.run} feeds are one kind of room and"


def _fittings(design: Design) -> Iterator[Assumption]:
    own = design.house.defaults.fitting_allowance
    if own is not None:
        return
    share, source = default_allowance()
    path = set(design.worst.path)
    counted, weight = 0, 0.0
    for result in design.every_run:
        if result.run.fittings is None and result.run.fitting_allowance is None:
            counted += 1
            if result.run.name in path:
                weight += result.friction_loss * share
    if counted:
        runs, their = f"the {counted} runs that list", "their"
        if counted == 1:
            runs, their = "the run that lists", "its"
        yield Assumption(
            text=f"fittings of {runs} none: {share:.0%} added to {their} length; "
            "to the worst fixture this costs {0}",
            values=((weight, "pressure"),),
            source=source,
            weight=weight,
        )


def _sags(source: WaterSource) -> bool:
    """Whether the main's pressure is corrected for flow: both pressures and the flow are known."""
    static, residual = source.static, source.residual
    known = static is not None and residual is not None and source.residual_flow is not None
    return source.kind == "main" and known and (static or 0.0) > (residual or 0.0)


def _devices(design: Design) -> Iterator[Assumption]:
    path = set(design.worst.path)
    own = {device.name for device in design.house.catalogue.own_devices}
    for result in design.devices:
        kind = design.tree.catalogue.devices[result.device.kind]
        if result.assumed and kind.loss is not None and kind.name not in own:
            on_path = result.device.name in path
            if result.device.setting is not None:
                yield from _valve(design, result, on_path)
                continue
            yield Assumption(
                text=f"{result.device.name}: the usual loss of its kind ({kind.title}), here {{0}} "
                "at {1}; its data sheet decides"
                + ("" if on_path else " (not on the way to the worst fixture)"),
                values=((result.loss, "pressure"), (result.design_flow, "flow")),
                source=kind.citation,
                weight=result.loss if on_path else 0.0,
            )


def _one_point(design: Design) -> Iterator[Assumption]:
    """Beds and cartridges known at one flow and used below it, where the square tells too little.

    A bed loses in proportion to the flow at a house's velocities, its valve and ports with the
    square; how much of each, the catalogue's usual loss of the kind says.
    """
    path = set(design.worst.path)
    for result in design.devices:
        device, usual = result.device, design.tree.catalogue.devices[result.device.kind].loss
        own = device.loss
        if own is None or usual is None or usual.linear <= 0.0:
            continue
        part = result.design_flow / own.reference_flow
        if own.curve or own.constant or own.linear or not own.quadratic or not 0.0 < part < 1.0:
            continue
        share = usual.linear / (usual.linear + usual.quadratic)
        square = own.quadratic * part * part
        mixed = own.quadratic * (share * part + (1.0 - share) * part * part)
        on_path = device.name in path
        yield Assumption(
            text=f"{device.name}: {{0}} at {{1}} is all the file knows of it; at {{2}} the square "
            "of the flow makes {3} of it, but a bed or cartridge loses partly in proportion "
            f"({share:.0%} is usual), which makes {{4}}; give its curve"
            + ("" if on_path else " (not on the way to the worst fixture)"),
            values=(
                (own.quadratic, "pressure"),
                (own.reference_flow, "flow"),
                (result.design_flow, "flow"),
                (square, "pressure"),
                (mixed, "pressure"),
            ),
            source=design.tree.catalogue.devices[device.kind].citation,
            weight=mixed - square if on_path else 0.0,
        )


def _ports(design: Design) -> Iterator[Assumption]:
    """What hangs right on a manifold, without the pipe that would tell the port."""
    tree, path = design.tree, set(design.worst.path)
    for result in design.devices:
        size = device_port(tree, result.index, result.design_flow)
        if size is None:
            continue
        lost = port_loss(tree, result.index, result.design_flow)
        on_path = result.device.name in path
        yield Assumption(
            text=f"{result.device.name} hangs right on a port of {result.device.start}: the port "
            f"is taken as {size.nominal} and {manifold_port_k():g} of its velocity heads, {{0}} at "
            "{1}; write a run where there is pipe between"
            + ("" if on_path else " (not on the way to the worst fixture)"),
            values=((lost, "pressure"), (result.design_flow, "flow")),
            source=manifold_port_citation(),
            weight=lost if on_path else 0.0,
        )
    for i, link in enumerate(tree.links):
        above = tree.links[tree.parent[i]]
        if isinstance(link, Manifold) and isinstance(above, Manifold):
            yield Assumption(
                text=f"{link.name} is taken as the longer body of {above.name}, with nothing lost "
                "between; write a run where it is fed from a port"
            )


def _valve(design: Design, result: DeviceResult, on_path: bool) -> Iterator[Assumption]:
    """A reducing valve without a data sheet: what it is taken to hold while water runs."""
    device, kind = result.device, design.tree.catalogue.devices[result.device.kind]
    outlet = result.end_pressure
    holds = valve_limit(device, design.tree.catalogue, result.design_flow)
    limits = outlet >= holds - 1.0
    if limits and device.falloff is not None:
        return  # its own sheet decides
    text = f"{device.name}: the usual figures of its kind ({kind.title}): "
    if limits:
        text += "at {1} it lets {0} through, {2} less than its setting"
    else:
        text += "at {1} it stands wide open, as less than its setting of {2} arrives, and loses {0}"
    weight = (device.setting or 0.0) - holds if limits else result.loss
    yield Assumption(
        text=f"{text}; its data sheet decides"
        + ("" if on_path else " (not on the way to the worst fixture)"),
        values=(
            (outlet if limits else result.loss, "pressure"),
            (result.design_flow, "flow"),
            (weight if limits else device.setting or 0.0, "pressure"),
        ),
        source=kind.citation,
        weight=weight if on_path else 0.0,
    )


def _heights(tree: Tree) -> Iterator[Assumption]:
    for name in tree.assumed_elevations:
        yield Assumption(text=f"{name} stands at the height of the datum")
    lowest, guessed = lowest_heights(tree), taken_lower(tree)
    unknown = [
        i
        for i in range(1, len(tree))
        if not tree.known_elevation[i] and tree.elevation[i] + guessed[i] - lowest[i] > SAME_PLACE
    ]
    if unknown:
        names = listed(tree.points[i] for i in unknown)
        one = len({tree.points[i] for i in unknown}) == 1
        feeds = "it feeds" if one else "they feed"
        yield Assumption(
            text=f"{names} {'stands' if one else 'stand'} at {{0}}, no higher than the point "
            f"before and what {feeds}, of which some lies at {{1}}: the file gives "
            f"{'its' if one else 'their'} height as no [[point]]; pipe is judged at the lower one",
            values=(
                (max(tree.elevation[i] for i in unknown), "elevation"),
                (min(lowest[i] for i in unknown), "elevation"),
            ),
        )


def _one_known_point(house: House) -> tuple[tuple[float, str], ...] | None:
    """Flow and pressure of a bucket test, or flow and head of a sheet's one point.

    What stands before the tank may have no sizes yet: the head of a bucket test is not known then.
    """
    pump = house.source.pump
    if pump is None or len(pump.curve) > 1:
        return None
    if not pump.curve and pump.measured_flow is not None and pump.measured_pressure is not None:
        return (pump.measured_flow, "flow"), (pump.measured_pressure, "pressure")
    point = one_point(house)
    return None if point is None else ((point.flow, "flow"), (point.head, "head"))


def _source(house: House) -> Iterator[Assumption]:
    source = house.source
    if source.kind == "main" and source.static is None:
        yield Assumption(
            text="the main's highest pressure is not given; its residual is taken for it"
        )
    if _sags(source):
        yield Assumption(
            text="the main falls from its {2} at rest, through the {1} read at {0}, with the "
            "flow to the power 1.852",
            values=(
                (source.residual_flow or 0.0, "flow"),
                (source.residual or 0.0, "pressure"),
                (source.static or 0.0, "pressure"),
            ),
            source=MAIN_SAG if by_the_american_codes(house) else None,
        )
    if source.kind == "main" and source.residual is not None and source.residual_flow is None:
        yield Assumption(
            text="the main keeps its residual pressure at this design's flow: "
            "the flow at which it was read is not given"
        )
    if source.kind == "main" and source.residual is None and source.static is not None:
        yield Assumption(
            text="the main keeps its pressure at rest, {0}, at this design's flow: no residual is "
            "given, and every main falls when water flows",
            values=((source.static, "pressure"),),
        )
    if source.kind == "main" and source.static is None and source.residual_flow is not None:
        yield Assumption(
            text="the main keeps its residual pressure at more than {0} too: its static pressure, "
            "which would tell how it falls, is not given",
            values=((source.residual_flow, "flow"),),
        )
    for name, alone in named_wells(house) if source.kind == "well" else ():
        known = _one_known_point(alone)
        if known is None:
            continue
        of = f" of {name}" if name else ""
        yield Assumption(
            text=f"the pump's curve{of} is guessed from its one known point, {{0}} at {{1}}: a "
            f"parabola whose head without flow is {one_point_ratios()[1]:.2f} times that head, or "
            "what cut-out needs if that is more; nothing is concluded from that guess alone",
            values=known,
        )
    for name, alone in named_wells(house):
        pump, well = alone.source.pump, alone.source.well
        the_well = name or "the well"
        if pump is None or not pump.curve or well is None:
            continue
        if well.static_level is None:
            yield Assumption(
                text=f"{the_well}'s water stands at the wellhead (no static level given)"
            )
        if well.specific_capacity is None and not source.open_water:
            yield Assumption(text=f"{the_well}'s level does not fall while pumping")
    if house.joined_wells:
        switch = "pressure" if house.further_wells else "float"
        yield Assumption(
            text=f"one {switch} switch starts and stops the pumps of all wells together"
        )


def _tank_place(tree: Tree) -> Iterator[Assumption]:
    """Where the pressure tank stands; a long line that this decides has a finding of its own."""
    source = tree.house.source
    held = source.pump is not None and source.pump.kind == "constant-pressure"
    if source.kind != "well" or held or tank_place_known(tree.house):
        return
    if not any(tree.parent[i] == 0 and is_long_line(run) for i, run in tree.runs()):
        yield Assumption(
            text="the pressure tank stands where the runs start (the file does not say where: "
            "at in [[tank]], or at_well), so that every run carries what the house draws, not only "
            "what the pump gives"
        )


def _far_tanks(tree: Tree) -> Iterator[Assumption]:
    """What is not asked of a tank that is far from the switch."""
    if not tree.house.far_tanks:
        return
    from supplycalc.supply.far_tank import far_tanks_of

    for far in far_tanks_of(tree):
        text = (
            "pressures and sizes, the pump's run times and starts are told without what "
            f"{far.tank.name} gives and takes for a while: 'supplycalc flow' tells how long it "
            "helps, 'supplycalc day' how often the pump then starts"
        )
        if far.tank.precharge is None:
            text += "; its air charge {0}, as its height asks"
        yield Assumption(
            text=text, values=() if far.tank.precharge is not None else ((far.charge, "setting"),)
        )


def _line_without_pump(design: Design) -> Iterator[Assumption]:
    """Sizes before the tank that no pump decided."""
    line = next(
        (
            line
            for line in design.lines
            if not line.by_pump and any(run.run.size is None for run in line.runs)
        ),
        None,
    )
    if line is None:
        return
    yield Assumption(
        text="the runs before the tank carry {0}, what the house draws at its peak, and are sized "
        "by velocity alone, as no pump is told that gives it: a long line may need more, and the "
        "pump must lift its friction too",
        values=((line.flow, "flow"),),
    )


def _dips(design: Design) -> Iterator[Assumption]:
    """Long buried pipe that a dip between its ends could bring over its rating."""
    weight = specific_weight(design.house.water.cold)
    for pipe in pipe_pressures(design):
        run = pipe.run
        if pipe.rating is None or not is_long_line(run):
            continue
        left = (pipe.rating - pipe.at_lowest_height) / weight
        if 0.0 < left < DEEP_DIP:
            yield Assumption(
                text=f"{run.name} lies nowhere more than {{0}} below its lower end: deeper down "
                f"{pipe.tube.name} would be over its rating of {{1}}",
                values=((left, "length"), (pipe.rating, "pressure")),
            )


def _line_from_well(tree: Tree) -> Iterator[Assumption]:
    """The line between well and house, where heights or lengths hint that the file forgot it."""
    source = tree.house.source
    well, tank = source.well, source.tank
    if source.kind != "well" or well is None or source.open_water:
        return
    head = source.elevation if well.elevation is None else well.elevation
    apart, side = abs(source.elevation - head), "above" if source.elevation > head else "below"
    if tank is None or not tank.at_well:
        if apart > SAME_PLACE and not trench_runs(tree.house) and source.pump is not None:
            yield Assumption(
                text="no pipe between wellhead and tank, though the tank's gauge stands {0} "
                f"{side} the wellhead: give it as a run from the wellhead to the tank; or, where "
                "the tank stands at the wellhead, write at_well = true and the line to the house "
                "as a run behind it",
                values=((apart, "length"),),
            )
        return
    if apart > SAME_PLACE:
        yield Assumption(
            text="the tank is said to stand at the wellhead (at_well), but its gauge stands {0} "
            f"{side} it (elevation in [source] and in [source.well])",
            values=((apart, "length"),),
        )
    trunk = _trunk(tree)
    length = sum(run.length for run in trunk)
    if length <= SHORT_LINE and not any(run.buried for run in trunk):
        yield Assumption(
            text="the tank stands at the wellhead (at_well), and the runs from it come to {0} "
            "before they part: the whole line from the well to the house must be among them",
            values=((length, "length"),),
        )


def _trunk(tree: Tree) -> list[Run]:
    """The runs through which everything flows, from the source on."""
    trunk: list[Run] = []
    link = 0
    while True:
        if len(tree.children[link]) != 1:
            return trunk
        [link] = tree.children[link]
        below = tree.links[link]
        if isinstance(below, Run):
            trunk.append(below)
