"""All rules together: order, stability, marks, and nothing said of a sound house but notes."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace

import supplycalc
from supplycalc.findings import RULES, judge
from supplycalc.findings.rule import Remark, rule
from supplycalc.model import Device, House, Limits, Loss, Tank, Water
from supplycalc.records.sentences import sentence
from supplycalc.sizing import design as design_module
from supplycalc.sizing.design import Design
from supplycalc.tables import load_table
from supplycalc.units import DIMENSIONS
from tests.findings.judging import INCH, PSI, fahrenheit, sized, with_run
from tests.houses import home_run, two_storey, well

PACKAGE = Path(supplycalc.__file__).parent


def broken() -> House:
    """A house in which most rules find something."""
    house = two_storey(
        source=replace(well(70.0, 110.0), tank=Tank(precharge=40.0 * PSI, max_pressure=100 * PSI)),
        water=Water(hot=fahrenheit(150.0)),
        limits=Limits(frost_depth=36.0 * INCH),
    )
    house = with_run(house, "service", size="1/2", buried=20.0 * INCH)
    house = with_run(house, "trunk", embedded=True, joints=2, size="1/2")
    house = with_run(house, "toilet cold", embedded=True, size="3/4")
    house = with_run(house, "hot trunk", material="pe-cts-sdr9", joining="insert")
    fixtures = tuple(
        replace(fixture, valve="plain") if fixture.name == "bath" else fixture
        for fixture in house.fixtures
    )
    check = Device(name="check", kind="check", start="source", end="checked", loss=Loss())
    runs = tuple(
        replace(run, start="checked") if run.start == "source" else run for run in house.runs
    )
    return replace(house, fixtures=fixtures, devices=(check, *house.devices), runs=runs)


@pytest.mark.parametrize(
    "house", [broken(), two_storey(), home_run()], ids=["broken", "two", "one"]
)
def test_findings_are_ordered_stable_and_not_repeated(house: House) -> None:
    """Fails, warnings, notes; twice the same; one finding for each code and place."""
    design = sized(house)
    findings = judge(design)
    order = [("fail", "warn", "note").index(finding.level) for finding in findings]

    assert order == sorted(order)
    assert findings == judge(design)
    assert findings == design.findings
    assert len({(finding.code, finding.where) for finding in findings}) == len(findings)


def test_a_broken_house_has_many_findings() -> None:
    """At least a dozen kinds, among them failures and warnings."""
    findings = judge(sized(broken()))

    assert len({finding.code for finding in findings}) >= 12
    assert {finding.level for finding in findings} == {"fail", "warn", "note"}


def test_a_sound_house_keeps_every_limit() -> None:
    """Two storeys on 40/60 psi: notes, and the code's own size table beside the computed sizes."""
    told = [finding for finding in judge(sized(two_storey())) if finding.level != "note"]

    assert [finding for finding in told if finding.code != "below-code-table"] == []


@pytest.mark.parametrize(
    "house", [broken(), two_storey(), home_run()], ids=["broken", "two", "one"]
)
def test_every_mark_has_a_value_of_a_known_dimension(house: House) -> None:
    """Messages and remedies read well in both systems: no mark is left, and units differ."""
    for finding in judge(sized(house)):
        for text, values in (
            (finding.message, finding.values),
            (finding.remedy, finding.remedy_values),
        ):
            marks = {int(mark) for mark in re.findall(r"\{(\d+)\}", text)}
            assert all(mark < len(values) for mark in marks)
            assert all(dimension in DIMENSIONS for _, dimension in values)
            if marks:
                assert sentence(text, values, "us") != sentence(text, values, "metric")
        assert "{" not in finding.said("us")


def test_codes_are_kebab_case_and_rules_are_documented() -> None:
    """Codes go into JSON; each rule says in its docstring what it judges."""
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.code) for rule in RULES)
    assert all(rule.judges for rule in RULES)


def calls(name: str) -> Iterator[ast.Call]:
    """Every call of a function or class in the package."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == name:
                yield node


def test_a_code_is_declared_once() -> None:
    """By its rule, which has its turn in `RULES`; no question gives it to findings of its own."""
    codes = [call.args[0] for call in calls("rule")]
    declared = [
        getattr(design_module, code.id) if isinstance(code, ast.Name) else ast.literal_eval(code)
        for code in codes
    ]
    given = {
        keyword.value.value
        for call in calls("Finding")
        for keyword in call.keywords
        if keyword.arg == "code" and isinstance(keyword.value, ast.Constant)
    }

    assert sorted(declared) == sorted(rule.code for rule in RULES)
    assert len(set(declared)) == len(declared)
    assert given & set(declared) == set()


def test_a_new_rule_is_one_record() -> None:
    """A toy rule: its code and level stand with its function, and nothing else knows of it."""

    @rule("odd-name", "note", well=True)
    def odd_name(design: Design) -> Iterator[Remark]:
        """A house whose name is odd."""
        yield Remark(where="project", message="its name is odd")
        yield Remark(where="project", message="its name is very odd", level="fail")

    findings = judge(sized(two_storey()), (*RULES, odd_name))
    told = [finding for finding in findings if finding.code == "odd-name"]

    assert [finding.level for finding in told] == ["fail", "note"]
    assert findings[0] == told[0]
    assert odd_name.judges == "A house whose name is odd."


def test_limits_of_the_findings_name_their_source() -> None:
    """Every limit of the data file has a known source and says how it was checked."""
    known = load_table("sources")
    for name, row in load_table("findings_limits")["limit"].items():
        assert row["source"] in known, name
        assert row["check"] in ("seen", "memory", "derived", "common practice"), name
