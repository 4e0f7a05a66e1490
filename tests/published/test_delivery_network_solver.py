"""Delivered flows put in as sinks of pandapipes, an independent network solver: same pressures.

That solver has no laminar branch, so trees with a link below Re 4000 are drawn again. The issue
asks for 0.1 % of the pressure.
"""

from __future__ import annotations

import math
import random

import pytest

from supplycalc.delivery.open_supply import Mixer, Opening, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from tests.published.network_solver import (
    DENSITY,
    VISCOSITY,
    pressures_by_network,
    reynolds,
    solver,
)

solver()


def tree(seed: int) -> OpenSupply:
    """A random tree of 8 to 16 smooth pipes, all flows turbulent, orifices and mixers open."""
    rng = random.Random(seed)
    while True:
        count = rng.randint(9, 17)
        parent = [-1, 0, *(rng.randrange(1, i) for i in range(2, count))]
        leaves = [i for i in range(1, count) if i not in parent]
        below = [0] * count
        for leaf in leaves:
            i = leaf
            while i > 0:
                below[i] += 1
                i = parent[i]
        rng.shuffle(leaves)
        mixers: tuple[Mixer, ...] = ()
        if len(leaves) > 3:
            cold, hot = leaves.pop(), leaves.pop()
            kind = "plain" if seed % 2 else "ratio"
            mixers = (
                Mixer(
                    name="mixer", kind=kind, cold_link=cold, hot_link=hot,
                    coefficient=2.5e-4 / math.sqrt(1.4e5), hot_share=0.6,
                ),
            )  # fmt: skip
        supply = OpenSupply(
            names=tuple(f"pipe {i}" for i in range(count)),
            parent=tuple(parent),
            length=(0.0, *(rng.uniform(3.0, 20.0) for _ in range(count - 1))),
            inside_diameter=(1.0, *(0.0125 * below[i] ** 0.4 for i in range(1, count))),
            roughness=(1.5e-6,) * count,
            k=(0.0, *(rng.uniform(0.0, 8.0) for _ in range(count - 1))),
            density=(DENSITY,) * count,
            viscosity=(VISCOSITY,) * count,
            static_gain=(0.0,) * count,
            device=(None,) * count,
            limit=(None,) * count,
            source=constant_source(4e5),
            openings=tuple(
                Opening(
                    name=f"tap {i}",
                    link=i,
                    coefficient=rng.uniform(1.5e-4, 3e-4) / math.sqrt(1.4e5),
                    cap=rng.choice([math.inf, 1.6e-4]),
                )
                for i in leaves
            ),
            mixers=mixers,
        )
        delivered = deliver(supply)
        if min(reynolds(supply, delivered)) > 4000.0:
            return supply


@pytest.mark.parametrize("seed", range(6))
def test_pressures_agree_with_the_network_solver(seed: int) -> None:
    """Every pressure to 0.1 %, the losses to 0.02 % of the supply pressure besides."""
    supply = tree(seed)
    delivered = deliver(supply)
    expected = pressures_by_network(supply, delivered)

    for ours, theirs in zip(delivered.pressure, expected, strict=True):
        assert ours == pytest.approx(theirs, rel=1e-3)
        assert ours == pytest.approx(theirs, abs=2e-4 * 4e5)
