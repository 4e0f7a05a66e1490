"""Mistakes that concern several keys of a file at once."""

from __future__ import annotations

from supplycalc.catalogue import Catalogue
from supplycalc.model import SOURCE
from supplycalc.reading.links import Entries
from supplycalc.reading.reporter import Entry, Reporter, quoted
from supplycalc.reading.runs import nominal_size, not_a_size
from supplycalc.reading.well_line import far_tanks, gauge_heights
from supplycalc.units import UnitSystem, show

WELL_ONLY = ("cut_in", "cut_out", "tank", "pump", "well")
MAIN_ONLY = ("static", "residual", "residual_flow")
OPEN_ONLY = ("lowest_level", "highest_level", "inflow", "volume", "well_pump", "float_on")
PUMPED_ONLY = ("cut_in", "cut_out", "tank")
FOREIGN = {
    "well": (("main", MAIN_ONLY), ("tank", OPEN_ONLY)),
    "main": (("well", WELL_ONLY), ("tank", OPEN_ONLY)),
    "tank": (("main", MAIN_ONLY),),
    "spring": (("main", MAIN_ONLY),),
}
"""Kind of source -> the keys that belong to another."""
SAME_HEIGHT = 0.005
"""Heights that differ by less are the same [m]."""


def check_consistency(
    reporter: Reporter,
    entries: Entries,
    catalogue: Catalogue,
    mistyped: frozenset[str] = frozenset(),
) -> None:
    """Report what single values cannot show."""
    units = [project.get("units") for project in entries["project"]]
    system: UnitSystem = "metric" if "metric" in units else "us"
    for source in entries["source"]:
        _source(reporter, source, catalogue, system)
    for well in entries["well"]:
        _further_well(reporter, well, catalogue, system)
    for water in entries["water"]:
        _water(reporter, water)
    for limits in entries["limits"]:
        _limits(reporter, limits, catalogue)
    for defaults in entries["defaults"]:
        _defaults(reporter, defaults, catalogue)
    for device in entries["device"]:
        _device(reporter, device, catalogue)
    for kind in entries["device_kind"]:
        _one_loss(reporter, kind)
        if kind.missing("loss") and kind.missing("curve"):
            reporter.report(kind.path, f"{kind.label}: loss or curve is missing")
    for project in entries["project"]:
        _listed(reporter, project, entries["fixture"])
    for point in entries["point"]:
        if point.missing("elevation") and point.missing("at"):
            reporter.report(point.path, f"{point.label}: give its elevation or its position (at)")
    for section in ("source", "point", "device", "manifold", "fixture"):
        for entry in entries[section]:
            _height(reporter, entry, system)
    if entries["source"]:
        _gauge_height(reporter, entries, system)
    for draw in entries["draw"]:
        _draw(reporter, draw, entries["fixture"])
    if not entries["fixture"] and "fixture" not in mistyped:
        reporter.report((), "there is no fixture; write at least one [[fixture]]")
    _fixtures(reporter, entries, catalogue)
    _households(reporter, entries)
    _points_twice(reporter, entries)


def _source(reporter: Reporter, source: Entry, catalogue: Catalogue, system: UnitSystem) -> None:
    kind = source.get("kind")
    for other, foreign in FOREIGN.get(kind, ()):
        wrong = [key for key in foreign if not source.missing(key)]
        if not wrong:
            continue
        if kind == "main" and "pump" in wrong and "well" not in wrong:
            message = (
                f"{source.label}: a pump on a main would suck from a sealed pipe, which the water "
                'works forbid; let the main fill an open tank (kind = "tank" with inflow) that '
                "the pump draws from"
            )
            reporter.report((*source.path, "pump"), message)
            continue
        verb = "belongs" if len(wrong) == 1 else "belong"
        message = f"{source.label}: {', '.join(wrong)} {verb} to a {other}, and this is a {kind}"
        if kind == "well" and "inflow" in wrong:
            message += "; what it gives for hours is recovery in [source.well]"
        reporter.report((*source.path, wrong[0]), message)
    pump, well = source.get("pump"), source.get("well")
    pumped = kind == "well" or (kind in ("tank", "spring") and pump is not None)
    if pumped and not _holds_pressure(pump):
        for key, example in (("cut_in", "40 psi"), ("cut_out", "60 psi")):
            if source.missing(key):
                message = f'{source.label}: {key} is missing, such as {key} = "{example}"'
                reporter.report(source.path, message)
    if kind == "main" and source.missing("residual") and source.missing("static"):
        message = (
            f'{source.label}: residual is missing, such as residual = "54 psi", best with the flow '
            "it was read at (residual_flow)"
        )
        reporter.report(source.path, message)
    if kind in ("tank", "spring"):
        _open_water(reporter, source, kind, pump, system)
    # a pump that holds one pressure may be written with a switch that is no range
    _below(reporter, source, "cut_in", "cut_out", system, strict=not _holds_pressure(pump))
    if pump is not None:
        _set_pressure(reporter, source, pump, system)
    _below(reporter, source, "residual", "static", system, strict=False)
    if pump is not None:
        _bucket_test(reporter, pump)
    if well is not None:
        _well(reporter, well, source.get("tank") if kind == "well" else None, catalogue, system)


