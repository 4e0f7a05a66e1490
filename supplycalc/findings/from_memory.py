"""Figures from memory, not verified in a text, that decided something in this design."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from supplycalc.catalogue import FixtureKind
from supplycalc.demand import method_record
from supplycalc.demand.loads import is_public
from supplycalc.findings.rule import Remark, rule
from supplycalc.findings.words import listed
from supplycalc.model import Fixture
from supplycalc.sizing.design import Design
from supplycalc.sizing.velocity_limits import fastest
from supplycalc.tables import Citation, citation_of, load_table

REMEDY = "check it against your own code or standard before you rely on it"


@rule("from-memory", "note")
def from_memory(design: Design) -> Iterator[Remark]:
    """Figures from memory, not verified in a text, that decided something in this design."""
    yield from _demand(design)
    yield from _limits(design)
    yield from _inside_diameters(design)


def _demand(design: Design) -> Iterator[Remark]:
    """Rows of the demand method's tables that this house uses and nobody verified."""
    method = method_record(design.demand.method)
    fixtures = design.house.fixtures
    kinds = {fixture.kind: design.tree.kind_of(fixture) for fixture in fixtures}
    if not method.fixture_table:
        yield from _outlet_flows(design, fixtures, kinds)
        return
    table = method.tables[method.fixture_table]
    checks, row_of = _checks(table), method.row_of
    check_of = {kind: checks.get(row_of.get(kind, "")) for kind in kinds}
    if method.name in ("irc", "ipc"):
        in_public = _checks(load_table("demand_ipc")["public"])
        for fixture in fixtures:
            if is_public(design.tree, fixture) and fixture.kind in in_public:
                check_of[fixture.kind] = in_public[fixture.kind]
    doubtful = [kind for kind, check in check_of.items() if check == "memory"]
    parts = [f"its rows for {listed(doubtful)}"] if doubtful else []
    citation = citation_of(table, "memory")
    if method.conversion is not None:
        file, name = method.conversion
        conversion = load_table(file)[name]
        load = design.demand.load[0]
        if conversion["check"] == "memory":
            parts.append(f"its flow for {load:.1f} {method.load_name}")
            citation = citation if doubtful else citation_of(conversion, "memory")
    if parts:
        yield Remark(
            where="demand",
            message=f"from the table of demand method {method.name!r}, not verified: "
            f"{' and '.join(parts)}",
            remedy=REMEDY,
            source=citation,
        )


def _limits(design: Design) -> Iterator[Remark]:
    """Limits and requirements from memory that decided a size or the worst fixture's margin."""
    decisive: dict[str, Citation] = {}
    fixtures = {fixture.name: fixture for fixture in design.house.fixtures}
    own = {"cold": design.house.limits.velocity_cold, "hot": design.house.limits.velocity_hot}
    for result in design.runs:
        if result.decided_by == "velocity" and own[result.side] is None:
            _, citation = fastest(design.tree, result.index, result.tube)
            decisive[f"the {result.side} velocity limit of {result.tube.name}"] = citation
        elif result.decided_by == "service minimum" and not design.house.limits.service_minimum:
            decisive["the smallest water service"] = (
                method_record(design.demand.method).limit("service-minimum").citation
            )
        elif result.decided_by == "fixture minimum" and result.run.fixture is not None:
            kind = design.tree.kind_of(fixtures[result.run.fixture])
            decisive[f"the smallest branch of a {kind.title}"] = kind.minimum_citation
    worst = design.worst.fixture
    kind = design.tree.kind_of(worst)
    if worst.pressure is None:
        decisive[f"the pressure that a {kind.title} needs"] = kind.citation
    doubtful = {text: citation for text, citation in decisive.items() if citation.from_memory}
    if doubtful:
        yield Remark(
            where="limits",
            message=f"what decided here was read in no print: {listed(doubtful)}",
            remedy=REMEDY,
            source=next(iter(doubtful.values())),
        )


def _inside_diameters(design: Design) -> Iterator[Remark]:
    """Inside diameters from memory, or derived from dimensions that are, by family."""
    sizes: dict[str, list[str]] = {}
    sources: list[Citation] = []
    for result in design.every_run:
        for citation in (result.size.inside_diameter_citation, result.size.citation):
            if citation.from_memory:
                sources.append(citation)
                sizes.setdefault(result.tube.name, []).append(result.size.nominal)
    if sizes:
        families = [f"{name} in {listed(nominals)}" for name, nominals in sizes.items()]
        yield Remark(
            where="inside diameters",
            message=f"not verified in the standard: {'; '.join(families)}",
            remedy="compare with the tube that you buy",
            source=sources[0],
        )


def _outlet_flows(
    design: Design, fixtures: tuple[Fixture, ...], kinds: dict[str, FixtureKind]
) -> Iterator[Remark]:
    given = {fixture.kind for fixture in fixtures if fixture.flow is None}
    doubtful = [kind for name, kind in kinds.items() if name in given and kind.citation.from_memory]
    if doubtful:
        yield Remark(
            where="demand",
            message=f"flow not verified: {listed(kind.name for kind in doubtful)}",
            remedy=REMEDY,
            source=doubtful[0].citation,
        )


def _checks(table: dict[str, Any]) -> dict[str, str]:
    """Row name -> how it was verified; the table's own mark where the rows have none."""
    columns = table["columns"]
    if "check" not in columns:
        return {row[0]: table["check"] for row in table["rows"]}
    column = columns.index("check")
    return {row[0]: row[column] for row in table["rows"]}
