"""Orders counted by hand, as a plumber and a counter man would, against what `parts` lists.

The sizes are fixed here, so that an order does not move with the hydraulics. The counts were made
on paper from the files: pipe by pipe, every end of every tube (common practice, no source).
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import fixture_kinds
from supplycalc.hydraulics.fittings import fitting_k, manifold_port_k
from supplycalc.hydraulics.water import density
from supplycalc.model import (
    Device,
    House,
    Loss,
    Manifold,
    Pump,
    Run,
    Tank,
    Well,
)
from supplycalc.model.field_paths import map_runs
from supplycalc.questions.parts.items import GROUPS
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.study import parts
from supplycalc.questions.parts.tables import group_tables, list_table
from supplycalc.reading import load
from supplycalc.reading.prices import loads_prices
from supplycalc.tables import load_table
from tests.commands.files import SCENARIOS
from tests.houses import (
    FOOT,
    GPM,
    PSI,
    cold_fixture,
    drop_pipe,
    home_run,
    mixed_fixture,
    offset_pipe,
    pipe,
    two_storey,
    well,
)
from tests.supply.stations import CURVE, GALLON

Key = tuple[str, str, str]
"""(kind, size, tube or joint)"""


def order(listed: PartsList, *groups: str) -> dict[Key, int]:
    """Number of each part of some groups."""
    result: Counter[Key] = Counter()
    for item in listed.items:
        if item.group in groups:
            result[item.kind, item.size, item.material] += item.count
    return dict(result)


def scheduled(file: Path, sizes: dict[str, str]) -> House:
    """A scenario with every run's size fixed by name, or by "rest"."""

    def each(run: Run) -> Run:
        return replace(run, size=sizes.get(run.name, sizes["rest"]), sizes=())

    return map_runs(load(file), each)


def kinds(listed: PartsList, *wanted: str) -> dict[str, int]:
    """Number of parts of some kinds, whatever their size."""
    return {kind: sum(item.count for item in listed.items if item.kind == kind) for kind in wanted}


RIDGE = {
    "drop pipe": "1-1/4",
    "service": "1-1/4", "main to manifold": "1-1/4", "cold to heater": "1-1/4",
    "heater to hot manifold": "1-1/4", "upstairs bath cold": "3/4", "upstairs bath hot": "3/4",
    "upstairs toilet cold": "3/4", "garden tap cold": "3/4", "upstairs basin cold": "3/8",
    "upstairs basin hot": "3/8", "downstairs basin cold": "3/8", "downstairs basin hot": "3/8",
    "kitchen sink cold": "3/8", "kitchen sink hot": "3/8", "rest": "1/2",
}  # fmt: skip


