"""From a house to the solver: what is opened, ratings, sources, heat on the way."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.delivery.fixture_use import parse_uses, rating
from supplycalc.delivery.heat import arriving_temperature, cooled, loss_per_length, mean_temperature
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import sagging_main, valve_law
from supplycalc.delivery.source_cases import pump_law, source_cases
from supplycalc.model import DropPipe, Pump, Water, WaterSource, Well
from supplycalc.network import build_tree
from supplycalc.problems import InputError
from supplycalc.questions.size.study import size
from supplycalc.supply.supply_curve import pump_pressure
from tests.houses import FOOT, GPM, PSI, two_storey, well

PUMP = Pump(
    curve=(
        (0.0, 310 * FOOT),
        (5 * GPM, 290 * FOOT),
        (10 * GPM, 235 * FOOT),
        (15 * GPM, 140 * FOOT),
    )
)
DRILLED = Well(
    static_level=62 * FOOT,
    specific_capacity=1.2 * GPM / FOOT,
    elevation=-9.0,
    drop_pipe=DropPipe(material="pe-cts-sdr9", size="1", length=160 * FOOT),
)


def test_what_is_open_is_read() -> None:
    """A name, a share, a side; a share and a side together."""
    uses = parse_uses(two_storey(), ["bath", "garden tap@50%", "basin (hot)", "sink (cold)@ 25 %"])

    assert [use.name for use in uses] == ["bath", "garden tap", "basin (hot)", "sink (cold)"]
    assert [use.through for use in uses] == ["both", "cold", "hot", "cold"]
    assert [use.share for use in uses] == [1.0, 0.5, 1.0, 0.25]


def test_a_fixture_whose_name_looks_like_a_share() -> None:
    """The name itself goes before what it could mean."""
    house = two_storey()
    odd = replace(house.fixtures[-1], name="tap@50%")
    uses = parse_uses(replace(house, fixtures=(*house.fixtures[:-1], odd)), ["tap@50%"])

    assert (uses[0].name, uses[0].share) == ("tap@50%", 1.0)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("bsth", "did you mean 'bath'"),
        ("bath@0%", "more than 0"),
        ("bath@150%", "at most 100"),
        ("toilet (hot)", "has no hot side"),
        ("attic (cold)", "there is no fixture 'attic'"),
    ],
)
def test_what_cannot_be_open_is_refused(text: str, message: str) -> None:
    """With the nearest name where there is one."""
    with pytest.raises(InputError, match="(?s)" + message.replace("(", r"\(")):
        parse_uses(two_storey(), [text])


def test_a_fixture_opened_twice_is_refused() -> None:
    """Also when it is once by its name and once by a side."""
    with pytest.raises(InputError, match="opened twice"):
        parse_uses(two_storey(), ["bath", "bath (cold)"])


def test_ratings() -> None:
    """Orifice through the rated point; regulators by IRC Table P2903.2, none at a hose bibb.

    Lavatory 0.8 gpm at 8 psi (IRC Table P2903.1) is 2.19 gpm at 60 psi, and the table of maximum
    flows says 2.2 gpm at 60 psi: the two agree to their rounding.
    """
    tree = build_tree(two_storey())
    basin, tap = (rating(use, tree) for use in parse_uses(two_storey(), ["basin", "garden tap"]))

    assert basin.cap / GPM == pytest.approx(2.2)
    assert basin.coefficient * math.sqrt(60 * PSI) / GPM == pytest.approx(2.2, abs=0.05)
    assert tap.cap == math.inf
    assert tap.coefficient * math.sqrt(8 * PSI) / GPM == pytest.approx(5.0)


def test_an_outlet_that_needs_no_pressure_has_no_law() -> None:
    """Nothing says how its flow goes with pressure."""
    house = two_storey()
    tap = replace(house.fixtures[-1], pressure=0.0)
    house = replace(house, fixtures=(*house.fixtures[:-1], tap))
    (use,) = parse_uses(house, ["garden tap"])

    with pytest.raises(InputError, match="needs no pressure"):
        rating(use, build_tree(house))


def test_source_cases() -> None:
    """Cut-in and cut-out hold; with a curve the pump alone, never above cut-out; a main sags."""
    house = two_storey(source=replace(well(), pump=PUMP, well=DRILLED))
    catalogue = house.catalogue
    cases = source_cases(house, catalogue)
    main = WaterSource(kind="main", static=62 * PSI, residual=54 * PSI, residual_flow=10 * GPM)
    (sagging,) = source_cases(two_storey(source=main), catalogue)

    assert [case.name for case in cases] == ["cut-in", "cut-out", "pump alone"]
    assert cases[0].law(1e-3)[0] == 40 * PSI
    assert cases[2].law(0.0)[0] == 60 * PSI
    assert sagging.law(0.0)[0] == 62 * PSI
    assert sagging.law(10 * GPM)[0] == pytest.approx(54 * PSI)


def test_a_constant_pressure_pump_holds_its_set_pressure() -> None:
    """Until its curve cannot."""
    pump = replace(PUMP, kind="constant-pressure", set_pressure=50 * PSI)
    house = two_storey(source=replace(well(), cut_in=None, cut_out=None, pump=pump, well=DRILLED))
    (case,) = source_cases(house, house.catalogue)

    assert case.law(2 * GPM)[0] == 50 * PSI
    assert case.law(15 * GPM)[0] < 50 * PSI


@pytest.mark.parametrize("gpm", [0.0, 3.0, 5.0, 7.7, 10.0, 14.0, 20.0])
def test_the_pump_law_is_that_of_the_supply(gpm: float) -> None:
    """Equal to supply.source.pump_pressure; its slope is the difference quotient to 1e-5."""
    house = two_storey(source=replace(well(), pump=PUMP, well=DRILLED))
    catalogue = house.catalogue
    law = pump_law(house, catalogue)
    flow, step = gpm * GPM, 1e-9
    below = pump_pressure(house, max(flow - step, 0.0))
    quotient = (pump_pressure(house, flow) - below) / min(step, flow or step)

    assert law(flow)[0] == pytest.approx(pump_pressure(house, flow), rel=1e-12)
    if flow > 0.0:
        assert law(flow)[1] == pytest.approx(quotient, rel=1e-5)


@pytest.mark.parametrize("flow", [1e-7, 5e-7, 1e-6, 3e-5, 1e-3])
def test_slopes_of_bent_laws(flow: float) -> None:
    """A reducing valve's and a main's slopes are their difference quotients, to 1e-4."""
    laws = (valve_law(3e5, 7e4, 7e-4, 0.7), sagging_main(4e5, 3e5, 6e-4, 1.852))
    for law in laws:
        step = 1e-4 * flow
        quotient = (law(flow + step)[0] - law(flow - step)[0]) / (2.0 * step)

        assert law(flow)[1] == pytest.approx(quotient, rel=1e-4, abs=10.0)


def test_the_bent_valve_law_meets_the_power_law() -> None:
    """From 0.06 L/min up it is setting less fall-off times (flow over flow)^0.7."""
    law = valve_law(3e5, 7e4, 7e-4, 0.7)

    assert law(0.0)[0] == 3e5
    assert law(7e-4)[0] == pytest.approx(2.3e5)
    assert law(1e-6)[0] == pytest.approx(3e5 - 7e4 * (1e-6 / 7e-4) ** 0.7, rel=1e-12)


def test_mixing_100_percent() -> None:
    """120 and 50 degF at 0.786 hot give 105 degF (ASPE formula, from memory; volume for mass).

    The formula takes volumes for masses, which is 1.1 % of the hot share here: 0.3 degF.
    """
    hot, cold = (120 - 32) / 1.8 + 273.15, (50 - 32) / 1.8 + 273.15
    mixed = mean_temperature((1.0 - 0.786, 0.786), (cold, hot))

    assert (mixed - 273.15) * 1.8 + 32 == pytest.approx(105.0, abs=0.3)
    assert math.isnan(mean_temperature((0.0, 0.0), (cold, hot)))


def test_heat_lost_by_a_bare_and_an_insulated_tube() -> None:
    """3/4 in copper, 0.785/0.875 in: bare pi*d*h = 0.698 W/(m K); half an inch of foam halves it.

    The bare figure is 0.40 Btu/(h ft F); laboratory tests of hot water pipe gave 0.39 for flowing
    water in bare 3/4 in copper (C. Hiller, ASHRAE, from memory): within 5 %.
    """
    bare = loss_per_length(0.785 * 0.0254, 0.875 * 0.0254, 300.0, 0.0, 0.037, 10.0)
    foam = loss_per_length(0.785 * 0.0254, 0.875 * 0.0254, 300.0, 0.0127, 0.037, 10.0)

    assert bare == pytest.approx(math.pi * 0.875 * 0.0254 * 10.0, rel=1e-3)
    assert bare / 1.730735 == pytest.approx(0.388, rel=0.05)
    assert foam < 0.5 * bare


def test_cooling_on_the_way() -> None:
    """Little loss: the drop is UA*dT/(rho c q). No flow: the water ends as warm as the air."""
    drop = 322.0 - cooled(322.0, 293.0, 0.5, 1e-4)

    assert drop == pytest.approx(0.5 * 29.0 / (989.0 * 4180.0 * 1e-4), rel=0.002)
    assert cooled(322.0, 293.0, 5.0, 0.0) == 293.0
    assert cooled(322.0, 293.0, 0.0, 1e-4) == 322.0


def test_insulation_keeps_hot_water_hot() -> None:
    """The same house with insulated hot runs delivers warmer water; cold water stays as it is."""
    house = two_storey(water=Water(hot=333.15))
    insulated = replace(house, runs=tuple(replace(run, insulated=True) for run in house.runs))
    found = []
    for one in (house, insulated):
        design = size(one, mend=False)
        household = Household(design)
        (use,) = parse_uses(one, ["basin (hot)"])
        law = source_cases(one, design.tree.catalogue)[0].law
        settled = household.settle((use,), law)
        found.append(settled.outflows[0].temperature)
        cold = next(outlet.link for outlet in design.tree.outlets if outlet.side == "cold")
        assert arriving_temperature(design, cold, settled.delivered.flow) == one.water.cold

    assert found[0] < found[1] < 333.15
