"""pandapipes, an independent network solver: a supply put in as it stands, its pressures.

Traps of that solver (0.16): its default friction is not Colebrook's; with Colebrook it has no
laminar branch; it solves with 3.71 where ours has 3.7 (0.001 % on smooth tube, up to 0.08 % on
galvanized steel); `height_m` lowers the air pressure too, 12 Pa per metre, so heights are left out
on both sides. It knows no devices or valves.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from supplycalc.delivery.open_supply import Delivered, OpenSupply
from tests.delivery.plain_formulas import draws_of

DENSITY, VISCOSITY = 999.156, 1.12088e-3
MEAN_TEMPERATURE = 288.71


def solver() -> Any:
    """The package; a test that asks is skipped where it is not installed."""
    return pytest.importorskip("pandapipes")


def water_net(density: float, viscosity: float) -> Any:
    """A network without pipes, filled with such water."""
    pp = solver()
    from pandapipes.properties.fluids import _add_fluid_to_net

    net = pp.create_empty_network(fluid=None)
    fluid = pp.create_constant_fluid(
        "water", "liquid", density=density, viscosity=viscosity, heat_capacity=4186.0,
        molar_mass=18.0, compressibility=1.0, der_compressibility=0.0,
    )  # fmt: skip
    _add_fluid_to_net(net, fluid)
    return net


def pressures_by_network(supply: OpenSupply, delivered: Delivered) -> list[float]:
    """Pressure at every point [Pa gauge]: taps as sinks of what we found, heads as external grids.

    Heights are left out, and the water of `DENSITY` and `VISCOSITY` is everywhere.
    """
    pp = solver()
    net = water_net(DENSITY, VISCOSITY)
    points = [pp.create_junction(net, pn_bar=4.0, tfluid_k=MEAN_TEMPERATURE) for _ in supply.parent]
    fixed = [(0, delivered.pressure[0]), *((h.link, h.law(0.0)[0]) for h in supply.heads)]
    for point, pressure in fixed:
        pp.create_ext_grid(net, points[point], p_bar=pressure / 1e5, t_k=MEAN_TEMPERATURE)
    for i in range(1, len(supply.parent)):
        pp.create_pipe_from_parameters(
            net, points[supply.parent[i]], points[i],
            length_km=supply.length[i] / 1e3,
            inner_diameter_mm=supply.inside_diameter[i] * 1e3,
            k_mm=supply.roughness[i] * 1e3,
            loss_coefficient=supply.k[i],
        )  # fmt: skip
    for i, flow in draws_of(supply, delivered).items():
        pp.create_sink(net, points[i], mdot_kg_per_s=flow * DENSITY)
    pp.pipeflow(
        net, friction_model="colebrook", max_iter_hyd=200, max_iter_colebrook=100,
        tol_p=1e-9, tol_m=1e-9,
    )  # fmt: skip
    return [1e5 * float(p) for p in net.res_junction.p_bar]


def reynolds(supply: OpenSupply, delivered: Delivered) -> list[float]:
    """Reynolds number in every pipe, signed as its flow."""
    return [
        4.0 * DENSITY * q / (math.pi * diameter * VISCOSITY)
        for q, diameter in zip(delivered.flow[1:], supply.inside_diameter[1:], strict=True)
    ]
