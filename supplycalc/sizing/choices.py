"""What each run may be: the sizes left after limits and minimums, with loss and cost of each.

Runs are tied to each other too: none larger than the one that feeds it, one size for a whole group.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.catalogue import Catalogue, Tube, TubeSize, nominal_inches
from supplycalc.demand.loads import Demand
from supplycalc.hydraulics.devices import device_loss, held_pressure, loss_of_device
from supplycalc.hydraulics.fittings import counted_length, fitting_k, manifold_port_k
from supplycalc.hydraulics.friction import velocity
from supplycalc.hydraulics.pressure import pipe_loss, static_gains
from supplycalc.hydraulics.water import density, viscosity
from supplycalc.model import Device, House, Run, Side
from supplycalc.network import Tree
from supplycalc.problems import ComputationError
from supplycalc.reading.runs import nominal_size
from supplycalc.sizing.costs import Cost, pipe_mass
from supplycalc.sizing.minimums import largest_permitted, smallest_permitted
from supplycalc.sizing.problem import LinkOption, LinkProblem, SizingProblem
from supplycalc.sizing.velocity_limits import fastest
from supplycalc.supply.source import SourcePressure
from supplycalc.tables import code_limit
from supplycalc.units.quantities import Flow, Velocity

METRIC_SLACK = 1.05
"""Where inside diameters decide, a size may be this much wider than its feed (a PE 32 feeds a
copper 28)."""


class SizeOption(LinkOption, frozen=True, kw_only=True):
    """One size that a run could have, and what it would do at the run's design flow.

    `cost` is in kg or in the price list's currency, `rank` and `ceiling` by the tree's `FeedOrder`.
    """

    rank: float
    """Place in the tree's order of sizes [in]."""
    size: TubeSize
    friction_loss: float
    """Along the developed length [Pa]."""
    fitting_loss: float
    """Of the listed fittings, or by the length added where none are [Pa]."""
    velocity: float
    """[m/s]"""
    k: float
    """Sum of the listed fittings' loss coefficients, and of the manifold's port."""


class RunChoice(Struct, frozen=True, kw_only=True):
    """A run with every size of its family and the ones the solver may take."""

    run: Run
    tube: Tube
    options: tuple[SizeOption, ...]
    """The whole family, ascending."""
    allowed: tuple[int, ...]
    """Indices into `options`, ascending."""
    offered: tuple[int, ...]
    """What the user allows, before minimums and velocity."""
    minimum: int
    """Index of the smallest size that code and user allow."""
    minimum_source: str
    """Who asks for the minimum, in words."""
    velocity_limit: float
    """[m/s]"""
    counted_length: float
    """Developed length that friction acts on [m]."""
    group: str | None = None
    """Runs of one group have one size: the file's, or a fixture's hot and cold where it asks."""


class LineSizes(Struct, frozen=True, kw_only=True):
    """What the runs before the tank were chosen to be."""

    as_read: tuple[Run | Device, ...]
    """The links before the tank as the file has them."""
    wanted: float
    """Flow that the pump should give at the tank [m3/s]."""
    cost: float
    """Of its pipe, as that of the house."""
    pump_flow: Flow | None = None
    """What the pump gives through them, where that is known because all had their sizes before."""
    energy: float = 0.0
    """What pumping against a pressure costs over the years [1/Pa]; 0: it does not count."""


