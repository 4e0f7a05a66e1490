"""What is told of hot pipe: limits that are broken, and what the reckoning takes for granted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from supplycalc.catalogue import nominal_inches
from supplycalc.delivery.fixture_use import figure
from supplycalc.demand import by_the_american_codes
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Manifold
from supplycalc.questions.hot.limits import SLACK, LimitCheck, hot_limit
from supplycalc.questions.hot.outlets import HotOutlet
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import citation_of, load_table, to_si


def hot_findings(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    """Judge the hot outlets; only the length limit of the residential code fails.

    Source: named with each finding.
    """
    yield from _never(outlets)
    yield from _waits(outlets)
    yield from _lengths_and_volumes(design, outlets)
    yield from _too_cool(outlets)
    yield from _tankless(design, outlets)
    yield from _gaps(design)
    yield from _bare(design)


def _never(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    dry = [outlet.name for outlet in outlets if outlet.hot_flow <= 0.0]
    if dry:
        yield Finding(
            level="fail",
            code="hot-dry",
            where=listed(dry),
            message=f"no hot water comes out of {is_are(dry, 'it', 'them')}: the pressure does not "
            "reach so far",
            remedy="'supplycalc size' says what would mend it",
        )


def _waits(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    american = all(outlet.american for outlet in outlets)
    classes = load_table("hot_water")["wait_class" if american else "wait_class_europe"]
    source = citation_of(classes)
    good, fair = (float(row[1]) for row in classes["rows"])
    running = [outlet for outlet in outlets if math.isfinite(outlet.wait) and outlet.runs_off]
    long = [outlet for outlet in running if outlet.wait_class == "long"]
    fairly = [outlet for outlet in running if outlet.wait_class == "fair"]
    if long:
        names = [outlet.name for outlet in long]
        yield Finding(
            level="warn",
            code="hot-wait",
            where=listed(names),
            message=f"{is_are(names, 'waits', 'wait')} up to {{0}} for hot water; "
            + ("over {1} is unacceptable" if american else "the rule is {1} at most"),
            values=((long[0].wait, "time"), (fair, "time")),
            remedy="a thinner or shorter hot run, a heater nearer by, or pipe that is kept hot; "
            "see what each would gain",
            source=source,
        )
    if fairly:
        names = [outlet.name for outlet in fairly]
        yield Finding(
            level="note",
            code="hot-wait-fair",
            where=listed(names),
            message=f"{is_are(names, 'waits', 'wait')} {{0}}"
            + (" to {2}" if round(fairly[0].wait) > round(fairly[-1].wait) else "")
            + "; up to {1} is good",
            values=((fairly[-1].wait, "time"), (good, "time"), (fairly[0].wait, "time")),
            source=source,
        )


_WORDS = {
    "hot-length": "up to {0} away; the residential code ends hot pipe at {1}",
    "hot-length-plumbing": "up to {0} away; the plumbing code ends hot pipe at {1}; for a house a "
    "benchmark",
    "hot-volume": "up to {0} stand cold before the outlet; more than the energy code lets public "
    "buildings have, by volume ({1}) and by length for this size; for a house a benchmark",
    "hot-three-litres": "up to {0} stand before the outlet; a large plant would need circulation "
    "or trace heating above {1}; a house for one or two families need not, but waits",
    "hot-stored": "up to {0} stand before the outlet; a water-saving house holds {1} at most",
}
"""What is told of a limit that is broken, by the finding's code."""


