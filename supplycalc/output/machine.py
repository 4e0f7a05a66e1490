"""Results as dictionaries for JSON: every quantity {"value", "unit"} at full precision.

Keys are only ever added; a change of meaning gets a new number in `schema`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from supplycalc.output.wording import finding_text, remedy_text, sentence, verdict
from supplycalc.units import convert

if TYPE_CHECKING:
    from collections.abc import Iterable

    from supplycalc.model import House
    from supplycalc.problems import Problem
    from supplycalc.sizing.design import (
        Assumption,
        Design,
        DeviceResult,
        Finding,
        OutletResult,
        RunResult,
    )
    from supplycalc.tables import Citation
    from supplycalc.units import UnitSystem

SIZE_SCHEMA = "supplycalc-size/1"
PROBLEMS_SCHEMA = "supplycalc-problems/1"

DIGITS = 14
"""Of a number in JSON: 60.0, not 59.99999999999999; far more than any input knows."""


def quantity(value: float | None, dimension: str, system: UnitSystem) -> dict[str, Any] | None:
    """A quantity as {"value", "unit"}; None where there is no finite value."""
    if value is None or not math.isfinite(value):
        return None
    number, unit = convert(value, dimension, system)
    return {"value": float(f"{number:.{DIGITS}g}"), "unit": unit}


def to_json(data: Any) -> str:
    """JSON text of a dictionary, refusing what JSON does not know; ends in a line break.

    Letters stand as they are; what could steer a terminal is escaped.
    """
    import json

    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    if not text.replace("\n", "").isprintable():
        text = "".join(
            one if one == "\n" or one.isprintable() else json.dumps(one)[1:-1] for one in text
        )
    return text + "\n"


def unit_system(house: House, units: str | None) -> UnitSystem:
    """The units asked for, or the project's own."""
    if units is None:
        return house.project.units
    return "metric" if units == "metric" else "us"


