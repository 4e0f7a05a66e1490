"""What gets locked in: every answer is the one that `size` gives for the changed house."""

from __future__ import annotations

import math
import re
from functools import partial
from pathlib import Path

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.demand import Book
from supplycalc.model import Fixture, House
from supplycalc.model.field_paths import map_runs
from supplycalc.output.terminal import to_text
from supplycalc.questions.slab.checklist import checklist, pressure_tests
from supplycalc.questions.slab.page import pump_gives_then, slab_page
from supplycalc.questions.slab.pour import pour_page
from supplycalc.questions.slab.study import SlabStudy, slab
from supplycalc.questions.slab.surprises import (
    LOWER_PRESSURE,
    SETS,
    AsPoured,
    Change,
    meet,
    with_set,
    with_steady_flow,
    with_weaker_pump,
)
from supplycalc.reading import loads
from supplycalc.sizing.changes import with_sizes
from supplycalc.tables import load_table
from supplycalc.units import INCH, show
from tests.commands.files import SCENARIOS, cottage
from tests.houses import PSI, branch, home_run, pipe, two_storey


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    """The small cottage with a strong switch and generous pipe, so that something can be added."""
    folder = tmp_path_factory.mktemp("slab")
    house = sc.load(cottage(folder, cut_in="58 psi", bath="4 ft"))
    house = replace(house, project=replace(house.project, demand="irc", listed=()))
    return map_runs(
        house,
        lambda run: replace(
            run, size="1-1/4" if run.name == "service" else "3/4", sizes=(), group=None
        ),
    )


@pytest.fixture(scope="module")
def study(house: House) -> SlabStudy:
    """Its study."""
    return slab(house)


def test_only_what_is_covered_is_listed(study: SlabStudy) -> None:
    """The buried service is locked in; the branches in the walls are not."""
    assert [run.result.name for run in study.runs] == ["service"]
    assert not study.runs[0].is_branch


def test_nothing_covered_nothing_locked() -> None:
    """A house without buried or embedded runs has no entry and no surprises."""
    empty = slab(two_storey())

    assert empty.runs == ()
    assert empty.surprises == ()
    assert empty.checklist == ()


def test_a_pour_on_rough_figures_is_told_to_be_measured_first() -> None:
    """What is computed at the middle of a range is not laid under concrete unmeasured."""
    ranch = (SCENARIOS / "ranch-on-slab.toml").read_text(encoding="utf-8")
    assert "Measure before you pour" not in slab(loads(ranch)).answer("us")
    rough = re.sub(r'cut_in( *)= "(\d+) psi"', r'cut_in\1= "\2 ± 5 psi"', ranch)
    assert rough != ranch

    told = slab(loads(rough)).answer("us")

    assert told.startswith("Measure before you pour: 1 figure of the file is known within a range")


def test_counts_are_the_last_that_work(house: House, study: SlabStudy) -> None:
    """So many sets pass `size` with every size as chosen, and one more does not."""
    run, fixed = study.runs[0], with_sizes(house, study.design.sizes)
    beside = next(fixture for fixture in house.fixtures if fixture.name == run.beside)

    def short(count: int, kinds: tuple[str, ...]) -> float:
        return sc.size(with_set(fixed, beside, kinds, count)).shortfall

    assert {spare.name for spare in run.can_add} == set(SETS)
    assert any(spare.count > 0 for spare in run.can_add)
    for spare in run.can_add:
        assert spare.count_if_rest_grows >= spare.count
        if spare.count:
            assert short(spare.count, SETS[spare.name]) == 0.0
        if not spare.capped:
            assert short(spare.count + 1, SETS[spare.name]) > 0.0


def test_what_is_added_runs_by_the_users_list(house: House) -> None:
    """Each bath that is added runs beside what the list names: not any number of them fits."""
    listed = ("far bath", "sink")
    by_list = replace(house, project=replace(house.project, demand="listed", listed=listed))
    run = slab(by_list).runs[0]
    [bath] = [spare for spare in run.can_add if spare.name == "full bath"]
    beside = next(fixture for fixture in house.fixtures if fixture.name == run.beside)
    changed = with_set(by_list, beside, SETS["full bath"], 2)

    assert changed.project.listed == (*listed, "later bath 1", "later bath 2")
    assert not bath.capped
    own = sc.size(by_list).demand.design_flow[1]
    assert sc.size(changed).demand.design_flow[1] > own


