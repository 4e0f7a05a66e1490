"""The JSON of `well`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from supplycalc.output.machine import assumption_to_dict, quantity, source_to_dict, unit_system
from supplycalc.output.wording import finding_text, sentence
from supplycalc.questions.well.page import answer
from supplycalc.questions.well.switch_table import finite

if TYPE_CHECKING:
    from supplycalc.questions.well.study import WellCheck
    from supplycalc.questions.well.switch import SwitchOption
    from supplycalc.sizing.design import Finding
    from supplycalc.supply.tank import Cycling
    from supplycalc.tables import Citation
    from supplycalc.units import UnitSystem

WELL_SCHEMA = "supplycalc-well/1"


def well_to_dict(check: WellCheck, units: str | None = None) -> dict[str, Any]:
    """The JSON contract of `well`; units "us" or "metric", None takes the project's."""
    system = unit_system(check.design.house, units)

    def amount(value: float | None, dimension: str) -> dict[str, Any] | None:
        return quantity(value, dimension, system)

    def cycle(one: Cycling | None) -> dict[str, Any] | None:
        if one is None:
            return None
        return {
            "drawdown": amount(one.drawdown, "volume"),
            "run_time": amount(one.run_time, "time"),
            "starts_per_hour": finite(one.starts_per_hour),
            "worst_draw": amount(one.worst_draw, "flow"),
            "mean_flow": amount(one.mean_flow, "flow"),
        }

    def limit(value: Any, source: Citation) -> dict[str, Any]:
        return {"value": value, **source_to_dict(source)}

    def ends(pair: tuple[float, float] | None, dimension: str) -> list[Any] | None:
        return pair and [amount(end, dimension) for end in pair]

    tank, duty, supply = check.tank, check.duty, check.supply
    return {
        "schema": WELL_SCHEMA,
        "project": check.design.house.project.name,
        "ok": check.ok,
        "verdict": answer(check, system),
        "units": system,
        "design_flow": amount(check.design_flow, "flow"),
        "holds": check.holds,
        "held_pressure": amount(check.held_pressure, "pressure"),
        "design_pressure": amount(check.design.source.design_pressure, "pressure"),
        "points": [
            {
                "at": one.name,
                "reached": one.reached,
                "pressure": amount(one.pressure, "pressure"),
                "flow": amount(one.flow, "flow"),
                "drawdown": amount(one.drawdown, "length"),
                "lift": amount(one.lift, "head"),
                "friction_head": amount(one.friction_head, "head"),
                "total_head": amount(one.total_head, "head"),
            }
            for one in check.points
        ],
        "speeds": check.speeds and list(check.speeds),
        "uncertain": check.uncertain
        and {
            "flow": amount(check.uncertain.point.flow, "flow"),
            "head": amount(check.uncertain.point.head, "head"),
            "measured": check.uncertain.point.measured,
            "flow_at_cut_in": ends(check.uncertain.flow_at_cut_in, "flow"),
            "flow_at_cut_out": ends(check.uncertain.flow_at_cut_out, "flow"),
            "held_pressure": ends(check.uncertain.held_pressure, "pressure"),
        },
        "duty": duty
        and {
            "flow": amount(duty.flow, "flow"),
            "head": amount(duty.head, "head"),
            "head_at_cut_out": amount(duty.head_at_cut_out, "head"),
            "least_flow": amount(duty.least_flow, "flow"),
            "most_flow": amount(duty.most_flow, "flow"),
            "least_shut_off": amount(duty.least_shut_off, "head"),
            "most_shut_off": amount(duty.most_shut_off, "head"),
            "motor_power": ends(duty.motor_power, "power"),
        },
        "tank": tank
        and {
            "cycles": cycle(tank.cycles),
            "waterlogged": cycle(tank.waterlogged),
            "usual": tank.usual and [amount(end, "volume") for end in tank.usual],
            "least_run_time": tank.least_run_time
            and limit(amount(tank.least_run_time, "time"), tank.run_time_source),
            "most_starts_per_hour": limit(tank.most_starts, tank.starts_source),
            "most_starts_per_day": limit(tank.most_starts_per_day, tank.starts_per_day_source),
            "needed": amount(tank.needed, "volume"),
            "standard": amount(tank.standard, "volume"),
            "peak_shortfall": amount(tank.peak_shortfall, "volume"),
            "needed_for_peak": amount(tank.needed_for_peak, "volume"),
        },
        "suction": check.suction
        and {
            "ok": check.suction.ok,
            "lift": amount(check.suction.lift, "length"),
            "friction_head": amount(check.suction.friction_head, "head"),
            "limit": amount(check.suction.limit, "length"),
            "available": amount(check.suction.available, "head"),
            "required": amount(check.suction.required, "head"),
        },
        "well": {
            "people": supply.people,
            "sustained": amount(supply.sustained, "flow"),
            "upper_bound": supply.by_drawdown,
            "daily_need": amount(supply.balance.daily_need, "volume"),
            "daily_yield": amount(supply.balance.daily_yield, "volume"),
            "period": amount(supply.balance.period, "hours"),
            "period_yield": amount(supply.balance.period_yield, "volume"),
            "lifted": amount(finite(supply.balance.lifted), "volume"),
            "bore_storage": amount(supply.balance.bore_storage, "volume")
            if supply.bore_known
            else None,
            "storage": amount(supply.balance.storage, "volume"),
            "second_pump": supply.second_pump
            and {
                "flow": amount(supply.second_pump[0], "flow"),
                "head": amount(supply.second_pump[1], "head"),
            },
        },
        "pipe": [
            {
                "size": one.nominal,
                "now": one.now,
                "flow": amount(one.flow, "flow"),
                "flow_at_cut_out": amount(one.flow_at_cut_out, "flow"),
                "velocity": amount(one.velocity, "velocity"),
                "friction_head": amount(one.friction_head, "head"),
                "held_pressure": amount(one.held_pressure, "pressure"),
                "required_head": amount(one.required_head, "head"),
            }
            for one in check.pipe
        ],
        "switches": [_switch(one, system) for one in check.switches],
        "findings": [finding_to_dict(one, system) for one in check.findings],
        "assumptions": [assumption_to_dict(one, system) for one in check.assumptions],
    }