def test_ridge_cottage_by_hand() -> None:
    """A home-run house in crimped PEX from two manifolds, the tank at the well.

    Rings of 3/8: six runs with a port valve, two elbows and a stop each: 6 x (1 + 4 + 1). Of 1/2:
    six runs the same (36), the arm of the shower and arm and spout of the tub with an end at the
    valve and one at the elbow (6), and the small ends of three reducers with the valve or stop
    behind them (6). Of 3/4: three port valves, a tee, eight elbows (16), three reducers, the tap's
    elbow, and two reducers and two adapters at the heater. Of 1-1/4: two tees (5), six elbows (12),
    the filter's adapter and two at the manifolds, the listed valve (2), the manifolds' valves (4),
    two reducers at the heater.
    """
    listed = parts(scheduled(SCENARIOS / "ridge-cottage.toml", RIDGE))

    assert order(listed, "fittings") == {
        ("adapter", "1-1/4 x 1-1/4 MIP", "compression"): 1,  # at the tank
        ("adapter", "1-1/4 x 1 MIP", "compression"): 1,  # at the filter
        ("elbow-90", "1-1/4", "compression"): 3,
        ("stiffener", "1-1/4", "compression"): 2 + 6 + 4,
        ("adapter", "1-1/4 x 1 MIP", "crimp"): 1,
        ("adapter", "1-1/4 x 1-1/4 MIP", "crimp"): 2,
        ("tee", "1-1/4 x 1-1/4 x 3/4", "crimp"): 1,
        ("tee", "1-1/4 x 1-1/4 x 1-1/4", "crimp"): 1,
        ("elbow-90", "1-1/4", "crimp"): 6,
        ("reducer", "1-1/4 x 3/4", "crimp"): 2,  # the heater's nipples are 3/4
        ("adapter", "3/4 x 3/4 MIP", "crimp"): 2,
        ("union", "1", ""): 2,
        ("nipple", "1", ""): 2,
        ("union", "3/4", ""): 2,
        ("crimp-ring", "1-1/4", "crimp"): 5 + 12 + 3 + 2 + 4 + 2,
        ("elbow-90", "3/4", "crimp"): 8,
        ("reducer", "3/4 x 1/2", "crimp"): 3,  # tub valve twice, toilet
        ("wall-elbow", "3/4", "crimp"): 1,
        ("crimp-ring", "3/4", "crimp"): 3 + 1 + 16 + 3 + 1 + 4,
        ("elbow-90", "1/2", "crimp"): 12,
        ("wall-elbow", "1/2", "crimp"): 3,  # shower arm, tub arm and spout
        ("crimp-ring", "1/2", "crimp"): 36 + 6 + 6,
        ("elbow-90", "3/8", "crimp"): 12,
        ("crimp-ring", "3/8", "crimp"): 36,
    }
    assert order(listed, "valves and stops") == {
        ("ball-valve", "1-1/4", "compression"): 2,
        ("ball-valve", "1-1/4", "crimp"): 3,
        ("by-pass", "1", ""): 1,
        ("vacuum-breaker", "3/4", ""): 1,
        ("stop", "1/2", "crimp"): 3,
        ("stop", "3/8", "crimp"): 6,
        ("washer-box", "1/2", "crimp"): 1,
        ("water-hammer-arrestor", "", ""): 3,  # washer cold and hot, dishwasher
        ("drain-valve", "", ""): 2,
    }
    assert order(listed, "well") == {
        ("tank-tee", "1-1/4", ""): 1,
        ("relief-valve", "", ""): 1,
        ("pressure-gauge", "", ""): 1,
        ("pressure-switch", "", ""): 1,
        ("drain-valve", "", ""): 1,
        ("well-seal", "1-1/4", ""): 1,  # a heated well house right at the well: no pitless adapter
        ("torque-arrestor", "", ""): 1,
        ("adapter", "1-1/4 x 1-1/4 MIP", "insert"): 2,
        ("clamp", "1-1/4", "insert"): 4,
    }
    # the bends at ports and stub-outs are the listed elbows
    assert kinds(listed, "bend-support", "nail-plate") == {"bend-support": 0, "nail-plate": 15}


FARM = {
    "service": "1-1/4", "cellar main": "1-1/4", "heater feed": "1-1/4", "hot trunk": "1-1/4",
    "hot riser": "1", "cold trunk": "3/4", "cold riser": "3/4", "clothes washer hot": "3/4",
    "laundry tub hot": "3/4", "bath hot": "3/4", "bath basin cold": "3/8", "bath basin hot": "3/8",
    "toilet upstairs cold": "3/8", "toilet downstairs cold": "3/8", "rest": "1/2",
}  # fmt: skip