def test_without_a_list_nothing_is_told_of_what_may_be_added(house: House) -> None:
    """Two fixtures run however many there are: an answer would be any number."""
    no_list = slab(replace(house, project=replace(house.project, demand="listed")))
    text = to_text(slab_page(no_list, "us"), "us")

    assert not any(run.can_add for run in no_list.runs)
    assert "bath-added" not in {surprise.code for surprise in no_list.surprises}
    assert "could still be added is not told" in " ".join(text.split())


def test_spare_flow_is_the_last_that_works(house: House, study: SlabStudy) -> None:
    """That flow at the run's end passes `size`, one 2 % above fails (the search stops at 1/256)."""
    run, fixed = study.runs[0], with_sizes(house, study.design.sizes)

    def short(flow: float) -> float:
        changed = with_steady_flow(fixed, run.result.run, "cold", flow, 0.0)
        changed = replace(
            changed,
            fixtures=tuple(
                replace(fixture, elevation=study.design.tree.elevation[run.result.index])
                if fixture.continuous
                else fixture
                for fixture in changed.fixtures
            ),
        )
        return sc.size(changed).shortfall

    assert run.spare_flow > 0.0
    assert run.spare_flow_if_rest_grows >= run.spare_flow * 0.99
    assert short(run.spare_flow) == 0.0
    assert short(run.spare_flow * 1.02) > 0.0


def test_flow_to_the_velocity_limit_is_geometry(study: SlabStudy) -> None:
    """Area times the limit, less what runs already."""
    run = study.runs[0]
    area = math.pi / 4 * run.result.inside_diameter**2

    assert run.spare_flow_to_velocity_limit + run.result.design_flow == pytest.approx(
        area * run.result.velocity_limit, rel=1e-12
    )


def test_one_size_larger_is_what_compare_says(house: House, study: SlabStudy) -> None:
    """Margin and extra pipe equal those of `compare` with all other sizes held."""
    run = study.runs[0]
    assert run.larger is not None
    fixed = with_sizes(house, study.design.sizes)
    option = sc.compare(fixed, run="service", sizes=[run.larger.size]).options[0]

    assert option.design is not None
    assert run.larger.margin == pytest.approx(option.design.worst.margin, abs=1e-6)
    assert run.larger.extra_cost == pytest.approx(option.design.cost - study.design.cost, abs=1e-9)


@pytest.mark.parametrize("scenario", ["town-house", "two-wells-farm", "two-houses-and-a-barn"])
def test_one_size_larger_is_offered_only_for_what_the_chosen_size_cannot_bear(
    scenario: str,
) -> None:
    """What the chosen size bears once the rest grows is no reason to lay the larger one."""
    study = slab(sc.load(SCENARIOS / f"{scenario}.toml"))
    borne = {surprise.code for surprise in study.surprises if surprise.absorbed_if_rest_grows}
    larger = [run.larger for run in study.runs if run.larger is not None]
    assert larger
    assert borne.isdisjoint(code for more in larger for code in more.absorbs_if_rest_grows)
    gains = any(more.bears for more in larger)
    assert ("would also bear that" in study.answer("us")) == gains


def test_surprises_are_really_sized(house: House, study: SlabStudy) -> None:
    """A switch 10 psi lower in the file gives the margin that is told."""
    surprise = next(each for each in study.surprises if each.code == LOWER_PRESSURE)
    source = replace(
        house.source,
        cut_in=(house.source.cut_in or 0.0) - 10 * PSI,
        cut_out=(house.source.cut_out or 0.0) - 10 * PSI,
    )
    lower = sc.size(replace(with_sizes(house, study.design.sizes), source=source))

    assert surprise.margin == pytest.approx(lower.worst.margin, abs=1e-6)
    assert surprise.worst == lower.worst.name
    assert surprise.absorbed == (lower.shortfall == 0.0)
    assert surprise.source_pressure == pytest.approx(lower.source.design_pressure)


def test_a_weaker_pump_is_judged_as_size_judges_it() -> None:
    """Whoever is told that it works as laid is told what the pump then gives, and a pump that is
    too small for the house is not absorbed, whatever the pipe leaves."""
    design = sc.size(sc.load(SCENARIOS / "ridge-cottage.toml"))
    fixed = with_sizes(design.house, design.sizes)
    poured = AsPoured(design=design, fixed=fixed, reachable=fixed)
    for share, word in ((0.8, "short-of-peak"), (0.6, "too-small")):
        change = Change(code="weaker", text="", apply=partial(with_weaker_pump, share=share))
        surprise = meet(change, poured, [])
        weaker = with_weaker_pump(fixed, share)
        assert weaker is not None
        judged = sc.size(weaker)

        assert judged.pump is not None
        assert judged.pump.state == word
        assert surprise.absorbed == judged.ok
        assert surprise.pump == replace(judged.pump, comes_out=None)
        assert judged.pump.pump_flow is not None
        assert show(judged.pump.pump_flow[1], "flow", "us") in pump_gives_then(surprise, "us")