def _switch(one: SwitchOption, system: UnitSystem) -> dict[str, Any]:
    def amount(value: float | None, dimension: str) -> dict[str, Any] | None:
        return quantity(value, dimension, system)

    cycles = one.cycles
    return {
        "cut_in": amount(one.cut_in, "pressure"),
        "cut_out": amount(one.cut_out, "pressure"),
        "now": one.now,
        "precharge": amount(one.precharge, "pressure"),
        "worst": one.worst,
        "residual": amount(one.residual, "pressure"),
        "margin": amount(one.margin, "pressure"),
        "pump_flow": one.pump_flow and [amount(flow, "flow") for flow in one.pump_flow],
        "required_head": amount(one.required_head, "head"),
        "reached": one.reached,
        "perhaps_reached": one.perhaps_reached,
        "drawdown": amount(cycles.drawdown, "volume") if cycles else None,
        "run_time": amount(cycles.run_time, "time") if cycles else None,
        "tank_needed": amount(one.tank_needed, "volume"),
        "highest": amount(one.highest, "pressure"),
        "weakest": one.weakest or None,
        "rating": amount(one.rating, "pressure"),
        "pressure_there": amount(one.pressure_there, "pressure"),
    }


def finding_to_dict(one: Finding, system: UnitSystem) -> dict[str, Any]:
    """A finding with its values, remedy and source."""
    return {
        "level": one.level,
        "code": one.code,
        "where": one.where,
        "message": finding_text(one, system),
        "values": [quantity(value, dimension, system) for value, dimension in one.values],
        "remedy": sentence(one.remedy, one.remedy_values, system) or None,
        **source_to_dict(one.source),
    }
