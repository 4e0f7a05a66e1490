"""What a run loses in each size: every ingredient of the account, by hand arithmetic.

The expected values are worked here from Darcy-Weisbach with Colebrook's equation by repeated
substitution, IAPWS water and the code's own words; nothing is read back from the module under test.
The port that a device or a run stands on has K 4.7, by the Cv of 3.1 that a maker's design manual
gives the outlet of a multiport tee.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.household import shut_supply
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import (
    Defaults,
    Device,
    House,
    Limits,
    Loss,
    Manifold,
    Project,
    Run,
    WaterSource,
)
from supplycalc.questions.parts.manifolds import manifolds
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Design
from supplycalc.sizing.link_laws import laws_of_design
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

HALF_INCH_PEX = 0.475 * 0.0254
"""[m] average inside diameter, ASTM F876."""
INCH = 0.0254
COLD, HOT = 283.15, (120.0 + 459.67) / 1.8


def tap(**more: object) -> Run:
    """One hose bibb on 50 ft of half inch PEX."""
    return branch("tap", "cold", "source", 50.0, size="1/2", **more)


def designed(run: Run, gpm: float = 4.0, **more: object) -> Design:
    """A house of that single tap."""
    fixture = replace(cold_fixture("tap", "hose-bibb", "source"), cold=run, flow=gpm * GPM)
    return size(two_storey(runs=(), devices=(), fixtures=(fixture,), **more), mend=False)


def friction(
    gpm: float, feet: float, inside_diameter: float, temperature: float, roughness: float = 1.5e-6
) -> float:
    """Darcy-Weisbach with the friction factor by Colebrook [Pa]."""
    rho, mu = density(temperature), viscosity(temperature)
    speed = gpm * GPM / (math.pi * inside_diameter**2 / 4.0)
    reynolds, factor = rho * speed * inside_diameter / mu, 0.02
    assert reynolds > 4000.0
    for _ in range(60):
        rough, smooth = roughness / inside_diameter / 3.7, 2.51 / (reynolds * math.sqrt(factor))
        factor = (-2.0 * math.log10(rough + smooth)) ** -2
    return factor * feet * FOOT / inside_diameter * rho * speed**2 / 2.0


def test_half_of_the_length_is_added_where_no_fittings_are_listed() -> None:
    """Wisconsin SPS 382.40(7)(a): 1.5 times the developed length."""
    run = designed(tap(fittings=None)).runs[0]

    assert run.counted_length == pytest.approx(75.0 * FOOT)
    pipe, half = (friction(4.0, feet, HALF_INCH_PEX, COLD) for feet in (50.0, 25.0))
    assert run.friction_loss == pytest.approx(pipe, rel=1e-6)
    assert run.fitting_loss == pytest.approx(half, rel=1e-6)


def test_a_share_of_the_files_own_replaces_it() -> None:
    """The run's own share goes before the file's, and that before the published one."""
    house = {"defaults": Defaults(fitting_allowance=0.2)}

    assert designed(tap(fittings=None), **house).runs[0].counted_length == pytest.approx(60 * FOOT)
    own = designed(tap(fittings=None, fitting_allowance=0.0), **house).runs[0]
    assert own.counted_length == pytest.approx(50 * FOOT)


def test_no_allowance_on_top_of_counted_fittings() -> None:
    """Listed fittings stand for themselves, also where the list is empty."""
    counted = designed(tap(fittings=(("elbow-90", 3),))).runs[0]
    none = designed(tap(fittings=())).runs[0]

    assert counted.counted_length == none.counted_length == pytest.approx(50.0 * FOOT)
    assert counted.friction_loss == none.friction_loss
    assert counted.fitting_loss > none.fitting_loss == 0.0


def test_roughness_of_old_pipe_replaces_the_tubes() -> None:
    """0.15 mm instead of 0.0015 mm."""
    old = designed(tap(roughness=0.15e-3)).runs[0]

    assert old.friction_loss == pytest.approx(
        friction(4.0, 50.0, HALF_INCH_PEX, COLD, 0.15e-3), rel=1e-6
    )


def test_hazen_williams_takes_the_materials_own_c() -> None:
    """4.52 Q^1.852/(C^1.852 d^4.87) psi/ft; the rounded constants differ by up to 0.7 %."""
    project = Project(name="x", friction="hazen-williams")
    run = tap(material="copper-l", joining="soldered")
    loss = designed(run, project=project).runs[0].friction_loss
    by_hand = 4.52 * 4.0**1.852 / (140.0**1.852 * 0.545**4.87) * 50.0

    assert loss / PSI == pytest.approx(by_hand, rel=0.007)


def test_hot_water_is_thinner_and_lighter() -> None:
    """A hot run's friction has the viscosity, its height the density, of hot water."""
    design = size(two_storey(), mend=False)
    hot = design.run("bath hot")

    assert hot.temperature == pytest.approx(HOT, abs=1e-9)
    assert hot.friction_loss == pytest.approx(
        friction(hot.design_flow / GPM, 30.0, hot.size.inside_diameter, HOT), rel=1e-6
    )
    bath = next(outlet for outlet in design.outlets if outlet.name == "bath (hot)")
    cold = next(outlet for outlet in design.outlets if outlet.name == "bath (cold)")
    assert bath.static_change == pytest.approx(-density(HOT) * 9.80665 * 3.5, rel=1e-9)
    assert cold.static_change == pytest.approx(-density(COLD) * 9.80665 * 3.5, rel=1e-12)


