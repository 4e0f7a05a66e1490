"""Published statements on home runs, submanifolds and trunks, as far as their numbers allow.

Sources and what they give:

* Journal of Light Construction, hot-water circulation systems: a bungalow whose trunk and branch is
  60 ft of 3/4 in and 10 ft of 1/2 in; 1.75 gal stand in it; 47 s at 2.2 gpm, 70 s at 1.5 gpm. The
  copper is taken as type M, whose volumes give 1.74 gal: the article's 1.75 is 0.6 % more.
* EPA WaterSense, New Home Specification 1.2, section 3.3: no more than 0.5 gal between heater and
  fixture; a townhouse project's longest home run: 28.5 ft of 1/2 in PEX hold 0.26 gal.
* Pacific Northwest National Laboratory, Building America Solution Center, core and manifold
  plumbing: in a house of 1,200 sq ft with trunk and branch the volume to the farthest fixture can
  exceed 1.5 gal, and the wait 90 s.
* Three designs for PEX plumbing (a home-building magazine, 2009): trunk and branch needs least pipe
  and wastes most hot water, home runs need most pipe, submanifolds lie between.

The design guide of the Plastics Pipe Institute that compares measured layouts of one house (2006)
could not be read beyond its contents: none of its numbers is used here rather than recalled.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.model import Defaults, Fixture, House, Layout, Project, Storey, Wall
from supplycalc.questions.hot.cold_pipe import waiting_time
from supplycalc.questions.layout.kept_house import kept_of
from supplycalc.questions.layout.places import survey
from supplycalc.questions.layout.shapes import manifold_house
from supplycalc.questions.layout.study import LayoutStudy, layout
from supplycalc.questions.layout.trunk import trunk_house
from tests.commands.files import SCENARIOS
from tests.houses import FOOT, GPM, PSI, branch, pipe, well
from tests.questions.layout_houses import feet, house, placed

GALLON = 231 * 0.0254**3


def volume(design: sc.Design, fixture: str) -> float:
    """Water between heater and a fixture's hot connection [gal]."""
    outlet = next(
        outlet
        for outlet in design.outlets
        if outlet.fixture.name == fixture and outlet.side == "hot"
    )
    return (
        sum(
            math.pi / 4 * run.size.inside_diameter**2 * run.run.length
            for run in design.runs
            if run.side == "hot" and run.run.name in outlet.path
        )
        / GALLON
    )


def bungalow() -> House:
    """The article's house: everything on one line 60 ft from the heater, the basin 10 ft beside it.

    Trunk 3/4 in type M copper, branches 1/2 in; lengths are the article's: no allowance is added.
    """
    basin = placed("basin", "lavatory", feet(60, 10, 0))
    tub = placed("tub", "tub-shower", feet(60, -12, 0))
    copper = {"material": "copper-m", "joining": "soldered", "size": "1/2", "fittings": None}
    fixtures = []
    for place in (basin, tub):
        fixtures.append(
            Fixture(
                name=place.name,
                kind=place.kind,
                elevation=0.0,
                at=place.at,
                cold=branch(place.name, "cold", "entry", **copper),
                hot=branch(place.name, "hot", "heater outlet", **copper),
            )
        )
    return house(
        tuple(fixtures),
        entry=feet(0, 0, 0),
        heater=feet(0, 0, 0),
        project=Project(name="Bungalow", length_allowance=0.0),
        source=well(60.0, 80.0),
        defaults=Defaults(material="copper-m", joining="soldered"),
        layout=Layout(grid=10 * FOOT, height=0.0, submanifolds=2),
        storeys=(Storey(name="crawl space", floor=0.0),),
        walls=(Wall(name="heater wall", start=feet(0, 0, 0), end=feet(0, 10, 0)),),
        runs=(
            pipe("service", "source", "entry", 20.0, material="copper-l", joining="soldered",
                 size="1"),
        ),
    )  # fmt: skip


@pytest.fixture(scope="module")
def trunk() -> sc.Design:
    """The bungalow with its trunk, the trunk fixed at the article's 3/4 in."""
    given = bungalow()
    site = survey(kept_of(given))
    laid = trunk_house(site.kept, site.routes, "steiner", [0]).house
    runs = tuple(replace(run, size="3/4") if "trunk" in run.name else run for run in laid.runs)
    return sc.size(replace(laid, runs=runs))


def test_the_bungalows_trunk_is_the_articles(trunk: sc.Design) -> None:
    """60 ft shared and 10 ft of its own, found by the Steiner tree; 1.74 gal against 1.75."""
    branch_run = trunk.run("basin hot").run
    shared = [run for run in trunk.runs if run.run.name.startswith("hot trunk")]

    assert branch_run.length == pytest.approx(10 * FOOT, abs=0.005)
    assert sum(run.run.length for run in shared) == pytest.approx(60 * FOOT, abs=0.005)
    assert volume(trunk, "basin") == pytest.approx(1.75, rel=0.006)


@pytest.mark.parametrize(("flow", "seconds"), [(2.2, 47.0), (1.5, 70.0)])
def test_the_bungalows_wait(trunk: sc.Design, flow: float, seconds: float) -> None:
    """47 s and 70 s: the article rounds to whole seconds and its volume to 0.05 gal (3 %)."""
    wait = waiting_time(volume(trunk, "basin") * GALLON, flow * GPM, 1.0)

    assert wait == pytest.approx(seconds, rel=0.025 / 1.75, abs=0.5)