def test_old_farmhouse_by_hand() -> None:
    """A soldered trunk and branches from a main, meter and softener in the cellar."""
    listed = parts(scheduled(SCENARIOS / "old-farmhouse.toml", FARM))

    assert order(listed, "fittings") == {
        ("adapter", "1-1/4 x 1-1/4 MIP", "soldered"): 1,
        ("reducer", "1-1/4 x 3/4", "soldered"): 4,  # meter and heater, both sides
        ("adapter", "3/4 x 3/4 FIP", "soldered"): 2,  # onto the meter's couplings
        ("adapter", "1-1/4 x 1 MIP", "soldered"): 2,  # into the softener's unions
        ("union", "1", ""): 2,
        ("adapter", "3/4 x 3/4 MIP", "soldered"): 2,
        ("union", "3/4", ""): 2,
        # yard; washer and laundry tub; kitchen sink hot
        ("tee", "1-1/4 x 1-1/4 x 1/2", "soldered"): 1 + 2 + 1,
        # cold trunk; washer and laundry tub hot
        ("tee", "1-1/4 x 1-1/4 x 3/4", "soldered"): 1 + 2,
        ("tee", "1-1/4 x 1 x 1/2", "soldered"): 1,
        ("tee", "1 x 3/4 x 3/8", "soldered"): 1,
        ("tee", "3/4 x 3/4 x 3/8", "soldered"): 2,
        ("tee", "3/4 x 3/4 x 1/2", "soldered"): 1,
        ("tee", "3/4 x 1/2 x 3/8", "soldered"): 1,
        ("elbow-90", "1-1/4", "soldered"): 8,
        ("elbow-90", "1", "soldered"): 1,
        ("elbow-90", "3/4", "soldered"): 11,
        ("elbow-90", "1/2", "soldered"): 18,
        ("elbow-90", "3/8", "soldered"): 6,
        ("reducer", "3/4 x 1/2", "soldered"): 3,  # bath, washer, laundry tub
        ("wall-elbow", "1/2", "soldered"): 3,  # tub arm and spout, yard tap
        # trunks of 20 and 22 ft with their waste, a tub's and the yard's branch: over 20 ft
        ("coupling", "1-1/4", "soldered"): 1,
        ("coupling", "3/4", "soldered"): 1,
        ("coupling", "1/2", "soldered"): 2,
    }
    assert order(listed, "valves and stops") == {
        ("gate-valve", "1-1/4", "soldered"): 1,
        ("ball-valve", "1-1/4", "soldered"): 3,
        ("ball-valve", "1/2", "soldered"): 1,
        ("by-pass", "1", ""): 1,
        ("vacuum-breaker", "3/4", ""): 1,
        ("stop", "1/2", "soldered"): 5,
        ("stop", "3/8", "soldered"): 4,
        ("washer-box", "1/2", "soldered"): 1,
        ("water-hammer-arrestor", "", ""): 3,
    }
    assert order(listed, "equipment") == {
        ("relief-discharge-pipe", "3/4", ""): 1,
        ("expansion-tank", "", ""): 1,  # the meter may hold a check valve
        ("meter", "", ""): 1,
        ("softener", "", ""): 1,
        ("heater", "", ""): 1,
    }
    assert order(listed, "well") == {}


LAKE = {
    "service": "32x3.0", "heater feed": "32x3.0", "hot main": "32x3.0", "cold main": "25x2.5",
    "roof shower cold": "20x2.0", "roof shower hot": "20x2.0", "shower hot": "20x2.0",
    "rest": "16x2.0",
}  # fmt: skip