def _bucket_test(reporter: Reporter, pump: Entry) -> None:
    for key, other in (
        ("measured_flow", "measured_pressure"),
        ("measured_pressure", "measured_flow"),
    ):
        if not pump.missing(key) and pump.missing(other):
            reporter.report((*pump.path, key), f"{pump.label}: {key} needs {other} beside it")


def _further_well(
    reporter: Reporter, well: Entry, catalogue: Catalogue, system: UnitSystem
) -> None:
    """A well beside the source's own: its pump must be known, for the two share the work."""
    _well(reporter, well, None, catalogue, system)
    pump = well.get("pump")
    if pump is None:
        return
    _bucket_test(reporter, pump)
    if pump.missing("curve") and pump.missing("measured_flow"):
        message = (
            f"{pump.label}: give its curve, or a bucket test with the other pump off, such as "
            'measured_flow = "5 gal in 28 s" and measured_pressure = "45 psi": what each pump '
            "gives follows from both"
        )
        reporter.report(pump.path, message)


def _well(
    reporter: Reporter,
    well: Entry,
    tank: Entry | None,
    catalogue: Catalogue,
    system: UnitSystem,
) -> None:
    """A well's levels and the pipes that its table tells in short."""
    level, depth = well.get("static_level"), well.get("pump_depth")
    if level is not None and depth is not None and depth <= level:
        seen = f"{show(depth, 'length', system)} against {show(level, 'length', system)}"
        message = f"{well.label}: pump_depth must be deeper than static_level ({seen})"
        reporter.report((*well.path, "pump_depth"), message)
    bottom, lowest = well.get("depth"), max(level or 0.0, depth or 0.0)
    if bottom is not None and bottom < lowest:
        seen = f"{show(bottom, 'length', system)} against {show(lowest, 'length', system)}"
        message = f"{well.label}: depth, of the hole, must reach water and pump ({seen})"
        reporter.report((*well.path, "depth"), message)
    offset = well.get("offset_pipe")
    if tank is not None and tank.get("at_well") and offset is not None:
        message = (
            f"{offset.label} leads to a tank in the house, but the tank stands at the "
            "wellhead (at_well); write the line to the house as a run from source, since it "
            "carries what the house draws"
        )
        reporter.report(offset.path, message)
    for pipe in (well.get("drop_pipe"), offset):
        tube = catalogue.tubes.get(pipe.get("material") or "") if pipe is not None else None
        if pipe is None or tube is None or pipe.get("size") is None:
            continue
        known = tuple(size.nominal for size in tube.sizes)
        if nominal_size(pipe.get("size"), known) is None:
            fault = not_a_size(pipe.get("size"), known, pipe.get("material"))
            message = f"{pipe.label}, size: {fault}"
            reporter.report((*pipe.path, "size"), message)


def _floats(reporter: Reporter, source: Entry, system: UnitSystem) -> None:
    """The float switch starts the well's pump between the lowest and the highest level."""
    on, low, high = (source.get(key) for key in ("float_on", "lowest_level", "highest_level"))
    if on is None:
        return
    if source.missing("well_pump"):
        message = f"{source.label}: float_on starts the pump of a well; write [source.well_pump]"
    elif source.missing("highest_level"):
        message = (
            f"{source.label}: float_on needs highest_level beside it, at which the float stops the "
            "pump"
        )
    elif low is not None and high is not None and not low <= on < high:
        seen = ", ".join(show(each, "elevation", system) for each in (low, on, high))
        message = (
            f"{source.label}: float_on must lie from lowest_level to below highest_level, at which "
            f"the float stops the pump (lowest, on, highest: {seen})"
        )
    else:
        return
    reporter.report((*source.path, "float_on"), message)


