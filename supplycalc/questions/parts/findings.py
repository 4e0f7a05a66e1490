"""What a parts list has to say: joints out of reach, full manifolds, missing prices."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from supplycalc.findings.words import is_are, listed
from supplycalc.questions.parts.fitting_count import crowded, tees_without_branch
from supplycalc.sizing.design import Assumption, Finding
from supplycalc.tables import citation_of, load_table

if TYPE_CHECKING:
    from supplycalc.questions.parts.items import Item
    from supplycalc.questions.parts.study import PartsList


def parts_findings(found: PartsList) -> Iterator[Finding]:
    """Judge a parts list.

    Args:
        found: the list.

    Returns:
        Findings; only joints in a slab fail.
    """
    yield from _design(found)
    yield from _joints(found)
    yield from _manifolds(found)
    yield from _unlisted(found)
    yield from _crowded(found)
    yield from _reducing(found)
    yield from _prices(found)


def _design(found: PartsList) -> Iterator[Finding]:
    if not found.design.ok:
        yield Finding(
            level="warn",
            code="parts-of-failing-design",
            where="design",
            message="the design behind this list fails: buy nothing by it yet",
            remedy="see 'supplycalc size' first",
        )


def _joints(found: PartsList) -> Iterator[Finding]:
    for lot in found.lots:
        for one in lot.bought:
            if one.special:
                names = [
                    strand.name
                    for strand in lot.strands
                    if abs(strand.length * (1.0 + lot.waste) - one.length) < 1e-9
                ]
                yield Finding(
                    level="warn",
                    code="coil-too-short",
                    where=listed(names),
                    message="it needs {0} in one piece, more than the longest usual coil: a "
                    "joint would lie out of reach",
                    values=((one.length, "length"),),
                    remedy="order a coil of that length, or bring the pipe up to a joint in reach",
                )
        for strand, count in lot.joints:
            if not strand.below:
                continue
            slab = any(one.run.embedded for one in strand.runs)
            word = "slab" if slab else "ground"
            yield Finding(
                level="fail" if slab else "warn",
                code="joints-out-of-reach",
                where=strand.name,
                message=f"{lot.material} comes in sticks: {count} "
                f"{'joint lies' if count == 1 else 'joints lie'} in the {word}",
                remedy="tube that comes in coils"
                + ("" if slab else ", or test and look at every joint before backfill"),
            )


def _manifolds(found: PartsList) -> Iterator[Finding]:
    for use in found.manifolds:
        if not use.spare:
            yield Finding(
                level="note",
                code="no-spare-port",
                where=use.manifold.name,
                message=f"all {use.total} ports are taken; nothing can be added later",
                remedy="one or two ports more",
            )
        worst = found.design.worst.margin
        if 0.0 <= worst < use.body_loss:
            yield Finding(
                level="warn",
                code="manifold-body",
                where=use.manifold.name,
                message="its body loses up to {0}, which the sizing leaves out, and only {1} "
                "is to spare",
                values=((use.body_loss, "pressure"), (worst, "pressure")),
                remedy="a body one size larger, or the farthest fixtures on the first ports",
            )


def _unlisted(found: PartsList) -> Iterator[Finding]:
    runs = [one.run.name for one in found.design.runs if one.run.fittings is None]
    if runs:
        yield Finding(
            level="note",
            code="fittings-not-listed",
            where=listed(runs),
            message=f"{is_are(runs, 'lists', 'list')} no fittings: elbows and valves along the way "
            "are not counted, only what stands at the ends",
            remedy="write fittings = { elbow-90 = 2 }, and count again",
        )
    lone = tees_without_branch(found.design)
    if lone:
        yield Finding(
            level="note",
            code="tee-without-branch",
            where=listed(lone),
            message=f"{is_are(lone, 'lists', 'list')} a tee, but nothing branches off there: no "
            "tee is counted",
            remedy="add the run that branches off, or the tee by hand",
        )


def _crowded(found: PartsList) -> Iterator[Finding]:
    for point, number in crowded(found.design):
        yield Finding(
            level="note",
            code="many-tees",
            where=point,
            message=f"{number} pipes leave it, counted as {number - 1} tees in a row",
            remedy="a manifold there takes fewer joints: write [[manifold]], and count again",
        )


def _reducing(found: PartsList) -> Iterator[Finding]:
    rare = [
        f"{one.size} ({one.material})"
        for one in found.items
        if one.kind == "tee" and len(set(one.size.split(" x "))) > 2
    ]
    if rare:
        yield Finding(
            level="note",
            code="rare-tees",
            where="tees",
            message=f"{listed(rare)}: not every counter keeps tees of three sizes",
            remedy="a tee of the largest size with reducers does as well",
        )


def _prices(found: PartsList) -> Iterator[Finding]:
    if found.prices is None or not found.unpriced:
        return
    yield Finding(
        level="note",
        code="no-price",
        where="price list",
        message=f"no price for {listed(described(one) for one in found.unpriced)}; the total "
        "leaves them out",
        remedy="add them to the price list; nothing is guessed",
    )


def described(one: Item) -> str:
    """An item in words, such as "tee 3/4 x 3/4 x 1/2 (crimp)".

    Args:
        one: the item.

    Returns:
        The words.
    """
    words = f"{one.kind.replace('-', ' ')} {one.size}".strip()
    return f"{words} ({one.material})" if one.material else words


def parts_assumptions(found: PartsList) -> Iterator[Assumption]:
    """What the count takes for granted.

    Args:
        found: the list.

    Returns:
        Assumptions with their sources.
    """
    data = load_table("parts")
    yield Assumption(
        text="every run is bought {0} longer, for cutting, bends and slack; lengths of coils and "
        "sticks are usual ones"
        + ("" if found.prices is None else " where the price list has none"),
        values=((found.waste, "share"),),
        source=citation_of(data["waste"]),
    )
    if found.prices is not None and found.design.cost_basis == "pipe mass":
        yield Assumption(
            text="sizes are the least pipe by mass; --by-price lets the price list choose them"
        )
    yield Assumption(
        text="each run is one piece; what its elbows cut it into fits the same stock. Runs in "
        "line of one tube and size go through"
    )
    yield Assumption(
        text="tees and reducers are counted where runs meet, other fittings as the runs list them; "
        "each device, each manifold and the source take an adapter at their pipe"
    )
    yield Assumption(
        text="each connection has a stop, but baths, showers and hose taps a wall elbow, washing "
        "machines a valve",
        source=citation_of(data["fixture-end"]),
    )
    if found.manifolds:
        assumed = [one.manifold.name for one in found.manifolds if one.assumed]
        yield Assumption(
            text="each manifold has a valve at every used port, one shut-off and one drain"
            + (f"; spare ports of {listed(assumed)} are ours" if assumed else "")
        )
    spacing = {
        one.tube.name: one.tube.citations["support_spacing"]
        for one in found.design.runs
        if "support_spacing" in one.tube.citations
    }
    for source in dict.fromkeys(spacing.values()):
        yield Assumption(
            text="supports as for level pipe, one for each started distance, none in the ground or "
            "a slab",
            source=source,
        )
        break
    if found.sleeves:
        yield Assumption(
            text="sleeves two nominal sizes larger than the pipe, where it comes out of the ground "
            "or a slab",
            source=citation_of(data["sleeve"]),
        )
    planned = [fixture.name for fixture in found.design.house.fixtures if fixture.planned]
    if planned:
        yield Assumption(text=f"planned fixtures are counted in: {listed(planned)}")
    kept = [one.run.name for one in found.design.runs if one.run.circulated]
    if kept:
        yield Assumption(
            text=f"{listed(kept)} {is_are(kept, 'is', 'are')} kept hot: the return line, its pump "
            "and its tee, or the heating cable, are not counted"
        )
    yield Assumption(
        text="not counted: solder, cement, tape, hangers' screws, the well, its pump and tank, and "
        "the fixtures themselves"
    )