class Situation(Struct, frozen=True, kw_only=True):
    """A tree with its design flows and everything that does not depend on the sizes."""

    tree: Tree
    demand: Demand
    source: SourcePressure
    static_gain: tuple[float, ...]
    """Pressure gained along each link by height [Pa]."""
    device_loss: tuple[float, ...]
    """Of each link that is a device, 0 elsewhere [Pa]."""
    outlet_limit: tuple[float, ...]
    """Highest pressure that each link lets through at the design flow [Pa]; inf but for valves."""
    static_limit: tuple[float, ...]
    """The same with no flow."""
    required: tuple[float, ...]
    """Required pressure at each link's end: an outlet's, or at a height that of the air; -inf where
    nothing is asked [Pa]."""
    choices: tuple[RunChoice | None, ...]
    """Of each link; None for what is no run."""
    lines: tuple[LineSizes, ...] = ()
    """What the runs before the tank were chosen to be, from each well to where their lines meet,
    then what they share; empty where the file tells of none."""

    def sizes_by(self, choice: Sequence[int]) -> list[int]:
        """Index of each run's size in its family, by the option that a solution takes of those it
        may have; 0 for what is no run."""
        return [
            0 if of_run is None else of_run.allowed[option]
            for of_run, option in zip(self.choices, choice, strict=True)
        ]

    def options_at(self, sizes: Sequence[int]) -> list[tuple[Run, SizeOption]]:
        """Each run with the size that it has by its index in the family."""
        return [
            (choice.run, choice.options[size])
            for choice, size in zip(self.choices, sizes, strict=True)
            if choice is not None
        ]

    def nominals(self, sizes: Sequence[int]) -> dict[str, str]:
        """Nominal size of every run by its name."""
        return {run.name: option.size.nominal for run, option in self.options_at(sizes)}

    def cost(self, sizes: Sequence[int]) -> float:
        """Of all pipe, what stands before the tank with it [kg], or in the list's currency."""
        before = math.fsum(line.cost for line in self.lines)
        return before + math.fsum(option.cost for _, option in self.options_at(sizes))


def prepare(
    tree: Tree,
    demand: Demand,
    source: SourcePressure,
    cost: Cost = pipe_mass,
    like: Situation | None = None,
) -> Situation:
    """Work out what every size of every run would do at the design flows.

    Args:
        demand: design flows [m3/s].
        source: what it gives at the design flow and at rest [Pa gauge].
        cost: what a run costs in a size; by default its mass [kg].
        like: of a house in which only some things differ, at the same cost; what its runs would do
            in each size is not computed anew.
    """
    house, catalogue, count = tree.house, tree.catalogue, len(tree)
    temperatures: dict[Side, float] = {"cold": house.water.cold, "hot": house.water.hot}
    waters = {side: (density(at), viscosity(at)) for side, at in temperatures.items()}
    gains = static_gains(tree.parent, tree.elevation, [waters[side][0] for side in tree.rise_side])
    losses, limits, at_rest = [0.0] * count, [math.inf] * count, [math.inf] * count
    order = feed_order(tree)
    alike = like if like is not None and _laid_alike(tree, source, like) else None
    choices: list[RunChoice | None] = [None] * count
    for i in range(1, count):
        link, flow = tree.links[i], demand.design_flow[i]
        if isinstance(link, Device):
            losses[i] = device_loss(loss_of_device(link, catalogue), flow)
            losses[i] += port_loss(tree, i, flow)
            if link.setting is not None:
                at_rest[i] = link.setting
                limits[i] = valve_limit(link, catalogue, flow)
        elif isinstance(link, Run):
            known = None if alike is None else _known_choice(alike, i, flow)
            if known is not None and known.run == link:
                choices[i] = known if known.run is link else replace(known, run=link)
                continue
            options = (
                _known_options(like, tree, i, link, flow, order)
                if known is None
                else _at_length(known, link, counted_length(link, house), cost)
            )
            if options is None:
                water = waters[tree.side[i]]
                options = _size_options(tree, i, link, flow, cost, water, order)
            choices[i] = _run_choice(tree, i, link, options, source)
    required = [-math.inf] * count
    for outlet in tree.outlets:
        required[outlet.link] = outlet.required_pressure
    return reconcile(
        Situation(
            tree=tree,
            demand=demand,
            source=source,
            static_gain=tuple(gains),
            device_loss=tuple(losses),
            outlet_limit=tuple(limits),
            static_limit=tuple(at_rest),
            required=tuple(required),
            choices=tuple(choices),
        )
    )


