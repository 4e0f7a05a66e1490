"""Sizes against the codes' minimums, against the pipe that feeds, and ports of manifolds."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from supplycalc.catalogue import FixtureKind, nominal_inches
from supplycalc.demand import method_record
from supplycalc.findings.rule import (
    YOUR_FILE,
    Remark,
    by_american_code,
    finding_limit,
    published,
    rule,
)
from supplycalc.findings.words import listed, nominal_of, size_of
from supplycalc.model import Manifold
from supplycalc.sizing.choices import FeedOrder
from supplycalc.sizing.design import Design, RunResult
from supplycalc.sizing.minimums import INCH_FAMILY, at_least, is_service, smallest_service
from supplycalc.supply.well_line import every_trench_run
from supplycalc.tables import code_limit


@rule("service-under-minimum", "fail")
def service_under_minimum(design: Design) -> Iterator[Remark]:
    """A water service smaller than the code's or the user's smallest size."""
    limit = method_record(design.demand.method).limit("service-minimum")
    american = by_american_code(design)
    for result in _services(design):
        sizes = result.tube.sizes
        smallest, own = smallest_service(result.tube, design.house)
        least = design.tree.catalogue.tubes[INCH_FAMILY].size(limit.text).inside_diameter
        if sizes.index(result.size) < smallest:
            wanted = nominal_of(sizes[smallest], result.tube)
            whose = "your" if own else "the code's"
            known = result.run.size is not None or not result.run.existing
            seen = "is" if known else "is of unknown size, taken as"
            yield Remark(
                where=result.run.name,
                message=f"{seen} {size_of(result)}; {whose} smallest water service is {wanted}",
                remedy=f"lay {wanted} or more",
                source=YOUR_FILE if own else limit.citation,
            )
        elif not own and not american:
            usual = finding_limit("service-least-europe")
            supplier = design.house.source.kind == "main"
            if result.size.inside_diameter < usual.value and not result.run.existing:
                yield Remark(
                    level="note",
                    where=result.run.name,
                    message=f"{size_of(result)} has an inside diameter of {{0}}; a house's service "
                    "is usually laid in DN 25 at least",
                    values=((result.size.inside_diameter, "diameter"),),
                    remedy="ask the water supplier what is laid there"
                    if supplier
                    else "a size larger costs little before the trench is closed",
                    source=published(usual.citation),
                )
        elif result.tube.metric and not own and result.size.inside_diameter < least:
            yield Remark(
                level="note",
                where=result.run.name,
                message=(
                    f"{size_of(result)} has an inside diameter of {{0}}; the smallest service of "
                    f"the codes, {limit.text} inch, has about {{1}}"
                ),
                values=((result.size.inside_diameter, "diameter"), (least, "diameter")),
                remedy="ask what your own code wants for metric tube",
                source=limit.citation,
            )


@rule("service-unusual", "note")
def service_unusual(design: Design) -> Iterator[Remark]:
    """A water service larger than a house usually has."""
    limit = finding_limit("service-usual-largest")
    usual = finding_limit("service-usual-largest-diameter").value
    american = by_american_code(design)
    for result in _services(design):
        if design.shortfall > 0.0 and result.run.size is None:
            continue  # the largest size tried in vain says nothing of the house
        if result.tube.metric:
            larger = result.size.inside_diameter > usual
        else:
            larger = nominal_inches(result.size.nominal) > nominal_inches(limit.text) + 1e-9
        if larger:
            yield Remark(
                where=result.run.name,
                message=(
                    f"{size_of(result)} is more than a house usually has "
                    + ("(3/4 or 1, at times 1-1/4 inch)" if american else "(DN 25 to 32)")
                    + "; it carries {0} at {1}"
                ),
                values=((result.design_flow, "flow"), (result.velocity, "velocity")),
                remedy=(
                    "check demand, length and source pressure; water stands longer in a larger pipe"
                ),
                source=published(limit.citation),
            )


@rule("size-under-fixture-minimum", "fail")
def fixture_minimum(design: Design) -> Iterator[Remark]:
    """A branch smaller than the code's minimum for its fixture, save by the manifold exception."""
    length = code_limit("manifold-exception-length")
    pressure = code_limit("manifold-exception-pressure")
    for branch in _small_branches(design):
        if branch.excused:
            continue
        yield Remark(
            where=branch.result.run.name,
            message=(
                f"is {size_of(branch.result)}; a {branch.kind.title} needs "
                f"{branch.kind.minimum_size} inch"
            ),
            remedy=_larger_branch(branch.from_manifold),
            remedy_values=((length.value, "length"), (pressure.value, "pressure"))
            if branch.from_manifold
            else (),
            source=branch.kind.minimum_citation,
        )


