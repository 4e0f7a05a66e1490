"""Laws bent so that they have a slope everywhere."""

from __future__ import annotations

import pytest

from supplycalc.delivery.open_supply import sagging_main, valve_law


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
