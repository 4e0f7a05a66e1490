"""Irrigation, stock waterers, whirlpool tubs, ice makers and yard hydrants are kinds of their own.

Sources: International Plumbing Code, Appendix E, E102.2 (lawn sprinklers are estimated in gpm and
added to the fixtures' flow); Uniform Plumbing Code, Table 610.3 (a bathtub with a filler of 3/4
inch counts 10 units); EN 806-3, Table 2 (a large bath 8 loading units); EN 1717 (category 5 behind
animals and soil). The houses are invented; flows of outlets without a row are common practice.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.demand import DEMAND_METHODS, design_flows
from supplycalc.model import House
from supplycalc.network import build_tree
from tests.demand.houses import home_runs, house_of
from tests.findings.judging import findings_of
from tests.houses import GPM

NEW = ["irrigation", "stock-waterer", "whirlpool-tub", "ice-maker", "yard-hydrant"]


def flow_at_service(house: House) -> float:
    """Design flow of the whole house [gpm]."""
    return design_flows(build_tree(house)).design_flow[0] / GPM


@pytest.mark.parametrize("method", DEMAND_METHODS)
def test_irrigation_runs_for_hours_on_top_of_the_house(method: str) -> None:
    """E102.2: what it draws is added to the others' flow; of two zones one waters at a time."""
    indoors = ["tub-shower", "kitchen-sink"]
    bare = flow_at_service(home_runs(indoors, method))
    one = home_runs([*indoors, "irrigation"], method)
    two = home_runs([*indoors, "irrigation", "irrigation"], method)
    zone = build_tree(one).outlets[-1].flow / GPM
    assert flow_at_service(one) == pytest.approx(bare + zone)
    assert flow_at_service(two) == pytest.approx(bare + zone)
    larger = replace(
        two,
        fixtures=tuple(
            replace(each, flow=12.0 * GPM) if each.name.endswith("3") else each
            for each in two.fixtures
        ),
    )
    assert flow_at_service(larger) == pytest.approx(bare + max(zone, 12.0))


def test_a_large_tub_counts_by_its_own_row_where_the_book_has_one() -> None:
    def load(method: str) -> float:
        return design_flows(build_tree(home_runs(["whirlpool-tub"], method))).load[0]

    assert load("upc") == pytest.approx(10.0)
    assert load("en806") == pytest.approx(16.0)  # 8 on either side of a mixer
    assert load("irc") == pytest.approx(1.4)  # no row of its own: the bathtub's


def test_a_large_tub_fills_faster_than_a_bath() -> None:
    tree = build_tree(home_runs(["bathtub", "whirlpool-tub"]))
    flows = {outlet.fixture.kind: outlet.flow / GPM for outlet in tree.outlets}
    assert flows["whirlpool-tub"] > 1.5 * flows["bathtub"]


def test_a_stock_waterer_counts_as_a_hose_bibb() -> None:
    for method in ("irc", "upc", "en806"):
        bibb, waterer = (
            design_flows(build_tree(home_runs([kind], method))).load[0]
            for kind in ("hose-bibb", "stock-waterer")
        )
        assert waterer == pytest.approx(bibb)


@pytest.mark.parametrize("method", ["irc", "upc", "din1988"])
def test_each_is_guarded_against_backflow(method: str) -> None:
    house = house_of({"yard": ["irrigation", "stock-waterer", "yard-hydrant"]}, method)
    (lawn,) = findings_of(house, "irrigation-backflow")
    (stock,) = findings_of(house, "stock-waterer")
    (hose,) = findings_of(house, "hose-connection")
    assert "irrigation" in lawn.where
    assert "stock-waterer" in stock.where
    assert "yard-hydrant" in hose.where
    assert "irrigation" not in hose.where
    if method == "din1988":
        assert "EN 1717" in str(lawn.source)
        assert "category 5" in lawn.message
        assert "free outlet" in stock.remedy
    else:
        assert "vacuum breaker" in lawn.remedy
        assert "air gap" in stock.remedy


def test_hydrant_and_waterer_drain_below_the_frost() -> None:
    house = house_of({"yard": ["stock-waterer", "yard-hydrant"]}, "irc")
    for code in ("stock-waterer", "yard-hydrant"):
        (finding,) = findings_of(house, code)
        assert "frost" in finding.remedy
        assert "drain" in f"{finding.message} {finding.remedy}"


def test_a_whirlpool_tub_scalds_as_a_bath_does() -> None:
    house = house_of({"bath": ["whirlpool-tub"]}, "irc")
    hot = replace(house, water=replace(house.water, hot=(150 + 459.67) / 1.8))
    assert any(f.level == "warn" and "whirlpool" in f.where for f in findings_of(hot, "scald"))


def test_every_command_takes_them(tmp_path: object) -> None:
    house = home_runs(["tub-shower", "lavatory", *NEW], "irc")
    design = sc.size(house)
    assert len({outlet.fixture.kind for outlet in design.outlets}) == 7
    listed = [item for item in sc.parts(house).items if "ice-maker" in item.kind]
    places = " ".join(place for item in listed for place in item.places)
    assert "ice-maker" in places
    assert sc.hot(house).outlets
    assert sc.flow(house, [house.fixtures[0].name]).ok in (True, False)


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("sprinkler", "irrigation"),
        ("trough", "stock-waterer"),
        ("jetted tub", "whirlpool-tub"),
        ("icemaker", "ice-maker"),
        ("hydrant", "yard-hydrant"),
    ],
)
def test_the_trades_words_are_answered(word: str, kind: str) -> None:
    text = sc.write(house_of({"a": ["lavatory"]}, "irc")).replace('"lavatory"', f'"{word}"')
    with pytest.raises(sc.InputError, match=f"did you mean '{kind}'"):
        sc.loads(text)
