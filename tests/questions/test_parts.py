"""The parts list counted by hand on small houses, its prices, and what it warns of."""

from __future__ import annotations

from collections import Counter

import pytest
from msgspec.structs import replace

from supplycalc.model import Device, House, Loss, Manifold, Run
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.parts.manifolds import even_outflow, manifolds
from supplycalc.questions.parts.options import parts_options
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.pipe_lots import lots, strands
from supplycalc.questions.parts.study import parts, parts_of
from supplycalc.questions.parts.supports import sleeve_size, sleeves
from supplycalc.questions.size.study import size
from supplycalc.reading import load, loads
from supplycalc.reading.prices import PriceList, loads_prices
from supplycalc.sizing.design import Finding
from tests.commands.files import SCENARIOS
from tests.houses import (
    FOOT,
    GPM,
    PSI,
    branch,
    cold_fixture,
    home_run,
    mixed_fixture,
    pipe,
    two_storey,
)

LIST = """
[list]
name = "Invented"
date = "2026-03-01"
currency = "USD"
[[pipe]]
material = "pex-sdr9"
size = "1/2"
length = "100 ft"
price = 40
[[part]]
kind = "crimp-ring"
size = "1/2"
pack = 25
price = 10
[[part]]
kind = "stop"
price = 8.5
"""  # invented


def counts(listed: PartsList) -> Counter[tuple[str, str]]:
    """(kind, size) -> number."""
    result: Counter[tuple[str, str]] = Counter()
    for item in listed.items:
        result[item.kind, item.size] += item.count
    return result


def finding(listed: PartsList, code: str) -> Finding:
    """The one finding of a code."""
    (only,) = [finding for finding in listed.findings if finding.code == code]
    return only


def fixed(house: House, **sizes: str) -> House:
    """The same house with sizes fixed by run name (blanks as underscores)."""
    wanted = {name.replace("_", " "): nominal for name, nominal in sizes.items()}

    def each(run: Run) -> Run:
        return replace(run, size=wanted[run.name]) if run.name in wanted else run

    return map_runs(house, each)


def line() -> House:
    """Service 1, trunk 3/4, then a basin 1/2 and a toilet 1/2, all in PEX."""
    return fixed(
        two_storey(
            runs=(
                pipe("service", "source", "entry", 60.0, fittings=(("elbow-90", 2),)),
                pipe("trunk", "entry", "hall", 20.0),
            ),
            devices=(),
            fixtures=(
                cold_fixture("basin", "lavatory", "hall", 25.0),
                cold_fixture("toilet", "water-closet", "hall", 15.0),
            ),
        ),
        service="1",
        trunk="3/4",
        basin_cold="1/2",
        toilet_cold="1/2",
    )


def test_every_fitting_of_a_small_line() -> None:
    """By hand: an adapter, two elbows, a reducer, a tee, two stops; a ring on each tube end."""
    numbers = counts(parts(line()))

    assert numbers["adapter", "1 x 1 MIP"] == 1
    assert numbers["elbow-90", "1"] == 2
    assert numbers["reducer", "1 x 3/4"] == 1
    assert numbers["tee", "3/4 x 1/2 x 1/2"] == 1
    assert numbers["stop", "1/2"] == 2
    # 1 in: adapter 1, elbows 4, reducer 1; 3/4: reducer 1, tee 1; 1/2: tee 2, stops 2
    assert numbers["crimp-ring", "1"] == 6
    assert numbers["crimp-ring", "3/4"] == 2
    assert numbers["crimp-ring", "1/2"] == 4
    assert sum(number for (kind, _), number in numbers.items() if kind == "coupling") == 0


def test_runs_in_line_of_one_size_go_through() -> None:
    """No reducer and no coupling; one piece of both lengths."""
    house = fixed(line(), trunk="1")
    listed = parts(house)

    assert counts(listed)["reducer", "1 x 3/4"] == 0
    assert counts(listed)["coupling", "1"] == 0
    assert counts(listed)["tee", "1 x 1/2 x 1/2"] == 1
    assert "service + trunk" in {strand.name for strand in listed.strands}