def _lengths_and_volumes(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    broken = [
        (outlet, {check.limit.name: check for check in outlet.limits if not check.kept})
        for outlet in outlets
    ]

    def over(name: str) -> list[tuple[HotOutlet, LimitCheck]]:
        return [(outlet, checks[name]) for outlet, checks in broken if name in checks]

    residential = hot_limit("length-residential").value
    binds = design.demand.method != "upc"  # whose book sets no such length
    told = {
        "hot-length": over("length-residential"),
        "hot-length-plumbing": [
            (outlet, check)
            for outlet, check in over("length-plumbing")
            if check.value <= residential
        ],
        "hot-volume": [
            (outlet, checks[name])
            for outlet, checks in broken
            for name in ("volume-heater", "volume-circulated")
            if name in checks and "length-by-size" in checks
        ],
        "hot-three-litres": over("three-litres"),
        "hot-stored": over("stored"),
    }
    for code, of_outlets in told.items():
        if of_outlets:
            worst = max((check for _, check in of_outlets), key=lambda check: check.value)
            length = worst.dimension == "length"
            dimension, thinner = ("length", "") if length else ("pipe-volume", "thinner or ")
            yield Finding(
                level="fail" if code == "hot-length" and binds else "note",
                code=code,
                where=listed(outlet.name for outlet, _ in of_outlets),
                message=_WORDS[code],
                values=((worst.value, dimension), (worst.limit.value, dimension)),
                remedy=f"a heater nearer by, {thinner}shorter pipe, or pipe that is kept hot",
                source=worst.limit.citation,
            )


def _too_cool(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    for outlet in outlets:
        if outlet.hot_flow > 0.0 and outlet.arrives < outlet.wanted - 0.05:
            yield Finding(
                level="warn",
                code="hot-cool",
                where=outlet.name,
                message="water arrives at {0} even when it runs on; {1} is wanted",
                values=((outlet.arrives, "temperature"), (outlet.wanted, "temperature")),
                remedy="insulate the run, or a hotter heater with mixing valves at the outlets",
            )


def _tankless(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    heaters = design.devices_that("heats-flow")
    if not heaters:
        return
    row = load_table("hot_water")["tankless-flow"]
    least = to_si(row["value"], row["unit"])
    weak = [outlet for outlet in outlets if 0.0 < outlet.hot_flow < least]
    where = listed(heaters)
    if weak:
        names = [outlet.name for outlet in weak]
        yield Finding(
            level="warn",
            code="tankless-flow",
            where=where,
            message=f"{listed(names)} {is_are(names, 'draws', 'draw')} down to {{0}} of hot water "
            "as used; many heaters of this kind do not fire below {1}",
            values=((min(outlet.hot_flow for outlet in weak), "flow"), (least, "flow")),
            remedy="compare with the heater's sheet; a hotter tap setting draws more hot water",
        )
    yield Finding(
        level="note",
        code="tankless-start",
        where=where,
        message="a heater without a tank takes some seconds to fire and warm up, which come on top "
        "of every wait",
        remedy="add the time on its sheet",
    )


def _gaps(design: Design) -> Iterator[Finding]:
    tree = design.tree
    results = design.run_at
    for run in design.runs:
        if not run.run.circulated:
            continue
        before = [i for i in tree.path(run.index) if tree.side[i] == "hot" and i in results]
        if run.side == "cold":
            yield Finding(
                level="warn",
                code="kept-hot-cold",
                where=run.name,
                message="it is marked as kept hot, but it carries cold water",
            )
        elif not all(results[i].run.circulated for i in before):
            yield Finding(
                level="warn",
                code="kept-hot-gap",
                where=run.name,
                message="it is kept hot, but pipe before it is not: a cold slug follows the warm "
                "water, so it is counted as cold",
                remedy="mark the runs from the heater on, if they are kept hot",
            )


def _bare(design: Design) -> Iterator[Finding]:
    names = [run.name for run in design.runs if wants_insulation(design, run)]
    if not names:
        return
    american = by_the_american_codes(design.house)
    row = load_table("hot_water")["insulation" if american else "insulation_europe"]
    asked = (
        f"the energy code asks for insulation of R-3 on hot pipe from {row['text']} inch on, to a "
        "manifold, buried, under a slab and where it is kept hot"
        if american
        else f"the law asks for insulation ({row['text']}) on hot pipe that several outlets share"
    )
    yield Finding(
        level="note",
        code="hot-bare",
        where=listed(names),
        message=f"bare; {asked}",
        remedy='insulate, and write "insulated = true"',
        source=citation_of(row),
    )


def wants_insulation(design: Design, run: RunResult) -> bool:
    """Whether the energy code or law asks for insulation that a hot run does not have.

    Source: International Energy Conservation Code R403.5.3; German energy act, Annex 8 (from memory
        both).
    """
    if run.side != "hot" or run.run.insulated:
        return False
    row = load_table("hot_water")["insulation"]
    tree = design.tree
    if not by_the_american_codes(design.house):
        return run.run.fixture is None
    inches = run.tube.inch_size(run.size)
    feeds_manifold = any(isinstance(tree.links[i], Manifold) for i in tree.children[run.index])
    hidden = run.run.buried is not None or run.run.embedded or run.run.circulated
    return hidden or feeds_manifold or inches >= nominal_inches(row["text"]) - SLACK


def hot_assumptions(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Assumption]:
    """What the reckoning takes for granted."""
    factor = load_table("hot_water")["factor"]
    american = by_the_american_codes(design.house)
    used = outlets[0].factor
    usual = abs(used - factor["usual"]["value"]) < 1e-12
    yield Assumption(
        text=f"{used:.2g} times the pipe's volume is drawn before hot water comes, as the pipe has "
        f"to be warmed; measured: about 1 to {factor['most']['value']:.2g} times",
        source=citation_of(factor["usual" if american else "most"]) if usual else None,
    )
    wanted = sorted({outlet.wanted for outlet in outlets})
    yield Assumption(
        text="each outlet runs alone, as it is used: mixed to "
        + " or ".join(f"{{{i}}}" for i in range(len(wanted)))
        + "; machines draw hot water alone. Waiting with the valve on hot alone is shorter",
        values=tuple((temperature, "temperature") for temperature in wanted),
    )
    yield Assumption(
        text="the pipe has stood until it is cold; the volume of the heater's and the fixture's "
        "own parts is left out, a manifold's body counts whole"
    )
    habits = load_table("hot_water")["habit"]
    yield Assumption(
        text="a year: draws a day by kind of fixture in a household of three or four, spread by "
        "chance over 16 hours, so that some find the pipe still warm; machines and bathtubs use "
        "what comes. Heat is counted in the water, before the heater's own losses",
        source=citation_of(habits),
    )
    yield Assumption(
        text="bare runs give {1.8 Btu an hour|10 W} from each {ft2 and degF|m2 and kelvin} to air "
        "at {0}, insulated ones have {1} of foam; in a slab or in the ground pipe cools faster",
        values=(
            (figure("heat", "surroundings")[0], "temperature"),
            (figure("heat", "foam-thickness")[0], "thickness"),
        ),
    )
