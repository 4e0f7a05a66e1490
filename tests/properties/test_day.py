"""Properties of days: water is neither made nor lost, the switch keeps its band, larger is calmer.

The house's flow is taken from the solver at rungs of pressure as always; only draws, tank, pump and
well are drawn at random.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.chance.random_days import scheduled
from supplycalc.delivery.open_supply import constant_source
from supplycalc.model import Draw, House, Pump, Tank, Well
from supplycalc.questions.day.draw_curve import DrawCurves
from supplycalc.questions.day.engine import Engine
from supplycalc.questions.day.pump_system import PumpSystem, pump_system_of
from supplycalc.questions.day.totals import Totals
from supplycalc.questions.size.study import size
from supplycalc.units import DAY, FOOT, PSI
from tests.houses import GPM, cold_fixture
from tests.supply.stations import CURVE, GALLON, house

STEADY = "tap with a regulator"
HOUSE = house()
HOUSE = replace(
    HOUSE,
    fixtures=(
        *HOUSE.fixtures,
        replace(
            cold_fixture(STEADY, "lavatory", "entry", 20.0), flow=4.0 * GPM, pressure=3.0 * PSI
        ),
    ),
)
DESIGN = size(HOUSE, mend=False)
CURVES = DrawCurves(DESIGN, constant_source(50.0 * PSI))
NAMES = tuple(fixture.name for fixture in DESIGN.house.fixtures)
# A long draw over a slow well can take ten thousand steps (a second).
SETTINGS = settings(
    max_examples=100,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=(Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink),
)


@st.composite
def draws(draw: st.DrawFn) -> Draw:
    """Any fixture at any time, by time or by volume."""
    by_volume = draw(st.booleans())
    return Draw(
        fixture=draw(st.sampled_from(NAMES)),
        at=(draw(st.floats(0.0, DAY - 1.0)),),
        duration=None if by_volume else draw(st.floats(1.0, 1800.0)),
        volume=draw(st.floats(0.1, 60.0)) * GALLON if by_volume else None,
        share=draw(st.sampled_from((0.3, 1.0))),
    )


SCHEDULES = st.lists(draws(), min_size=1, max_size=10).map(tuple)
WELLS = st.one_of(
    st.just(Well(static_level=60.0 * FOOT)),
    st.builds(
        Well,
        static_level=st.just(60.0 * FOOT),
        pump_depth=st.floats(70.0, 200.0).map(lambda feet: feet * FOOT),
        specific_capacity=st.one_of(st.none(), st.floats(0.02, 3.0).map(lambda c: c * GPM / FOOT)),
        recovery=st.floats(0.2, 15.0).map(lambda gpm: gpm * GPM),
        diameter=st.floats(0.1, 1.2),
    ),
)


def run(
    scheme: tuple[Draw, ...],
    *,
    scale: float,
    volume: float,
    charge: float,
    well: Well,
    head: float = 1.0,
) -> tuple[Totals, PumpSystem, Engine]:
    """A day of the test house with one pump system."""
    pump = Pump(curve=tuple((scale * q, head * h) for q, h in CURVE), motor_power=560.0)
    tank = Tank(volume=volume * GALLON, precharge=charge * PSI)
    source = replace(DESIGN.house.source, pump=pump, tank=tank, well=well)
    pumped: House = replace(DESIGN.house, source=source, draws=scheme)
    system = pump_system_of(pumped, waterlogged=False)
    assert system is not None
    engine = Engine(system, CURVES, scheduled(pumped, 1), DAY, keep_until=DAY)
    return engine.run(), system, engine


@SETTINGS
@given(
    SCHEDULES,
    st.floats(0.2, 4.0),
    st.floats(8.0, 150.0),
    st.floats(0.0, 55.0),
    WELLS,
    st.floats(0.3, 1.3),
)
def test_water_is_neither_made_nor_lost(
    scheme: tuple[Draw, ...],
    scale: float,
    volume: float,
    charge: float,
    well: Well,
    head: float,
) -> None:
    """Pumped = drawn + change of the tank, to 1e-9 of what was drawn; and the parts add up.

    Each of the three is summed by itself: pumped from the pump's law, drawn from each outlet's,
    the tank from the last state.
    """
    totals, system, engine = run(
        scheme, scale=scale, volume=volume, charge=charge, well=well, head=head
    )
    change = system.air_volume(system.cut_out) - engine.state.air
    larger = max(totals.drawn, system.tank_volume)

    assert totals.pumped - totals.drawn == pytest.approx(change, abs=1e-9 * larger)
    assert sum(totals.used.values()) == pytest.approx(totals.drawn, rel=1e-9)
    assert len(totals.starts) - len(totals.runs) in (0, 1)
    assert totals.run_time <= DAY


@SETTINGS
@given(SCHEDULES, st.floats(3.0, 6.0), st.floats(5.0, 150.0), st.floats(10.0, 39.9))
def test_pressure_stays_in_the_band_while_the_pump_can_hold_it(
    scheme: tuple[Draw, ...], scale: float, volume: float, charge: float
) -> None:
    """Where the pump at cut-in gives more than anything drawn, nothing falls below cut-in."""
    well = Well(static_level=60.0 * FOOT)
    totals, system, _ = run(scheme, scale=scale, volume=volume, charge=charge, well=well)
    most = max((event.drawn for event in totals.series or ()), default=0.0)
    if most >= system.supply_curve.flow_at(system.cut_in):
        return

    assert totals.highest <= system.cut_out * (1.0 + 1e-12)
    if totals.draws:
        assert totals.lowest >= system.cut_in * (1.0 - 1e-12)
    assert totals.empty == 0.0


@SETTINGS
@given(
    st.lists(st.tuples(st.floats(0.0, DAY - 1.0), st.floats(0.5, 40.0)), min_size=1, max_size=25),
    st.floats(2.0, 5.0),
    st.floats(5.0, 60.0),
    st.floats(1.2, 4.0),
)
def test_a_larger_tank_never_starts_the_pump_more_often(
    volumes: list[tuple[float, float]], scale: float, small: float, factor: float
) -> None:
    """The same draws: at a tap whose regulator keeps its flow the same at every pressure."""
    scheme = tuple(
        Draw(fixture=STEADY, at=(at,), volume=gallons * GALLON) for at, gallons in volumes
    )
    well = Well(static_level=60.0 * FOOT)
    starts = [
        len(run(scheme, scale=scale, volume=volume, charge=38.0, well=well)[0].starts)
        for volume in (small, factor * small)
    ]

    assert starts[1] <= starts[0]
