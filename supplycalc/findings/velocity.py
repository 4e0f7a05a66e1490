"""Water that runs faster than the limit of its tube, or than the user's own."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import YOUR_FILE, Remark, published, rule
from supplycalc.findings.words import listed, nominal_of, size_of
from supplycalc.hydraulics.friction import velocity
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.velocity_limits import fastest
from supplycalc.tables import OWN

VELOCITY_SLACK = 1.0 + 1e-9


@rule("velocity-over-limit", "warn")
def velocity_over_limit(design: Design) -> Iterator[Remark]:
    """Faster than is recommended is a warning, than the user's limit a failure; one per tube."""
    for stretch in design.stretches:
        yield from _too_fast(stretch)


def _too_fast(design: Design) -> Iterator[Remark]:
    """The same for the line before the tank, or for what stands behind it."""
    limits = design.house.limits
    groups: dict[tuple[str, str], list[RunResult]] = {}
    for result in design.runs:
        if result.velocity > result.velocity_limit * VELOCITY_SLACK:
            groups.setdefault((result.tube.name, result.side), []).append(result)
    for (_, side), group in groups.items():
        group.sort(key=lambda result: (-result.velocity, result.run.name))
        worst = group[0]
        own = limits.velocity_hot if side == "hot" else limits.velocity_cold
        names = [result.run.name for result in group]
        _, citation = fastest(design.tree, worst.index, worst.tube)
        source = YOUR_FILE if own is not None else published(citation)
        if own is not None:
            limit = "your limit is {1}"
        elif source is None:
            limit = "usual is at most {1}"
        elif citation == OWN:
            limit = "your file gives this tube a limit of {1}"
        else:
            limit = "recommended is at most {1}"
        message = (
            f"{side} water of {{2}} runs at {{0}} in {worst.tube.name} of {size_of(worst)}; {limit}"
        )
        if len(group) > 1:
            message += f" (the fastest of {len(group)} runs: {worst.run.name})"
        remedy, values = _slower(worst)
        yield Remark(
            level="fail" if own is not None else "warn",
            where=listed(names),
            message=message,
            values=(
                (worst.velocity, "velocity"),
                (worst.velocity_limit, "velocity"),
                (worst.temperature, "temperature"),
            ),
            remedy=remedy,
            remedy_values=values,
            source=source,
        )


def _slower(result: RunResult) -> tuple[str, tuple[tuple[float, str], ...]]:
    """The first size of the family that keeps the limit at the same flow; plain arithmetic."""
    for size in result.tube.sizes:
        slower = velocity(result.design_flow, size.inside_diameter)
        if size.common and slower <= result.velocity_limit * VELOCITY_SLACK:
            return (
                f"{nominal_of(size, result.tube)} would carry the same flow at {{0}}",
                ((slower, "velocity"),),
            )
    return "no size of this family keeps the limit: split the flow over two runs", ()
