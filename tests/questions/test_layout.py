"""Layouts: every candidate is what `size` says, the best is the best, and what is kept is kept."""

from __future__ import annotations

import random

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import Device, House, Layout, Loss, Storey, Wall
from supplycalc.output.terminal import to_text
from supplycalc.problems import InputError
from supplycalc.questions.layout.kept_house import kept_of
from supplycalc.questions.layout.manifold_place import manifold_places
from supplycalc.questions.layout.page import layout_page
from supplycalc.questions.layout.places import candidates, survey
from supplycalc.questions.layout.study import LayoutStudy, layout, rank
from tests.commands.files import SCENARIOS
from tests.houses import FOOT, branch
from tests.questions.layout_houses import feet, house, placed, random_house


@pytest.fixture(scope="module")
def study() -> LayoutStudy:
    """Six fixtures on two floors with a stair well."""
    return layout(random_house(3, 6, storeys=2, zone=True))


def test_every_place_is_what_size_says(study: LayoutStudy) -> None:
    """Cost, margin, pipe and hot volume of a handful of candidates, each built and sized whole."""
    kept = kept_of(study.house)
    site = survey(kept)
    some = random.Random(1).sample(range(len(site.places)), 6)
    for number in [*some, study.places.best]:
        place, design = study.places.places[number], sc.size(site.house(number))

        assert place.cost == pytest.approx(design.cost, rel=1e-12)
        assert place.worst_margin == pytest.approx(design.worst.margin, abs=1e-6)
        assert place.feasible == (design.shortfall == 0.0)


def test_no_place_beats_the_one_reported(study: LayoutStudy) -> None:
    """Among those that work none is cheaper; the home-run layout stands there."""
    places = study.places.places
    best = places[study.places.best]
    home = study.options[0]

    assert all(rank(best) <= rank(place) for place in places)
    assert all(not place.feasible or place.cost >= best.cost - 1e-12 for place in places)
    assert home.code == "home-run"
    assert home.design.cost == pytest.approx(best.cost, rel=1e-12)
    assert {at for _, at in home.places} == {best.at}


@pytest.mark.parametrize("scenario", ["ranch-on-slab"])
def test_written_layouts_size_the_same(scenario: str) -> None:
    """The file of every layout read back and sized gives its numbers, run by run."""
    study = layout(sc.load(SCENARIOS / f"{scenario}.toml"))
    for option in study.options:
        again = sc.size(sc.loads(sc.write(option.house)))

        assert again.cost == pytest.approx(option.design.cost, rel=1e-12)
        assert [(run.run.name, run.size.nominal, run.run.length) for run in again.runs] == [
            (run.run.name, run.size.nominal, run.run.length) for run in option.design.runs
        ]
        assert [outlet.residual for outlet in again.outlets] == pytest.approx(
            [outlet.residual for outlet in option.design.outlets], abs=1e-6
        )


def test_prices_decide_where_there_are_some() -> None:
    """By the price list the written file sizes the same; the total is that of `parts`."""
    house = random_house(9, 4)
    prices = sc.load_prices(SCENARIOS / "prices" / "counter.toml")
    study = sc.layout(house, prices=prices)
    for option in study.options:
        written = sc.loads(sc.write(option.house))
        again = sc.size(written, prices=prices)

        assert option.design.cost_basis == "price list"
        assert again.cost == pytest.approx(option.design.cost, rel=1e-12)
        assert again.worst.margin == pytest.approx(option.design.worst.margin, abs=1e-6)
    best = study.places.places[study.places.best]
    assert best.cost == pytest.approx(study.options[0].design.cost, rel=1e-12)
    clean = [option for option in study.options if option.works and not option.slab_joints]
    assert study.options[study.chosen].total == min(option.total or 0.0 for option in clean)


def test_layouts_carry_every_fixture(study: LayoutStudy) -> None:
    """Each layout has the same outlets; only lengths and sizes differ."""
    names = {(outlet.fixture.name, outlet.side) for outlet in sc.size(study.house).outlets}

    for option in study.options:
        assert {(outlet.fixture.name, outlet.side) for outlet in option.design.outlets} == names
        assert {option.code for option in study.options} >= {
            "home-run",
            "sub-2",
            "trunk",
            "short-trunk",
        }


