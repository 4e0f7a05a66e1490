"""The study of the demand methods side by side."""

from __future__ import annotations

import jsonschema
import pytest

from supplycalc.model import House
from supplycalc.output.terminal import to_text
from supplycalc.problems import ComputationError
from supplycalc.questions.demand import methods
from supplycalc.questions.demand.page import demand_page
from supplycalc.questions.demand.study import DemandComparison, compare_demand
from supplycalc.questions.size.study import size
from supplycalc.records.schema import result_schema
from supplycalc.sizing.design import Design
from tests.houses import GPM, two_storey


def refuse(monkeypatch: pytest.MonkeyPatch, *refused: str) -> None:
    """Let no trustworthy design be computed by these methods."""

    def size_or_refuse(house: House, method: str) -> Design:
        if method in refused:
            raise ComputationError("the flows do not settle")
        return size(house, method)

    monkeypatch.setattr(methods, "size", size_or_refuse)


def test_a_method_without_a_design_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its reason stands in the answer, as the file asks for it, and in its row; the others are
    compared without it; the JSON keeps its form."""
    refuse(monkeypatch, "irc")
    comparison = compare_demand(two_storey(), methods=("irc", "upc", "exact"))
    irc = next(result for result in comparison.methods if result.method == "irc")
    page = " ".join(to_text(demand_page(comparison, "us", every_run=True), "us").split())
    data = comparison.to_dict("us")

    assert (irc.ok, irc.design_flow, irc.reason) == (False, None, "the flows do not settle")
    assert list(comparison.runs[0].design_flow) == ["upc", "exact"]
    assert page.startswith("Method 'irc' gives no flow: the flows do not settle.")
    assert page.count("the flows do not settle") == 2
    assert data["methods"][0]["worst"] is None
    jsonschema.validate(data, result_schema(DemandComparison))


def test_no_method_at_all_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer gives the reason; nothing passes."""
    refuse(monkeypatch, "irc", "exact", two_storey().project.demand)
    comparison = compare_demand(two_storey(), run="trunk", methods=("irc", "exact"))

    assert comparison.answer("us") == "No method gives a flow for trunk: the flows do not settle"
    assert not comparison.ok
    assert comparison.runs == ()
    assert comparison.why("us") == ()
    assert to_text(demand_page(comparison, "us", every_run=True), "us")


def test_both_sums_are_told() -> None:
    """Bath 4, basin 0.8, closet 3, sink 1.75, tap 5 gpm: 14.55 together; by the code less."""
    comparison = compare_demand(two_storey(), methods=("irc",))
    assert comparison.all_at_once / GPM == pytest.approx(14.55)
    assert comparison.own.design_flow is not None
    assert comparison.own.design_flow < comparison.all_at_once
