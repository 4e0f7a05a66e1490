"""Equipment that is asked for more flow than it is made for."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, rule
from supplycalc.hydraulics.devices import loss_of_device
from supplycalc.sizing.design import Design
from supplycalc.units import PSI

BEYOND = 1.25
"""Times its rated flow from which equipment is told of; common practice, no source."""
MUCH = 10.0 * PSI
"""More than a new cartridge takes by so much, it is changed anyway; common practice, no source."""
FAR_BEYOND = 2.5
"""The same of a heater, whose loss goes on with the square; common practice, no source."""


@rule("beyond-rated-flow", "warn")
def beyond_rated_flow(design: Design) -> Iterator[Remark]:
    """Treatment or a meter run far beyond the flow for which its loss is known."""
    kinds = design.tree.catalogue.devices
    for result in design.devices:
        kind = kinds[result.device.kind]
        treats = "in-house" in kind.roles and not kind.hot and "mixes" not in kind.roles
        beyond = FAR_BEYOND if kind.hot else BEYOND
        if not treats and not kind.hot and "meter" not in kind.roles:
            continue
        loss = loss_of_device(result.device, design.tree.catalogue)
        rated = loss.curve[-1][0] if loss.curve else loss.reference_flow
        if not (loss.linear or loss.quadratic or loss.curve) or result.design_flow < beyond * rated:
            continue
        yield Remark(
            where=result.device.name,
            message=(
                "is run at {0}, its loss is known at {1}: beyond that it takes {2}"
                + ("" if kind.hot else " and does less of what it is there for")
            ),
            values=(
                (result.design_flow, "flow"),
                (rated, "flow"),
                (result.loss, "pressure"),
            ),
            remedy="give the loss of its data sheet; larger ones, or several in parallel, lose less"
            if kind.hot
            else (
                "fit one whose data sheet names this flow, or two side by side; or feed outdoor "
                "taps and what needs no treatment before it"
            ),
        )


@rule("filter-counted-clean", "note")
def filter_counted_clean(design: Design) -> Iterator[Remark]:
    """A cartridge counts with the loss of a new one; how much more it may take is told."""
    kinds = design.tree.catalogue.devices
    for result in design.devices:
        name = result.device.name
        behind = [outlet for outlet in design.outlets if name in outlet.path]
        if "loads-up" not in kinds[result.device.kind].roles or not behind:
            continue
        tightest = min(behind, key=lambda outlet: outlet.margin)
        if not 0.0 <= tightest.margin < MUCH:
            continue
        yield Remark(
            where=name,
            message=f"counts as clean, with {{0}}; once dirt takes {{1}} more, {tightest.name} "
            "falls short at the peak",
            values=((result.loss, "pressure"), (tightest.margin, "pressure")),
            remedy="change its cartridge in time, by a gauge on each side of it",
        )