def _open_water(
    reporter: Reporter, source: Entry, kind: str, pump: Entry | None, system: UnitSystem
) -> None:
    """An open tank or spring box has a level, its full one above, and something that fills it."""
    if source.missing("lowest_level"):
        message = (
            f"{source.label}: lowest_level is missing, the height of the water above the datum "
            'when it is all but empty, such as lowest_level = "62 ft"'
        )
        reporter.report(source.path, message)
    low, high = source.get("lowest_level"), source.get("highest_level")
    if low is not None and high is not None and high < low:
        seen = f"{show(high, 'elevation', system)} against {show(low, 'elevation', system)}"
        message = f"{source.label}: highest_level lies below lowest_level ({seen}); swap the two"
        reporter.report((*source.path, "highest_level"), message)
    filled = not source.missing("well") or not source.missing("well_pump")
    for key, other in (("well", "well_pump"), ("well_pump", "well")):
        if not source.missing(key) and source.missing(other):
            message = f"{source.label}: {key} fills this tank; give {other} beside it"
            reporter.report((*source.path, key), message)
    if filled and not source.missing("inflow"):
        message = f"{source.label}: a well fills this tank, so leave inflow out, or the well"
        reporter.report((*source.path, "inflow"), message)
    _floats(reporter, source, system)
    if pump is not None:
        for key in ("from", "to"):
            if not pump.missing(key):
                message = (
                    f"{pump.label} draws from the open tank and stands between no two points; "
                    f"leave {key} out"
                )
                reporter.report((*pump.path, key), message)
    if pump is None:
        wrong = [key for key in PUMPED_ONLY if not source.missing(key)]
        if wrong:
            message = (
                f"{source.label}: without a pump a {kind} feeds by gravity and has no "
                f"{', '.join(wrong)}; write [source.pump], or leave that out"
            )
            reporter.report((*source.path, wrong[0]), message)
    if source.missing("inflow") and not filled:
        message = (
            f"{source.label}: nothing fills this tank; give what comes to it as inflow, such as "
            'inflow = "2 gpm" (of water that is brought, the mean)'
            if kind == "tank"
            else f"{source.label}: inflow is missing, what the spring yields in its driest month, "
            'such as inflow = "2 gpm"'
        )
        reporter.report(source.path, message)
    outlet = source.get("elevation")
    if pump is None and outlet is not None and low is not None and outlet > low:
        seen = f"{show(outlet, 'elevation', system)} against {show(low, 'elevation', system)}"
        message = (
            f"{source.label}: elevation, where the water leaves, lies above lowest_level ({seen}), "
            "so that it would draw air"
        )
        reporter.report((*source.path, "elevation"), message)


def _holds_pressure(pump: Entry | None) -> bool:
    return (
        pump is not None
        and pump.get("kind") == "constant-pressure"
        and not pump.missing("set_pressure")
    )


def _set_pressure(reporter: Reporter, source: Entry, pump: Entry, system: UnitSystem) -> None:
    """A set pressure is a constant-pressure pump's, and lies between the pressures it runs at."""
    path, set_pressure = (*pump.path, "set_pressure"), pump.get("set_pressure")
    kind = pump.get("kind") or ("submersible" if pump.missing("kind") else None)
    if not pump.missing("set_pressure") and kind not in ("constant-pressure", None):
        message = (
            f"{pump.label}: set_pressure belongs to a constant-pressure pump, and this one is a "
            f'{kind} pump on a switch; write kind = "constant-pressure", or leave it out'
        )
        reporter.report(path, message)
        return
    if kind == "constant-pressure" and pump.missing("set_pressure"):
        message = (
            f"{pump.label}: the pressure that a constant-pressure pump holds is missing, such as "
            'set_pressure = "55 psi"; a pump on a switch is "submersible" or "jet"'
        )
        reporter.report(pump.path, message)
    cut_in, cut_out = source.get("cut_in"), source.get("cut_out")
    if set_pressure is None:
        return
    if cut_in is not None and set_pressure < cut_in:
        words, switch = "below cut_in", cut_in
    elif cut_out is not None and set_pressure > cut_out:
        words, switch = "above cut_out", cut_out
    else:
        return
    seen, than = (show(value, "setting", system) for value in (set_pressure, switch))
    message = (
        f"{pump.label}: set_pressure is {words} ({seen} against {than}); the pump wakes at "
        "cut_in, holds set_pressure, and is off at cut_out"
    )
    reporter.report(path, message)