def test_lengths_have_the_allowance_and_are_round() -> None:
    """Entry to manifold at the entry's own height: 10 ft and the file's 20 % are 12 ft."""
    basin = placed("basin", "lavatory", feet(10, 0, 4), hot=False)
    given = house((basin,), entry=feet(0, 0, 4), devices=())
    given = replace(
        given,
        project=replace(given.project, length_allowance=0.2),
        layout=Layout(grid=10 * FOOT, height=4 * FOOT, submanifolds=2),
    )
    result = layout(given)
    at_basin = next(place for place in result.places.places if place.at[0] > FOOT)
    design = sc.size(survey(kept_of(given)).house(1))

    assert design.run("cold main").run.length == pytest.approx(12 * FOOT, abs=1e-9)
    # the branch cannot be shorter than a tenth of a foot
    assert design.run("basin cold").run.length == pytest.approx(0.1 * FOOT, abs=1e-9)
    assert at_basin.pipe == pytest.approx(12.1 * FOOT, abs=1e-9)


def test_ports_and_valves() -> None:
    """One port for each branch and the spare ones; each branch with its valve, or none if asked."""
    result = layout(random_house(5, 4))
    home = result.options[0]
    bare = layout(
        replace(
            random_house(5, 4),
            layout=Layout(grid=6 * FOOT, port_valves=False, spare_ports=0, submanifolds=2),
        )
    ).options[0]
    branches = sum(run.run.fixture is not None for run in home.design.runs)

    assert home.ports == branches + 2 * 2
    assert dict(home.fittings)["ball-valve"] == branches + 3  # each main and the heater's feed
    assert bare.ports == branches
    assert dict(bare.fittings)["ball-valve"] == 3


def test_what_stands_before_the_origin_stays() -> None:
    """A garden tap on the service and its run keep their place in every layout."""
    tap = replace(
        placed("garden tap", "hose-bibb", feet(0, 0, 2), hot=False),
        cold=branch("garden tap", "cold", "before", 30.0),
    )
    inner = random_house(8, 4)
    given = replace(
        inner,
        runs=tuple(replace(run, end="before") for run in inner.runs),
        devices=(
            Device(name="filter", kind="cartridge-filter", start="before", end="entry"),
            *inner.devices,
        ),
        fixtures=(tap, *inner.fixtures),
    )
    for option in layout(given).options:
        kept = option.design.run("garden tap cold")
        assert kept.run.length == pytest.approx(30 * FOOT)
        assert kept.start == "before"
        assert [device.device.name for device in option.design.devices][:1] == ["filter"]


def test_along_walls_only() -> None:
    """With walls in the file the manifold stands on one of them, at its height above the foot."""
    wall = Wall(name="utility wall", start=feet(4, 2, 0), end=feet(4, 10, 0))
    given = replace(random_house(6, 5), walls=(wall,))
    result = layout(replace(given, layout=Layout(grid=2 * FOOT, submanifolds=2)))

    assert len(result.places.places) == 5
    assert {place.at[0] for place in result.places.places} == {4 * FOOT}
    assert {place.storey for place in result.places.places} == {"utility wall"}
    assert all(place.at[2] == pytest.approx(4 * FOOT) for place in result.places.places)


def test_a_grid_of_millions_is_refused() -> None:
    """A slip in the grid, or in a position; without a grid of its own the file gets a wider one."""
    given = random_house(3, 3)
    fine = replace(given, layout=Layout(grid=1e-4))
    (far, *near) = given.fixtures
    assert far.at is not None
    away = replace(far, at=(3e3, 6e3, far.at[2]))

    assert "more than 5000 places" in faults(fine)
    kept = kept_of(replace(given, layout=Layout(), fixtures=(away, *near)))
    assert len(candidates(kept)[0]) <= 600


def test_no_joint_lies_in_the_slab_where_it_can_be_helped() -> None:
    """Home runs have none; a trunk goes above the ceiling for it, or says how many it has."""
    slab = Storey(name="slab", floor=0.0, pipes_at=-0.5 * FOOT, in_slab=True)
    attic = Storey(name="attic", floor=9 * FOOT, manifolds=False)
    inner = random_house(4, 5)
    with_attic = layout(replace(inner, storeys=(slab, attic)))
    only_slab = layout(replace(inner, storeys=(slab,)))

    assert all(option.slab_joints == 0 for option in with_attic.options)
    trunk = next(option for option in only_slab.options if option.code == "trunk")
    assert trunk.slab_joints > 0
    assert trunk.slab_joints % 3 == 0  # three to each tee of flexible tube
    assert only_slab.options[0].slab_joints == 0
    assert only_slab.options[only_slab.chosen].slab_joints == 0
    written = sum(run.run.joints for run in trunk.design.runs)
    assert written == trunk.slab_joints

    # the answer names what it passed over for its joints, and never a dearer layout as the least
    chosen, told = only_slab.options[only_slab.chosen], only_slab.answer("us")
    cheaper = [
        option
        for option in only_slab.options
        if option.works and option.design.cost < chosen.design.cost
    ]
    assert "takes least pipe by mass" in told
    assert "least" in with_attic.answer("us")
    assert ("Passed over" in told) is bool(cheaper)
    assert all(option.slab_joints for option in cheaper)
    least = min(cheaper, key=lambda option: option.design.cost, default=None)
    assert least is None or f"for {least.slab_joints} joints in the slab" in told


