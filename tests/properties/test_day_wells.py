"""Days of two wells on one tank: water is neither made nor lost, and twins are one well twice.

Draws, tank, wells, pumps and the line in common are drawn at random; the house's flow is that of
`test_day`.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from supplycalc.chance.random_days import scheduled
from supplycalc.model import Draw, FurtherWell, House, Pump, Tank, Well
from supplycalc.questions.day.engine import Engine
from supplycalc.questions.day.pump_system import PumpSystem, pump_system_of
from supplycalc.questions.day.totals import Totals
from supplycalc.units import DAY, FOOT, PSI
from tests.houses import GPM, drop_pipe
from tests.properties.test_day import CURVES, DESIGN, SCHEDULES
from tests.supply.stations import CURVE, GALLON

SETTINGS = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
WELLS = st.one_of(
    st.builds(Well, static_level=st.floats(20.0, 90.0).map(lambda feet: feet * FOOT)),
    st.builds(
        Well,
        static_level=st.just(60.0 * FOOT),
        pump_depth=st.floats(90.0, 200.0).map(lambda feet: feet * FOOT),
        specific_capacity=st.one_of(st.none(), st.floats(0.05, 3.0).map(lambda c: c * GPM / FOOT)),
        recovery=st.floats(0.2, 15.0).map(lambda gpm: gpm * GPM),
        diameter=st.floats(0.1, 1.2),
    ),
)


def curve(scale: float, head: float) -> tuple[tuple[float, float], ...]:
    """The usual test pump, wider and stronger."""
    return tuple((scale * q, head * h) for q, h in CURVE)


def run(house: House) -> tuple[Totals, PumpSystem, Engine]:
    """A day of a house."""
    system = pump_system_of(house, waterlogged=False)
    assert system is not None
    engine = Engine(system, CURVES, scheduled(house, 1), DAY, keep_until=DAY)
    return engine.run(), system, engine


def with_wells(
    scheme: tuple[Draw, ...], wells: tuple[Well, Well], curves: tuple[object, object], feet: float
) -> House:
    """The house on two wells that meet before a line of so many feet; at the tank where none."""
    tank = Tank(volume=60.0 * GALLON, precharge=38.0 * PSI)
    first, second = (Pump(curve=each, motor_power=560.0) for each in curves)  # type: ignore[arg-type]
    source = replace(DESIGN.house.source, pump=first, tank=tank, well=wells[0])
    own = drop_pipe()
    line = (replace(own, end="meeting"), replace(own, name="shared", length=feet * FOOT))
    further = FurtherWell(
        well=replace(wells[1], name="second"),
        pump=second,
        joins="meeting" if feet else "source",
        line=(replace(own, name="second pipe"),) if feet else (),
    )
    return replace(
        DESIGN.house, source=source, draws=scheme, line=line if feet else (),
        joined_wells=(further,),
    )  # fmt: skip


@SETTINGS
@given(
    SCHEDULES,
    WELLS,
    WELLS,
    st.floats(0.3, 2.0),
    st.floats(0.5, 1.3),
    st.sampled_from((0.0, 50.0, 400.0)),
)
def test_water_is_neither_made_nor_lost(
    scheme: tuple[Draw, ...], one: Well, other: Well, scale: float, head: float, feet: float
) -> None:
    """Pumped = drawn + change of the tank, to 1e-9 of what was drawn; the pumps' shares add up."""
    house = with_wells(scheme, (one, other), (CURVE, curve(scale, head)), feet)
    totals, system, engine = run(house)
    change = system.air_volume(system.cut_out) - engine.state.air
    larger = max(totals.drawn, system.tank_volume)

    assert totals.pumped - totals.drawn == pytest.approx(change, abs=1e-9 * larger)
    assert sum(well.pumped for well in totals.wells) == pytest.approx(totals.pumped, abs=1e-12)
    assert all(well.run_time <= totals.run_time + 1e-6 for well in totals.wells)


@SETTINGS
@given(SCHEDULES, WELLS, st.floats(0.3, 2.0))
def test_twins_are_one_well_twice(scheme: tuple[Draw, ...], well: Well, scale: float) -> None:
    """Two wells and pumps alike at one tank move it as one of twice the flow, yield and area."""
    pump = curve(scale, 1.0)
    both = with_wells(scheme, (well, well), (pump, pump), 0.0)
    twice = replace(
        well,
        diameter=None if well.diameter is None else well.diameter * 2.0**0.5,
        recovery=None if well.recovery is None else 2.0 * well.recovery,
        specific_capacity=None if not well.specific_capacity else 2.0 * well.specific_capacity,
    )
    single = replace(
        both,
        source=replace(
            both.source,
            well=twice,
            pump=Pump(curve=tuple((2.0 * q, h) for q, h in pump), motor_power=560.0),
        ),
        joined_wells=(),
    )

    of_both, _, engine = run(both)
    of_one, _, other = run(single)

    assert of_both.starts == pytest.approx(of_one.starts, abs=1e-3)
    assert of_both.pumped == pytest.approx(of_one.pumped, rel=1e-6)
    assert of_both.lowest == pytest.approx(of_one.lowest, abs=1.0)
    assert of_both.deepest == pytest.approx(of_one.deepest, abs=1e-4)
    assert engine.state.pressure == pytest.approx(other.state.pressure, abs=10.0)
    assert of_both.work == pytest.approx(of_one.work, rel=1e-6)
    half = of_both.pumped / 2.0
    assert [each.pumped for each in of_both.wells] == pytest.approx([half, half], rel=1e-9)


def test_a_pump_that_runs_its_well_dry_rests_alone() -> None:
    """The other well's pump goes on, and the switch stays on."""
    scheme = (Draw(fixture="tap with a regulator", at=(6.0 * 3600.0,), duration=3.0 * 3600.0),)
    poor = Well(
        static_level=60.0 * FOOT, pump_depth=100.0 * FOOT, recovery=0.3 * GPM, diameter=0.15
    )
    rich = Well(static_level=60.0 * FOOT)
    totals, _, _ = run(with_wells(scheme, (rich, poor), (curve(0.5, 1.0), curve(0.5, 1.0)), 50.0))
    first, second = totals.wells

    assert second.dry_runs
    assert not first.dry_runs
    assert second.run_time < first.run_time
    assert second.deepest == pytest.approx((100.0 - 60.0) * FOOT, rel=0.3)


def test_an_empty_tank_is_balanced_anew_when_a_pump_stops() -> None:
    """Taps that take more than both pumps give, while one of the wells runs dry and comes back."""
    scheme = tuple(
        Draw(fixture=name, at=(0.0,), duration=5.0 * 3600.0)
        for name in ("garden tap", "tap with a regulator", "bath")
    )
    poor = Well(static_level=60.0 * FOOT, pump_depth=90.0 * FOOT, recovery=0.25 * GPM, diameter=0.1)
    rich = Well(static_level=20.0 * FOOT)
    for feet in (0.0, 50.0):
        house = with_wells(scheme, (poor, rich), (CURVE, curve(0.3, 0.6)), feet)
        totals, system, engine = run(house)
        change = system.air_volume(system.cut_out) - engine.state.air

        assert len(totals.wells[0].dry_runs) > 1
        assert totals.empty > 3600.0
        assert totals.pumped - totals.drawn == pytest.approx(change, abs=1e-9)
