"""Rows marked "from memory" are told where they decided something, and only there."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from supplycalc.model import Fixture, House, Limits, Project
from supplycalc.sizing.design import Design, Finding
from tests.findings.judging import findings_of, sized, with_run
from tests.houses import cold_fixture, home_run, two_storey


def told(case: House | Design, where: str) -> list[Finding]:
    """The notes of one subject."""
    return [finding for finding in findings_of(case, "from-memory") if finding.where == where]


def sinks(count: int, kind: str = "kitchen-sink", method: str = "irc") -> House:
    """Sinks of one kind with a demand method."""
    fixtures: tuple[Fixture, ...] = tuple(
        cold_fixture(f"sink {i}", kind, "manifold", size="1/2") for i in range(count)
    )
    return home_run(count, fixtures=fixtures, project=Project(name="Sinks", demand=method))


@pytest.mark.parametrize(
    ("kind", "doubtful"), [("bidet", False), ("hose-bibb", False), ("shower", True)]
)
def test_demand_rows(kind: str, doubtful: bool) -> None:
    """Bidet and hose bibb stand in prints that were seen; the shower comes from memory."""
    (finding,) = told(sized(sinks(4, kind)), "demand")

    assert finding.level == "note"
    assert (f"its rows for {kind}" in finding.message) is doubtful
    assert finding.source is not None
    assert finding.source.check == "memory"


@pytest.mark.parametrize(("method", "doubtful"), [("irc", True), ("upc", True), ("en806", False)])
def test_conversions(method: str, doubtful: bool) -> None:
    """Of the estimating table of IPC Appendix E a few rows were seen, of the UPC's chart one; the
    European standard's tables were."""
    findings = told(sized(sinks(4, "bidet", method)), "demand")

    assert len(findings) == int(doubtful)
    assert all("its flow for" in finding.message for finding in findings)


def test_every_method_can_be_asked() -> None:
    """No method's tables are missing; the listed method looks at the outlets' own rows."""
    from supplycalc.demand import DEMAND_METHODS, method_record

    without = {name for name in DEMAND_METHODS if not method_record(name).fixture_table}
    assert without == {"listed"}
    for method in DEMAND_METHODS:
        house = sinks(3, method=method)
        project = replace(house.project, listed=("sink 0", "sink 1"))
        notes = told(replace(house, project=project), "demand")
        assert len(notes) <= 1, method
        assert all("not verified" in note.message for note in notes), method


def test_inside_diameters() -> None:
    """PEX has published inside diameters, those of polyethylene sized inside are from memory."""
    seen = sized(with_run(sinks(3), "service", size="3/4"))
    remembered = sized(
        with_run(sinks(3), "service", size="1-1/2", material="pe-sidr9", joining="insert")
    )

    assert told(seen, "inside diameters") == []
    (finding,) = told(remembered, "inside diameters")
    assert "1-1/2" in finding.message
    assert finding.source is not None
    assert "D2239" in finding.source.text


def test_a_limit_from_memory_that_decided() -> None:
    """A hot limit marked as from memory is told where speed decided a hot run's size.

    None of the shipped limits bears that mark, so PEX's gets it here.
    """

    def remembered(design: Design) -> Design:
        tube = next(run.tube for run in design.runs if run.run.name == "hot trunk")
        marked = replace(tube.citations["velocity_hot"], check="memory")
        tube = replace(tube, citations={**tube.citations, "velocity_hot": marked})
        return replace(
            design,
            runs=tuple(
                replace(run, tube=tube) if run.run.name == "hot trunk" else run
                for run in design.runs
            ),
        )

    shipped = sized(two_storey())
    design = remembered(shipped)

    def decided(by: str, case: Design = design) -> list[Finding]:
        runs = tuple(
            replace(run, decided_by=by if run.run.name == "hot trunk" else "least cost")
            for run in case.runs
        )
        return told(replace(case, runs=runs), "limits")

    own = remembered(sized(two_storey(limits=Limits(velocity_hot=2.0))))

    assert len(decided("velocity")) == 1
    assert "hot velocity limit" in decided("velocity")[0].message
    assert decided("pressure") == []
    assert decided("velocity", shipped) == []
    assert decided("velocity", own) == []
