"""Where a pump's curve meets a system's, by two published examples.

Sources: E. Maurer, vignette of the R package hydraulics (CRAN), section 6 (read), whose system has
30 ft of lift and a loss of 0.160 Q^2; Y. A. Cengel and J. M. Cimbala, Fluid Mechanics, the problem
of a pump of shut-off head 7.46 m between two reservoirs (statement read, answer from memory).

Their quadratic losses are made of check valves of one K in a pipe of no length, so that the whole
way through the supply is tried: pump, lift, loss, supply curve, operating point. Tolerances: half a
unit of the last digit; the first example's K is printed to three digits, which moves its flow by
0.008 ft3/s.
"""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from supplycalc.catalogue import OwnFitting, load_catalogue
from supplycalc.hydraulics.water import density
from supplycalc.model import House, Pump, Well
from supplycalc.supply.station import pump_station
from supplycalc.supply.supply_curve import flow_at_pressure, supply_curve
from tests.houses import FOOT, drop_pipe, two_storey, well

CUBIC_FOOT = FOOT**3
LITRE_PER_MINUTE = 1e-3 / 60.0
GRAVITY = 9.80665


def system(lift: float, loss: float, curve: tuple[tuple[float, float], ...]) -> House:
    """A pump [m3/s, m] that lifts [m] against a loss of so many m per (m3/s)^2 to no pressure."""
    plain = two_storey(
        source=replace(
            well(cut_in=0.0, cut_out=0.0),
            pump=Pump(curve=curve),
            well=Well(static_level=lift),
        ),
        line=(
            drop_pipe(
                material="pex-sdr9", joining="crimp", length=1e-9, fittings=(("check-valve", 1),)
            ),
        ),
    )
    bore = load_catalogue().tubes["pex-sdr9"].size("1").inside_diameter
    k = loss * 2.0 * GRAVITY * (math.pi / 4.0 * bore**2) ** 2
    check_valve = OwnFitting(name="check-valve", k=k)
    return replace(plain, catalogue=load_catalogue(own_fittings=(check_valve,)))


def parabola(top: float, fall: float, widest: float) -> tuple[tuple[float, float], ...]:
    """A dense curve of head = top - fall flow^2 [m3/s, m]."""
    flows = [widest * i / 400 for i in range(401)]
    return tuple((q, top - fall * q * q) for q in flows)


def test_a_pump_against_a_pipeline() -> None:
    """82.47 - 0.2009 Q^2 against 30 + 0.160 Q^2 (ft, ft3/s): 12.051 ft3/s."""
    unit = FOOT / CUBIC_FOOT**2
    curve = parabola(82.47 * FOOT, 0.2009 * unit, 19.0 * CUBIC_FOOT)
    house = system(30.0 * FOOT, 0.160 * unit, curve)
    flow = flow_at_pressure(house, 0.0) / CUBIC_FOOT

    assert flow == pytest.approx(12.051, abs=0.009)


def test_a_pump_between_two_reservoirs() -> None:
    """7.46 - 0.0453 V^2 against 3.52 + 0.0261 V^2 (m, L/min): 7.43 L/min at 4.96 m."""
    unit = 1.0 / LITRE_PER_MINUTE**2
    curve = parabola(7.46, 0.0453 * unit, 12.0 * LITRE_PER_MINUTE)
    house = system(3.52, 0.0261 * unit, curve)
    station = pump_station(house)
    assert station is not None
    flow = supply_curve(house, level_follows=True).flow_at(0.0)
    head = 7.46 - 0.0453 * (flow / LITRE_PER_MINUTE) ** 2
    required = 3.52 + 0.0261 * (flow / LITRE_PER_MINUTE) ** 2

    assert flow / LITRE_PER_MINUTE == pytest.approx(7.43, abs=0.005)
    assert head == pytest.approx(4.96, abs=0.005)
    assert head == pytest.approx(required, abs=100.0 / (density(283.15) * GRAVITY))
