"""What a parts list has to say: joints out of reach, full manifolds, missing prices."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.demand import by_the_american_codes
from supplycalc.findings.words import is_are, listed
from supplycalc.network import well_side
from supplycalc.questions.parts.fitting_count import crowded, tees_without_branch
from supplycalc.questions.parts.fixture_ends import machines_beside_sinks
from supplycalc.questions.parts.items import size_rank
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.pipe_lots import runs_already
from supplycalc.sizing.design import Assumption, Finding
from supplycalc.tables import citation_of, load_table

SMALL_BRANCH = 0.34
"""Nominal size of a tee's branch over its run's, below which counters seldom have it."""


def parts_findings(parts: PartsList) -> Iterator[Finding]:
    """Judge a parts list; only joints in a slab fail."""
    yield from _design(parts)
    yield from _rough_lengths(parts)
    yield from _joints(parts)
    yield from _manifolds(parts)
    yield from _unlisted(parts)
    yield from _crowded(parts)
    yield from _reducing(parts)
    yield from _beside_sinks(parts)
    yield from _prices(parts)


def _design(parts: PartsList) -> Iterator[Finding]:
    if not parts.design.ok:
        yield Finding(
            level="warn",
            code="parts-of-failing-design",
            where="design",
            message="the design behind the parts list fails: buy nothing by it yet",
            remedy="see 'supplycalc size' first",
        )


def _rough_lengths(parts: PartsList) -> Iterator[Finding]:
    rough = [known for known in parts.design.house.ranges if known.path[-1] == "length"]
    if rough:
        yield Finding(
            level="warn",
            code="rough-lengths",
            where="pipe",
            message=f"{len(rough)} {'length is' if len(rough) == 1 else 'lengths are'} known "
            "within a range alone, and counted at the middle",
            remedy="measure before you buy",
        )


def _joints(parts: PartsList) -> Iterator[Finding]:
    for lot in parts.lots:
        for bought in lot.bought:
            if bought.special:
                names = [
                    strand.name
                    for strand in lot.strands
                    if abs(strand.length * (1.0 + lot.waste) - bought.length) < 1e-9
                ]
                yield Finding(
                    level="warn",
                    code="coil-too-short",
                    where=listed(names),
                    message="it needs {0} in one piece, more than the longest usual coil: a "
                    "joint would lie out of reach",
                    values=((bought.length, "length"),),
                    remedy="order a coil of that length, or bring the pipe up to a joint in reach",
                )
        for joined in lot.joints:
            if not joined.strand.below:
                continue
            count = joined.count
            slab = any(run.run.embedded for run in joined.strand.runs)
            word = "slab" if slab else "ground"
            yield Finding(
                level="fail" if slab else "warn",
                code="joints-out-of-reach",
                where=joined.strand.name,
                message=f"{lot.material} comes in sticks: {count} "
                f"{'joint lies' if count == 1 else 'joints lie'} in the {word}",
                remedy="tube that comes in coils"
                + ("" if slab else ", or test and look at every joint before backfill"),
            )


def _manifolds(parts: PartsList) -> Iterator[Finding]:
    for use in parts.manifolds:
        if not use.spare:
            yield Finding(
                level="note",
                code="no-spare-port",
                where=use.manifold.name,
                message=f"all {use.total} ports are taken; nothing can be added later",
                remedy="one or two ports more",
            )
        worst = parts.design.worst.margin
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


def _unlisted(parts: PartsList) -> Iterator[Finding]:
    runs = [
        run.name
        for run in parts.design.every_run
        if run.run.fittings is None and not run.run.existing
    ]
    if runs:
        yield Finding(
            level="note",
            code="fittings-not-listed",
            where=listed(runs),
            message=f"{is_are(runs, 'lists', 'list')} no fittings: elbows and valves along the way "
            "are not counted, only what stands at the ends",
            remedy="write fittings = { elbow-90 = 2 }, and count again",
        )
    lone = tees_without_branch(parts.design)
    if lone:
        yield Finding(
            level="note",
            code="tee-without-branch",
            where=listed(lone),
            message=f"{is_are(lone, 'lists', 'list')} a tee, but nothing branches off there: no "
            "tee is counted",
            remedy="add the run that branches off, or the tee by hand",
        )


def _crowded(parts: PartsList) -> Iterator[Finding]:
    points = crowded(parts.design)
    if points:
        most = max(number for _, number in points)
        message = f"{most} pipes leave it, counted as {most - 1} tees in a row"
        if len(points) > 1:
            message = f"up to {most} pipes leave each, counted as tees in a row"
        yield Finding(
            level="note",
            code="many-tees",
            where=listed(point for point, _ in points),
            message=message,
            remedy="a manifold there takes fewer joints: write [[manifold]], and count again",
        )


def _reducing(parts: PartsList) -> Iterator[Finding]:
    rare = [
        f"{item.size} ({item.material})"
        for item in parts.items
        if item.kind == "tee" and _rare(item.size)
    ]
    if rare:
        yield Finding(
            level="note",
            code="rare-tees",
            where="tees",
            message=f"{listed(rare)}: not every counter keeps tees of three sizes, or with so "
            "small a branch",
            remedy="a tee of the largest size with reducers does as well",
        )


def _rare(size: str) -> bool:
    """Whether a tee has three sizes, or a branch of less than a third of its run."""
    ways = size.split(" x ")
    return len(set(ways)) > 2 or size_rank(ways[-1]) < SMALL_BRANCH * size_rank(ways[0])


def _beside_sinks(parts: PartsList) -> Iterator[Finding]:
    for machine, sink in machines_beside_sinks(parts.design):
        yield Finding(
            level="note",
            code="dual-stop",
            where=machine.name,
            message=f"runs beside {sink.name} from {machine.run.start}, {{0}} with a stop of its "
            "own: a stop with two outlets at the sink would serve both",
            values=((machine.length, "length"),),
            remedy=f"end {sink.name} at a point under the sink and feed both from there by a "
            "short piece; the list then has the dual stop",
        )


def _prices(parts: PartsList) -> Iterator[Finding]:
    if parts.prices is None or not parts.unpriced:
        return
    yield Finding(
        level="note",
        code="no-price",
        where="price list",
        message=f"no price for {listed(item.words for item in parts.unpriced)}; the total "
        "leaves them out",
        remedy="add them to the price list; nothing is guessed",
    )


def parts_assumptions(parts: PartsList) -> Iterator[Assumption]:
    """What the count takes for granted."""
    data = load_table("parts")
    american = by_the_american_codes(parts.design.house)
    yield Assumption(
        text="every run is bought {0} longer, for cutting, bends and slack; lengths of coils and "
        "sticks are usual ones"
        + ("" if parts.prices is None else " where the price list has none"),
        values=((parts.waste, "share"),),
        source=citation_of(data["waste"]),
    )
    if parts.prices is not None and parts.design.cost_basis == "pipe mass":
        yield Assumption(
            text="sizes are the least pipe by mass; --by-price lets the price list choose them"
        )
    yield Assumption(
        text="each run is one piece; what its elbows cut it into fits the same stock. Runs in "
        "line of one tube and size go through"
    )
    yield Assumption(
        text="tees and reducers are counted where runs meet, other fittings as the runs list them; "
        "threads, unions and by-passes at equipment are usual ones: its data sheet goes before",
        source=citation_of(data["connection"]),
    )
    metric = [run.tube.metric for run in parts.design.runs]
    if not all(metric):
        yield Assumption(
            text="each connection has an angle stop, but hose bibbs a drop-ear elbow, washing "
            "machines one outlet box; valves of baths and showers take the tube direct, their arm "
            "and spout a drop-ear elbow each, the tube to those not counted",
            source=citation_of(data["fixture-end"]) if american else None,
        )
    if any(metric):
        yield Assumption(
            text="each connection of metric tube has a wall plate elbow, basins, sinks and toilets "
            "a corner valve, machines a valve of their own; mixers of baths and showers are "
            "screwed to the wall plate elbows"
        )
    if any(lot.colour for lot in parts.lots):
        yield Assumption(
            text="hot water in red tube, cold in blue, from coils of their own; tube without a "
            "colour is one coil for both, and one colour for all is less pipe but easily mixed up",
            source=citation_of(data["stock"]["pex"]),
        )
    for tube, way, called in data["joint"]["rows"]:
        if any(item.material == called for item in parts.items):
            yield Assumption(
                text=f"{tube}: {called} fittings are listed, as the trade has them; the losses "
                f"are those known of the way called {way!r}",
                source=citation_of(data["joint"]),
            )
    back = [run.name for run in parts.design.runs if run.run.fed_back]
    if back:
        yield Assumption(
            text=f"{listed(back)}: pipe of the line before the tank, counted there and bought once"
        )
    existing = [run.name for run in parts.design.runs if run.run.existing and not run.run.fed_back]
    if existing:
        yield Assumption(
            text=f"{listed(existing)} {is_are(existing, 'is', 'are')} there: nothing of it is "
            "bought but the joints of new pipe to it"
        )
    house = parts.design.house
    for source in dict.fromkeys((well_side(house).source, house.source)):
        if runs_already(source):
            place = "open tank" if source.open_water else "well"
            tank = "" if source.tank is None else " and its pressure tank"
            yield Assumption(
                text=f"the pump was measured in the {place}, so that it{tank} and its pipe are "
                "there: nothing of them is bought"
            )
    if parts.manifolds:
        assumed = [use.manifold.name for use in parts.manifolds if use.assumed]
        yield Assumption(
            text="each manifold has a valve at every used port, one shut-off and one drain"
            + (f"; spare ports of {listed(assumed)} are ours" if assumed else "")
        )
    spacing = [
        run.tube.citations["support_spacing"]
        for run in parts.design.runs
        if "support_spacing" in run.tube.citations
    ]
    if spacing:
        yield Assumption(
            text="supports as for level pipe, one for each started distance, none in the ground or "
            "a slab; where no elbow is listed a bend support at each port and stub-out, and a nail "
            "plate where a fixture's tube passes the wall's plate",
            source=spacing[0] if american else None,
        )
    if parts.sleeves:
        yield Assumption(
            text="sleeves "
            + ("half as wide again as" if all(metric) else "two nominal sizes larger than")
            + " the pipe, where it comes out of the ground or a slab",
            source=citation_of(data["sleeve"]) if american else None,
        )
    planned = [fixture.name for fixture in parts.design.house.fixtures if fixture.planned]
    if planned:
        yield Assumption(text=f"planned fixtures are counted in: {listed(planned)}")
    kept = [run.name for run in parts.design.runs if run.run.circulated]
    if kept:
        yield Assumption(
            text=f"{listed(kept)} {is_are(kept, 'is', 'are')} kept hot: the return line, its pump "
            "and its tee, or the heating cable, are not counted"
        )
    stands = {
        "well": "the well, its pump, cable and tank, ",
        "tank": "the tank, ",
        "spring": "the spring's box, ",
    }.get(house.source.kind, "")
    if house.source.kind == "well" and house.source.open_water and house.source.filled_by is None:
        stands = "the open tank, its pump, cable and pressure tank, "
    yield Assumption(
        text=f"not counted: solder, cement, tape, hangers' screws, {stands}and the fixtures "
        "themselves"
    )