def _below(
    reporter: Reporter, entry: Entry, low: str, high: str, system: UnitSystem, *, strict: bool
) -> None:
    """Two pressures in order."""
    low_value, high_value = entry.get(low), entry.get(high)
    if low_value is None or high_value is None:
        return
    if low_value > high_value or (strict and low_value == high_value):
        words = "above" if strict else "at or above"
        seen, than = (show(value, "pressure", system) for value in (high_value, low_value))
        message = f"{entry.label}: {high} must be {words} {low} ({seen} against {than})"
        reporter.report((*entry.path, high), message)


def _water(reporter: Reporter, water: Entry) -> None:
    cold, hot = water.get("cold"), water.get("hot")
    if cold is not None and hot is not None and hot < cold:
        message = f"{water.label}: the hot water is colder than the cold water"
        reporter.report((*water.path, "hot"), message)


def _limits(reporter: Reporter, limits: Entry, catalogue: Catalogue) -> None:
    text = limits.get("service_minimum")
    if text is not None and nominal_size(text, catalogue.nominals) is None:
        message = f"{limits.label}, service_minimum: {quoted(text)} is not a nominal size"
        reporter.report((*limits.path, "service_minimum"), message)


def _defaults(reporter: Reporter, defaults: Entry, catalogue: Catalogue) -> None:
    for number, text in enumerate(defaults.get("sizes") or ()):
        if nominal_size(text, catalogue.nominals) is None:
            message = f"{defaults.label}, sizes: {quoted(text)} is not a nominal size"
            reporter.report((*defaults.path, "sizes", number), message)
    material, joining = defaults.get("material"), defaults.get("joining")
    tube = catalogue.tubes.get(material or "")
    if tube is not None and joining is not None and joining not in tube.joinings:
        message = f"{defaults.label}, joining: {material} is not joined by {quoted(joining)}"
        reporter.report((*defaults.path, "joining"), message, joining, tube.joinings)


def _one_loss(reporter: Reporter, entry: Entry) -> None:
    if not entry.missing("loss") and not entry.missing("curve"):
        reporter.report((*entry.path, "curve"), f"{entry.label}: give loss or curve, not both")


def _device(reporter: Reporter, device: Entry, catalogue: Catalogue) -> None:
    _one_loss(reporter, device)
    kind = device.get("kind")
    if kind is None:
        return
    declared = catalogue.devices.get(kind)
    if declared is not None and declared.reduces:
        if device.missing("setting"):
            message = f'{device.label}: setting is missing, such as setting = "50 psi"'
            reporter.report(device.path, message)
    else:
        for key in ("setting", "falloff"):
            if not device.missing(key):
                message = f"{device.label}: {key} belongs to a pressure-reducing-valve"
                reporter.report((*device.path, key), message)
        lossless = declared is not None and declared.loss is None
        if lossless and device.missing("loss") and device.missing("curve"):
            message = (
                f"{device.label}: {kind} has no usual loss; give loss or curve, such as "
                'loss = "5 psi at 7 gpm"'
            )
            reporter.report(device.path, message)


def _listed(reporter: Reporter, project: Entry, fixtures: list[Entry]) -> None:
    names = tuple(fixture.get("name") for fixture in fixtures if fixture.get("name"))
    for number, name in enumerate(project.get("listed") or ()):
        if name not in names:
            message = f"{project.label}, listed: {quoted(name)} is not the name of a fixture"
            reporter.report((*project.path, "listed", number), message, name, names)


def _draw(reporter: Reporter, draw: Entry, fixtures: list[Entry]) -> None:
    name, side = draw.get("fixture"), draw.get("side")
    by_name = {fixture.get("name"): fixture for fixture in fixtures if fixture.get("name")}
    if name is not None and name not in by_name:
        message = f"{draw.label}, fixture: {quoted(name)} is not the name of a fixture"
        reporter.report((*draw.path, "fixture"), message, name, tuple(by_name))
    elif name is not None and side is not None:
        for drawn in ("cold", "hot") if side == "both" else (side,):
            if by_name[name].missing(drawn):
                message = f"{draw.label}, side: {quoted(name)} has no {drawn} side"
                reporter.report((*draw.path, "side"), message)
    given = [key for key in ("duration", "volume") if not draw.missing(key)]
    if not given:
        message = f'{draw.label}: duration or volume is missing, such as duration = "8 min"'
        reporter.report(draw.path, message)
    elif len(given) > 1:
        reporter.report((*draw.path, "volume"), f"{draw.label}: give duration or volume, not both")