def test_a_manifolds_port_counts_once_for_each_branch() -> None:
    """K 4.7 (Cv 3.1 of a 1/2 inch outlet) on the branch's velocity head; none on other runs."""
    design = size(home_run(2), mend=False)
    run = design.run("basin 0 cold")

    assert run.k == pytest.approx(4.7)
    assert run.fitting_loss == pytest.approx(4.7 * density(COLD) * run.velocity**2 / 2.0)
    assert design.run("service").k == 0.0


def test_a_manifold_on_a_manifold() -> None:
    """The run between two manifolds leaves by a port, and so does each branch of the second."""
    house = home_run(
        2,
        runs=(pipe("service", "source", "entry"), pipe("link", "first", "second inlet")),
        manifolds=(
            Manifold(name="first", start="entry"),
            Manifold(name="manifold", start="second inlet"),
        ),
    )
    design = size(house, mend=False)

    assert [design.run(name).k for name in ("service", "link", "basin 1 cold")] == [0.0, 4.7, 4.7]


def reducer(name: str, start: str, end: str, psi: float) -> Device:
    """A reducing valve that falls off by 6 psi at 10 gpm."""
    return Device(
        name=name, kind="pressure-reducing-valve", start=start, end=end, elevation=0.0,
        setting=psi * PSI, falloff=6.0 * PSI, falloff_flow=10.0 * GPM,
    )  # fmt: skip


def behind_valves(*settings: float, gpm: float = 5.0, psi: float = 110.0) -> Design:
    """A tap straight behind one valve or several in series, on a main that stands at 120 psi."""
    ends = ["source", *(f"v{i} out" for i in range(len(settings)))]
    fixture = replace(cold_fixture("tap", "hose-bibb", ends[-1], 1e-6), flow=gpm * GPM)
    return size(
        two_storey(
            source=WaterSource(kind="main", static=120.0 * PSI, residual=psi * PSI),
            runs=(),
            devices=tuple(
                reducer(f"v{i}", ends[i], ends[i + 1], setting)
                for i, setting in enumerate(settings)
            ),
            fixtures=(fixture,),
        ),
        mend=False,
    )


