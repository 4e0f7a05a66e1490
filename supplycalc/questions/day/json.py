"""The JSON of `day`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.output.machine import assumption_to_dict, finding_to_dict, quantity, unit_system
from supplycalc.questions.day.page import answer

if TYPE_CHECKING:
    from supplycalc.questions.day.result import Day, Outlet
    from supplycalc.questions.day.tally import Event
    from supplycalc.units import UnitSystem

DAY_SCHEMA = "supplycalc-day/1"


def day_to_dict(day: Day, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `day`; units "us" or "metric", None takes the project's."""
    system = unit_system(day.design.house, units)
    tally = day.tally

    def amount(value: float | None, dimension: str) -> dict[str, Any] | None:
        return quantity(value, dimension, system)

    return {
        "schema": DAY_SCHEMA,
        "project": day.design.house.project.name,
        "ok": day.ok,
        "verdict": answer(day, system),
        "units": system,
        "days": day.days,
        "seed": day.seed,
        "people": day.people if day.seed is not None else None,
        "waterlogged": day.waterlogged,
        "draws": tally.draws,
        "events": tally.events,
        "steps": tally.steps,
        "solves": day.solves,
        "water": {
            "drawn": amount(tally.drawn, "volume"),
            "pumped": amount(tally.pumped, "volume") if day.plant else None,
            "tank_change": amount(day.tank_change, "volume") if day.plant else None,
            "imbalance": amount(day.imbalance, "volume") if day.plant else None,
            "by_fixture": [
                {"name": name, "drawn": amount(used, "volume")} for name, used in tally.used.items()
            ],
        },
        "pump": day.plant
        and {
            "starts": len(tally.starts),
            "most_in_an_hour": day.most_in_an_hour,
            "most_in_a_day": day.most_in_a_day,
            "run_time": amount(tally.run_time, "hours"),
            "shortest_run": amount(min(tally.runs, default=None), "time"),
            "longest_run": amount(max(tally.runs, default=None), "time"),
            "energy": amount(day.energy, "energy"),
            "energy_range": day.energy_range
            and [amount(end, "energy") for end in day.energy_range],
            "start_times": [amount(at, "time") for at in tally.starts],
        },
        "source": {
            "lowest": amount(tally.lowest, "pressure"),
            "lowest_at": amount(tally.lowest_at, "time"),
            "highest": amount(tally.highest, "pressure"),
            "tank_empty": amount(tally.empty, "minutes"),
        },
        "well": day.plant
        and {
            "deepest_fall": amount(tally.deepest, "length"),
            "dry_runs": [amount(at, "time") for at in tally.dry_runs],
        },
        "fixtures": [_outlet(one, system) for one in day.outlets],
        "findings": [finding_to_dict(one, system) for one in day.findings],
        "assumptions": [assumption_to_dict(one, system) for one in day.assumptions],
        "series": [_event(one, system) for one in tally.series or ()],
    }


def _outlet(one: Outlet, system: UnitSystem) -> dict[str, Any]:
    return {
        "name": one.outlet.fixture.name,
        "side": one.outlet.side,
        "lowest": quantity(one.lowest, "pressure", system),
        "lowest_at": quantity(one.lowest_at, "time", system),
        "source_pressure": quantity(one.source_pressure, "pressure", system),
        "required": quantity(one.outlet.required_pressure, "pressure", system),
        "beside": list(one.beside),
        "running": quantity(one.running, "hours", system),
        "below": quantity(one.below, "hours", system),
    }


def _event(one: Event, system: UnitSystem) -> dict[str, Any]:
    """Plain numbers in the units of the columns of the CSV, to keep a long series short."""
    return {
        "time": quantity(one.time, "time", system),
        "event": one.what or None,
        "pressure": quantity(one.pressure, "pressure", system),
        "water": quantity(one.water, "volume", system),
        "pump_on": one.pump_on,
        "pump_flow": quantity(one.pump_flow, "flow", system),
        "drawn": quantity(one.drawn, "flow", system),
        "fall": quantity(one.fall, "length", system),
    }