def valve_limit(device: Device, catalogue: Catalogue, flow: float) -> float:
    """Highest pressure behind a pressure-reducing valve at a flow: setting less fall-off [Pa]."""
    kind = catalogue.devices[device.kind]
    falloff = device.falloff if device.falloff is not None else kind.falloff or 0.0
    at = device.falloff_flow if device.falloff_flow is not None else kind.falloff_flow or 1.0
    return held_pressure(device.setting or 0.0, falloff, at, flow)


def _laid_alike(tree: Tree, source: SourcePressure, like: Situation) -> bool:
    """Whether a house differs from another in lengths, heights, losses and pressures alone.

    A run of both may then be the same sizes, whatever became of others.
    """
    house, other = tree.house, like.tree.house
    strong = code_limit("manifold-exception-pressure").value
    return (
        tree.parent == like.tree.parent
        and house.project is other.project
        and house.limits is other.limits
        and house.defaults is other.defaults
        and house.water is other.water
        and house.catalogue is other.catalogue
        and (source.design_pressure < strong) == (like.source.design_pressure < strong)
        and all(
            link == known
            or (
                isinstance(link, Run)
                and isinstance(known, Run)
                and link.route is None
                and replace(link, length=known.length) == known
            )
            or (isinstance(link, Device) and isinstance(known, Device) and link.kind == known.kind)
            for link, known in zip(tree.links[1:], like.tree.links[1:], strict=True)
        )
        and [fixture.kind for fixture in house.fixtures]
        == [fixture.kind for fixture in other.fixtures]
    )


def _known_choice(like: Situation, link: int, flow: float) -> RunChoice | None:
    """A run's choice in a house that is laid alike; None where its flow differs.

    The sizes are those of the run by itself, before it is held against others.
    """
    known = like.choices[link]
    if known is None or like.demand.design_flow[link] != flow:
        return None
    limit, fixed = known.velocity_limit, is_settled(known.run)
    allowed = narrow(known.options, known.offered, known.minimum, limit, fixed=fixed)
    return known if known.allowed == allowed else replace(known, allowed=allowed)


def _at_length(
    known: RunChoice, run: Run, counted_length: float, cost: Cost
) -> tuple[SizeOption, ...]:
    """What a run would do in each size at another length [m]: fittings that are listed stay."""
    more = run.length / known.run.length
    added = counted_length / run.length - 1.0
    options = []
    for option in known.options:
        along = option.friction_loss * more
        fitting = option.fitting_loss + (along - option.friction_loss) * added
        options.append(
            replace(
                option,
                friction_loss=along,
                fitting_loss=fitting,
                loss=along + fitting,
                cost=0.0 if run.existing else cost(run, known.tube, option.size),
            )
        )
    return tuple(options)


def _known_options(
    like: Situation | None, tree: Tree, link: int, run: Run, flow: float, order: FeedOrder
) -> tuple[SizeOption, ...] | None:
    """What a run would do in each size, known from another house; None where anything differs."""
    if like is None or link >= len(like.choices):
        return None
    known, house, other = like.choices[link], tree.house, like.tree.house
    same = (
        known is not None
        and known.run is run
        and known.options[0].rank == order.rank(known.options[0].size)
        and like.demand.design_flow[link] == flow
        and known.counted_length == counted_length(run, house)
        and like.tree.starts_at_manifold(link) == tree.starts_at_manifold(link)
        and like.tree.side[link] == tree.side[link]
        and other.water is house.water
        and other.project is house.project
        and other.catalogue is house.catalogue
    )
    return known.options if same and known is not None else None


