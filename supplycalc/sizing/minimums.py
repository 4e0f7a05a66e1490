"""The smallest size that a run may have and who asks for it, and the largest of a branch."""

from __future__ import annotations

from supplycalc.catalogue import Tube, is_inch_size, nominal_inches, nominal_millimetres
from supplycalc.demand import by_the_american_codes
from supplycalc.model import Device, House, Run
from supplycalc.network import Tree
from supplycalc.tables import code_limit

USUAL_CONNECTION = "1/2"
"""What a fixture is connected by at least: stops and valves take 1/2 inch pipe, whatever smaller
branch a code permits; common practice, no source."""
LARGEST_PORT = "3/4"
"""Of manifolds for home runs, whose ports are made in 3/8, 1/2 and 3/4; common practice, no
source."""
LONGEST_BRANCH = 30.48
"""[m] 100 ft; common practice, no source."""
ALIKE = 0.9
"""A metric tube serves as an inch size from this share of its inside diameter on (16 mm tube for
1/2 inch); common practice, no source."""
LARGEST_IN_HOUSE, LARGEST_SHORT_LINE, SHORT_LINE = "1-1/4", "1-1/2", 60.0
"""What is laid for houses where neither velocity nor the file asks for more: in the house, and from
the source or in the ground up to this length [m], about 200 ft; common practice, no source."""
INCH_FAMILY = "pex-sdr9"
"""The family that says how wide an inch size is, where metric tube is held against it."""


def is_service(tree: Tree, link: int) -> bool:
    """Whether a run belongs to the water service: from the source, or buried and shared.

    A meter or a valve before the run changes nothing; treatment and heaters stand in the house. A
    fixture's own branch never belongs to the service: a tap beside the tank is none. A run that
    goes on in the same group as the service is the same pipe. All that leads from a well to the
    tank counts as service.

    Source: IRC P2903.7.
    """
    run = tree.links[link]
    if not isinstance(run, Run) or run.fixture is not None:
        return False
    if tree.before_tank:
        return True
    if run.buried is not None:
        fed = tree.at_or_below(link)
        if sum(outlet.link in fed for outlet in tree.outlets) > 2:
            return True
    feeder = tree.links[tree.parent[link]] if tree.parent[link] > 0 else None
    if isinstance(feeder, Run) and feeder.group is not None and feeder.group == run.group:
        return is_service(tree, tree.parent[link])  # one pipe, written as two runs
    before = [tree.links[i] for i in tree.feeding(link)]
    kinds = tree.catalogue.devices
    return all(
        isinstance(feed, Device) and "in-house" not in kinds[feed.kind].roles for feed in before
    )


def smallest_permitted(
    tree: Tree, link: int, available: float, length: float | None = None
) -> tuple[int, str]:
    """Index of the smallest permitted size of a run, and what asks for it.

    The codes state their minimums in inch sizes; they are not applied to metric tube.

    Args:
        link: index of the run.
        available: pressure at the source while the design flow runs [Pa gauge].
        length: developed length that is tried for the run [m]; None: its own.

    Source: IRC P2903.7 (service), IPC Table 604.5 (fixtures), IRC P2903.8.2 (manifold).
    """
    run, house = tree.links[link], tree.house
    assert isinstance(run, Run)
    tube = tree.catalogue.tubes[run.material]
    asked: list[tuple[int, str]] = [(0, "")]
    names = [size.nominal for size in tube.sizes]
    if run.minimum is not None:
        asked.append((names.index(run.minimum), "your minimum"))
    if is_service(tree, link):
        asked.append((smallest_service(tube, house)[0], "service minimum"))
    if not tube.metric and run.fixture is not None:
        kind = tree.kind_of(tree.fixtures[run.fixture])
        smallest = kind.minimum_size
        if smallest:
            index = at_least(tube, smallest)
            length = run.length if length is None else length
            near = length <= code_limit("manifold-exception-length").value + 1e-9
            strong = available >= code_limit("manifold-exception-pressure").value
            if kind.smaller_from_manifold and tree.starts_at_manifold(link) and near and strong:
                index = max(index - 1, 0)
            asked.append((index, "fixture minimum"))
    return max(asked)