def test_pipe_does_not_go_through_where_a_return_starts() -> None:
    """Kept hot up to its end: the next run is a piece of its own, and the list says what lacks."""

    def each(run: Run) -> Run:
        return replace(run, circulated=run.name == "service")

    listed = parts(map_runs(fixed(line(), trunk="1"), each))

    assert counts(listed)["coupling", "1"] == 1
    assert "service + trunk" not in {strand.name for strand in listed.strands}
    assert any("return line" in assumption.text for assumption in listed.assumptions)


def test_sticks_are_joined_by_couplings() -> None:
    """60 ft of 20 ft sticks and 5 % waste: three full ones and a rest, three couplings."""

    def each(run: Run) -> Run:
        return replace(run, material="copper-m", joining="soldered", fittings=())

    listed = parts(map_runs(fixed(line(), trunk="1"), each))
    lot = next(lot for lot in listed.lots if lot.size.nominal == "1")

    assert counts(listed)["coupling", "1"] == 4
    assert lot.length == pytest.approx(80.0 * FOOT)
    assert lot.bought_length == pytest.approx(90.0 * FOOT)
    assert [round(bought.length / FOOT) * bought.count for bought in lot.bought] == [80, 10]
    assert "crimp-ring" not in {item.kind for item in listed.items}


def test_another_tube_takes_two_adapters() -> None:
    """Where polyethylene meets PEX in line: one on each."""
    service = pipe("service", "source", "entry", 60.0, material="pe-cts-sdr9", joining="insert")
    house = replace(line(), runs=(replace(service, size="1"), line().runs[1]))
    listed = parts(house)
    adapters = {
        (item.size, item.material): item.count for item in listed.items if item.kind == "adapter"
    }

    assert adapters == {
        ("1 x 1 MIP", "compression"): 1,  # the source's
        ("1 x 3/4 MIP", "compression"): 1,
        ("3/4 x 3/4 FIP", "crimp"): 1,
    }


def test_devices_take_adapters_on_both_sides() -> None:
    """A filter between two runs: one adapter on each, and it stands in the equipment."""
    filter_ = Device(name="filter", kind="cartridge-filter", start="entry", end="f", loss=Loss())
    runs = (line().runs[0], replace(line().runs[1], start="f"))
    listed = parts(replace(line(), runs=runs, devices=(filter_,)))

    # source and filter; behind the filter 3/4 tube to its 1 in thread
    assert counts(listed)["adapter", "1 x 1 MIP"] == 2
    assert counts(listed)["adapter", "3/4 x 1 MIP"] == 1
    assert counts(listed)["union", "1"] == 2
    assert counts(listed)["nipple", "1"] == 2
    assert counts(listed)["by-pass", "1"] == 1
    assert counts(listed)["cartridge-filter", ""] == 1


def test_three_ways_out_take_two_tees() -> None:
    """The smallest branches off first, the largest goes on."""
    house = line()
    fixtures = (*house.fixtures, cold_fixture("tap", "hose-bibb", "hall", 10.0))
    numbers = counts(parts(fixed(replace(house, fixtures=fixtures), tap_cold="3/4", service="1")))

    assert numbers["tee", "3/4 x 3/4 x 1/2"] == 2
    assert numbers["wall-elbow", "3/4"] == 1


def test_tees_of_another_tube_are_as_wide_as_what_feeds_them() -> None:
    """A 1-1/4 in polyethylene service into five PEX runs of 1/2 in: a line of 1-1/4 in PEX tees."""
    service = pipe("service", "source", "entry", 60.0, material="pe-cts-sdr9", joining="insert")
    fixtures = tuple(cold_fixture(f"basin {i}", "lavatory", "entry", 10.0) for i in range(5))
    house = replace(line(), runs=(replace(service, size="1-1/4"),), fixtures=fixtures)
    listed = parts(fixed(house, **{f"basin_{i}_cold": "1/2" for i in range(5)}))
    numbers = counts(listed)

    assert numbers["tee", "1-1/4 x 1-1/4 x 1/2"] == 3
    assert numbers["tee", "1-1/4 x 1/2 x 1/2"] == 1
    adapters = {
        (item.size, item.material): item.count for item in listed.items if item.kind == "adapter"
    }
    assert adapters == {
        ("1-1/4 x 1-1/4 MIP", "compression"): 2,
        ("1-1/4 x 1-1/4 FIP", "crimp"): 1,
    }
    assert finding(listed, "many-tees").where == "entry"


