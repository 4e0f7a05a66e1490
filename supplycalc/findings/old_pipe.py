"""Galvanized pipe that may have rusted: what is left where it is as rough as old pipe gets."""

from __future__ import annotations

import math
from collections.abc import Iterator

from supplycalc.findings.rule import PRESSURE_SLACK, Remark, finding_limit, rule
from supplycalc.findings.words import is_are, listed
from supplycalc.hydraulics.devices import device_loss, loss_of_device
from supplycalc.hydraulics.pressure import pipe_loss
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.sizing.choices import port_loss, valve_limit
from supplycalc.sizing.design import Design, DeviceResult, OutletResult, RunResult
from supplycalc.sizing.pressure_range import height_gains

RUSTS = 1e-4
"""[m] Metal tube that is rougher than this when new is galvanized steel; copper is smooth."""


@rule("old-galvanized", "note")
def old_galvanized(design: Design) -> Iterator[Remark]:
    """Galvanized pipe without a roughness counts as new; old pipe is several times as rough."""
    counted_new = [
        result
        for result in design.runs
        if result.tube.metal and result.tube.roughness > RUSTS and result.run.roughness is None
    ]
    if not counted_new:
        return
    old = finding_limit("old-galvanized-roughness")
    outlet, margin = _worst_when_rough(design, counted_new, old.value)
    short = margin < -PRESSURE_SLACK
    names = [result.run.name for result in counted_new]
    left = "is short by {0}" if short else "has {0} to spare"
    yield Remark(
        level="warn" if short and design.worst.margin >= -PRESSURE_SLACK else "note",
        where=listed(names),
        message=f"rusted within ({old.value * 1e3:g} mm rough), {outlet.name} {left}; "
        f"{is_are(names, 'it counts', 'they count')} as new pipe here, as the file gives no "
        "roughness",
        values=((abs(margin), "pressure"),),
        remedy="where the pipe is old, give its roughness, and measure pressure and flow behind it",
        source=old.citation,
    )


def _worst_when_rough(
    design: Design, rough: list[RunResult], roughness: float
) -> tuple[OutletResult, float]:
    """The worst outlet and its margin [Pa] where some runs have another roughness [m]."""
    tree, results = design.tree, design.result_at
    names = {result.run.name for result in rough}
    pressure, gains = [design.source.design_pressure], height_gains(tree)
    for i in range(1, len(tree)):
        result, before = results.get(i), pressure[tree.parent[i]]
        loss, limit = 0.0 if result is None else result.loss, math.inf
        if isinstance(result, RunResult) and result.run.name in names:
            loss = sum(
                pipe_loss(
                    result.design_flow,
                    result.counted_length,
                    result.size.inside_diameter,
                    roughness,
                    result.k,
                    density(result.temperature),
                    viscosity(result.temperature),
                )
            )
        if isinstance(result, DeviceResult) and result.device.setting is not None:
            flow = result.design_flow
            loss = device_loss(loss_of_device(result.device, tree.catalogue), flow)
            loss += port_loss(tree, i, flow)
            limit = valve_limit(result.device, tree.catalogue, flow)
        pressure.append(min(before + gains[i] - loss, limit))
    margins = [(pressure[outlet.index] - outlet.required, outlet) for outlet in design.outlets]
    margin, outlet = min(margins, key=lambda item: item[0])
    return outlet, margin