def test_freedom_grows_with_its_price(study: LayoutStudy) -> None:
    """More money never leaves fewer places."""
    counts = [freedom.places for freedom in study.places.freedom]

    assert counts == sorted(counts)
    assert counts[0] >= 1


def test_volumes_are_those_of_the_bores(study: LayoutStudy) -> None:
    """Hot water in pipe: the bores' areas by their lengths."""
    for option in study.options:
        total = sum(
            3.141592653589793 / 4 * run.size.inside_diameter**2 * run.run.length
            for run in option.design.runs
            if run.side == "hot"
        )
        assert option.hot_volume == pytest.approx(total, rel=1e-12)


def faults(given: House) -> str:
    """What a layout of a house complains of."""
    with pytest.raises(InputError) as caught:
        layout(given)
    return str(caught.value)


def test_everything_missing_is_told_at_once() -> None:
    """Fixtures, heater and origin without position are all named."""
    given = random_house(2, 3)
    bare = replace(
        given,
        points=(),
        devices=tuple(replace(device, at=None) for device in given.devices),
        fixtures=tuple(replace(fixture, at=None) for fixture in given.fixtures),
    )
    text = faults(bare)

    assert text.count("no position") == 3
    assert all(repr(fixture.name) in text for fixture in bare.fixtures)
    assert "entry" in text


def test_an_unknown_origin_gets_the_nearest_name() -> None:
    """[layout] from must be a point of the file."""
    given = random_house(2, 3)

    assert "did you mean 'entry'" in faults(replace(given, layout=Layout(start="entri")))


def test_a_device_within_is_refused() -> None:
    """What is laid anew has no place for a filter in its middle."""
    given = random_house(2, 3)
    extra = Device(name="filter", kind="cartridge-filter", start="heater outlet", end="x",
                   loss=Loss())  # fmt: skip
    moved = replace(
        given.fixtures[0], hot=branch(given.fixtures[0].name, "hot", "x", fittings=None)
    )
    changed = replace(given, devices=(*given.devices, extra), fixtures=(moved, *given.fixtures[1:]))

    assert "filter" in faults(changed)


def test_a_fixture_in_a_zone_is_named() -> None:
    """No pipe reaches it, and that is said."""
    given = random_house(3, 4, zone=True)
    (zone,) = given.zones
    middle = tuple((a + b) / 2 for a, b in zip(zone.corner, zone.opposite, strict=True))
    lost = placed("lost basin", "lavatory", (middle[0], middle[1], 1.0))

    assert "lost basin" in faults(replace(given, fixtures=(*given.fixtures, lost)))


def test_cold_only_houses_have_layouts_too() -> None:
    """Without a heater there is one side."""
    taps = tuple(
        placed(f"tap {n}", "lavatory", feet(6 * n, 3 * n % 7, 3), hot=False) for n in range(4)
    )
    result = layout(house(taps, devices=()))

    assert result.options[0].outlets == ()
    assert result.options[0].longest_wait is None
    assert result.ok


def test_every_place_is_sized_as_size_does() -> None:
    """A branch with a fixed size and two of a group are sized as `size` does."""
    given = random_house(11, 5)
    first, second, third, *rest = given.fixtures
    assert first.cold is not None
    assert second.cold is not None
    assert third.cold is not None
    given = replace(
        given,
        fixtures=(
            replace(first, cold=replace(first.cold, size="3/4")),
            replace(second, cold=replace(second.cold, group="pair")),
            replace(third, cold=replace(third.cold, group="pair")),
            *rest,
        ),
    )
    site = survey(kept_of(given))
    places = list(manifold_places(site))
    for number in (0, len(site.places) // 2, len(site.places) - 1):
        design = sc.size(site.house(number))
        assert places[number].cost == pytest.approx(design.cost, rel=1e-12)
        assert places[number].worst_margin == pytest.approx(design.worst.margin, abs=1e-6)


def test_a_wait_without_end_is_called_never() -> None:
    """At a pressure that brings no water up, no layout has a time to show."""
    given = random_house(9, 4)
    study = layout(replace(given, source=replace(given.source, cut_in=10.0, cut_out=20.0)))
    text = to_text(layout_page(study, "us"), "us")

    assert "never" in text
    assert " inf" not in text