def test_tees_behind_a_device_are_as_wide_as_its_feed() -> None:
    """Two 1/2 in runs from a filter that a 1 in pipe feeds: a 1 in tee behind it."""
    filter_ = Device(name="filter", kind="cartridge-filter", start="entry", end="hall", loss=Loss())
    house = replace(line(), runs=line().runs[:1], devices=(filter_,))

    assert counts(parts(house))["tee", "1 x 1/2 x 1/2"] == 1


def test_fixture_ends_by_their_kind() -> None:
    """Basins have stops, a washing machine one box; of a shower the arm has the wall elbow."""
    house = two_storey(
        fixtures=(
            mixed_fixture("shower", "shower", "hall", "hot hall"),
            mixed_fixture("basin", "lavatory", "hall", "hot hall"),
            mixed_fixture("washer", "clothes-washer", "hall", "hot hall"),
        )
    )
    listed = parts(house)
    ends = Counter(
        {
            kind: sum(item.count for item in listed.items if item.kind == kind)
            for kind in ("stop", "wall-elbow", "washer-box")
        }
    )

    assert ends == {"stop": 2, "wall-elbow": 1, "washer-box": 1}


def test_wall_elbows_belong_to_arm_and_spout() -> None:
    """By hand: a tub-shower has two, its valve takes cold and hot tube direct with a ring each."""
    bare = two_storey(fixtures=(mixed_fixture("basin", "lavatory", "hall", "hot hall"),))
    tub = replace(bare, fixtures=(mixed_fixture("tub", "tub-shower", "hall", "hot hall"),))
    rings = []
    for house in (bare, tub):
        listed = parts(house)
        rings.append(sum(item.count for item in listed.items if item.kind == "crimp-ring"))
        assert not any(item.kind == "direct" for item in listed.items)

    assert counts(parts(tub))["wall-elbow", "1/2"] == 2
    assert not any(item.kind == "stop" for item in parts(tub).items)
    # two tube ends at the two stops or the valve's inlets, then two pieces of tube with two ends
    assert rings[1] - rings[0] == 4


def test_listed_stop_is_not_counted_twice() -> None:
    """A stop that the branch lists is the one at its fixture; a second one is one more."""
    house = line()

    def listing(number: int) -> House:
        return map_runs(
            house,
            lambda run: (
                replace(run, fittings=(("stop", number),)) if run.name == "basin cold" else run
            ),
        )

    assert counts(parts(listing(1)))["stop", "1/2"] == 2
    assert counts(parts(listing(2)))["stop", "1/2"] == 3


def test_manifold_ports_valves_spares() -> None:
    """Six used of eight: six port valves, two caps, a shut-off, a drain, a body of eight."""
    house = home_run(ports=6)
    house = replace(house, manifolds=(Manifold(name="manifold", start="entry", ports=8),))
    listed = parts(house)
    numbers = counts(listed)

    assert sum(number for (kind, _), number in numbers.items() if kind == "port-valve") == 6
    assert numbers["port-cap", ""] == 2
    assert numbers["drain-valve", ""] == 1
    assert sum(number for (kind, _), number in numbers.items() if kind == "ball-valve") == 1
    (body,) = [item for item in listed.items if item.kind == "manifold"]
    assert (body.count, body.note) == (1, "8 ports")
    assert len(listed.manifolds[0].ports) == 6
    assert listed.manifolds[0].spare == 2
    # no tees at a manifold
    assert not any(kind == "tee" for kind, _ in numbers)


def test_spare_ports_where_the_file_gives_none() -> None:
    """15 % of six, at least one: one."""
    house = home_run(ports=6)
    listed = parts(replace(house, manifolds=(Manifold(name="manifold", start="entry"),)))

    assert listed.manifolds[0].total == 7
    assert "spare ports of manifold are ours" in " ".join(
        assumption.text for assumption in listed.assumptions
    )


def test_full_manifold_is_told() -> None:
    """All ports taken."""
    assert "all 6 ports are taken" in finding(parts(home_run(ports=6)), "no-spare-port").message


def test_listed_valve_is_the_manifolds_shut_off() -> None:
    """A ball valve on the feed is not bought again."""
    house = home_run(ports=3)
    feed = replace(house.runs[0], fittings=(("ball-valve", 1),))
    numbers = counts(parts(replace(house, runs=(feed,))))

    assert sum(number for (kind, _), number in numbers.items() if kind == "ball-valve") == 1