@rule("manifold-exception", "note")
def manifold_exception(design: Design) -> Iterator[Remark]:
    """Branches from a manifold that the code lets be one size under their fixture's minimum."""
    length = code_limit("manifold-exception-length")
    pressure = code_limit("manifold-exception-pressure")
    excused = [branch.result.run.name for branch in _small_branches(design) if branch.excused]
    if excused:
        yield Remark(
            where=listed(excused),
            message=(
                "one size under the table's minimum, as a branch "
                "from a manifold may be up to {0} long with {1} at the source"
            ),
            values=((length.value, "length"), (pressure.value, "pressure")),
            remedy="ask whether your code has this exception",
            source=length.citation,
        )


class _SmallBranch(Struct, frozen=True, kw_only=True):
    """A branch of inch tube under the code's minimum for its fixture."""

    result: RunResult
    kind: FixtureKind
    from_manifold: bool
    excused: bool
    """By the exception for short branches of a manifold, one size under the minimum."""


def _small_branches(design: Design) -> Iterator[_SmallBranch]:
    length = code_limit("manifold-exception-length")
    pressure = code_limit("manifold-exception-pressure")
    fixtures = {fixture.name: fixture for fixture in design.house.fixtures}
    for result in design.runs:
        if result.run.fixture is None or result.tube.metric:
            continue
        kind = design.tree.kind_of(fixtures[result.run.fixture])
        if not kind.minimum_size:
            continue
        names = [size.nominal for size in result.tube.sizes]
        short = at_least(result.tube, kind.minimum_size) - names.index(result.size.nominal)
        if short <= 0:
            continue
        from_manifold = kind.smaller_from_manifold and design.tree.starts_at_manifold(result.index)
        yield _SmallBranch(
            result=result,
            kind=kind,
            from_manifold=from_manifold,
            excused=short == 1
            and from_manifold
            and result.run.length <= length.value + 1e-9
            and design.source.design_pressure >= pressure.value,
        )


def _larger_branch(from_manifold: bool) -> str:
    if from_manifold:
        return (
            "take the next size; one size less is only excused from a manifold up to {0} away, "
            "with {1} at the source"
        )
    return "take the size that the table asks for"


@rule("larger-than-feed", "warn")
def larger_than_feed(design: Design) -> Iterator[Remark]:
    """A run larger than the run that feeds it, which gains nothing but standing water."""
    if design.house.limits.larger_than_feed:
        return
    results = design.run_at
    for result in design.runs:
        feed = results.get(design.tree.feeding_run[result.index])
        if feed is None or not _larger(result, feed):
            continue
        chosen = "you fixed it at" if result.run.size is not None else "has to be"
        yield Remark(
            where=result.run.name,
            message=f"{chosen} {size_of(result)}; {feed.run.name} feeds it with {size_of(feed)}",
            remedy=f"make {feed.run.name} as large, or this one as small",
        )


@rule("manifold-ports", "note")
def manifold_ports(design: Design) -> Iterator[Remark]:
    """How many ports of each manifold are left for what comes later."""
    counted = []
    full = []
    for index, link in enumerate(design.tree.links):
        if isinstance(link, Manifold) and link.ports is not None:
            used = len(design.tree.children[index])
            counted.append(f"{link.name} {used} of {link.ports}")
            if used >= link.ports:
                full.append(link.name)
    if full:
        yield Remark(
            where=listed(full),
            message=f"no port is spare; in use: {', '.join(counted)}",
            remedy="a manifold with a port or two more costs little now",
        )


def _services(design: Design) -> Iterator[RunResult]:
    """Runs of the water service, those from wellheads too, without branches to one fixture."""
    trench = {run.name for run in every_trench_run(design.house)}
    for result in design.every_run:
        if result.before_tank:
            service = result.name in trench
        else:
            service = result.run.fixture is None and is_service(design.tree, result.index)
        if service:
            yield result


def _larger(run: RunResult, feed: RunResult) -> bool:
    """By nominal size, or by inside diameter with slack where one of the two is metric."""
    order = FeedOrder(by_inside_diameter=run.tube.metric or feed.tube.metric)
    return order.rank(run.size) > order.ceiling(feed.size)
