"""Rules that judge a finished design: one small function and one entry in `RULES` each."""

from __future__ import annotations

from supplycalc.findings import (
    burial,
    consumption,
    contamination,
    hot_water,
    materials,
    memory,
    plausible,
    prescriptive,
    pressure,
    sizes,
    source,
    velocity,
    well,
)
from supplycalc.findings.common import Rule
from supplycalc.sizing.design import Design, Finding

LEVELS = ("fail", "warn", "note")

RULES: tuple[Rule, ...] = (
    pressure.pressure_short,
    pressure.static_over_limit,
    materials.rating_exceeded,
    materials.tank_rating_exceeded,
    materials.hot_material,
    hot_water.scald,
    hot_water.shower_valve,
    burial.cover_too_shallow,
    sizes.service_under_minimum,
    sizes.fixture_minimum,
    prescriptive.below_table,
    consumption.flow_over_limit,
    plausible.source_unusual,
    plausible.shorter_than_rise,
    source.pump_cannot_hold,
    source.pump_beyond_curve,
    source.main_at_rest_only,
    source.precharge,
    well.well_supply,
    velocity.velocity_over_limit,
    burial.slab_joint,
    burial.slab_meeting,
    sizes.larger_than_feed,
    plausible.constant_loss,
    pressure.reserve_not_kept,
    pressure.pressure_thin,
    source.thermal_expansion,
    hot_water.stored_hot,
    materials.plastic_at_heater,
    burial.frost,
    burial.slab_fittings,
    contamination.hose_connection,
    contamination.softened_outdoors,
    sizes.service_unusual,
    sizes.manifold_ports,
    memory.demand_from_memory,
    memory.limits_from_memory,
    memory.bores_from_memory,
)
"""In the order in which findings of one level are told: what hurts first, then what is broken."""


def judge(design: Design) -> tuple[Finding, ...]:
    """Judge a finished design by every rule.

    Args:
        design: sized, with its pressures.

    Returns:
        The findings: failures first, then warnings, then notes; in one level by the order of
        `RULES` and, in one rule, of the design.

    Source: each finding names its own.
    """
    found = [finding for rule in RULES for finding in rule(design)]
    return tuple(sorted(found, key=lambda finding: LEVELS.index(finding.level)))