def test_a_pump_that_holds_one_pressure_has_no_switch_to_set_lower() -> None:
    """What it holds falls, and with it what the fixtures get."""
    study = slab(sc.load(SCENARIOS / "cistern-booster.toml"))
    lower = next(surprise for surprise in study.surprises if surprise.code == LOWER_PRESSURE)
    worst = study.design.worst

    assert lower.title("metric") == "the pump's set pressure is 50 kPa lower"
    assert lower.margin == pytest.approx(worst.margin - 50_000.0, abs=1.0)


def test_a_softener_stands_behind_the_service(house: House, study: SlabStudy) -> None:
    """Its loss at the house's flow is taken from every fixture."""
    surprise = next(each for each in study.surprises if each.code == "treatment-added")

    assert surprise.margin is not None
    assert surprise.margin < study.design.worst.margin - 3 * PSI


def test_planned_fixtures_count_and_are_named() -> None:
    """With a planned bath the service is what both need; without it, what the house needs now."""
    service = pipe("service", "source", "entry", 150.0, material="pe-cts-sdr9", joining="insert",
                   buried=1.0)  # fmt: skip
    later = tuple(
        Fixture(
            name=f"later shower {i}",
            kind="shower",
            elevation=2.0,
            cold=branch(f"later shower {i}", "cold", "manifold", 30.0),
            planned=True,
        )
        for i in range(6)
    )
    plain = home_run(4, runs=(service,))
    with_later = replace(plain, fixtures=(*plain.fixtures, *later))
    study = slab(with_later)
    without = sc.size(plain)
    locked = study.runs[0]

    assert study.planned == tuple(fixture.name for fixture in later)
    assert locked.without_planned == without.run("service").nominal
    assert locked.result.inside_diameter > without.run("service").inside_diameter


def test_an_embedded_branch_tells_how_much_more_its_fixture_may_draw() -> None:
    """A branch has no sets; its spare flow is found by a fixture that draws more."""
    house = home_run(3)
    basin = house.fixtures[0]
    assert basin.cold is not None
    embedded = replace(basin, cold=replace(basin.cold, embedded=True))
    study = slab(replace(house, fixtures=(embedded, *house.fixtures[1:])))
    locked = study.runs[0]
    fixed = with_sizes(study.house, study.design.sizes)
    flow = study.design.tree.outlets[0].flow

    def short(more: float) -> float:
        first = replace(fixed.fixtures[0], flow=flow + more)
        return sc.size(replace(fixed, fixtures=(first, *fixed.fixtures[1:]))).shortfall

    assert locked.is_branch
    assert locked.can_add == ()
    assert locked.spare_flow > 0.0
    assert short(locked.spare_flow) == 0.0
    assert short(locked.spare_flow * 1.02) > 0.0


@pytest.mark.parametrize(
    ("title", "working", "expected"),
    [
        ("New York City", 60.0, 150.0),
        ("New York City", 120.0, 170.0),
        ("Nashville", 60.0, 85.0),
        ("International Residential Code", 60.0, 60.0),
    ],
)
def test_published_test_pressures(title: str, working: float, expected: float) -> None:
    """New York City 312.5: 50 psi over working, 150 at least; Nashville 16.12.400: 25 over.

    IRC P2503.7: not less than the working pressure. Exact sums, so no tolerance but the float's.
    """
    tests = {test.title: test for test in pressure_tests(working * PSI, {"pex-sdr9"})}

    assert tests[title].pressure == pytest.approx(expected * PSI, rel=1e-9)


def test_the_checklist_fits_what_is_covered() -> None:
    """A trench gets the depth with the house's figure, a slab its sleeve; both a test and a record.

    IRC P2603.5: 12 in, and 6 in below the frost line: 36 in of frost makes 42 in.
    """
    items = checklist({"pex"}, buried=True, embedded=False, frost_depth=36 * INCH)
    trench = {item.title: item for item in items}
    pour = {item.title for item in checklist({"pex"}, buried=False, embedded=True)}

    assert trench["Depth"].least_cover == pytest.approx(42 * INCH, rel=1e-9)
    assert "Slab sleeve" not in trench
    assert "Depth" not in pour
    assert {"Slab sleeve", "No joints"} <= pour
    assert {"Pressure test", "Record", "Where it comes up"} <= pour & set(trench)
    assert checklist({"pex"}, buried=True, embedded=False)[0].least_cover is None


