"""Delivered flows put in as sinks of pandapipes, an independent network solver: same pressures.

Traps of that solver (0.16): its default friction is not Colebrook's; with Colebrook it has no
laminar branch, so trees with a link below Re 4000 are drawn again; it solves with 3.71 where ours
has 3.7 (0.001 % on smooth tube); `height_m` lowers the air pressure too, so heights are left out on
both sides. It knows no devices or valves. The issue asks for 0.1 % of the pressure.
"""

from __future__ import annotations

import math
import random

import pytest

from supplycalc.delivery.open_supply import Delivered, Mixer, Opening, OpenSupply, constant_source
from supplycalc.delivery.solver import deliver
from tests.delivery.plain_formulas import draws_of

pp = pytest.importorskip("pandapipes")

DENSITY, VISCOSITY = 999.156, 1.12088e-3
MEAN_TEMPERATURE = 288.71


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
        if min(_reynolds(supply, delivered)) > 4000.0:
            return supply


def _reynolds(supply: OpenSupply, delivered: Delivered) -> list[float]:
    return [
        4.0 * DENSITY * q / (math.pi * diameter * VISCOSITY)
        for q, diameter in zip(delivered.flow[1:], supply.inside_diameter[1:], strict=True)
    ]


def pressures_by_network(supply: OpenSupply, delivered: Delivered) -> list[float]:
    """Pressure at every point [Pa gauge] with the delivered flows as sinks."""
    from pandapipes.properties.fluids import _add_fluid_to_net

    net = pp.create_empty_network(fluid=None)
    fluid = pp.create_constant_fluid(
        "water", "liquid", density=DENSITY, viscosity=VISCOSITY, heat_capacity=4186.0,
        molar_mass=18.0, compressibility=1.0, der_compressibility=0.0,
    )  # fmt: skip
    _add_fluid_to_net(net, fluid)
    junctions = [
        pp.create_junction(net, pn_bar=4.0, tfluid_k=MEAN_TEMPERATURE) for _ in supply.parent
    ]
    pp.create_ext_grid(net, junctions[0], p_bar=delivered.pressure[0] / 1e5, t_k=MEAN_TEMPERATURE)
    for i in range(1, len(supply.parent)):
        pp.create_pipe_from_parameters(
            net, junctions[supply.parent[i]], junctions[i],
            length_km=supply.length[i] / 1e3,
            inner_diameter_mm=supply.inside_diameter[i] * 1e3,
            k_mm=supply.roughness[i] * 1e3,
            loss_coefficient=supply.k[i],
        )  # fmt: skip
    for i, flow in draws_of(supply, delivered).items():
        pp.create_sink(net, junctions[i], mdot_kg_per_s=flow * DENSITY)
    pp.pipeflow(
        net, friction_model="colebrook", max_iter_hyd=100, max_iter_colebrook=100,
        tol_p=1e-9, tol_m=1e-9,
    )  # fmt: skip
    return [1e5 * float(p) for p in net.res_junction.p_bar]


@pytest.mark.parametrize("seed", range(6))
def test_pressures_agree_with_the_network_solver(seed: int) -> None:
    """Every pressure to 0.1 %, the losses to 0.02 % of the supply pressure besides."""
    supply = tree(seed)
    delivered = deliver(supply)
    expected = pressures_by_network(supply, delivered)

    for ours, theirs in zip(delivered.pressure, expected, strict=True):
        assert ours == pytest.approx(theirs, rel=1e-3)
        assert ours == pytest.approx(theirs, abs=2e-4 * 4e5)