def _size_options(
    tree: Tree,
    link: int,
    run: Run,
    flow: float,
    cost: Cost,
    water: tuple[float, float],
    order: FeedOrder,
) -> tuple[SizeOption, ...]:
    """Every size of a run at its design flow [m3/s], in water of a density and viscosity."""
    house, catalogue = tree.house, tree.catalogue
    tube = catalogue.tubes[run.material]
    joining = catalogue.joinings[run.joining]
    roughness = run.roughness if run.roughness is not None else tube.roughness
    hazen_williams = tube.hazen_williams_c if house.project.friction == "hazen-williams" else None
    length = counted_length(run, house)
    options = []
    for size in tube.sizes:
        k = sum(count * fitting_k(joining, kind, tube, size) for kind, count in run.fittings or ())
        if tree.starts_at_manifold(link):
            k += manifold_port_k()
        friction, fitting = pipe_loss(
            flow, length, size.inside_diameter, roughness, k, *water, hazen_williams
        )
        along = friction * (run.length / length)
        options.append(
            SizeOption(
                size=size,
                rank=order.rank(size),
                ceiling=order.ceiling(size),
                loss=friction + fitting,
                friction_loss=along,
                fitting_loss=fitting + (friction - along),
                velocity=velocity(flow, size.inside_diameter),
                k=k,
                cost=0.0 if run.existing else cost(run, tube, size),
            )
        )
    return tuple(options)


def _run_choice(
    tree: Tree,
    link: int,
    run: Run,
    options: tuple[SizeOption, ...],
    source: SourcePressure,
) -> RunChoice:
    """The sizes that a run may have, of what it would do in each."""
    house = tree.house
    tube = tree.catalogue.tubes[run.material]
    limit, _ = fastest(tree, link, tube)
    names = [size.nominal for size in tube.sizes]
    offered: tuple[int, ...] = tuple(i for i, size in enumerate(tube.sizes) if size.common)
    if run.size is not None:
        offered = (names.index(run.size),)
    elif run.sizes:
        offered = tuple(sorted(names.index(name) for name in run.sizes))
    elif shop := [i for i in offered if in_shop(names[i], names, house)]:
        offered = offered if run.existing else tuple(shop)
    if run.existing:
        offered = offered[:1]  # of unknown size: the least that it may be
    minimum, why = smallest_permitted(tree, link, source.design_pressure)
    if run.size is None and not run.sizes and not run.existing:
        offered = _up_to_branch(tree, link, offered, minimum, options, limit)
    return RunChoice(
        run=run,
        tube=tube,
        options=options,
        allowed=narrow(options, offered, minimum, limit, fixed=is_settled(run)),
        offered=offered,
        minimum=minimum,
        minimum_source=why,
        velocity_limit=limit,
        counted_length=counted_length(run, house),
        group=_group(tree, run),
    )


def _group(tree: Tree, run: Run) -> str | None:
    """The runs that a run shares its size with, by the name of the group."""
    if run.group is not None or run.fixture is None:
        return run.group
    fixture = tree.fixtures[run.fixture]
    if not tree.house.defaults.same_size_hot_and_cold or None in (fixture.cold, fixture.hot):
        return None
    other = fixture.hot if run is fixture.cold else fixture.cold
    assert other is not None
    return other.group or f"{fixture.name}, hot and cold"


def is_settled(run: Run) -> bool:
    """Whether a run keeps its size whatever is asked of it: fixed by the user, or there already."""
    return run.existing or run.size is not None


def in_shop(nominal: str, names: Sequence[str], house: House) -> bool:
    """Whether the shop has a size, by the file's defaults; names: the family's nominal sizes."""
    return any(nominal_size(text, tuple(names)) == nominal for text in house.defaults.sizes)


def _up_to_branch(
    tree: Tree,
    link: int,
    offered: tuple[int, ...],
    minimum: int,
    options: Sequence[SizeOption],
    velocity_limit: float,
) -> tuple[int, ...]:
    """The offered sizes without those too large for a fixture's branch.

    What minimum and velocity [m/s] ask for stays: a fixture that draws much has a connection for
    it.
    """
    largest = largest_permitted(tree, link)
    if largest is None:
        return offered
    slow = [
        i for i in offered if i >= minimum and options[i].velocity <= velocity_limit * (1 + 1e-9)
    ]
    enough = slow[0] if slow else offered[-1]
    return tuple(i for i in offered if i <= max(largest, enough))


