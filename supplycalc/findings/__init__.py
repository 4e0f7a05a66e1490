"""Rules that judge a finished design: one small function with its record, and its turn in `RULES`.

A new rule is a function under `@rule` in the module of its topic; its code stands nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from supplycalc.findings import (
    burial,
    daily_use,
    equipment,
    fixture_flows,
    from_memory,
    hot_water,
    line_profile,
    materials,
    old_pipe,
    open_water,
    outdoor_taps,
    plausible,
    prescriptive,
    pressure,
    several_wells,
    sizes,
    source,
    velocity,
    water_hammer,
    well,
)
from supplycalc.findings.rule import Rule
from supplycalc.sizing.design import LEVELS, Design, Finding

RULES: tuple[Rule, ...] = (
    pressure.pressure_short,
    pressure.crest,
    line_profile.little_over_crest,
    pressure.static_over_limit,
    materials.rating_exceeded,
    materials.stuck_switch,
    materials.service_rating,
    materials.hot_material,
    hot_water.scald,
    hot_water.shower_valve,
    hot_water.hot_length,
    daily_use.daily_use_dry,
    burial.cover_too_shallow,
    sizes.service_under_minimum,
    sizes.fixture_minimum,
    prescriptive.below_table,
    fixture_flows.flow_over_limit,
    plausible.source_unusual,
    plausible.level_unusual,
    plausible.shorter_than_rise,
    source.pump_cannot_hold,
    source.pump_unknown,
    source.pump_beyond_curve,
    source.main_at_rest_only,
    source.precharge,
    well.switch_above_pump,
    several_wells.pump_shut_off,
    well.jet_depth,
    well.suction_lift,
    well.pump_oversized,
    several_wells.well_outrun,
    several_wells.well_backflow,
    well.yield_short,
    open_water.inflow_short,
    open_water.fill_outruns_well,
    open_water.height_before_open_tank,
    open_water.open_water_runs_out,
    well.short_cycling,
    well.held_tank_small,
    well.tank_stretched,
    well.relief_valve,
    well.tank_place_unknown,
    materials.valve_failed,
    materials.distribution_rating,
    velocity.velocity_over_limit,
    water_hammer.pump_stop,
    equipment.beyond_rated_flow,
    burial.slab_joint,
    sizes.larger_than_feed,
    plausible.constant_loss,
    plausible.readings_to_compare,
    plausible.private_rows,
    daily_use.daily_use_short,
    pressure.reserve_not_kept,
    pressure.pressure_thin,
    old_pipe.old_galvanized,
    source.thermal_expansion,
    burial.frost_rise,
    equipment.filter_counted_clean,
    outdoor_taps.hose_connection,
    outdoor_taps.yard_hydrant,
    outdoor_taps.irrigation_backflow,
    outdoor_taps.stock_waterer,
    water_hammer.water_hammer,
    burial.frost_depth_unknown,
    hot_water.stored_hot,
    materials.plastic_at_heater,
    line_profile.air_at_crest,
    line_profile.drain_at_low_place,
    burial.slab_fittings,
    outdoor_taps.softened_outdoors,
    sizes.manifold_exception,
    sizes.service_unusual,
    sizes.manifold_ports,
    from_memory.from_memory,
)
"""In the order in which findings of one level are told: what hurts first, then what is broken."""


def judge(design: Design, rules: tuple[Rule, ...] = RULES) -> tuple[Finding, ...]:
    """Judge a finished design by every rule.

    Returns:
        The findings: failures first, then warnings, then notes; in one level by the order of
        the rules and, in one rule, of the design.

    Source: each finding names its own.
    """
    subjects: dict[Callable[[Design], Any], Any] = {}
    findings: list[Finding] = []
    for rule in rules:
        if rule.subject not in subjects:
            subjects[rule.subject] = rule.subject(design)
        subject = subjects[rule.subject]
        if subject is not None:
            findings += rule.findings(subject)
    return tuple(sorted(findings, key=lambda finding: LEVELS.index(finding.level)))
