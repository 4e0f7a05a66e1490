"""White's three pipes in series, in parallel, and between three reservoirs.

Source: F. M. White, Fluid Mechanics (7th edition), examples 6.16 to 6.18. Inputs and the answers of
the first two from memory; the answers of the third (after its last iteration) were read.

Tolerances: half a unit of the last digit, and 0.15 % in 6.17, whose velocities are rounded to three
digits before flows are made of them. The third flow of 6.18 is a small difference of large ones:
0.1 m3/h, absolute.
"""

from __future__ import annotations

import pytest

from tests.published.worked import CUBIC_METRE_PER_HOUR, Pipe, bisect

COLUMN = 1000.0 * 9.81
PIPES = tuple(
    Pipe(
        length=length,
        inside_diameter=bore,
        roughness=roughness,
        density=1000.0,
        viscosity=1.02e-3,
    )
    for length, bore, roughness in (
        (100.0, 0.08, 0.24e-3),
        (150.0, 0.06, 0.12e-3),
        (80.0, 0.04, 0.20e-3),
    )
)


def test_6_16_series() -> None:
    """150 kPa and 5 m of fall drive 10.2 m3/h through all three."""
    available = 150e3 + 5.0 * COLUMN
    flow = bisect(lambda q: sum(pipe.loss(q) for pipe in PIPES) - available, 0.0, 1.0)

    assert flow / CUBIC_METRE_PER_HOUR == pytest.approx(10.2, abs=0.05)


def test_6_17_parallel() -> None:
    """The same 20.3 m across each: 62.5, 25.9 and 11.4 m3/h, 99.8 in all."""
    flows = [pipe.flow(20.3 * COLUMN) / CUBIC_METRE_PER_HOUR for pipe in PIPES]

    for flow, printed in zip([*flows, sum(flows)], (62.5, 25.9, 11.4, 99.8), strict=True):
        assert flow == pytest.approx(printed, abs=0.05 + 0.0015 * printed)


def test_6_18_three_reservoirs() -> None:
    """Levels 20, 100 and 40 m: 52.8 into the first, 47.0 and 5.8 m3/h from the others."""
    levels = (20.0, 100.0, 40.0)

    def into_junction(head: float) -> list[float]:
        return [
            pipe.flow((level - head) * COLUMN) / CUBIC_METRE_PER_HOUR
            for pipe, level in zip(PIPES, levels, strict=True)
        ]

    head = bisect(lambda h: -sum(into_junction(h)), 20.0, 100.0)
    flows = into_junction(head)
    assert head == pytest.approx(34.53, abs=0.02)
    assert flows[0] == pytest.approx(-52.8, abs=0.1)
    assert flows[1] == pytest.approx(47.0, abs=0.1)
    assert flows[2] == pytest.approx(5.8, abs=0.1)