def test_ports_say_why_no_smaller() -> None:
    """Sizes and reasons are those of the design."""
    design = size(home_run(ports=4))
    (use,) = manifolds(design)
    for port in use.ports:
        result = design.run(port.run.name)
        assert port.run.size == result.size
        if result.next_smaller is not None:
            assert result.next_smaller.nominal in port.why_not_smaller
        else:
            assert port.smallest


def test_manifold_body_loss_by_hand() -> None:
    """Port by port with the flow that is left, squared: 1, (n-1)/n ... 1/n."""
    for n in (1, 2, 8):
        by_hand = sum(((n - k) / n) ** 2 for k in range(n)) / n
        assert even_outflow(n) == pytest.approx(by_hand, rel=1e-12)
    (use,) = manifolds(size(home_run(ports=6)))
    assert 0.0 < use.body_loss < 0.5 * PSI


def slab_house(**more: object) -> House:
    """A manifold whose branches run in the slab."""
    fixtures = tuple(
        replace(
            cold_fixture(f"basin {i}", "lavatory", "manifold", 20.0 + 10 * i),
            cold=branch(f"basin {i}", "cold", "manifold", 20.0 + 10 * i, embedded=True, **more),
        )
        for i in range(3)
    )
    return replace(home_run(ports=3), fixtures=fixtures)


def test_embedded_runs_are_one_piece_each() -> None:
    """One strand each, no coupling, each whole in one coil; sleeves at both ends."""
    listed = parts(slab_house())
    buried = [strand for strand in listed.strands if strand.below]

    assert sorted(strand.name for strand in buried) == [
        "basin 0 cold",
        "basin 1 cold",
        "basin 2 cold",
    ]
    assert all(len(strand.runs) == 1 for strand in buried)
    assert not any(item.kind == "coupling" for item in listed.items)
    assert sum(sleeve.count for sleeve in listed.sleeves) == 6
    assert not any(
        "basin" in place
        for item in listed.items
        if item.group == "supports"
        for place in item.places
    )


def test_embedded_sticks_fail() -> None:
    """CPVC comes in 10 ft sticks: joints in the slab."""
    listed = parts(slab_house(material="cpvc-sdr11", joining="socket"))
    levels = {finding.level for finding in listed.findings if finding.code == "joints-out-of-reach"}

    assert levels == {"fail"}
    assert not listed.ok


def test_longer_than_a_coil_below_ground_is_a_special_order() -> None:
    """350 ft of 1-1/4 in PEX with 5 % waste: one piece, not two with a joint."""
    service = pipe("service", "source", "entry", 350.0, size="1-1/4", buried=1.0)
    listed = parts(replace(home_run(ports=3), runs=(service,)))
    (lot,) = [lot for lot in listed.lots if lot.size.nominal == "1-1/4"]

    assert [(bought.special, bought.count) for bought in lot.bought] == [(True, 1)]
    assert lot.bought_length == pytest.approx(350.0 * 1.05 * FOOT)
    assert finding(listed, "coil-too-short").where == "service"


def test_longer_than_a_coil_in_reach_is_joined() -> None:
    """The same in the open: a coupling."""
    service = pipe("service", "source", "entry", 350.0, size="1-1/4")
    listed = parts(replace(home_run(ports=3), runs=(service,)))

    assert counts(listed)["coupling", "1-1/4"] == 1
    assert "coil-too-short" not in {finding.code for finding in listed.findings}


def test_sleeve_is_two_sizes_larger_and_wider_than_the_pipe() -> None:
    """1/2 in tube in a 1 in sleeve; a metric tube counts by its outside diameter."""
    design = size(fixed(slab_house(), **{f"basin_{i}_cold": "1/2" for i in range(3)}))
    run = design.run("basin 0 cold")
    nominal, inside_diameter = sleeve_size(design, run)

    assert nominal == "1"
    assert inside_diameter > run.size.outside_diameter
    service = design.tree.catalogue.tubes["pe-cts-sdr9"]
    for own, sleeve in (("1-1/4", "2"), ("1-1/2", "2-1/2"), ("2", "3")):
        other = replace(run, tube=service, size=service.size(own))
        nominal, inside_diameter = sleeve_size(design, other)
        assert nominal == sleeve
        assert inside_diameter > other.size.outside_diameter
    metric = design.tree.catalogue.tubes["multilayer"]
    for metric_size in metric.sizes[:4]:
        other = replace(run, tube=metric, size=metric_size)
        _, inside_diameter = sleeve_size(design, other)
        assert inside_diameter > metric_size.outside_diameter


