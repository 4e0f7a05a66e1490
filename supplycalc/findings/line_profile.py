"""Lines over hills and through hollows: air at their crests, drains at their lowest places."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, finding_limit, published, rule
from supplycalc.hydraulics.water import specific_weight
from supplycalc.sizing.design import Design, LineProfile
from supplycalc.sizing.profile import clearing_limit

AIR_VALVE = (
    "put an air valve for drinking water there, in a pit that drains and does not freeze, or a "
    "hydrant that is opened now and then"
)
"""Common practice, no source."""


def profiles_of(design: Design) -> tuple[LineProfile, ...]:
    """What these rules judge."""
    return design.profiles


@rule("air-at-crest", "note", subject=profiles_of)
def air_at_crest(profiles: tuple[LineProfile, ...]) -> Iterator[Remark]:
    """Heights of a line at which air collects, and whether what flows sweeps it out."""
    for profile in profiles:
        for point in profile.points:
            if point.clearing_flow is None:
                continue
            swept = profile.design_flow >= point.clearing_flow
            yield Remark(
                where=profile.name,
                message="air collects at its height {0} along, at {1}: {2} in the falling pipe "
                "behind it sweeps it out, and the design flow is {3}"
                + ("" if swept else ", which does not"),
                values=(
                    (point.distance, "length"),
                    (point.height, "elevation"),
                    (point.clearing_flow, "flow"),
                    (profile.design_flow, "flow"),
                ),
                remedy=AIR_VALVE
                if not swept
                else "fill and flush the line at that flow; where small draws only are usual, "
                + AIR_VALVE,
                source=published(clearing_limit().citation),
            )


@rule("little-over-crest", "warn")
def little_over_crest(design: Design) -> Iterator[Remark]:
    """Heights over which the line keeps little pressure while it flows."""
    least = finding_limit("head-over-crest")
    wanted = least.value * specific_weight(design.house.water.cold)
    for profile in design.profiles:
        for point in profile.points:
            if point.kind == "crest" and point.flowing is not None and point.flowing < wanted:
                yield Remark(
                    where=profile.name,
                    message="only {0} are left over its height {1} along while the design flow "
                    "runs; with little pressure air comes out of the water there",
                    values=((point.flowing, "pressure"), (point.distance, "length")),
                    remedy="keep {0} there where it can be had: larger pipe before it, more "
                    "pressure at the source, or a way round the height",
                    remedy_values=((wanted, "pressure"),),
                    source=least.citation,
                )


@rule("drain-at-low-place", "note", subject=profiles_of)
def drain_at_low_place(profiles: tuple[LineProfile, ...]) -> Iterator[Remark]:
    """The lowest place of a line, where dirt settles and water stays when it is emptied."""
    for profile in profiles:
        low = [point for point in profile.points if point.kind == "low place"]
        if low:
            lowest = min(low, key=lambda point: point.height)
            more = "" if len(low) == 1 else f" ({len(low)} low places in all)"
            yield Remark(
                where=profile.name,
                message=f"lowest {{0}} along, at {{1}}, where up to {{2}} stand{more}",
                values=(
                    (lowest.distance, "length"),
                    (lowest.height, "elevation"),
                    (lowest.highest, "pressure"),
                ),
                remedy="put a drain there, to flush the line and to empty it",
            )
