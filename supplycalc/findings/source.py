"""The source: a pump that cannot hold the pressure, the tank's air charge, a closed system."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.catalogue import Role
from supplycalc.findings.rule import YOUR_FILE, Remark, finding_limit, rule
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Device, WaterSource
from supplycalc.sizing.design import Design, DeviceResult
from supplycalc.tables import code_limit

CARRIED_ON = 1.5
"""So many times the last given flow a pump's curve may be carried on without a word."""


@rule("pump-beyond-curve", "warn")
def pump_beyond_curve(design: Design) -> Iterator[Remark]:
    """The design flow, or the flow at cut-in, is more than the pump's curve tells of."""
    pump, flow = design.house.source.pump, design.demand.design_flow[0]
    if pump is None or len(pump.curve) < 2:
        return
    last = pump.curve[-1][0]
    if flow <= last * (1.0 + 1e-9):
        given = design.source.pump_flow or 0.0
        if given > last * CARRIED_ON:
            yield Remark(
                where="pump",
                message=(
                    "its curve ends at {0}; carried on straight to cut-in it gives {1}, which no "
                    "one has measured: run times, starts and the tank's size rest on it"
                ),
                values=((last, "flow"), (given, "flow")),
                remedy="give the curve down to the head at cut-in",
                source=YOUR_FILE,
            )
        return
    yield Remark(
        where="pump",
        message=(
            "its curve ends at {0} and the design flow is {1}; beyond its last point the curve is "
            "carried on straight, while real ones fall faster"
        ),
        values=((pump.curve[-1][0], "flow"), (flow, "flow")),
        remedy="give the curve to its end; if it ends there, take a pump that gives this flow",
        source=YOUR_FILE,
    )


@rule("main-at-rest-only", "warn")
def main_at_rest_only(design: Design) -> Iterator[Remark]:
    """A main of which only the pressure at rest is known: while water flows it is less."""
    source = design.house.source
    if source.kind == "main" and source.residual is None and source.static is not None:
        yield Remark(
            where="source",
            message="only the pressure at rest, {0}, is known; while water flows it is less",
            values=((source.static, "pressure"),),
            remedy="read the gauge with two hoses running and give residual and residual_flow",
            source=None,
        )


@rule("pump-cannot-hold", "warn", well=True)
def pump_cannot_hold(design: Design) -> Iterator[Remark]:
    """The pump, by its curve or its bucket test, gives less than the design flow at cut-in."""
    source, pressure = design.house.source, design.source
    flow = design.demand.design_flow[0]
    cut_in = source.cut_in or 0.0
    advice = (
        'a larger pump, or demand spread over time: demand = "listed" in [project] takes what you '
        "list as running at once; a tank only delays the fall, since after its drawdown the pump "
        "alone feeds the house"
    )
    if pressure.limited_by == "pump" and pressure.design_pressure <= 0.0:
        yield Remark(
            level="fail",
            where="source",
            message=(
                "the pump cannot give the design flow of {0} at any pressure; at the cut-in of {1} "
                "it gives {2}"
            ),
            values=((flow, "flow"), (cut_in, "pressure"), (pressure.pump_flow or 0.0, "flow")),
            remedy=advice,
            source=YOUR_FILE,
        )
        return
    if pressure.limited_by == "pump":
        yield Remark(
            where="source",
            message=(
                "at the design flow of {0} the pump holds only {1}, less than the cut-in of {2}; "
                "at cut-in it gives {3}"
            ),
            values=(
                (flow, "flow"),
                (pressure.design_pressure, "pressure"),
                (cut_in, "pressure"),
                (pressure.pump_flow or 0.0, "flow"),
            ),
            remedy=advice,
            source=YOUR_FILE,
        )
        return
    if not _pump_without_curve(design):
        return
    measured, at = _bucket_test(source)
    if measured is not None and measured < flow and at <= cut_in:
        yield Remark(
            where="source",
            message=(
                "in the bucket test the pump gave {0} at {2}; the design flow is {1}, so it cannot "
                "hold the cut-in of {3} for longer than the tank lasts"
            ),
            values=((measured, "flow"), (flow, "flow"), (at, "pressure"), (cut_in, "pressure")),
            remedy=advice,
            source=YOUR_FILE,
        )