def design_to_dict(design: Design, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `size`.

    For every fixture residual = source.design_pressure + static_change - loss, and loss is the sum
    of the losses over its path.

    Args:
        design: the sized house.
        units: "us" or "metric"; None takes the project's.

    Returns:
        Plain dictionaries, lists, numbers and strings, in a stable order.
    """
    system = unit_system(design.house, units)
    source, worst = design.source, design.worst
    return {
        "schema": SIZE_SCHEMA,
        "project": design.house.project.name,
        "method": design.demand.method,
        "ok": design.ok,
        "verdict": verdict(design, system),
        "units": system,
        "source": {
            "kind": design.house.source.kind,
            "design_pressure": quantity(source.design_pressure, "pressure", system),
            "static_pressure": quantity(source.static_pressure, "pressure", system),
            "elevation": quantity(source.elevation, "elevation", system),
            "design_flow": quantity(design.demand.design_flow[0], "flow", system),
            "limited_by": source.limited_by,
            "pump_flow": quantity(source.pump_flow, "flow", system),
        },
        "worst": {
            "name": worst.fixture.name,
            "side": worst.side,
            "residual": quantity(worst.residual, "pressure", system),
            "required": quantity(worst.required, "pressure", system),
            "margin": quantity(worst.margin, "pressure", system),
        },
        "runs": [_run(design, one, system) for one in design.runs],
        "devices": [_device(design, one, system) for one in design.devices],
        "fixtures": [_outlet(one, system) for one in design.outlets],
        "cost": _cost(design, system),
        "findings": [finding_to_dict(one, system) for one in design.findings],
        "assumptions": [assumption_to_dict(one, system) for one in design.assumptions],
        "remedies": [
            {
                "text": remedy_text(one, system),
                "worst": one.worst_name,
                "margin": quantity(one.worst_margin, "pressure", system),
                "extra_cost": cost_quantity(one.cost, design, system),
            }
            for one in design.remedies
        ],
        "optimal": design.optimal,
        "shortfall": quantity(design.shortfall, "pressure", system),
    }


def load_key(design: Design) -> str:
    """The name of the load in JSON: "fixture_units" or the method's own."""
    return (design.demand.load_name or "fixture units").replace(" ", "_")


def _load(design: Design, load: float) -> float | None:
    return float(load) if design.demand.load_name else None


def _run(design: Design, one: RunResult, system: UnitSystem) -> dict[str, Any]:
    less = one.next_smaller
    return {
        "name": one.run.name,
        "from": one.start,
        "to": one.end,
        "side": one.side,
        "material": one.run.material,
        "size": one.size.nominal,
        "nominal": one.size.nominal,
        "inside_diameter": quantity(one.size.inside_diameter, "diameter", system),
        "length": quantity(one.run.length, "length", system),
        "temperature": quantity(one.temperature, "temperature", system),
        load_key(design): _load(design, one.load),
        "design_flow": quantity(one.design_flow, "flow", system),
        "velocity": quantity(one.velocity, "velocity", system),
        "friction_loss": quantity(one.friction_loss, "pressure", system),
        "fitting_loss": quantity(one.fitting_loss, "pressure", system),
        "loss": quantity(one.loss, "pressure", system),
        "decided_by": one.decided_by,
        "next_smaller": less
        and {
            "size": less.nominal,
            "velocity": quantity(less.velocity, "velocity", system),
            "loss": quantity(less.loss, "pressure", system),
            "worst": less.worst_name,
            "worst_margin": quantity(less.worst_margin, "pressure", system),
            "reason": less.reason,
        },
        "velocity_limit": quantity(one.velocity_limit, "velocity", system),
        "static_change": quantity(one.static_gain, "pressure", system),
        "end_pressure": quantity(one.end_pressure, "pressure", system),
        "static_end_pressure": quantity(one.static_end_pressure, "pressure", system),
        "k": one.k,
        "counted_length": quantity(one.counted_length, "length", system),
        "allowed": list(one.allowed),
    }


def _device(design: Design, one: DeviceResult, system: UnitSystem) -> dict[str, Any]:
    return {
        "name": one.device.name,
        "kind": one.device.kind,
        "from": one.device.start,
        "to": one.device.end,
        "side": one.side,
        load_key(design): _load(design, one.load),
        "design_flow": quantity(one.design_flow, "flow", system),
        "loss": quantity(one.loss, "pressure", system),
        "static_change": quantity(one.static_gain, "pressure", system),
        "end_pressure": quantity(one.end_pressure, "pressure", system),
        "static_end_pressure": quantity(one.static_end_pressure, "pressure", system),
        "assumed": one.assumed,
    }


def _outlet(one: OutletResult, system: UnitSystem) -> dict[str, Any]:
    return {
        "name": one.fixture.name,
        "kind": one.fixture.kind,
        "side": one.side,
        "elevation": quantity(one.elevation, "elevation", system),
        "path": list(one.path),
        "design_flow": quantity(one.design_flow, "flow", system),
        "static_change": quantity(one.static_change, "pressure", system),
        "loss": quantity(one.loss, "pressure", system),
        "residual": quantity(one.residual, "pressure", system),
        "required": quantity(one.required, "pressure", system),
        "margin": quantity(one.margin, "pressure", system),
        "static_pressure": quantity(one.static_pressure, "pressure", system),
        "planned": one.fixture.planned,
    }


def _cost(design: Design, system: UnitSystem) -> dict[str, Any]:
    return {
        "total": cost_quantity(design.cost, design, system),
        "basis": design.cost_basis,
    }


def cost_quantity(cost: float, design: Design, system: UnitSystem) -> dict[str, Any] | None:
    """A cost on the design's basis: a mass, or a number of the price list's currency."""
    if design.cost_basis == "pipe mass":
        return quantity(cost, "mass", system)
    return {"value": float(cost), "unit": design.currency or "price list"}


def source_to_dict(source: Citation | None) -> dict[str, Any]:
    """The two keys that say where a figure comes from."""
    if source is None:
        return {"source": "common practice", "source_check": "none"}
    text = source.text
    if source.edition and source.edition not in text:
        text = f"{text}, {source.edition}"
    return {"source": text, "source_check": source.check}


def finding_to_dict(one: Finding, system: UnitSystem) -> dict[str, Any]:
    """A finding with its values, its remedy and its source."""
    return {
        "level": one.level,
        "code": one.code,
        "where": one.where,
        "message": finding_text(one, system),
        "values": [quantity(value, dimension, system) for value, dimension in one.values],
        "remedy": sentence(one.remedy, one.remedy_values, system) or None,
        **source_to_dict(one.source),
    }


def assumption_to_dict(one: Assumption, system: UnitSystem) -> dict[str, Any]:
    """An assumption with its source and its weight on the worst margin."""
    return {
        "text": sentence(one.text, one.values, system),
        **(
            source_to_dict(one.source)
            if one.source is not None
            else {"source": None, "source_check": None}
        ),
        "weight": quantity(one.weight, "pressure", system),
    }


def problems_to_dict(problems: Iterable[Problem]) -> dict[str, Any]:
    """What is wrong with an input or a call, as `--json` prints it."""
    return {
        "schema": PROBLEMS_SCHEMA,
        "ok": False,
        "problems": [
            {
                "file": one.place.file or None,
                "line": one.place.line or None,
                "message": one.text,
                "value": one.value or None,
                "nearest": one.nearest,
                "valid": list(one.valid),
            }
            for one in problems
        ],
    }
