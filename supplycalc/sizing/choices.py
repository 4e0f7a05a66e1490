"""What each run may be: the sizes left after limits and minimums, with loss and cost of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from supplycalc.catalogue import Catalogue, Tube, TubeSize
from supplycalc.demand.loads import Demand
from supplycalc.hydraulics.devices import device_loss, held_pressure
from supplycalc.hydraulics.fittings import default_allowance, fitting_k, manifold_port_k
from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.pressure import pipe_loss, static_gains
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, House, Loss, Manifold, Run
from supplycalc.network import Tree
from supplycalc.sizing.feed import reconcile
from supplycalc.sizing.minimums import is_service, smallest_permitted
from supplycalc.sizing.port import port_loss
from supplycalc.sizing.situation import RunChoice, Situation, SizeOption

Cost = Callable[[Run, Tube, TubeSize], float]


def pipe_mass(run: Run, tube: Tube, size: TubeSize) -> float:
    """Mass of a run's pipe material, the cost where no price list is given.

    Args:
        run: for its developed length.
        tube: for its density.
        size: for its outside and inside diameter.

    Returns:
        Mass [kg].

    Source: geometry.
    """
    ring = math.pi / 4.0 * (size.outside_diameter**2 - size.inside_diameter**2)
    return tube.density * ring * run.length


def prepare(
    tree: Tree, demand: Demand, available: float, highest: float, cost: Cost = pipe_mass
) -> Situation:
    """Work out what every size of every run would do at the design flows.

    Args:
        tree: the supply.
        demand: design flows [m3/s].
        available: pressure at the source while the design flow runs [Pa gauge].
        highest: highest static pressure at the source [Pa gauge].
        cost: what a run costs in a size; by default its mass [kg].

    Returns:
        The situation that sizing and evaluation work on.
    """
    house, catalogue, count = tree.house, tree.catalogue, len(tree)
    densities = {"cold": density(house.water.cold), "hot": density(house.water.hot)}
    viscosities = {"cold": viscosity(house.water.cold), "hot": viscosity(house.water.hot)}
    gains = static_gains(tree.parent, tree.elevation, [densities[side] for side in tree.side])
    losses, limits, still = [0.0] * count, [math.inf] * count, [math.inf] * count
    choices: list[RunChoice | None] = [None] * count
    for i in range(1, count):
        link, flow = tree.links[i], demand.design_flow[i]
        if isinstance(link, Device):
            losses[i] = device_loss(loss_of(link, catalogue), flow) + port_loss(tree, i, flow)
            if link.setting is not None:
                still[i] = link.setting
                limits[i] = valve_limit(link, catalogue, flow)
        elif isinstance(link, Run):
            feeds_from = tree.links[tree.parent[i]]
            side = tree.side[i]
            choices[i] = _run_choice(
                link,
                house,
                catalogue,
                cost,
                flow=flow,
                hot=side == "hot",
                temperature=tree.temperature[i],
                rho=densities[side],
                mu=viscosities[side],
                from_manifold=isinstance(feeds_from, Manifold),
                service=is_service(tree, i),
                available=available,
            )
    required = [-math.inf] * count
    for outlet in tree.outlets:
        required[outlet.link] = outlet.required_pressure
    return reconcile(
        Situation(
            tree=tree,
            demand=demand,
            available=available,
            highest=highest,
            static_gain=tuple(gains),
            device_loss=tuple(losses),
            outlet_limit=tuple(limits),
            static_limit=tuple(still),
            required=tuple(required),
            choices=tuple(choices),
        )
    )


def loss_of(device: Device, catalogue: Catalogue) -> Loss:
    """The device's own loss [Pa over m3/s], else its kind's sourced default, else none."""
    if device.loss is not None:
        return device.loss
    return catalogue.devices[device.kind].loss or Loss()


def valve_limit(device: Device, catalogue: Catalogue, flow: float) -> float:
    """Highest pressure behind a pressure-reducing valve at a flow: setting less fall-off [Pa]."""
    kind = catalogue.devices[device.kind]
    falloff = device.falloff if device.falloff is not None else kind.falloff or 0.0
    at = device.falloff_flow if device.falloff_flow is not None else kind.falloff_flow or 1.0
    return held_pressure(device.setting or 0.0, falloff, at, flow)


def _run_choice(
    run: Run,
    house: House,
    catalogue: Catalogue,
    cost: Cost,
    *,
    flow: float,
    hot: bool,
    temperature: float,
    rho: float,
    mu: float,
    from_manifold: bool,
    service: bool,
    available: float,
) -> RunChoice:
    tube = catalogue.tubes[run.material]
    joining = catalogue.joinings[run.joining]
    roughness = run.roughness if run.roughness is not None else tube.roughness
    hazen_williams = tube.hazen_williams_c if house.project.friction == "hazen-williams" else None
    length = counted_length(run, house)
    options = []
    for size in tube.sizes:
        k = sum(count * fitting_k(joining, kind, tube, size) for kind, count in run.fittings or ())
        if from_manifold:
            k += manifold_port_k()
        friction, fitting = pipe_loss(
            flow, length, size.inside_diameter, roughness, k, rho, mu, hazen_williams
        )
        options.append(
            SizeOption(
                size=size,
                friction_loss=friction,
                fitting_loss=fitting,
                velocity=velocity(flow, size.inside_diameter),
                k=k,
                cost=cost(run, tube, size),
            )
        )
    own_limit = house.limits.velocity_hot if hot else house.limits.velocity_cold
    limit = own_limit if own_limit is not None else tube.velocity_limit(temperature, hot)
    names = [size.nominal for size in tube.sizes]
    offered: tuple[int, ...] = tuple(i for i, size in enumerate(tube.sizes) if size.common)
    if run.size is not None:
        offered = (names.index(run.size),)
    elif run.sizes:
        offered = tuple(sorted(names.index(name) for name in run.sizes))
    minimum, why = smallest_permitted(
        run, house, catalogue, tube, from_manifold, service, available
    )
    return RunChoice(
        run=run,
        tube=tube,
        options=tuple(options),
        allowed=narrow(options, offered, minimum, limit, fixed=run.size is not None),
        offered=offered,
        minimum=minimum,
        minimum_source=why,
        velocity_limit=limit,
        counted_length=length,
    )


def counted_length(run: Run, house: House) -> float:
    """Developed length with the share for fittings where none are listed [m].

    Args:
        run: the run.
        house: for its defaults.

    Returns:
        Length that friction acts on [m].

    Source: Wisconsin Administrative Code SPS 382.40(7) for the default share.
    """
    if run.fittings is not None:
        return run.length
    share = run.fitting_allowance
    if share is None:
        share = house.defaults.fitting_allowance
    if share is None:
        share = default_allowance()[0]
    return run.length * (1.0 + share)


def narrow(
    options: Sequence[SizeOption],
    offered: tuple[int, ...],
    minimum: int,
    velocity_limit: float,
    *,
    fixed: bool,
) -> tuple[int, ...]:
    """The offered sizes that keep minimum and velocity limit, or the nearest to doing so.

    A size the user fixed stays. Where no offered size keeps a limit the largest one is left, and a
    finding says that the limit is broken.

    Args:
        options: every size of the family, ascending.
        offered: indices that the user allows.
        minimum: index of the smallest permitted size.
        velocity_limit: [m/s].
        fixed: whether the user fixed the size.

    Returns:
        Indices the solver may choose from, ascending, never empty.
    """
    if fixed:
        return offered
    enough = tuple(i for i in offered if i >= minimum) or offered[-1:]
    slow = tuple(i for i in enough if options[i].velocity <= velocity_limit * (1 + 1e-9))
    return slow or enough[-1:]
