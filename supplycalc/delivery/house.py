"""A sized house as the delivery solver's problem, and its source as laws of pressure over flow."""

from __future__ import annotations

import bisect
import math
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Catalogue
from supplycalc.delivery.laws import constant_source, device_law, lower_of, sagging_main, valve_law
from supplycalc.delivery.problem import Law, Mixer, Opening, Problem
from supplycalc.delivery.use import Use, figure, rating
from supplycalc.hydraulics.devices import FALLOFF_POWER
from supplycalc.hydraulics.fittings import manifold_port_k
from supplycalc.hydraulics.pressure import static_gains
from supplycalc.hydraulics.water import density, specific_weight, viscosity
from supplycalc.model import Device, House, Run
from supplycalc.sizing.choices import loss_of
from supplycalc.sizing.design import Design
from supplycalc.sizing.port import device_port
from supplycalc.supply.drop_pipe import loss_to_tank_with_slope
from supplycalc.supply.pump import lift, pump_head, with_curve
from supplycalc.supply.source import MAIN_EXPONENT


class SourceCase(Struct, frozen=True, kw_only=True):
    """One state that the source can be in."""

    name: str
    """ "cut-in", "cut-out", "pump alone", "set pressure" or "main"."""
    law: Law


def base_problem(design: Design) -> Problem:
    """A sized house with everything shut.

    Args:
        design: with a size for every run.

    Returns:
        The problem; its source holds nothing and nothing is open.
    """
    tree = design.tree
    count = len(tree)
    densities = {t: density(t) for t in set(tree.temperature)}
    viscosities = {t: viscosity(t) for t in densities}
    rho = [densities[t] for t in tree.temperature]
    length, k, roughness, c = ([0.0] * count for _ in range(4))
    bore = [1.0] * count
    c = [100.0] * count
    for one in design.runs:
        i = one.index
        length[i], bore[i], k[i] = one.counted_length, one.size.inside_diameter, one.k
        own = one.run.roughness
        roughness[i] = one.tube.roughness if own is None else own
        c[i] = one.tube.hazen_williams_c
    device: list[Law | None] = [None] * count
    limit: list[Law | None] = [None] * count
    for i, link in enumerate(tree.links):
        if isinstance(link, Device):
            device[i] = device_law(loss_of(link, tree.catalogue))
            limit[i] = _valve(link, tree.catalogue)
            port = device_port(tree, i, design.demand.design_flow[i])
            if port is not None:
                bore[i], k[i] = port.inside_diameter, manifold_port_k()
    by_c = tree.house.project.friction == "hazen-williams"
    return Problem(
        names=tree.names,
        parent=tree.parent,
        length=tuple(length),
        inside_diameter=tuple(bore),
        roughness=tuple(roughness),
        k=tuple(k),
        density=tuple(rho),
        viscosity=tuple(viscosities[t] for t in tree.temperature),
        static_gain=tuple(static_gains(tree.parent, tree.elevation, rho)),
        device=tuple(device),
        limit=tuple(limit),
        source=constant_source(0.0),
        hazen_williams_c=tuple(c) if by_c else None,
    )


def _valve(device: Device, catalogue: Catalogue) -> Law | None:
    if device.setting is None:
        return None
    kind = catalogue.devices[device.kind]
    falloff = device.falloff if device.falloff is not None else kind.falloff or 0.0
    at = device.falloff_flow if device.falloff_flow is not None else kind.falloff_flow or 1.0
    return valve_law(device.setting, falloff, at, FALLOFF_POWER)


def with_uses(
    base: Problem,
    design: Design,
    uses: tuple[Use, ...],
    hot_share: dict[str, float],
    law: Law,
) -> Problem:
    """The house with a source and outlets open.

    Args:
        base: of `base_problem`.
        design: the sized house.
        uses: what is open.
        hot_share: use's name -> share of hot that its mixing valve stands at.
        law: of the source [Pa over m3/s].

    Returns:
        The problem to solve; openings and mixers in the order of the uses.
    """
    openings, mixers = [], []
    for use in uses:
        rated = rating(use, design.tree)
        ends = {one.side: one.link for one in design.tree.outlets if one.fixture is use.fixture}
        if use.through != "both":
            openings.append(
                Opening(
                    name=use.name,
                    link=ends[use.through],
                    coefficient=rated.coefficient,
                    cap=rated.cap,
                )
            )
            continue
        mixers.append(
            Mixer(
                name=use.name,
                kind="plain" if valve_of(use, design) == "plain" else "ratio",
                cold_link=ends["cold"],
                hot_link=ends["hot"],
                coefficient=rated.coefficient,
                hot_share=hot_share[use.name],
                port_share=figure("mixing", "port-share")[0],
                cap=rated.cap,
            )
        )
    return replace(base, source=law, openings=tuple(openings), mixers=tuple(mixers))


