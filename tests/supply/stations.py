"""Small invented well supplies for the tests."""

from __future__ import annotations

from msgspec.structs import replace

from supplycalc.model import House, Pump, Tank, Well
from supplycalc.supply.station import Station, pump_station
from tests.houses import FOOT, GPM, PSI, two_storey, well

GALLON = 3.785411784e-3
CURVE = tuple((q * GPM, h * FOOT) for q, h in ((0, 280), (5, 262), (10, 215), (15, 130)))


def house(**parts: object) -> House:
    """The two-storey house with a pump, a tank and a well; parts override, and what stands before
    the tank."""
    given: dict[str, object] = {
        "pump": Pump(curve=CURVE, motor_power=373.0),
        "tank": Tank(volume=44.0 * GALLON, precharge=38.0 * PSI),
        "well": Well(static_level=60.0 * FOOT, pump_depth=150.0 * FOOT),
    }
    given.update(parts)
    line = {key: given.pop(key) for key in ("suction", "line") if key in given}
    return two_storey(source=replace(well(), **given), **line)  # type: ignore[arg-type]


def well_station(**parts: object) -> Station:
    """The station of that house."""
    well_house = house(**parts)
    station = pump_station(well_house)
    assert station is not None
    return station
