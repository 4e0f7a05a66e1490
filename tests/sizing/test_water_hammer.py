"""Waves of quick valves and of a stopping pump, against hand calculation."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

import supplycalc as sc
from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.surge import slow_closure, sound_speed
from supplycalc.hydraulics.water import density
from supplycalc.sizing.water_hammer import QuickValve, pump_stops, valves_and_peaks, wave_speed_in
from supplycalc.units import PSI

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def ridge() -> sc.Design:
    """A cottage on a manifold, PEX."""
    return sc.size(sc.load(SCENARIOS / "ridge-cottage.toml"))


def valve(design: sc.Design, name: str) -> QuickValve:
    """One of its quick valves."""
    return next(it for it in valves_and_peaks(design)[0] if it.name == name)


def test_the_wave_in_a_branch_is_joukowskys(ridge: sc.Design) -> None:
    """Density, wave speed by E of PEX, velocity of 4 gpm in 0.475 inch."""
    washer = valve(ridge, "clothes washer (cold)")
    run = washer.run
    water = density(run.temperature) * sound_speed(run.temperature) ** 2
    ratio = run.inside_diameter / run.size.wall
    speed = sound_speed(run.temperature) / (1.0 + water / 0.8e9 * ratio) ** 0.5
    shut = washer.flow / flow_area(run.inside_diameter)

    assert washer.surge == pytest.approx(density(run.temperature) * speed * shut, rel=1e-9)
    assert washer.surge / PSI == pytest.approx(106.9, abs=0.5)
    assert washer.peak == washer.at_rest + washer.surge


def test_at_a_manifold_little_of_it_goes_on(ridge: sc.Design) -> None:
    """2 (A/a) of the branch over the sum of all ports and the feed, doubled at closed ends; no more
    than the column before the manifold makes in the time of the valve. Heater
    and garden tap start there too."""
    washer = valve(ridge, "clothes washer (cold)")
    tree, runs = ridge.tree, ridge.run_at
    manifold = tree.parent[washer.run.index]

    def admittance(i: int) -> float:
        run = runs[i]
        speed = wave_speed_in(run.tube, run.size, run.temperature)
        return flow_area(run.inside_diameter) / speed

    ports = [i for i in tree.children[manifold] if i in runs]
    beside_it = [it.index for it in ridge.runs if it.name in ("cold to heater", "garden tap cold")]
    meeting = [*ports, *beside_it, tree.parent[manifold]]
    share = 2.0 * admittance(washer.run.index) / sum(map(admittance, meeting))
    beside = next(i for i in ports if i != washer.run.index)

    weight = density(washer.run.temperature)
    slowed = slow_closure(weight, washer.columns[1:], washer.closing.time)
    assert 0.05 < share < 0.15
    assert washer.waves[beside] == pytest.approx(min(2.0 * share * washer.at_once, slowed))


def test_the_store_of_a_heater_ends_it(ridge: sc.Design) -> None:
    """No wave of a cold valve in hot pipe, nor of a hot one in cold."""
    for it in valves_and_peaks(ridge)[0]:
        assert {ridge.run_at[i].side for i in it.waves} <= {it.run.side, "cold"}
        if it.run.side == "hot":
            assert {ridge.run_at[i].side for i in it.waves} == {"hot"}


def test_a_slow_valve_makes_what_its_column_makes(ridge: sc.Design) -> None:
    """Twice density, length and velocity of every run to the tank over its time; then no more."""
    tap = valve(ridge, "garden tap")
    whole = sum(length * speed for length, speed in tap.columns)

    assert tap.surge == pytest.approx(2.0 * density(tap.run.temperature) * whole / 0.2)
    assert tap.needed_time(tap.surge) == pytest.approx(tap.closing.time)
    assert tap.peak_in(tap.run.size) == pytest.approx(tap.peak)


def test_a_wider_branch_softens_the_blow(ridge: sc.Design) -> None:
    """The next size has less velocity and, in PEX, about the same wave speed."""
    washer = valve(ridge, "clothes washer (cold)")
    wider = washer.run.tube.size("3/4")
    by_area = (washer.run.inside_diameter / wider.inside_diameter) ** 2

    rise = washer.peak_in(wider) - washer.at_rest
    assert rise == pytest.approx(washer.surge * by_area, rel=0.02)


def test_a_pump_stops(ridge: sc.Design) -> None:
    """The drop pipe: density, wave speed, velocity, on what stands in it as the tank fills."""
    (stop,) = pump_stops(ridge)
    speed = wave_speed_in(stop.run.tube, stop.run.size, stop.run.temperature)

    assert stop.run.name == "drop pipe"
    assert stop.surge == pytest.approx(density(stop.run.temperature) * speed * stop.run.velocity)
    assert stop.borne == pytest.approx(1.5 * (stop.rating or 0.0))
    assert stop.parts


def test_tube_of_the_users_own_is_taken_as_stiff(ridge: sc.Design) -> None:
    """Without a modulus metal counts as steel, plastic as PVC: the higher shock."""
    run = valve(ridge, "clothes washer (cold)").run
    unknown = replace(run.tube, moduli=())

    assert wave_speed_in(unknown, run.size, run.temperature) > 1.5 * wave_speed_in(
        run.tube, run.size, run.temperature
    )


def test_hot_plastic_is_softer(ridge: sc.Design) -> None:
    """Its modulus falls to 0.3 GPa at 80 degC, and no further beyond."""
    tube = valve(ridge, "clothes washer (hot)").run.tube

    assert tube.modulus(273.15 + 10.0) == pytest.approx(0.8e9)
    assert tube.modulus(273.15 + 51.5) == pytest.approx(0.55e9)
    assert tube.modulus(273.15 + 95.0) == pytest.approx(0.3e9)
