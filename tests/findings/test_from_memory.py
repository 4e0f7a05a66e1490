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
    ("kind", "doubtful"), [("bidet", False), ("shower", False), ("hose-bibb", True)]
)
def test_demand_rows(kind: str, doubtful: bool) -> None:
    """Bidet and shower stand in texts that were seen; the hose bibb comes from memory."""
    findings = told(replace_load(sized(sinks(4, kind)), 4.0), "demand")

    assert [finding.level for finding in findings] == (["note"] if doubtful else [])
    if doubtful:
        assert kind in findings[0].message
        assert findings[0].source is not None
        assert findings[0].source.check == "memory"


def replace_load(design: Design, load: float) -> Design:
    """The same design with another load at the source."""
    demand = replace(design.demand, load=(load, *design.demand.load[1:]))
    return replace(design, demand=demand)


@pytest.mark.parametrize(("method", "doubtful"), [("irc", False), ("ipc", False), ("upc", True)])
def test_conversions(method: str, doubtful: bool) -> None:
    """The estimating table of IPC Appendix E was seen row by row, the UPC's chart was not."""
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