def test_a_reducing_valves_outlet_falls_off_and_its_setting_holds_at_rest() -> None:
    """50 psi set: at half the flow of the fall-off 6*0.5^0.7 psi less, at rest 50."""
    tap_outlet = behind_valves(50.0).outlets[0]

    assert tap_outlet.residual / PSI == pytest.approx(50.0 - 6.0 * 0.5**0.7, abs=1e-3)
    assert tap_outlet.static_pressure / PSI == pytest.approx(50.0, abs=1e-9)


@pytest.mark.parametrize("settings", [(80.0, 50.0), (50.0, 80.0)])
def test_of_two_valves_in_series_the_lower_decides(settings: tuple[float, float]) -> None:
    """Behind 50 psi a valve set to 80 stands wide open and takes its open loss.

    15 psi at 33 gpm (common practice) is 0.344 psi at 5 gpm.
    """
    outlet = behind_valves(*settings).outlets[0]
    open_loss = 15.0 * (5.0 / 33.0) ** 2 if settings[0] < settings[1] else 0.0

    assert outlet.residual / PSI == pytest.approx(50.0 - 6.0 * 0.5**0.7 - open_loss, abs=1e-3)
    assert outlet.static_pressure / PSI == pytest.approx(50.0, abs=1e-9)


def test_a_valve_that_the_source_does_not_reach_is_wide_open() -> None:
    """40 psi before a valve set to 60: 40 less the open loss; the account closes."""
    design = behind_valves(60.0, psi=40.0)
    outlet = design.outlets[0]

    assert outlet.residual / PSI == pytest.approx(40.0 - 15.0 * (5.0 / 33.0) ** 2, abs=1e-3)
    assert outlet.residual == pytest.approx(
        design.source.design_pressure + outlet.static_change - outlet.loss, rel=1e-12
    )


@pytest.mark.parametrize(
    ("material", "joining", "fahrenheit", "limit"),
    [
        ("copper-l", "soldered", 120.0, 5.0),
        ("copper-l", "soldered", 140.0, 5.0),
        ("copper-l", "soldered", 141.0, 3.0),
        ("pex-sdr9", "crimp", 141.0, 8.0),
    ],
)
def test_velocity_limit_of_hot_water(
    material: str, joining: str, fahrenheit: float, limit: float
) -> None:
    """Copper Tube Handbook: 5 ft/s hot, 2 to 3 ft/s above 140 degF; cold stays at 8 ft/s."""
    house = two_storey(
        fixtures=(mixed_fixture("bath", "tub-shower", "hall", "hot hall"),),
        runs=tuple(
            replace(run, material=material, joining=joining)
            for run in two_storey().runs
            if run.name in ("service", "trunk", "heater feed", "hot trunk")
        ),
    )
    house = replace(house, water=replace(house.water, hot=(fahrenheit + 459.67) / 1.8))
    design = size(house, mend=False)

    assert design.run("hot trunk").velocity_limit / FOOT == pytest.approx(limit)
    assert design.run("trunk").velocity_limit / FOOT == pytest.approx(8.0)
    assert design.run("hot trunk").velocity <= design.run("hot trunk").velocity_limit * (1 + 1e-9)


def test_the_files_own_velocity_limits_keep_to_their_sides() -> None:
    """The cold limit holds for cold runs, the hot one for hot runs."""
    limits = Limits(velocity_cold=3.0, velocity_hot=1.0)
    design = size(two_storey(limits=limits), mend=False)

    assert {(result.side, result.velocity_limit) for result in design.runs} == {
        ("cold", 3.0),
        ("hot", 1.0),
    }


def test_pipe_mass_of_a_known_tube() -> None:
    """Copper Tube Handbook, Table 2b: 3/4 inch type L weighs 0.455 lb/ft (from memory).

    0.3 %: the printed digit, and density 8940 against the handbook's 0.323 lb/in3.
    """
    tube = designed(
        branch("tap", "cold", "source", 1.0, size="3/4", material="copper-l", joining="soldered")
    )

    assert tube.cost / 0.45359237 == pytest.approx(0.455, rel=0.003)


