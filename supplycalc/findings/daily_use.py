"""What daily use shows that the code's peak does not, and what it takes for granted."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, rule
from supplycalc.findings.well import relief_valve, suction_lift, switch_above_pump
from supplycalc.records.sentences import Assumption
from supplycalc.sizing.daily_use import (
    LEAST_TOLD,
    ConnectionInUse,
    DailyUse,
    in_words,
    minutes_a_year,
)
from supplycalc.sizing.design import CREST, Design
from supplycalc.tables import citation_of, load_table

RARE = 1e-3
"""Share of a fixture's use below which a shortage is a note, not a warning."""
NO_SUPPLY = frozenset({CREST, suction_lift.code, switch_above_pump.code, relief_valve.code})
"""Failures with which the source does not hold what its settings say, or water does not get over a
height."""
BY_CHANCE = 'let size choose by it: [limits] short = "10 min a year"'
BY_PUMP = "see 'supplycalc well' for the pump and the tank that it takes"


def nothing_to_tell(design: Design) -> bool:
    """Whether nothing can be told of living with a design: by `NO_SUPPLY`, or as the pump gives too
    little and no curve tells what it holds then."""
    pump = design.pump
    return any(item.level == "fail" and item.code in NO_SUPPLY for item in design.findings) or (
        pump is not None and pump.state == "too-small" and not pump.level_known
    )


def _passed_by_code(design: Design) -> DailyUse | None:
    """Daily use of a design that has enough pressure by its code; else the code's verdict leads."""
    return design.daily_use if design.shortfall <= 0.0 else None


@rule("daily-use-dry", "fail", subject=_passed_by_code)
def daily_use_dry(use: DailyUse) -> Iterator[Remark]:
    """A fixture to which nothing comes in daily use while it stands open."""
    dry = [each for each in _worse_sides(use) if each.dry >= LEAST_TOLD]
    if dry:
        worst = max(dry, key=lambda each: each.dry)
        others = f", nor at {len(dry) - 1} more" if len(dry) > 1 else ""
        way = worst.below_while_pump_gives_way > 0.5 * worst.below
        yield Remark(
            where=worst.label,
            message=f"in daily use no water comes there for {minutes_a_year(worst.dry)} while it "
            f"stands open{others}: what stands in a tub, a sink or a bucket can be sucked back "
            "into the pipes",
            remedy=BY_PUMP if way else BY_CHANCE,
        )


@rule("daily-use-short", "warn", subject=_passed_by_code)
def daily_use_short(use: DailyUse) -> Iterator[Remark]:
    """A fixture that falls short in daily use though not at the code's peak."""
    for each in _worse_sides(use):
        if each.below >= LEAST_TOLD > each.dry:
            way = each.below_while_pump_gives_way > 0.5 * each.below
            yield Remark(
                where=each.label,
                message="in daily use it has less than the {0} it needs for "
                f"{minutes_a_year(each.below)}, {in_words(each.share_below)} of its use; less than "
                "{1} in 1 of 1,000 minutes",
                values=((each.required, "pressure"), (each.one_in_1000, "pressure")),
                remedy=BY_PUMP if way else BY_CHANCE,
                level="warn" if each.share_below >= RARE else "note",
            )


def _worse_sides(use: DailyUse) -> list[ConnectionInUse]:
    """Of each fixture the side that has less, the tightest fixture first."""
    worse: dict[str, ConnectionInUse] = {}
    for each in use.connections:
        worse.setdefault(each.name, each)
    return list(worse.values())


DAILY_RULES = (daily_use_dry, daily_use_short)


def daily_assumptions(design: Design, use: DailyUse) -> Iterator[Assumption]:
    """What the second verdict takes for granted.

    Yields:
        Each assumption with its source and, of how busy days are, its weight.
    """
    table = load_table("day")
    if use.people_assumed:
        yield Assumption(
            text=f"{use.people} people, as the file names no number (people in [project])",
            source=citation_of(table["people"]),
        )
    yield Assumption(
        text="daily use: how often people draw, how long and at which hours; no "
        "{hose bibb|garden tap}, no leak, nothing that runs for hours",
        source=citation_of(table["use"], "memory"),
    )
    pump = design.pump
    if pump is not None and pump.pump_flow is None:
        yield Assumption(
            text="daily use: the pump keeps the tank between its settings, as no curve and no "
            "measured point of it is given"
        )
    weight = ""
    if use.short:
        first = use.short[0]
        alike = (
            "none"
            if first.below_if_days_alike < LEAST_TOLD
            else minutes_a_year(first.below_if_days_alike)
        )
        told = minutes_a_year(first.below)
        if alike != told:
            weight = f"; were all alike, {first.label} would be short for {alike} instead of {told}"
    yield Assumption(
        text="daily use: homes and days differ by more than chance, by a factor of "
        f"{table['busyness']['value']:g} either way in two of three{weight}",
        source=citation_of(table["busyness"]),
    )