def _gauge_height(reporter: Reporter, entries: Entries, system: UnitSystem) -> None:
    """Two places of the file that give the gauge of a pressure tank two heights."""
    given = list(gauge_heights(entries))
    for entry, height in given[1:]:
        if abs(height - given[0][1]) >= SAME_HEIGHT:
            words = " and ".join(show(each, "elevation", system) for each in (given[0][1], height))
            message = (
                f"{entry.label}: the tank's gauge has two heights, here and in {given[0][0].label} "
                f"({words})"
            )
            reporter.report(entry.path, message)
    points = {point.get("name"): point.get("elevation") for point in entries["point"]}
    for tank in far_tanks(entries):
        height, at = tank.get("elevation"), tank.get("at")
        if None not in (height, points.get(at)) and abs(height - points[at]) >= SAME_HEIGHT:
            words = " and ".join(show(each, "elevation", system) for each in (height, points[at]))
            message = f"{tank.label}: its gauge and {quoted(at)} have two heights ({words})"
            reporter.report((*tank.path, "elevation"), message)


def _height(reporter: Reporter, entry: Entry, system: UnitSystem) -> None:
    elevation, at = entry.get("elevation"), entry.get("at")
    if elevation is None or at is None or abs(elevation - at[2]) < SAME_HEIGHT:
        return
    words = " and ".join(show(height, "elevation", system) for height in (elevation, at[2]))
    message = f"{entry.label}: elevation and the third number of at disagree ({words})"
    reporter.report((*entry.path, "elevation"), message)


def _households(reporter: Reporter, entries: Entries) -> None:
    """Each fixture's household is one of the file's, each household has a fixture, and the people
    are told once."""
    households, fixtures = entries["household"], entries["fixture"]
    names = tuple(household.get("name") for household in households if household.has("name"))
    for fixture in fixtures:
        name = fixture.get("household")
        if name is not None and name not in names:
            message = f"{fixture.label}, household: {quoted(name)} is not the name of a household"
            reporter.report((*fixture.path, "household"), message, name, names)
    used = {fixture.get("household") for fixture in fixtures}
    for household in households:
        name = household.get("name")
        if name is not None and name not in used:
            message = f'{household.label}: no fixture says household = "{name}"'
            reporter.report(household.path, message)
    for project in entries["project"]:
        told = [household.get("people") for household in households]
        given = project.get("people")
        if given is not None and told and None not in told and given != sum(told):
            message = (
                f"{project.label}: people is {given}, but the households have {sum(told)} "
                "together; leave it out"
            )
            reporter.report((*project.path, "people"), message)


def _fixtures(reporter: Reporter, entries: Entries, catalogue: Catalogue) -> None:
    for fixture in entries["fixture"]:
        if fixture.missing("elevation") and fixture.missing("at"):
            message = f'{fixture.label}: elevation is missing, such as elevation = "3 ft"'
            reporter.report(fixture.path, message)
        given = [side for side in ("cold", "hot") if not fixture.missing(side)]
        kind = fixture.get("kind")
        sides = catalogue.fixtures[kind].sides if kind is not None else ("cold", "hot")
        if not given:
            example = f'{sides[0]} = {{ from = "...", length = "..." }}'
            # a position would do if it were known where pipe to fixtures begins
            more = "" if fixture.missing("at") else '; or name the point in [layout], from = "..."'
            message = f"{fixture.label} is fed by nothing; write {example}{more}"
            reporter.report(fixture.path, message)
        for side in given:
            if side not in sides:
                message = f"{fixture.label}: {kind} takes {' and '.join(sides)} water only"
                reporter.report((*fixture.path, side), message)


def _points_twice(reporter: Reporter, entries: Entries) -> None:
    known = {}
    for source in entries["source"]:
        known[SOURCE] = source.place.line
    for section in ("device", "manifold"):
        for entry in entries[section]:
            name = entry.get("name") if section == "manifold" else entry.get("to")
            if name and not (entry.missing("elevation") and entry.missing("at")):
                known[name] = entry.place.line
    for point in entries["point"]:
        name = point.get("name")
        if name in known:
            message = f"{point.label}: its height stands in line {known[name]} already"
            reporter.report((*point.path, "name"), message)
        elif name is not None:
            known[name] = point.place.line