def test_the_same_bungalow_run_home_holds_less(trunk: sc.Design) -> None:
    """One 1/2 in home run of the same 70 ft holds 0.93 gal (1.69 oz/ft): 53 % of the trunk's.

    IPC table E202.1 gives 1.69 oz/ft for 1/2 in and 3.43 for 3/4 in type M copper: 118.3 oz against
    222.7 oz. The table rounds to 0.005 oz/ft, 0.3 %.
    """
    given = bungalow()
    site = survey(kept_of(given))
    at_heater = next(
        i for i, (at, _) in enumerate(site.places) if math.dist(at, feet(0, 0, 0)) < 0.01
    )
    home = sc.size(manifold_house(site.kept, [site.spot(at_heater)], site.to_heater))
    own = home.run("basin hot")

    assert own.run.length == pytest.approx(70 * FOOT, abs=0.005)
    in_branch = math.pi / 4 * own.size.inside_diameter**2 * own.run.length / GALLON
    assert in_branch == pytest.approx(70 * 1.69 / 128, rel=0.003)
    assert in_branch / volume(trunk, "basin") == pytest.approx(118.3 / 222.7, rel=0.006)


def test_the_townhouses_longest_home_run() -> None:
    """28.5 ft of 1/2 in PEX: 0.26 gal, rounded to 0.01 gal (2 %), under WaterSense's 0.5 gal.

    IPC table E202.1 gives 1.18 oz/ft, rounded to 0.005: 0.42 %.
    """
    shower = placed("shower", "shower", feet(20, 8.5, 0))
    assert shower.hot is not None
    given = house(
        (shower,),
        entry=feet(0, 0, 0),
        heater=feet(0, 0, 0),
        project=Project(name="Town", length_allowance=0.0),
        layout=Layout(grid=100 * FOOT, height=0.0, submanifolds=2),
        storeys=(Storey(name="floor", floor=0.0),),
    )
    site = survey(kept_of(given))
    design = sc.size(site.house(0))
    run = design.run("shower hot")
    half = next(size for size in run.tube.sizes if size.nominal == "1/2")
    stored = math.pi / 4 * half.inside_diameter**2 * run.run.length / GALLON

    assert run.run.length == pytest.approx(28.5 * FOOT, abs=0.005)
    assert stored == pytest.approx(28.5 * 1.18 / 128, rel=0.0043)
    assert stored == pytest.approx(0.26, abs=0.005)
    assert stored < 0.5


@pytest.fixture(scope="module")
def ranch() -> LayoutStudy:
    """The invented ranch: 60 ft by 20 ft, 1,200 sq ft, as the Solution Center's example."""
    return layout(sc.load(SCENARIOS / "ranch-on-slab.toml"))


def test_the_order_of_pipe_lengths(ranch: LayoutStudy) -> None:
    """Least pipe in a trunk, most in home runs, submanifolds between, as the magazine has it."""
    pipe_of = {option.code: option.pipe for option in ranch.options}

    assert pipe_of["trunk"] < pipe_of["short-trunk"] < pipe_of["sub-2"] < pipe_of["home-run"]


def test_the_trunk_waits_longest(ranch: LayoutStudy) -> None:
    """The trunk of least pipe makes its farthest fixture wait longest, over 90 s in 1,200 sq ft.

    The Solution Center says that more than 90 s can occur; ours is another house, so only the order
    and the side of 90 s are held against it. Where we differ from the magazine: home runs do not
    hold least hot water here, since the one manifold stands, by cost, far from the heater behind a
    main of 3/4 or 1 in; the magazine's stands beside the heater.
    """
    waits = {
        option.code: option.longest_wait.wait for option in ranch.options if option.longest_wait
    }

    assert max(waits, key=lambda code: waits[code]) == "trunk"
    assert waits["trunk"] > 90.0


def test_fittings_in_the_walls(ranch: LayoutStudy) -> None:
    """A home run has no fitting between manifold and fixture; a trunk has a tee for each branch."""
    home = next(option for option in ranch.options if option.code == "home-run")
    trunk = next(option for option in ranch.options if option.code == "trunk")

    for run in home.design.runs:
        if run.run.fixture is not None:
            assert {kind for kind, _ in run.run.fittings or ()} <= {"bend", "ball-valve"}
    assert dict(home.fittings)["tee"] == 1  # the heater's feed
    assert dict(trunk.fittings)["tee"] > 10


@pytest.mark.parametrize(("gpm", "psi"), [(1.0, 5.1), (1.5, 10.3), (2.0, 17.0), (2.5, 25.2)])
def test_sixty_feet_of_three_eighths(gpm: float, psi: float) -> None:
    """The code's longest 3/8 in home run, 60 ft (IRC P2903.8.2), at 60 degF by Darcy-Weisbach.

    Figures computed apart with the library fluids and rounded to 0.1 psi, for a bore of 0.350 in:
    half a digit, 0.05 psi; ours with the same bore must agree.
    """
    from supplycalc.hydraulics.pressure import pipe_loss
    from supplycalc.hydraulics.water import density, viscosity
    from supplycalc.tables import kelvin

    temperature = kelvin(60.0, "degF")
    loss, _ = pipe_loss(
        gpm * GPM, 60 * FOOT, 0.350 * 0.0254, 1.5e-6, 0.0, density(temperature),
        viscosity(temperature),
    )  # fmt: skip

    assert loss / PSI == pytest.approx(psi, abs=0.05)