def valve_of(use: Use, design: Design) -> str:
    """The kind of a use's mixing valve: plain, pressure-balanced or thermostatic.

    Args:
        use: what is open.
        design: for the catalogue.

    Returns:
        The kind.

    Source: the catalogue's usual valve where the file names none.
    """
    return use.fixture.valve or design.tree.kind_of(use.fixture).valves[0]


def source_cases(house: House, catalogue: Catalogue) -> tuple[SourceCase, ...]:
    """The states that the source can be in, the weakest that lasts first.

    Args:
        house: for its source.
        catalogue: for the drop pipe.

    Returns:
        For a main one case; for a well cut-in and cut-out, and the pump alone where its curve is
        given or guessed from one point; for a constant-pressure pump what it holds.
    """
    source = house.source
    if source.kind == "main":
        return (SourceCase(name="main", law=_main_law(house)),)
    house = with_curve(house)
    pump = house.source.pump
    curve = pump_law(house, catalogue) if pump is not None and len(pump.curve) > 1 else None
    if pump is not None and pump.kind == "constant-pressure" and pump.set_pressure is not None:
        held = constant_source(pump.set_pressure)
        return (SourceCase(name="set pressure", law=lower_of(held, curve) if curve else held),)
    cut_in = source.cut_in if source.cut_in is not None else 0.0
    cut_out = source.cut_out if source.cut_out is not None else cut_in
    cases = [
        SourceCase(name="cut-in", law=constant_source(cut_in)),
        SourceCase(name="cut-out", law=constant_source(cut_out)),
    ]
    if curve is not None:
        cases.append(SourceCase(name="pump alone", law=lower_of(curve, constant_source(cut_out))))
    return tuple(cases)


def _main_law(house: House) -> Law:
    source = house.source
    static, residual, at = source.static, source.residual, source.residual_flow
    if residual is None:
        return constant_source(static or 0.0)
    if static is None or at is None or static <= residual:
        return constant_source(residual)
    return sagging_main(static, residual, at, MAIN_EXPONENT)


def pump_law(house: House, catalogue: Catalogue) -> Law:
    """Pressure that the pump alone holds at the source's gauge, and its slope.

    Args:
        house: with a pump curve of two points or more.
        catalogue: for the drop pipe's bore.

    Returns:
        The law, equal to `supply.source.pump_pressure`.

    Source: total dynamic head rearranged (MIL-HDBK-1164), differentiated by us.
    """
    pump, well = house.source.pump, house.source.well
    assert pump is not None
    weight = specific_weight(house.water.cold)
    flows = [flow for flow, _ in pump.curve]
    heads = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(pump.curve)]
    deeper = 1.0 / well.specific_capacity if well is not None and well.specific_capacity else 0.0

    def law(flow: float) -> tuple[float, float]:
        piece = min(max(bisect.bisect_left(flows, flow) - 1, 0), len(heads) - 1)
        lost, rise = loss_to_tank_with_slope(house, flow)
        value = weight * (pump_head(pump, flow) - lift(house, flow)) - lost
        return value, min(weight * (heads[piece] - deeper) - rise, 0.0)

    return law


def mean_temperature(flows: tuple[float, ...], temperatures: tuple[float, ...]) -> float:
    """Temperature of mixed water.

    Args:
        flows: of the parts [m3/s].
        temperatures: of the parts [K].

    Returns:
        Mass-weighted mean [K]; nan without flow.

    Source: ASPE Plumbing Engineering Design Handbook, volume 2, mixed temperature (from memory).
    """
    masses = [flow * density(t) for flow, t in zip(flows, temperatures, strict=True)]
    total = math.fsum(masses)
    if total <= 0.0:
        return math.nan
    return math.fsum(m * t for m, t in zip(masses, temperatures, strict=True)) / total


def hot_runs(design: Design, link: int) -> list[int]:
    """Indices of the runs behind the heater on the way to a link, in order of flow.

    Args:
        design: the sized house.
        link: at whose end the outlet stands.

    Returns:
        Indices.
    """
    tree = design.tree
    return [i for i in tree.path(link) if tree.side[i] == "hot" and isinstance(tree.links[i], Run)]