def test_holiday_house_by_hand() -> None:
    """Pressed multilayer pipe in European terms: wall plate elbows, corner valves, R and Rp."""
    listed = parts(scheduled(SCENARIOS / "holiday-house.toml", LAKE))

    assert order(listed, "fittings") == {
        ("adapter", "32x3.0 x R 1", "fusion"): 2,
        ("elbow-90", "32x3.0", "fusion"): 2,
        ("union", "Rp 1", ""): 2,
        ("nipple", "R 1", ""): 2,
        ("adapter", "32x3.0 x R 1", "press"): 1,
        ("reducer", "32x3.0 x 25x2.5", "press"): 2,
        ("adapter", "25x2.5 x R 3/4", "press"): 2,
        ("union", "Rp 3/4", ""): 2,
        # kitchen and machine; kitchen hot; two basins hot
        ("tee", "32x3.0 x 32x3.0 x 16x2.0", "press"): 2 + 1 + 2,
        ("tee", "32x3.0 x 32x3.0 x 25x2.5", "press"): 1,
        ("tee", "32x3.0 x 20x2.0 x 20x2.0", "press"): 1,
        ("tee", "25x2.5 x 25x2.5 x 16x2.0", "press"): 4,
        ("tee", "25x2.5 x 20x2.0 x 16x2.0", "press"): 1,
        ("elbow-90", "32x3.0", "press"): 4,
        ("elbow-90", "25x2.5", "press"): 2,
        ("elbow-90", "20x2.0", "press"): 11,
        ("elbow-90", "16x2.0", "press"): 30,
        # mixers of showers are screwed to two wall plate elbows; no arm, no spout
        ("wall-elbow", "20x2.0", "press"): 3,
        ("wall-elbow", "16x2.0", "press"): 10,
    }
    assert order(listed, "valves and stops") == {
        ("ball-valve", "32x3.0", "fusion"): 2,
        ("ball-valve", "32x3.0", "press"): 1,
        ("by-pass", "1", ""): 1,
        ("stop", "R 1/2", ""): 8,
        ("washer-valve", "R 1/2", ""): 1,
        ("water-hammer-arrestor", "", ""): 1,  # over 10 bar without
    }
    spoken = {item.spoken for item in listed.items}
    assert {"wall plate elbow", "corner valve", "appliance valve"} <= spoken
    assert not {"drop-ear elbow", "angle stop", "washer outlet box"} & spoken
    # a pipe of 32 mm in a sleeve half as wide again: 48 mm, the next is 71.2 mm inside
    assert order(listed, "sleeves") == {("sleeve", "DN 75", "drain pipe"): 1}
    assert kinds(listed, "nail-plate", "relief-discharge-pipe") == {
        "nail-plate": 0, "relief-discharge-pipe": 0,
    }  # fmt: skip