def largest_permitted(tree: Tree, link: int) -> int | None:
    """Index of the largest size that a run may have where neither velocity nor the file asks more.

    A branch is at most one size above the fixture's connection: more gains little pressure and
    much standing water. A branch from a manifold is no larger than a port of such manifolds. A line
    in the ground, as to a hydrant in the yard, or a very long one is no branch in this sense. What
    is not held to a fixture is opened by the sizes that the shop has.

    Returns:
        Index into the family's sizes; None where nothing limits it.

    Source: common practice, no source.
    """
    run, house = tree.links[link], tree.house
    if not isinstance(run, Run) or house.limits.larger_branches:
        return None
    tube = tree.catalogue.tubes[run.material]
    in_ground = run.buried is not None
    if run.fixture is None or in_ground or run.length > LONGEST_BRANCH:
        length = _as_one_line(tree, run)
        if house.defaults.sizes or tree.before_tank or length > SHORT_LINE:
            return None
        line = in_ground or length > LONGEST_BRANCH or is_service(tree, link)
        return _serves_as(tree, tube, LARGEST_SHORT_LINE if line else LARGEST_IN_HOUSE)
    nominal = tree.kind_of(tree.fixtures[run.fixture]).minimum_size or USUAL_CONNECTION
    connection = max(_serves_as(tree, tube, each) for each in (nominal, USUAL_CONNECTION))
    above = [i for i in range(connection + 1, len(tube.sizes)) if tube.sizes[i].common]
    largest = _thinnest_wall(tube, above[0] if above else connection)
    if tree.starts_at_manifold(link):
        largest = max(min(largest, _serves_as(tree, tube, LARGEST_PORT)), connection)
    return largest


def _as_one_line(tree: Tree, run: Run) -> float:
    """Length of a run with the other pieces of its line [m]: cut or whole it is one."""
    if run.route is None:
        return run.length
    return sum(other.length for _, other in tree.runs() if other.route == run.route)


def _serves_as(tree: Tree, tube: Tube, nominal: str) -> int:
    """Index of a family's first size that is as good as an inch size, of several walls with the
    thinnest; its last if none is."""
    if not tube.metric:
        return at_least(tube, nominal)
    family = tree.catalogue.tubes[INCH_FAMILY]
    wanted = ALIKE * family.sizes[at_least(family, nominal)].inside_diameter
    wide = [
        i for i, size in enumerate(tube.sizes) if size.common and size.inside_diameter >= wanted
    ]
    return _thinnest_wall(tube, wide[0]) if wide else len(tube.sizes) - 1


def _thinnest_wall(tube: Tube, index: int) -> int:
    """Index of the widest size of the same outside diameter."""
    return max(i for i, size in enumerate(tube.sizes) if size.rank == tube.sizes[index].rank)


def smallest_service(tube: Tube, house: House) -> tuple[int, bool]:
    """The smallest size of a family that the water service may have.

    A limit in the file holds for inch or for metric tube, as it is written, and for a family of the
    file's own by name. The American codes' limit is in inches and holds for inch tube.

    Returns:
        (index into the family's sizes, whether the file asks for it).

    Source: IRC P2903.7.
    """
    own = house.limits.service_minimum
    names = [size.nominal for size in tube.sizes]
    if own in names:
        return names.index(own), True
    wanted = None if own is None else nominal_millimetres(own)
    if wanted is not None and tube.metric:
        larger = [i for i, size in enumerate(tube.sizes) if size.rank >= wanted - 1e-9]
        return (larger or [len(names) - 1])[0], True
    if tube.metric:
        return 0, False
    inches = own if own is not None and is_inch_size(own) else None
    if inches is None and not by_the_american_codes(house):
        return 0, False
    return at_least(tube, inches or code_limit("service-minimum").text), inches is not None


def at_least(tube: Tube, nominal: str) -> int:
    """Index of an inch family's first size of at least this nominal [in]; its last if none is."""
    wanted = nominal_inches(nominal)
    for i, size in enumerate(tube.sizes):
        if nominal_inches(size.nominal) >= wanted - 1e-9:
            return i
    return len(tube.sizes) - 1