def with_filter(start: str) -> House:
    """A closet behind a filter on a manifold, the filter at the manifold or at a pipe's end."""
    filter_ = Device(
        name="filter",
        kind="uv",
        start=start,
        end="clean",
        loss=Loss(quadratic=3.0 * PSI, reference_flow=12.0 * GPM),
    )
    plain = home_run(ports=3)
    stub = pipe("stub", "manifold", "stub end", 1.0)
    return home_run(
        ports=3,
        runs=(*plain.runs, *((stub,) if start != "manifold" else ())),
        devices=(filter_,),
        fixtures=(*plain.fixtures, cold_fixture("toilet", "water-closet", "clean", elevation=0.5)),
    )


def test_a_device_on_a_port_loses_the_port_too() -> None:
    """3 gpm through Cv 3.1 take (3/3.1)^2 psi (K 4.7 at 5.43 ft/s in half-inch PEX, to the two
    digits of K), beside the device's own 3 psi x (3/12)^2. 3/8 inch would run 10 ft/s, more than
    its limit. Exact but for the figures' own digits (1e-9)."""
    design = size(with_filter("manifold"), mend=False)
    [device] = design.devices

    velocity = 3.0 * GPM / (math.pi / 4.0 * (0.475 * INCH) ** 2)
    port = 4.7 * density(design.house.water.cold) * velocity**2 / 2.0

    assert port == pytest.approx((3.0 / 3.1) ** 2 * PSI, rel=0.01)
    assert device.loss == pytest.approx(3.0 * PSI / 16.0 + port, rel=1e-9)
    told = [
        assumption
        for assumption in design.assumptions
        if assumption.text.startswith("filter hangs right on")
    ]
    assert len(told) == 1
    assert told[0].values[0][0] == pytest.approx(port)


def test_the_port_counts_once() -> None:
    """With pipe between, the port is the pipe's and the device has its own loss alone; the pipe
    behind a device on a port has none."""
    piped = size(with_filter("stub end"), mend=False)
    direct = size(with_filter("manifold"), mend=False)
    k = {result.run.name: result.k for result in (*piped.runs, *direct.runs)}

    assert k["stub"] == pytest.approx(4.7)
    assert k["toilet cold"] == 0.0
    assert piped.devices[0].loss == pytest.approx(3.0 * PSI / 16.0, rel=1e-9)
    assert not any("right on a port" in assumption.text for assumption in piped.assumptions)


def test_what_comes_out_meets_the_same_port() -> None:
    """The delivered flow is found with the same K on the same inside diameter as sizing."""
    design = size(with_filter("manifold"), mend=False)
    supply = shut_supply(design, laws_of_design(design))
    index = design.devices[0].index

    assert supply.k[index] == pytest.approx(4.7)
    assert supply.inside_diameter[index] == pytest.approx(0.475 * INCH)


def test_the_device_takes_a_port_of_the_manifold_to_buy() -> None:
    """Three basins and the filter: of six ports two are left, however the filter is joined."""
    for start in ("manifold", "stub end"):
        house = with_filter(start)
        house = replace(house, manifolds=(replace(house.manifolds[0], ports=6),))
        [use] = manifolds(size(house, mend=False))

        assert (use.total, use.spare) == (6, 2)


def test_a_manifold_on_a_manifold_is_one_body() -> None:
    """No pipe between: nothing lost, and the reader is told to write the run that there may be."""
    plain = home_run(ports=2)
    house = home_run(
        ports=2,
        manifolds=(*plain.manifolds, Manifold(name="second", start="manifold", ports=2)),
        fixtures=(*plain.fixtures, cold_fixture("toilet", "water-closet", "second")),
    )
    design = size(house, mend=False)

    assert [
        assumption.text
        for assumption in design.assumptions
        if assumption.text.startswith("second is taken")
    ]