def test_tees_behind_equipment_are_no_wider_than_what_leaves_them() -> None:
    """A line of two inches up to a filter with 1 in threads: behind it tees as wide as the widest
    pipe that leaves them, not once more two inches; where all are thinner, as its threads."""
    house = load(SCENARIOS / "hill-tank.toml")
    as_wide = {need.size for need in parts(house).items if need.kind == "tee"}
    sizes = {"line from the tank": "2", "riser": "3/4", "heater feed": "3/4"}
    thin = {need.size for need in parts(fixed(house, **sizes)).items if need.kind == "tee"}

    assert size(house).run("line from the tank").nominal == "2"
    assert {tee for tee in as_wide if tee.startswith("2 ")} == set()
    assert "1-1/4 x 1-1/4 x 1/2" in as_wide
    assert "1 x 3/4 x 3/4" in thin
    valley = {need.size for need in parts(load(SCENARIOS / "valley-house.toml")).items}
    assert "3/4 x 3/4 x 3/4" not in valley  # behind a meter, before what takes 20 gpm and more


def test_service_has_a_sleeve_at_the_house_alone() -> None:
    """Not at the source's end."""
    house = replace(home_run(ports=3), runs=(pipe("service", "source", "entry", 60.0, buried=1.0),))

    assert [sleeve.count for sleeve in sleeves(size(house))] == [1]


def test_unlisted_fittings_are_told() -> None:
    """A run without a list: only its ends are counted."""
    house = map_runs(line(), lambda run: replace(run, fittings=None))

    assert "no fittings" in finding(parts(house), "fittings-not-listed").message


def test_listed_tee_without_a_branch_is_told() -> None:
    """A tee on the service, where nothing branches off."""
    house = map_runs(
        line(),
        lambda run: replace(run, fittings=(("tee-run", 1),)) if run.name == "service" else run,
    )
    # service meets trunk in line: no junction
    assert finding(parts(house), "tee-without-branch").where == "service"


