"""A float switch through a series of fillings, by hand.

Source: none was found with figures; a trade column (The Driller, 'Non-pressurized tanks help well
supply meet demand', read as an excerpt) tells in words that a float starts and stops the well's
pump, and that 3 gpm give 4,320 gal a day. The series are worked by hand from that: exact balances,
so that they hold to rounding. The switch of a pressure tank is held by hand, by the trade's own
examples and by an integrator in `test_well_and_tank.py` and `tests/questions/test_day.py`.
"""

from __future__ import annotations

import pytest

from supplycalc.supply.storage import OpenLevel
from supplycalc.units import DAY
from tests.houses import GPM
from tests.supply.stations import GALLON

MINUTE = 60.0


def test_a_steady_draw_through_a_day() -> None:
    """1 gpm out, 3 gpm in while the float calls, 20 gal between its levels: 20 min down, 10 min up.
    The float falls at 20, 50, 80 ... minutes: 48 times a day, and the pump runs 480 minutes."""
    tank = OpenLevel(3.0 * GPM, 1500.0 * GALLON, 20.0 * GALLON)
    tank.move(0.0, DAY, 1.0 * GPM)

    assert [time / MINUTE for time in tank.fillings] == pytest.approx(
        [20.0 + 30.0 * i for i in range(48)]
    )
    assert tank.fill_time / MINUTE == pytest.approx(480.0)
    assert tank.came / GALLON == pytest.approx(1440.0)
    assert tank.most / GALLON == pytest.approx(20.0)


def test_a_draw_beyond_the_pump_until_the_tank_is_dry() -> None:
    """8 gpm out of 100 gal, 20 between the floats: after 2.5 min the pump starts, 80 gal fall by 5
    a minute for 16 min, then only 3 gpm come: in an hour 18.5 min at 8 gpm, 41.5 min at 3."""
    tank = OpenLevel(3.0 * GPM, 100.0 * GALLON, 20.0 * GALLON)
    tank.move(0.0, 60.0 * MINUTE, 8.0 * GPM)

    assert [time / MINUTE for time in tank.fillings] == pytest.approx([2.5])
    assert [time / MINUTE for time in tank.dry] == pytest.approx([18.5])
    assert tank.drawn / GALLON == pytest.approx(18.5 * 8.0 + 41.5 * 3.0)
    assert tank.lacked / GALLON == pytest.approx(41.5 * 5.0)


def test_a_day_of_the_pump_is_the_columns_figure() -> None:
    """An empty tank larger than a day's yield: 4,320 gal come."""
    tank = OpenLevel(3.0 * GPM, 6000.0 * GALLON, 20.0 * GALLON)
    tank.missing = tank.volume
    tank.move(0.0, DAY, 0.0)

    assert tank.came / GALLON == pytest.approx(4320.0)
