"""Parts that belong to the house as a whole: safety at heaters and taps, tank and well, bends."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.findings.outdoor_taps import OUTDOOR_KINDS, ZONE
from supplycalc.findings.rule import by_american_code
from supplycalc.model import Device, House, Manifold, Run
from supplycalc.network import well_side
from supplycalc.questions.parts.connections import MARKS, Need, joint_words, thread_of
from supplycalc.questions.parts.pipe_lots import runs_already
from supplycalc.questions.parts.supports import held_need, hidden
from supplycalc.questions.surge.study import arrestors_to_fit
from supplycalc.sizing.design import Design
from supplycalc.supply.several_wells import is_shared, lines_apart
from supplycalc.supply.well_line import trench_runs
from supplycalc.tables import load_table, to_si

GUARDS = ("backflow-preventer", "double-check")
"""Devices behind which irrigation takes no guard of its own."""
WELL, BOOSTER = "well", "booster"
"""The groups of everything at the well and its tank, and at a pump that draws from an open tank."""


def safety_needs(design: Design) -> Iterator[Need]:
    """What the findings and a heater's own valve ask for, beside the pipe.

    Source: the findings' own; the relief valve's pipe by common practice.
    """
    codes = {finding.code for finding in design.findings}
    american = by_american_code(design)
    if "hose-connection" in codes:
        for fixture in design.house.fixtures:
            if fixture.kind != "hose-bibb":
                continue
            if american:
                yield Need(kind="vacuum-breaker", place=fixture.name, size="3/4")
            else:
                note = "type HD: with aerator and check valve"
                yield Need(kind="hose-tap", place=fixture.name, size="1/2", note=note)
    if "water-hammer" in codes:
        for valve, letter in arrestors_to_fit(design):
            yield Need(kind="water-hammer-arrestor", place=valve.name, note=f"size {letter}")
    for outlet in design.outlets if american and "irrigation-backflow" in codes else ():
        guards = (design.tree.links[i] for i in design.tree.feeding(outlet.index))
        guarded = any(isinstance(link, Device) and link.kind in GUARDS for link in guards)
        if outlet.fixture.kind == ZONE and not guarded:
            yield Need(kind="pressure-vacuum-breaker", place=outlet.fixture.name)
    for result in design.devices:
        name = result.device.name
        if design.tree.does(result.device, "heats-flow") and american:
            note = "two with drains, and a relief valve"
            yield Need(kind="service-valves", place=name, size="3/4", note=note)
        if not design.tree.does(result.device, "stores"):
            continue
        if american:
            note = "down to a place in sight; metal or CPVC"
            yield Need(kind="relief-discharge-pipe", place=name, size="3/4", note=note)
        else:
            note = "safety valve, check and stop at the cold inlet"
            yield Need(kind="safety-group", place=name, note=note)
        if "thermal-expansion" in codes:
            yield Need(kind="expansion-tank", place=name, note="sized for the heater")


def well_needs(design: Design) -> Iterator[Need]:
    """Fittings at the pressure tank and on the way from the water to it, where the file has these.

    Source: common practice, no source.
    """
    before, source = well_side(design.house), design.house.source
    held = source.pump is not None and source.pump.kind == "constant-pressure"
    tank = source.tank if source.kind == "well" and not runs_already(source) else None
    if tank is not None and tank.kind == "pressure":
        sensor = "pressure-sensor" if held else "pressure-switch"
        of_line = () if source.open_water else before.before_tank
        named = {link.kind for link in of_line if isinstance(link, Device)}
        for kind in ("tank-tee", "relief-valve", "pressure-gauge", sensor, "drain-valve"):
            if kind in named:
                continue
            need = _at_well(kind, _source_thread(design) if kind == "tank-tee" else "", tank.name)
            yield replace(need, group=BOOSTER) if source.open_water else need
    for far in design.house.far_tanks:
        link = design.tree.index[far.at or ""]
        run = design.run_at.get(link) or design.run_at.get(design.tree.feeding_run[link])
        size = "" if run is None else thread_of(run.tube, run.size)
        yield Need(kind="tank-tee", size=size, place=far.name, note="or a tee for the tank")
        yield Need(kind="ball-valve", size=size, place=far.name, note="to shut the tank off")
        yield Need(kind="pressure-gauge", place=far.name)
        yield Need(kind="drain-valve", place=far.name)
    if before.source.kind != "well":
        return
    for line in lines_apart(before):
        if not runs_already((before if is_shared(line) else line).source):
            yield from _of_line(line)


def _of_line(line: House) -> Iterator[Need]:
    """The same of the line of one well, or of what several share, seen as far as it goes."""
    for i, link in enumerate(line.before_tank):
        if isinstance(link, Device):
            yield _at_well(link.kind, "", link.name)
        elif not link.existing and link.size is not None:
            hangs = i == 0 and not is_shared(line)
            if hangs:
                yield from _in_the_well(line, link)
            yield from _on_the_way(line, link, hangs=hangs)


def _in_the_well(house: House, first: Run) -> Iterator[Need]:
    """What the first pipe from the water hangs on and ends in."""
    tank, thread = house.source.tank, _thread(house, first)
    if house.suction:
        yield _at_well("foot-valve", thread, first.name)
    at_well = tank is not None and tank.at_well is True
    if house.suction or (at_well and not trench_runs(house)):
        yield _at_well("well-seal", thread, "well")
    elif not any(
        isinstance(link, Device) and link.kind == "pitless-adapter" for link in house.before_tank
    ):
        yield _at_well("pitless-adapter", thread, "well")
    if not (house.suction or house.catalogue.tubes[first.material].metal):
        yield _at_well("torque-arrestor", "", first.name)


def _on_the_way(house: House, run: Run, *, hangs: bool) -> Iterator[Need]:
    """Adapters at the ends of a pipe before the tank, its check valves and its other fittings.

    Pipe that hangs in the well is clamped on inserts, whatever the joints of its tube are.
    """
    joining = run.joining if hangs else joint_words(run.material, run.joining)
    thread, listed = _thread(house, run), dict(run.fittings or ())
    nominal = run.size or ""
    # of a jet pump's the lowest is the foot valve; that of a hanging pump stands on the pump
    foot = bool(hangs and house.suction)
    foot_listed = listed.pop("foot-valve", 0) if foot else 0
    valves = max(listed.pop("check-valve", 0) - (foot and not foot_listed), 0)
    on_pump = hangs and not house.suction and valves > 0
    if valves:
        yield _at_well("check-valve", thread, run.name, count=valves)
    if on_pump:
        yield _at_well("nipple", thread, run.name)
    if joining != "threaded":
        tube = house.catalogue.tubes[run.material]
        mark = MARKS["male", tube.metric].format(thread)
        yield Need(
            kind="adapter",
            size=f"{nominal} x {mark}",
            joining=joining,
            place=run.name,
            count=2 + 2 * (valves - on_pump),
            ends=(nominal,),
            group=WELL,
        )
    for kind, count in listed.items():
        if count and kind not in ("bend", "adapter", "reducer", "tee-run", "tee-branch"):
            ends = (nominal,) * 2
            yield Need(
                kind=kind, size=nominal, joining=joining, place=run.name, count=count, ends=ends,
                group=WELL,
            )  # fmt: skip


def _at_well(kind: str, size: str, place: str, *, count: int = 1) -> Need:
    return Need(kind=kind, size=size, place=place, count=count, group=WELL)


def _thread(house: House, run: Run) -> str:
    tube = house.catalogue.tubes[run.material]
    return thread_of(tube, tube.size(run.size or ""))


def _source_thread(design: Design) -> str:
    first = next((design.run_at[i] for i in design.tree.children[0] if i in design.run_at), None)
    return "" if first is None else thread_of(first.tube, first.size)


def bend_supports(design: Design) -> Iterator[Need]:
    """Supports of the bends from a manifold's port and into a stub-out, where no elbow turns there.

    Source: parts.toml (common practice, no source).
    """
    rule = load_table("parts")["bend-support"]
    largest = to_si(rule["largest"], rule["unit"])
    for run in design.runs:
        if run.run.existing or hidden(run) or run.material not in rule["tubes"]:
            continue
        if run.size.outside_diameter > largest + 1e-6:
            continue
        from_port = isinstance(design.tree.links[design.tree.parent[run.index]], Manifold)
        turns = dict(run.run.fittings or ()).get("elbow-90", 0)
        count = from_port + (run.run.fixture is not None) - turns
        if count > 0:
            yield held_need("bend-support", run, count)


def nail_plates(design: Design) -> Iterator[Need]:
    """A plate where each fixture's tube comes through the wall's plate, in houses of inch tube.

    Source: common practice, no source.
    """
    if not by_american_code(design):
        return
    for run in design.runs:
        if run.run.fixture is None or design.tree.fixtures[run.run.fixture].kind in OUTDOOR_KINDS:
            continue
        if not (run.run.existing or hidden(run) or run.tube.metal or run.tube.metric):
            yield Need(kind="nail-plate", place=run.name, group="supports")