def narrow(
    options: Sequence[SizeOption],
    offered: tuple[int, ...],
    minimum: int,
    velocity_limit: Velocity,
    *,
    fixed: bool,
) -> tuple[int, ...]:
    """The offered sizes that keep minimum and velocity limit, or the nearest to doing so.

    A size the user fixed stays. Where no offered size keeps a limit the largest one is left, and a
    finding says that the limit is broken.

    Args:
        offered: indices that the user allows.
        minimum: index of the smallest permitted size.
        fixed: whether the user fixed the size.

    Returns:
        Indices the solver may choose from, ascending, never empty.
    """
    if fixed:
        return offered
    enough = [i for i in offered if i >= minimum] or offered[-1:]
    most = velocity_limit * (1 + 1e-9)
    return tuple([i for i in enough if options[i].velocity <= most] or enough[-1:])


def device_port(tree: Tree, link: int, flow: Flow) -> TubeSize | None:
    """Size of the port that a device hangs on, where it hangs right on a manifold's; None where a
    pipe or another device feeds it, or no pipe is near.

    No pipe tells it. It is taken as one would buy it: the smallest size of the next pipe's tube
    that keeps the velocity limit. A manifold right on another one is its longer body and has no
    port between."""
    if not isinstance(tree.links[link], Device):
        return None
    if not tree.starts_at_manifold(link):
        return None
    run = _next_run(tree, link)
    if run is None:
        return None
    tube = tree.catalogue.tubes[run.material]
    most, _ = fastest(tree, tree.index[run.end], tube)
    sizes = [size for size in tube.sizes if size.common]
    return next((size for size in sizes if velocity(flow, size.inside_diameter) <= most), sizes[-1])


def port_loss(tree: Tree, link: int, flow: Flow) -> float:
    """Pressure lost in the port that a device hangs on [Pa]; 0 where the device stands in pipe.

    Source: K of a manifold's port (entrance and exit) on the port's velocity head.
    """
    size = device_port(tree, link, flow)
    if size is None:
        return 0.0
    head = density(tree.temperature[link]) * velocity(flow, size.inside_diameter) ** 2 / 2.0
    return manifold_port_k() * head


def _next_run(tree: Tree, link: int) -> Run | None:
    """The first run behind a link, else the nearest one before it."""
    behind = (tree.links[i] for i in range(link + 1, tree.last[link]))
    before = (tree.links[i] for i in reversed(tree.path(link)))
    return next((link for link in (*behind, *before) if isinstance(link, Run)), None)


class FeedOrder(Struct, frozen=True, kw_only=True):
    """How sizes compare: nominally among inch tubes, by inside diameter where a tree has metric."""

    by_inside_diameter: bool

    def rank(self, size: TubeSize) -> float:
        """Place of a size in the order [in]."""
        if self.by_inside_diameter:
            return size.inside_diameter / 0.0254
        return nominal_inches(size.nominal)

    def ceiling(self, size: TubeSize) -> float:
        """Largest rank that a size may feed [in]."""
        return self.rank(size) * (METRIC_SLACK if self.by_inside_diameter else 1.0 + 1e-9)


def feed_order(tree: Tree) -> FeedOrder:
    """The order in force for a tree."""
    tubes = tree.catalogue.tubes
    return FeedOrder(by_inside_diameter=any(tubes[run.material].metric for _, run in tree.runs()))


def reconcile(situation: Situation) -> Situation:
    """Settle what limits ask of runs against what ties them to other runs.

    Where a velocity limit asks for more than the feed can be, the feed decides: a larger pipe
    behind a small one would only hide the small one, and the velocity gets its finding. Runs of a
    group keep the sizes that all of them may have.

    Raises:
        ComputationError: the runs of a group have no size in common.
    """
    choices = _no_larger_than_feed(situation.tree, list(situation.choices))
    return replace(situation, choices=tuple(_common_to_groups(choices)))


def _no_larger_than_feed(tree: Tree, choices: list[RunChoice | None]) -> list[RunChoice | None]:
    if tree.house.limits.larger_than_feed:
        return choices
    for i, choice in enumerate(choices):
        feed = choices[tree.feeding_run[i]] if choice is not None else None
        if choice is None or feed is None or is_settled(choice.run):
            continue
        ceiling = max([feed.options[j].ceiling for j in feed.allowed])
        if choice.options[choice.allowed[0]].rank <= ceiling:
            continue
        fitting = [
            j for j in choice.offered if j >= choice.minimum and choice.options[j].rank <= ceiling
        ]
        if fitting:
            choices[i] = replace(choice, allowed=(fitting[-1],))
    return choices


