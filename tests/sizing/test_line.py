"""The line before the tank against trying every choice of sizes."""

from __future__ import annotations

import itertools
import math

import pytest
from msgspec.structs import replace

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Pump, Run
from supplycalc.questions.size.study import size
from supplycalc.reading.prices import loads_prices
from supplycalc.sizing.changes import with_sizes
from supplycalc.sizing.costs import pipe_mass, pumping_cost
from supplycalc.sizing.line import NEARLY, size_line
from supplycalc.supply.supply_curve import flow_at_pressure
from supplycalc.supply.well_line import loss_to_tank_with_slope
from tests.houses import FOOT, GPM, PSI, drop_pipe, offset_pipe
from tests.supply.stations import CURVE, GALLON, house

SIZES = ("3/4", "1", "1-1/4", "1-1/2", "2")


def open_line(feet: float = 180.0, **parts: object) -> House:
    """A drop pipe and a line in the trench whose sizes are open."""
    line = (
        drop_pipe(160.0, size=None, sizes=SIZES),
        offset_pipe(feet, size=None, sizes=SIZES, material="pe-sidr7"),
    )
    return house(**{"line": line, **parts})


def by_trying(well_house: House, wanted: float) -> tuple[float, tuple[str, ...]]:
    """The cheapest of all choices that gives the wanted flow, none faster than its limit."""
    runs = [link for link in well_house.line if isinstance(link, Run)]
    cut_in, cold = well_house.source.cut_in or 0.0, well_house.water.cold
    best: tuple[float, tuple[str, ...]] = (math.inf, ())
    for choice in itertools.product(SIZES, repeat=len(runs)):
        tried = with_sizes(well_house, dict(zip((r.name for r in runs), choice, strict=True)))
        flow = flow_at_pressure(tried, cut_in)
        mass = 0.0
        slow = flow >= wanted * (1.0 - 1e-9)
        for run, nominal in zip(runs, choice, strict=True):
            tube = well_house.catalogue.tubes[run.material]
            each = tube.size(nominal)
            mass += pipe_mass(run, tube, each)
            limit = tube.velocity_limit(cold, hot=False)
            slow &= flow <= limit * flow_area(each.inside_diameter) * (1.0 + 1e-9)
        if slow:
            best = min(best, (mass, choice))
    return best


@pytest.mark.parametrize("gpm", [3.0, 6.0, 9.0, 12.0, 30.0])
@pytest.mark.parametrize("feet", [20.0, 180.0, 900.0])
def test_least_cost_is_that_of_trying_every_choice(gpm: float, feet: float) -> None:
    """25 choices each; where the pump cannot give the flow, nearly what the widest line gives."""
    well_house = open_line(feet)
    widest = with_sizes(well_house, {"drop pipe": "2", "offset pipe": "2"})
    most = flow_at_pressure(widest, well_house.source.cut_in or 0.0)
    sized, chosen = size_line(well_house, gpm * GPM, pipe_mass)
    mass, sizes = by_trying(well_house, min(gpm * GPM, NEARLY * most))

    assert chosen.cost == pytest.approx(mass, rel=1e-12)
    assert tuple(run.size for run in sized.every_run[:2]) == sizes


def test_the_line_is_one_with_its_pieces() -> None:
    """Two halves of the trench in one group are sized as the whole, the mass to rounding."""
    whole = open_line(180.0)
    line = whole.line
    assert isinstance(line[1], Run)
    first = replace(line[1], name="a", end="middle", length=line[1].length / 2.0, group="trench")
    second = replace(first, name="b", start="middle", end="source")
    sized, chosen = size_line(whole, 8.0 * GPM, pipe_mass)
    cut, pieces = size_line(replace(whole, line=(line[0], first, second)), 8.0 * GPM, pipe_mass)

    assert pieces.cost == pytest.approx(chosen.cost, rel=1e-12)
    assert [run.size for run in cut.every_run[1:3]] == [sized.every_run[1].size] * 2