@pytest.mark.parametrize("file", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_order_reads_as_at_the_counter(file: Path) -> None:
    """Groups in order, counts whole and above zero, every line with its place, no line twice."""
    listed = parts(load(file))
    tree = listed.design.tree
    groups = [GROUPS.index(item.group) for item in listed.items]
    keys = [
        (item.group, item.kind, item.size, item.material, item.length, item.note)
        for item in listed.items
        if item.group != "sleeves"
    ]
    ways = sum(
        max(len(below) - 1, 0)
        for link, below in zip(tree.links, tree.children, strict=True)
        if not isinstance(link, Manifold)
    )

    assert groups == sorted(groups)
    assert all(item.count >= 1 and item.places for item in listed.items)
    assert len(keys) == len(set(keys))
    assert kinds(listed, "tee") == {"tee": ways}


@pytest.mark.parametrize("file", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_a_price_list_can_name_every_line(file: Path) -> None:
    """A list with a price of 2 for each line's kind, size and joining leaves nothing out."""
    house = load(file)
    listed = parts(house)
    text = '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n'  # invented
    entries: dict[str, None] = {}
    for item in listed.items:
        if item.length is not None and item.kind != "insulation":
            size = f'size = "{item.size}"\nlength = "{item.length!r} m"'
            entries[f'[[pipe]]\nmaterial = "{item.material}"\n{size}\n'] = None
            continue
        entry = f'[[part]]\nkind = "{item.kind}"\n'
        entry += f'size = "{item.size}"\n' if item.size else ""
        joined = item.group in ("fittings", "valves and stops") or item.kind == "port-valve"
        entry += f'joined = "{item.material}"\n' if joined and item.material else ""
        entries[entry] = None
    text += "".join(f"{entry}price = 2\n" for entry in entries)
    priced = parts(house, prices=loads_prices(text, catalogue=house.catalogue))

    assert priced.unpriced == ()


def test_two_colours_two_coils() -> None:
    """Hot in red, cold in blue; 1-1/4 in tube, which has no colour, in one stick for both."""
    listed = parts(scheduled(SCENARIOS / "ridge-cottage.toml", RIDGE))
    sides = {run.name: run.side for run in listed.design.runs}
    lots = [lot for lot in listed.lots if lot.material == "pex-sdr9"]

    for lot in lots:
        water = {sides[name] for name in lot.runs}
        assert water == {"red": {"hot"}, "blue": {"cold"}}.get(lot.colour, {"hot", "cold"})
    assert {lot.size.nominal for lot in lots if not lot.colour} == {"1-1/4"}
    assert {lot.size.nominal for lot in lots if lot.colour == "red"} == {"3/4", "1/2", "3/8"}
    assert any("hot water in red tube" in each.text for each in listed.assumptions)
    assert {"red", "blue"} <= {item.note for item in listed.items if item.group == "pipe"}


def test_polyethylene_by_its_kind() -> None:
    """Copper's outside size: compression and one stiffener an end; iron pipe's: two clamps."""
    for material, joint, ring, each in (
        ("pe-cts-sdr9", "compression", "stiffener", 1),
        ("pe-sidr7", "insert", "clamp", 2),
    ):
        service = pipe(
            "service", "source", "entry", 60.0, material=material, joining="insert", size="1",
            fittings=(("elbow-90", 2),),
        )  # fmt: skip
        listed = parts(replace(home_run(ports=3), runs=(service,)))

        # the source's and the manifold's adapters, two elbows, the manifold's valve
        assert order(listed, "fittings")[ring, "1", joint] == each * (2 + 4 + 2)


def existing_steel(size: str = "3/4", material: str = "galvanized-sch40") -> House:
    """Old pipe from the source, then new PEX to a basin and a toilet."""
    old = pipe(
        "old line", "source", "hall", 30.0, material=material, joining="threaded", size=size,
        existing=True, fittings=(("elbow-90", 4),),
    )  # fmt: skip
    fixtures = (
        cold_fixture("basin", "lavatory", "hall", size="1/2"),
        cold_fixture("toilet", "water-closet", "hall", size="1/2"),
    )
    return two_storey(runs=(old,), devices=(), fixtures=fixtures)


def test_old_pipe_is_not_bought_but_the_joint_to_it() -> None:
    """A tee in new PEX with a transition from the old steel: no elbow, no adapter of the old."""
    listed = parts(existing_steel())

    assert "galvanized-sch40" not in {lot.material for lot in listed.lots}
    fittings = order(listed, "fittings")
    assert fittings == {
        ("transition-fitting", "3/4 x 3/4", "crimp"): 1,
        ("tee", "3/4 x 1/2 x 1/2", "crimp"): 1,
        ("crimp-ring", "3/4", "crimp"): 2,
        ("crimp-ring", "1/2", "crimp"): 4,
    }
    assert any("old line is there" in each.text for each in listed.assumptions)


def test_old_pipe_in_line() -> None:
    """Steel that goes on in one PEX run: one transition, nothing else."""
    house = existing_steel()
    listed = parts(replace(house, fixtures=house.fixtures[:1]))

    assert order(listed, "fittings") == {
        ("transition-fitting", "3/4 x 1/2", "crimp"): 1,
        ("crimp-ring", "1/2", "crimp"): 2,
    }


def sink_and_machine(feet: float) -> House:
    """A dishwasher's and a sink's hot branches from one point, so long each."""
    sink = mixed_fixture("sink", "kitchen-sink", "entry", "under sink", feet)
    machine = mixed_fixture("dishwasher", "dishwasher", "entry", "under sink", feet)
    base = two_storey()
    return two_storey(
        runs=(*base.runs[:3], pipe("sink hot line", "heater outlet", "under sink", 20.0)),
        fixtures=(sink, replace(machine, cold=None)),
    )


def test_one_stop_for_sink_and_dishwasher() -> None:
    """Fed by a foot or two from under the sink: one stop with two outlets, no tee, no second."""
    listed = parts(sink_and_machine(2.0))

    assert kinds(listed, "dual-stop", "stop") == {"dual-stop": 1, "stop": 1}
    assert "dual-stop" not in {finding.code for finding in listed.findings}
    apart = parts(sink_and_machine(12.0))
    assert kinds(apart, "dual-stop", "stop") == {"dual-stop": 0, "stop": 3}
    assert "dual-stop" in {finding.code for finding in apart.findings}


def deep_well(**more: object) -> House:
    """The test house on a well with drop pipe, buried pipe and tank."""
    source = replace(
        well(),
        tank=Tank(volume=44.0 * GALLON, precharge=38.0 * PSI),
        pump=Pump(curve=CURVE),
        well=Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT),
    )
    line = (
        drop_pipe(150.0, material="pe-sidr7", fittings=(("check-valve", 2),)),
        offset_pipe(120.0, material="pe-sidr7"),
    )
    return two_storey(source=replace(source, **more), line=line)


def test_well_by_hand() -> None:
    """Tank in the house: pitless adapter; two check valves: four adapters, two more at the ends."""
    listed = parts(deep_well())
    before = [item for item in listed.items if item.material == "pe-sidr7" and item.length]

    assert [(item.count, round((item.length or 0.0) / FOOT)) for item in before] == [
        (1, 300),  # 150 ft, 120 ft and 5 %: two pieces of one coil
    ]
    assert [strand.name for strand in listed.strands[:2]] == ["drop pipe", "offset pipe"]
    assert order(listed, "well") == {
        ("tank-tee", "1", ""): 1,
        ("relief-valve", "", ""): 1,
        ("pressure-gauge", "", ""): 1,
        ("pressure-switch", "", ""): 1,
        ("drain-valve", "", ""): 1,
        ("pitless-adapter", "1", ""): 1,
        ("torque-arrestor", "", ""): 1,
        ("check-valve", "1", ""): 2,
        ("nipple", "1", ""): 1,  # the lower valve stands on the pump
        ("adapter", "1 x 1 MIP", "insert"): 4 + 2,
        ("clamp", "1", "insert"): 12,
    }


def test_a_measured_well_is_there() -> None:
    """A bucket test was made with this pump: nothing of well and tank is bought, and it is said."""
    pump = Pump(measured_flow=8.0 * GPM, measured_pressure=50.0 * PSI)
    listed = parts(deep_well(pump=pump))

    assert order(listed, "well") == {}
    assert any("the pump was measured" in each.text for each in listed.assumptions)


def test_main_has_nothing_of_a_well() -> None:
    """No tank tee at a street main."""
    assert order(parts(load(SCENARIOS / "tower-loft.toml")), "well") == {}


def test_ends_of_rarer_fixtures() -> None:
    """An ice maker's box, a large tub with its spout, a zone's guard once, a trough's thread."""
    house = two_storey(
        fixtures=(
            cold_fixture("ice maker", "ice-maker", "hall", size="1/2"),
            cold_fixture("lawn", "irrigation", "entry", size="3/4"),
            cold_fixture("trough", "stock-waterer", "entry", size="3/4"),
            mixed_fixture("large tub", "whirlpool-tub", "hall", "hot hall"),
        )
    )
    listed = parts(house)
    assert kinds(listed, "ice-maker-box", "pressure-vacuum-breaker", "stop", "wall-elbow") == {
        "ice-maker-box": 1, "pressure-vacuum-breaker": 1, "stop": 0, "wall-elbow": 1,
    }  # fmt: skip
    assert order(listed, "fittings")["adapter", "3/4 x 3/4 MIP", "crimp"] >= 2

    guard = Device(
        name="guard", kind="backflow-preventer", start="entry", end="garden", loss=Loss()
    )
    guarded = replace(
        house,
        devices=(guard,),
        fixtures=(*house.fixtures[:1], cold_fixture("lawn", "irrigation", "garden", size="3/4")),
        runs=house.runs[:2],
    )
    assert kinds(parts(guarded), "pressure-vacuum-breaker") == {"pressure-vacuum-breaker": 0}


def test_every_row_names_a_kind_of_fixture() -> None:
    """No row of the ends is for a kind that files can't name."""
    rows = load_table("parts")["fixture-end"]["rows"]
    names = [row[0] for row in rows]
    assert len(names) == len(set(names))
    assert set(names) - {"other"} <= set(fixture_kinds("irc"))


def test_tees_that_counters_seldom_have_are_told() -> None:
    """A branch of 3/8 from 1-1/4 in; one of 1/2 from 1 in is on the shelf."""
    for line, branch, rare in (("1-1/4", "3/8", True), ("1", "1/2", False)):
        house = two_storey(
            runs=(pipe("service", "source", "hall", 60.0, size=line),),
            devices=(),
            fixtures=tuple(
                cold_fixture(name, "lavatory", "hall", size=branch) for name in ("a", "b", "c")
            ),
        )
        codes = {finding.code for finding in parts(house).findings}
        assert ("rare-tees" in codes) == rare


def test_prices_of_threads() -> None:
    """A price for tube and thread goes before one for the tube, that before one for any."""
    text = (
        '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n'  # invented
        '[[part]]\nkind = "adapter"\nsize = "1 x 1 MIP"\nprice = 5\n'
        '[[part]]\nkind = "adapter"\nsize = "3/4"\nprice = 3\n'
        '[[part]]\nkind = "adapter"\nprice = 9\n'
    )
    filter_ = Device(name="filter", kind="cartridge-filter", start="entry", end="f", loss=Loss())
    house = two_storey(
        runs=(
            pipe("service", "source", "entry", 60.0, size="1-1/4"),
            pipe("trunk", "f", "hall", 20.0, size="1"),
        ),
        devices=(filter_,),
        fixtures=(cold_fixture("basin", "lavatory", "hall", size="1/2"),),
    )
    listed = parts(house, prices=loads_prices(text))
    each = {item.size: item.price for item in listed.items if item.kind == "adapter"}

    assert each == {"1-1/4 x 1-1/4 MIP": 9.0, "1-1/4 x 1 MIP": 9.0, "1 x 1 MIP": 5.0}


def test_bends_of_flexible_tube_are_held() -> None:
    """At the port and into the stub-out, unless elbows are listed for them."""
    listed = parts(home_run(ports=3))
    assert kinds(listed, "bend-support") == {"bend-support": 6}

    def elbows(run: Run) -> Run:
        return replace(run, fittings=(("elbow-90", 1),)) if run.fixture else run

    assert kinds(parts(map_runs(home_run(ports=3), elbows)), "bend-support") == {"bend-support": 3}


def test_every_line_tells_what_it_is_for() -> None:
    """On wish on the page, always in the file."""
    listed = parts(load(SCENARIOS / "ridge-cottage.toml"))
    for table in group_tables(listed, where=True):
        assert table.columns[-1].name == "for"
        assert all(row[-1] for row in table.rows)
    full = list_table(listed)
    place = [column.name for column in full.columns].index("for")
    assert all(row[place] for row in full.rows)


def test_every_port_that_loses_has_its_valve() -> None:
    """Parts and losses agree: each run from a manifold counts its port, and each port is bought."""
    design = parts(load(SCENARIOS / "ridge-cottage.toml")).design
    at_ports = [run for run in design.runs if design.tree.starts_at_manifold(run.index)]
    listed = parts(load(SCENARIOS / "ridge-cottage.toml"))

    assert kinds(listed, "port-valve") == {"port-valve": len(at_ports)}
    for run in at_ports:
        joining = design.tree.catalogue.joinings[run.run.joining]
        own = sum(
            count * fitting_k(joining, kind, run.tube, run.size)
            for kind, count in run.run.fittings or ()
        )
        head = density(run.temperature) * run.velocity**2 / 2.0
        assert run.fitting_loss == pytest.approx((own + manifold_port_k()) * head, rel=1e-6)


def test_the_trench_from_the_well_is_sleeved_at_the_house_alone() -> None:
    """One sleeve where it comes up; none at the wellhead, nor at the tank."""
    listed = parts(load(SCENARIOS / "ridge-line.toml"))
    counts = {sleeve.run.name: sleeve.count for sleeve in listed.sleeves}

    assert counts == {"trench pipe": 1, "ridge line 4": 1}