def binding_feeds(situation: Situation) -> list[int]:
    """For each run the one that feeds it and that it must not be larger than; -1: there is none.

    A run that is larger than its feed can be whatever is chosen, or may be by the file, is not held
    against it; a finding tells of it.
    """
    tree, choices = situation.tree, situation.choices
    if tree.house.limits.larger_than_feed:
        return [-1] * len(choices)
    feeds = [-1] * len(choices)
    ceilings: dict[int, float] = {}
    for i, (choice, above) in enumerate(zip(choices, tree.feeding_run, strict=True)):
        feed = choices[above]
        if choice is None or feed is None:
            continue
        if above not in ceilings:
            ceilings[above] = max([feed.options[j].ceiling for j in feed.allowed])
        if min([choice.options[j].rank for j in choice.allowed]) <= ceilings[above]:
            feeds[i] = above
    return feeds


def members_of_groups(choices: Sequence[RunChoice | None]) -> dict[str, list[int]]:
    """Group name -> indices of its runs."""
    groups: dict[str, list[int]] = {}
    for i, choice in enumerate(choices):
        if choice is not None and choice.group is not None:
            groups.setdefault(choice.group, []).append(i)
    return groups


def _common_to_groups(choices: list[RunChoice | None]) -> list[RunChoice | None]:
    """Leave in each group only the sizes that all its runs may have.

    Where their limits leave none in common, the largest size that all of them offer is taken.
    """
    for indices in members_of_groups(choices).values():
        group = [choice for i in indices if (choice := choices[i]) is not None]
        common = _shared_nominals(group, lambda choice: choice.allowed)
        if not common:
            common = _shared_nominals(group, lambda choice: choice.offered)[-1:]
        if not common:
            names = ", ".join(choice.run.name for choice in group)
            raise ComputationError(f"the runs of one group have no size in common: {names}")
        for i, choice in zip(indices, group, strict=True):
            positions = {option.size.nominal: j for j, option in enumerate(choice.options)}
            choices[i] = replace(choice, allowed=tuple(positions[name] for name in common))
    return choices


def _shared_nominals(
    group: list[RunChoice], which: Callable[[RunChoice], tuple[int, ...]]
) -> list[str]:
    first = [group[0].options[j].size.nominal for j in which(group[0])]
    rest = [{choice.options[j].size.nominal for j in which(choice)} for choice in group[1:]]
    return [name for name in first if all(name in names for names in rest)]


def sizing_problem(situation: Situation, reserve: float) -> SizingProblem:
    """The abstract problem that the cheapest sizes solve.

    Args:
        reserve: asked of every outlet beyond what it requires [Pa].
    """
    feeds = binding_feeds(situation)
    outlets = {outlet.link for outlet in situation.tree.outlets}
    required = [
        asked + (reserve if i in outlets else 0.0) for i, asked in enumerate(situation.required)
    ]
    groups: dict[str, int] = {}
    links = []
    for i, choice in enumerate(situation.choices):
        if choice is None:
            options: tuple[LinkOption, ...] = (
                LinkOption(cost=0.0, loss=situation.device_loss[i], rank=None, ceiling=math.inf),
            )
            group, exempt = -1, False
        else:
            options = tuple([choice.options[j] for j in choice.allowed])
            name = choice.group
            group = -1 if name is None else groups.setdefault(name, len(groups))
            exempt = feeds[i] < 0
        links.append(
            LinkProblem(
                parent=situation.tree.parent[i],
                options=options,
                static_gain=situation.static_gain[i],
                required=required[i],
                outlet_limit=situation.outlet_limit[i],
                group=group,
                exempt=exempt,
            )
        )
    return SizingProblem(links=tuple(links), available=situation.source.design_pressure)