def test_reasons_and_flow_stand_in_the_design() -> None:
    """Flow is what the pump gives; each run says what decided it and what less would have done."""
    design = size(open_line(), mend=False)
    assert design.line is not None
    assert design.pump is not None
    assert design.pump.pump_flow is not None

    assert design.line.by_pump
    assert design.line.flow == pytest.approx(design.pump.pump_flow[0], rel=1e-12)
    for run in design.line.runs:
        assert run.before_tank
        assert run.decided_by in {"velocity", "pump", "service minimum", "rating", "least cost"}
        assert run.design_flow == design.line.flow
    assert design.line.runs[-1].end_pressure == pytest.approx(40.0 * PSI, rel=1e-9)
    assert {run.name for run in design.every_run} > {"drop pipe", "offset pipe"}


def test_without_a_pump_velocity_decides_at_the_houses_peak() -> None:
    """Nothing is known of what will be pumped but what the house draws."""
    design = size(open_line(pump=None), mend=False)
    assert design.line is not None

    assert not design.line.by_pump
    assert design.line.flow == design.demand.design_flow[0]
    assert [told for told in design.assumptions if "sized by velocity alone" in told.text]
    for run in design.line.runs:
        assert run.velocity <= run.velocity_limit


def test_a_weak_tube_is_not_chosen() -> None:
    """A pump of 560 ft stuck on: SIDR 7 (200 psi) bears less than 243 psi in every size, which
    decides nothing then; the velocity still holds."""
    strong = Pump(curve=tuple((flow, 2.0 * head) for flow, head in CURVE))
    design = size(open_line(pump=strong), mend=False)
    assert design.line is not None

    for run in design.line.runs:
        assert run.velocity <= run.velocity_limit * (1.0 + 1e-9)


def test_electricity_makes_the_line_wider() -> None:
    """Every choice of sizes with its pipe and the energy of its friction at the wanted flow.

    A pump too weak to run any size too fast, so that nothing but the two costs decides.
    """
    weak = Pump(curve=((0.0, 260.0 * FOOT), (6.0 * GPM, 170.0 * FOOT)))
    well_house, wanted, energy = open_line(pump=weak), 3.0 * GPM, 4e-4
    plain, _ = size_line(well_house, wanted, pipe_mass)
    wide, chosen = size_line(well_house, wanted, pipe_mass, energy)
    costs = {}
    for choice in itertools.product(SIZES, repeat=2):
        tried = with_sizes(well_house, dict(zip(("drop pipe", "offset pipe"), choice, strict=True)))
        loss, _ = loss_to_tank_with_slope(tried, wanted)
        mass = sum(
            pipe_mass(run, tube, tube.size(run.size or ""))
            for run in tried.every_run[:2]
            for tube in (tried.catalogue.tubes[run.material],)
        )
        costs[choice] = mass + energy * loss
    sizes = tuple(run.size or "" for run in wide.every_run[:2])

    assert sizes == min(costs, key=costs.__getitem__)
    assert sizes != tuple(run.size for run in plain.every_run[:2])
    assert chosen.cost + energy * loss_to_tank_with_slope(wide, wanted)[0] == pytest.approx(
        costs[sizes], rel=1e-9
    )


def test_what_pumping_costs_by_hand() -> None:
    """200 gal a day over 20 years are 5,530 m3; 1 Pa on them at 45 % are 0.00341 kWh."""
    prices = loads_prices(
        '[list]\ndate = "2026-03-01"\ncurrency = "USD"\n'
        '[[pipe]]\nmaterial = "pex-sdr9"\nsize = "1"\nlength = "100 ft"\nprice = 90.0\n'
        '[electricity]\nprice = 0.22\nyears = 20\ndaily_water = "200 gal"\n'
    )
    pump = Pump(curve=CURVE, efficiency=0.45)

    assert pumping_cost(open_line(pump=pump), prices) == pytest.approx(
        200.0 * GALLON * 365.25 * 20.0 / 0.45 / 3.6e6 * 0.22, rel=1e-12
    )
    assert pumping_cost(open_line(pump=pump), None) == 0.0
    assert pumping_cost(open_line(pump=None), prices) == 0.0


def test_no_part_of_the_line_is_below_the_service_minimum() -> None:
    """3/4 inch, though at 2 gpm without a pump less would do."""
    sized, _ = size_line(
        replace(
            open_line(pump=None),
            line=(
                drop_pipe(160.0, size=None),
                offset_pipe(20.0, size=None),
            ),
        ),
        2.0 * GPM,
        pipe_mass,
    )

    assert [run.size for run in sized.every_run[:2]] == ["3/4", "3/4"]
