"""What the published limits say of hot pipe, and what the reckoning takes for granted."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.catalogue import nominal_inches
from supplycalc.delivery.fixture_use import figure
from supplycalc.findings.words import is_are, listed
from supplycalc.model import Manifold
from supplycalc.questions.hot.pipe import hot_limit
from supplycalc.questions.hot.study import HotOutlet
from supplycalc.sizing.design import Assumption, Design, Finding, RunResult
from supplycalc.tables import Citation, CodeLimit, cite, load_table, to_si

SLACK = 1e-9


class Check(Struct, frozen=True, kw_only=True):
    """One published limit held against one outlet."""

    outlet: HotOutlet
    limit: CodeLimit
    dimension: str
    value: float
    """[SI]"""

    @property
    def kept(self) -> bool:
        """Whether the limit is kept."""
        return self.value <= self.limit.value * (1.0 + SLACK)


@functools.cache
def _lengths() -> tuple[tuple[float, float, float], ...]:
    """(nominal [in], longest from a heater [m], from kept-hot pipe [m]), ascending."""
    rows = load_table("hot_water")["pipe_length"]["rows"]
    return tuple((nominal_inches(n), to_si(a, "ft"), to_si(b, "ft")) for n, a, b in rows)


def pipe_length_limit(one: HotOutlet) -> CodeLimit | None:
    """The longest hot pipe of the energy code by the largest size in it.

    Args:
        one: the outlet.

    Returns:
        The limit [m]; None where nothing stands before the outlet.

    Source: International Energy Conservation Code, Table C404.5.1.
    """
    largest = one.largest
    if largest is None:
        return None
    inches = largest.tube.inch_size(largest.size)
    row = next((row for row in _lengths() if inches <= row[0] + 1e-9), _lengths()[-1])
    table = load_table("hot_water")["pipe_length"]
    return CodeLimit(
        name="length-by-size",
        title="longest pipe by its largest size",
        value=row[2] if one.from_circulation else row[1],
        text="",
        citation=cite(table),
    )


def checks(one: HotOutlet) -> tuple[Check, ...]:
    """Every published limit held against an outlet.

    Args:
        one: the outlet.

    Returns:
        Length and volume limits in a fixed order.

    Source: named with each limit.
    """
    by_size = pipe_length_limit(one)
    volume = "volume-circulated" if one.from_circulation else "volume-heater"
    found = [
        (hot_limit("length-residential"), "length", one.length),
        (hot_limit("length-plumbing"), "length", one.length),
        (by_size, "length", one.length),
        (hot_limit(volume), "volume", one.volume),
        (hot_limit("stored"), "volume", one.volume),
        (hot_limit("drawn"), "volume", one.drawn),
    ]
    return tuple(
        Check(outlet=one, limit=limit, dimension=dimension, value=value)
        for limit, dimension, value in found
        if limit is not None
    )


def hot_findings(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    """Judge the hot outlets.

    Args:
        design: the sized house.
        outlets: the longest wait first.

    Returns:
        Findings; only the length limit of the residential code fails.

    Source: named with each finding.
    """
    yield from _never(outlets)
    yield from _waits(outlets)
    yield from _lengths_and_volumes(outlets)
    yield from _too_cool(outlets)
    yield from _tankless(design, outlets)
    yield from _broken(design)
    yield from _bare(design)


def _never(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    dry = [one.name for one in outlets if one.flow <= 0.0]
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
    source = cite(load_table("hot_water")["wait_class"])
    good, fair = (float(row[1]) for row in load_table("hot_water")["wait_class"]["rows"])
    running = [one for one in outlets if math.isfinite(one.wait)]
    long = [one for one in running if one.wait_class == "long"]
    some = [one for one in running if one.wait_class == "fair"]
    if long:
        yield Finding(
            level="warn",
            code="hot-wait",
            where=listed(one.name for one in long),
            message=f"{is_are([o.name for o in long], 'waits', 'wait')} up to {{0}} for hot water; "
            "over {1} is unacceptable",
            values=((long[0].wait, "time"), (fair, "time")),
            remedy="a thinner or shorter hot run, a heater nearer by, or pipe that is kept hot; "
            "see what each would gain",
            source=source,
        )
    if some:
        yield Finding(
            level="note",
            code="hot-wait-fair",
            where=listed(one.name for one in some),
            message=f"{is_are([o.name for o in some], 'waits', 'wait')} {{0}}"
            + (" to {2}" if len(some) > 1 else "")
            + "; up to {1} is good",
            values=((some[-1].wait, "time"), (good, "time"), (some[0].wait, "time")),
            source=source,
        )


_WORDS = {
    "length-residential": "the residential code ends hot pipe at {1}",
    "length-plumbing": "the plumbing code ends hot pipe at {1}; for a house a benchmark",
    "energy": "more than the energy code lets public buildings have, by volume ({1}) and by length "
    "for this size; for a house a benchmark",
    "stored": "a water-saving house holds {1} at most",
}


def _lengths_and_volumes(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    every = [{one.limit.name: one for one in checks(outlet)} for outlet in outlets]

    def over(name: str) -> list[Check]:
        return [found[name] for found in every if name in found and not found[name].kept]

    too_long = over("length-residential")
    if too_long:
        yield _over("fail", "hot-length", too_long, "length-residential", "it stands {0} away; ")
    rest = [one for one in over("length-plumbing") if one.value <= too_long_from()]
    if rest:
        yield _over("note", "hot-length-plumbing", rest, "length-plumbing", "up to {0} away; ")
    energy = [
        found[name]
        for found in every
        for name in ("volume-heater", "volume-circulated")
        if name in found and not found[name].kept
        if "length-by-size" in found and not found["length-by-size"].kept
    ]
    if energy:
        yield _over(
            "note", "hot-volume", energy, "energy", "up to {0} stand cold before the outlet; "
        )
    stored = over("stored")
    if stored:
        yield _over("note", "hot-stored", stored, "stored", "up to {0} stand before the outlet; ")


def too_long_from() -> float:
    """The residential code's longest hot pipe [m]."""
    return hot_limit("length-residential").value