def test_a_site_without_pex_hears_nothing_of_it() -> None:
    """The usual test of PEX and its bends are told where PEX gets covered, not under copper."""
    for tubes, told in (({"copper-l"}, False), ({"copper-l", "pex-sdr9"}, True)):
        titles = {test.title for test in pressure_tests(60.0 * PSI, tubes)}
        items = {item.title for item in checklist(tubes, buried=True, embedded=True)}

        assert ("usual on PEX jobs" in titles) is told
        assert ("Bends" in items) is told
        assert any("air on PEX" in (test.air or "") for test in pressure_tests(4e5, tubes)) is told
        assert "International Residential Code" in titles
    polyethylene_alone = slab(sc.load(SCENARIOS / "hill-tank.toml"))
    assert "usual on PEX" not in to_text(pour_page(polyethylene_alone, "us"), "us")


def test_the_sleeve_rule_bears_one_mark() -> None:
    """Checklist and parts list cite one rule, IRC P2603.4 and IPC 305.3 (seen): two sizes larger.

    They used to say "from memory" in the one place and "seen" in the other.
    """
    item, part = load_table("slab")["item"]["sleeve"], load_table("parts")["sleeve"]

    assert (item["source"], item["check"]) == (part["source"], part["check"])
    assert item["check"] == "seen"
    assert part["value"] == 2
    assert "two pipe sizes larger" in item["text"]


def test_scenario_files_have_an_answer() -> None:
    """Every scenario with a buried line is studied without error."""
    path = Path(__file__).parent.parent.parent / "scenarios" / "low-switch.toml"
    study = slab(sc.load(path))

    assert study.runs
    assert study.to_dict()["schema"] == "supplycalc-slab/1"


SI = {
    "in": INCH,
    "ft": 12 * INCH,
    "mil": INCH / 1e3,
    "mm": 1e-3,
    "m": 1.0,
    "psi": PSI,
    "bar": 1e5,
    "kPa": 1e3,
}
PAIR = re.compile(r"\{([\d.]+ (?:in|ft|psi|mil))\|([\d.]+ (?:mm|m|bar|kPa))\}")


def test_figures_for_both_readers_are_one_figure() -> None:
    """Where a row gives a figure as `{12 in|0.30 m}` both are equal to within 2%, as printed."""
    texts = [
        text
        for table in ("slab", "hot_water")
        for rows in load_table(table).values()
        for row in (rows, *rows.values())
        if isinstance(row, dict)
        for text in row.values()
        if isinstance(text, str)
    ]
    pairs = [pair for text in texts for pair in PAIR.findall(text)]

    assert len(pairs) >= 20
    for american, metric in pairs:
        us, other = (SI[text.split()[1]] * float(text.split()[0]) for text in (american, metric))
        assert us == pytest.approx(other, rel=0.02), (american, metric)


@pytest.mark.parametrize("book", ["international", "uniform", "european"])
def test_clauses_speak_the_readers_units(book: Book) -> None:
    """No millimetre on an American screen, no inch on a metric one, whoever's clause it is."""
    for system, foreign in (
        ("us", r"\d (?:mm|m|bar|kPa)\b"),
        ("metric", r"\d (?:in|ft|psi|mil)\b"),
    ):
        shown = [
            str(item.to_data(system)[key])
            for item in (
                *checklist({"pex"}, buried=True, embedded=True, book=book),
                *pressure_tests(4e5, {"pex"}, book=book),
            )
            for key in ("title", "text", "air")
            if hasattr(item, key)
        ]
        assert len(shown) > 10
        assert [text for text in shown if re.search(foreign, text)] == []


def test_what_a_change_takes_agrees_with_one_size_larger() -> None:
    """Of a line in pieces: the size told to bear more is what the change takes, and what is added
    after the line stands where its last piece comes up."""
    told = slab(sc.load(SCENARIOS / "ridge-line.toml"))
    by_code = {surprise.code: surprise for surprise in told.surprises}

    assert "ridge line 4 at 1-1/4" in told.answer("us")
    assert dict(by_code[LOWER_PRESSURE].wanted) == {"ridge line 4": "1-1/4"}
    assert by_code["treatment-added"].title("us").endswith("after ridge line 4")


def test_no_larger_size_is_spoken_of_where_none_is_made() -> None:
    """A line of the widest tubing made has no size above it."""
    study = slab(sc.load(SCENARIOS / "hill-tank.toml"))

    assert study.runs[0].larger is None
    assert "no larger size is made" in study.answer("us")