def test_insulation_of_marked_and_asked_for_runs() -> None:
    """Lengths by size in pieces of 6 ft; marked ones apart from those that the code asks for."""
    house = fixed(two_storey(), hot_trunk="3/4")
    listed = parts(house)
    (asked,) = [item for item in listed.items if item.kind == "insulation" and item.size == "3/4"]
    trunk = house.runs[3]

    assert "energy code" in asked.note
    assert asked.count >= -(-trunk.length // (6 * FOOT))
    marked = map_runs(
        house, lambda run: replace(run, insulated=True) if run.name == "hot trunk" else run
    )
    notes = [item.note for item in parts(marked).items if "hot trunk" in item.places]
    assert "" in notes


def price_list(text: str = LIST) -> PriceList:
    """The invented list."""
    return loads_prices(text)


def test_prices_and_what_has_none() -> None:
    """Coils, packs and pieces by hand; everything else named, nothing guessed."""
    listed = parts(line(), prices=price_list())
    by_kind = {(item.kind, item.size): item for item in listed.items}
    rings, stops = by_kind["crimp-ring", "1/2"], by_kind["stop", "1/2"]
    coil = by_kind["coil", "1/2"]

    assert (rings.count, rings.packs, rings.amount) == (4, 1, pytest.approx(10.0))
    assert stops.amount == pytest.approx(2 * 8.5)
    assert (coil.count, coil.amount) == (1, pytest.approx(40.0))
    assert listed.total == pytest.approx(10.0 + 17.0 + 40.0)
    assert ("tee", "3/4 x 1/2 x 1/2") in {(item.kind, item.size) for item in listed.unpriced}
    assert finding(listed, "no-price").message.startswith("no price for ")
    assert all(item.price is None and item.amount is None for item in listed.unpriced)


def test_lengths_of_the_list_replace_the_usual_ones() -> None:
    """Only 100 ft coils of 1/2 inch in the list: nothing else is bought."""
    listed = parts(line(), prices=price_list())
    (lot,) = [lot for lot in listed.lots if lot.size.nominal == "1/2"]

    assert {round(bought.length / FOOT) for bought in lot.bought} == {100}


def test_tube_that_is_cut_to_length() -> None:
    """Any length at the price of one foot."""
    text = LIST.replace('length = "100 ft"\nprice = 40', 'length = "1 ft"\nprice = 0.5\ncut = true')
    listed = parts(line(), prices=price_list(text))
    (lot,) = [lot for lot in listed.lots if lot.size.nominal == "1/2"]
    (item,) = [item for item in listed.items if item.kind == "cut to length"]

    assert lot.supplied_as == "cut"
    assert lot.bought_length == pytest.approx(40.0 * 1.05 * FOOT)
    assert item.amount == pytest.approx(40.0 * 1.05 * 0.5)


def test_a_failing_design_is_not_to_be_bought() -> None:
    """Too little pressure: the list says so."""
    house = line()
    weak = replace(house, source=replace(house.source, cut_in=1.0 * PSI))
    listed = parts(weak)

    assert not listed.ok
    assert "fails" in finding(listed, "parts-of-failing-design").message


def test_planned_fixtures_are_named() -> None:
    """They are counted, and the list says so."""
    house = line()
    fixtures = (house.fixtures[0], replace(house.fixtures[1], planned=True))
    listed = parts(replace(house, fixtures=fixtures))

    assert "planned fixtures are counted in: toilet" in [
        assumption.text for assumption in listed.assumptions
    ]


def test_waste_is_the_users() -> None:
    """Cut lengths with 12 % instead of the usual share."""
    design = size(line())
    listed = parts_of(design, waste=0.12)

    for lot in listed.lots:
        assert lot.cut_length == pytest.approx(1.12 * lot.length, rel=1e-12)


def test_every_run_is_in_one_strand() -> None:
    """Nothing lost, nothing twice."""
    design = size(two_storey())
    names = [run.name for strand in strands(design, None, 0.05) for run in strand.runs]

    assert sorted(names) == sorted(run.name for run in design.runs)
    assert sum(lot.length for lot in lots(strands(design, None, 0.0), None, 0.0)) == pytest.approx(
        sum(run.run.length for run in design.runs)
    )


def test_options_are_the_lists_of_the_fixed_sizes() -> None:
    """Each choice has the parts of a house with that size."""
    house = two_storey()
    listed = parts_options(house, run="service", sizes=("1", "1-1/4"), prices=price_list())
    for option in listed.options:
        assert option.option.size is not None
        alone = parts(fixed(house, service=option.option.size), prices=price_list())
        assert option.parts is not None
        assert counts(option.parts) == counts(alone)
        assert option.total == pytest.approx(alone.total)


def test_flow_of_the_ports_is_the_designs() -> None:
    """A basin's port carries its own flow."""
    (use,) = manifolds(size(home_run(ports=2)))

    assert use.ports[0].run.design_flow == pytest.approx(0.8 * GPM, rel=1e-9)


def test_a_foot_valve_that_is_listed_is_bought_once() -> None:
    """At the end of a jet pump's suction pipe there is one, listed for its loss or not."""
    hut = (SCENARIOS / "lake-hut.toml").read_text(encoding="utf-8")
    drop = next(line for line in hut.splitlines() if line.startswith("drop_pipe"))
    suction = (
        '[[run]]\nname = "suction"\nfrom = "well"\nto = "pump inlet"\nmaterial = "pe-cts-sdr9"\n'
        'size = "1-1/4"\nlength = "6 m"\nfittings = { foot-valve = 1 }\n\n[[run]]'
    )
    listed = hut.replace(drop, "").replace("[[run]]", suction, 1)
    listed = listed.replace(
        'kind          = "jet"', 'kind = "jet"\nfrom = "pump inlet"\nto = "source"'
    )

    for text in (hut, listed):
        items = parts(loads(text)).items
        assert [item.count for item in items if item.kind == "foot-valve"] == [1]


def test_pipe_of_rough_length_is_to_be_measured_before_it_is_bought() -> None:
    """It is counted at the middle of its range."""
    cottage = (SCENARIOS / "ridge-cottage.toml").read_text(encoding="utf-8")
    rough = cottage.replace('length   = "85 ft"', 'length = "70 to 100 ft"', 1)
    assert rough != cottage

    for text, expected in ((cottage, 0), (rough, 1)):
        codes = [finding.code for finding in parts(loads(text)).findings]
        assert codes.count("rough-lengths") == expected