def _over(level: str, code: str, found: Sequence[Check], words: str, start: str) -> Finding:
    worst = max(found, key=lambda one: one.value)
    return Finding(
        level="fail" if level == "fail" else "note",
        code=code,
        where=listed(one.outlet.name for one in found),
        message=f"{start}{_WORDS[words]}",
        values=((worst.value, worst.dimension), (worst.limit.value, worst.dimension)),
        remedy="a heater nearer by, thinner or shorter pipe, or pipe that is kept hot",
        source=worst.limit.citation,
    )


def _too_cool(outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    for one in outlets:
        if one.flow > 0.0 and one.arrives < one.wanted - 0.05:
            yield Finding(
                level="warn",
                code="hot-cool",
                where=one.name,
                message="water arrives at {0} even when it runs on; {1} is wanted",
                values=((one.arrives, "temperature"), (one.wanted, "temperature")),
                remedy="insulate the run, or a hotter heater with mixing valves at the outlets",
            )


def _tankless(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Finding]:
    heaters = design.devices_that("heats-flow")
    if not heaters:
        return
    row = load_table("hot_water")["tankless-flow"]
    least = to_si(row["value"], row["unit"])
    weak = [one for one in outlets if 0.0 < one.flow < least]
    where = listed(heaters)
    if weak:
        names = [one.name for one in weak]
        yield Finding(
            level="warn",
            code="tankless-flow",
            where=where,
            message=f"{listed(names)} {is_are(names, 'draws', 'draw')} down to {{0}} of hot water "
            "as used; many heaters of this kind do not fire below {1}",
            values=((min(one.flow for one in weak), "flow"), (least, "flow")),
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


def _broken(design: Design) -> Iterator[Finding]:
    tree = design.tree
    results = design.run_at
    for one in design.runs:
        if not one.run.circulated:
            continue
        before = [i for i in tree.path(one.index) if tree.side[i] == "hot" and i in results]
        if one.side == "cold":
            yield Finding(
                level="warn",
                code="kept-hot-cold",
                where=one.run.name,
                message="it is marked as kept hot, but it carries cold water",
            )
        elif not all(results[i].run.circulated for i in before):
            yield Finding(
                level="warn",
                code="kept-hot-gap",
                where=one.run.name,
                message="it is kept hot, but pipe before it is not: a cold slug follows the warm "
                "water, so it is counted as cold",
                remedy="mark the runs from the heater on, if they are kept hot",
            )


def _bare(design: Design) -> Iterator[Finding]:
    row = load_table("hot_water")["insulation"]
    bare = [one for one in design.runs if wants_insulation(design, one)]
    if bare:
        yield Finding(
            level="note",
            code="hot-bare",
            where=listed(one.run.name for one in bare),
            message=f"{is_are([o.run.name for o in bare], 'is', 'are')} bare; the energy code asks "
            f"for insulation of R-3 on hot pipe from {row['text']} inch on, to a manifold, buried, "
            "under a slab and where it is kept hot",
            remedy='insulate, and write "insulated = true"',
            source=cite(row),
        )


def wants_insulation(design: Design, one: RunResult) -> bool:
    """Whether the energy code asks for insulation that a hot run does not have.

    Args:
        design: the sized house.
        one: the run.

    Returns:
        True or False.

    Source: International Energy Conservation Code R403.5.3 (from memory).
    """
    if one.side != "hot" or one.run.insulated:
        return False
    row = load_table("hot_water")["insulation"]
    inches = one.tube.inch_size(one.size)
    tree = design.tree
    feeds_manifold = any(isinstance(tree.links[i], Manifold) for i in tree.children[one.index])
    hidden = one.run.buried is not None or one.run.embedded or one.run.circulated
    return hidden or feeds_manifold or inches >= nominal_inches(row["text"]) - 1e-9


def factor_source() -> Citation:
    """Where the usual factor on the pipe's volume comes from."""
    return cite(load_table("hot_water")["factor"]["usual"])


def hot_assumptions(design: Design, outlets: Sequence[HotOutlet]) -> Iterator[Assumption]:
    """What the reckoning takes for granted.

    Args:
        design: the sized house.
        outlets: its hot outlets.

    Returns:
        Assumptions with their sources.
    """
    factor = load_table("hot_water")["factor"]
    used = outlets[0].factor
    usual = abs(used - factor["usual"]["value"]) < 1e-12
    yield Assumption(
        text=f"{used:.2g} times the pipe's volume is drawn before hot water comes, as the pipe has "
        f"to be warmed; measured: about 1 to {factor['most']['value']:.2g} times",
        source=factor_source() if usual else None,
    )
    wanted = sorted({one.wanted for one in outlets})
    yield Assumption(
        text="each outlet runs alone, as it is used: mixed to "
        + " or ".join(f"{{{i}}}" for i in range(len(wanted)))
        + "; machines draw hot water alone. Waiting with the valve on hot alone is shorter",
        values=tuple((one, "temperature") for one in wanted),
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
        source=cite(habits),
    )
    yield Assumption(
        text="bare runs give 10 W per m2 and kelvin to air at {0}, insulated ones have {1} of "
        "foam; in a slab or in the ground pipe cools faster",
        values=(
            (figure("heat", "surroundings")[0], "temperature"),
            (figure("heat", "foam-thickness")[0], "thickness"),
        ),
    )