@rule("pump-unknown", "note", well=True)
def pump_unknown(design: Design) -> Iterator[Remark]:
    """A pump of which nothing tells that it holds cut-in at the design flow."""
    source, flow = design.house.source, design.demand.design_flow[0]
    cut_in = source.cut_in or 0.0
    measured, at = _bucket_test(source)
    if _pump_without_curve(design) and (measured is None or (measured >= flow and at < cut_in)):
        yield Remark(
            where="source",
            message=(
                "nothing in the file shows that the pump holds {0} at the design flow of {1}; it "
                "is taken to"
            ),
            values=((cut_in, "pressure"), (flow, "flow")),
            remedy="give the pump's curve, or a bucket test taken at cut-in pressure",
        )


def _pump_without_curve(design: Design) -> bool:
    """Whether the house stands on a well whose pump's curve, if known, is one point at most."""
    source = design.house.source
    curve = source.pump.curve if source.pump is not None else ()
    return source.kind == "well" and design.source.limited_by != "pump" and len(curve) <= 1


def _bucket_test(source: WaterSource) -> tuple[float | None, float]:
    """(flow that the pump gave [m3/s], at which pressure [Pa gauge])."""
    if source.pump is None:
        return None, 0.0
    return source.pump.measured_flow, source.pump.measured_pressure or 0.0


@rule("precharge", "warn", well=True)
def precharge(design: Design) -> Iterator[Remark]:
    """The tank's air charge is not a little below cut-in."""
    source = design.house.source
    charge = source.tank.precharge if source.tank is not None else None
    if charge is None or source.cut_in is None:
        return
    if source.pump is not None and source.pump.kind == "constant-pressure":
        return
    rule = code_limit("precharge-below-cut-in")
    wanted = source.cut_in - rule.value
    if abs(charge - wanted) <= finding_limit("precharge-tolerance").value + 1.0:
        return
    if charge > wanted:
        why = "the tank is empty before the pump starts, and pressure drops out each time"
    else:
        why = "the tank gives less water between starts than it could"
    yield Remark(
        where="pressure tank",
        message=f"its air charge of {{0}} does not suit the cut-in of {{1}}: {why}",
        values=((charge, "pressure"), (source.cut_in, "pressure")),
        remedy=(
            "set it to {0}, with the pump switched off and locked out and the tank drained; never "
            "open a tank under pressure"
        ),
        remedy_values=((wanted, "pressure"),),
        source=rule.citation,
    )


@rule("thermal-expansion", "note")
def thermal_expansion(design: Design) -> Iterator[Remark]:
    """A valve between source and tank heater closes the system: heated water has no room."""
    on_main = design.house.source.kind == "main"
    heaters, valves = [], []
    for heater in design.devices:
        if not design.tree.does(heater.device, "stores"):
            continue
        closing = _devices_before(design, heater, "closes")
        meters = _devices_before(design, heater, "meter") if on_main else []
        if closing or meters:
            heaters.append(heater.device.name)
            valves += closing or [f"{name}, if it has a check valve," for name in meters]
    if heaters:
        limit = finding_limit("expansion-control")
        yield Remark(
            where=listed(heaters),
            message=(
                f"{listed(valves)} {is_are(valves, 'closes', 'close')} the system: water that "
                "expands while it is heated has nowhere to go"
            ),
            remedy=(
                "fit an expansion tank or another approved device, sized for the heater; a relief "
                "valve on the heater is needed besides and must never be plugged"
            ),
            source=limit.citation,
        )


def _devices_before(design: Design, heater: DeviceResult, role: Role) -> list[str]:
    """Names of the devices of a role between source and heater, from the source on."""
    return [
        link.name
        for index in design.tree.feeding(heater.index)
        if isinstance(link := design.tree.links[index], Device) and design.tree.does(link, role)
    ][::-1]
