"""The smallest size that a run may have, by code and by the user, and who asks for it."""

from __future__ import annotations

from supplycalc.catalogue import Catalogue, Tube, nominal_inches
from supplycalc.model import House, Run
from supplycalc.tables import code_limit
from supplycalc.tree import Tree

MANIFOLD_EXCEPTION_LENGTH = 18.288
"""[m] 60 ft: a branch from a manifold no longer than this may be one size smaller (IPC Table 604.5
footnote, from memory)."""


def is_service(tree: Tree, link: int, outlets_below: int) -> bool:
    """Whether a run belongs to the water service: from the source, or buried and shared [-]."""
    run = tree.links[link]
    if not isinstance(run, Run):
        return False
    return int(tree.parent[link]) == 0 or (run.buried is not None and outlets_below > 2)


def smallest_permitted(
    run: Run,
    house: House,
    catalogue: Catalogue,
    tube: Tube,
    from_manifold: bool,
    service: bool,
    available: float,
) -> tuple[int, str]:
    """Index of the smallest permitted size of a run, and what asks for it.

    The codes state their minimums in inch sizes; they are not applied to metric tube.

    Args:
        run: the run [-].
        house: for its limits [-].
        catalogue: for the fixture's minimum [-].
        tube: the run's family [-].
        from_manifold: whether a manifold feeds it [-].
        service: whether it belongs to the water service [-].
        available: pressure at the source while the design flow runs [Pa gauge].

    Returns:
        (index into the family's sizes, what asks for it in words).

    Source: IRC P2903.7 (service), IPC Table 604.5 (fixtures; manifold footnote from memory).
    """
    asked: list[tuple[int, str]] = [(0, "")]
    names = [size.nominal for size in tube.sizes]
    if run.minimum is not None:
        asked.append((names.index(run.minimum), "your minimum"))
    if not tube.metric:
        if service:
            smallest = house.limits.service_minimum or code_limit("service-minimum").text
            asked.append((at_least(tube, smallest), "service minimum"))
        if run.fixture is not None:
            fixture = next(one for one in house.fixtures if one.name == run.fixture)
            smallest = catalogue.fixtures[fixture.kind].minimum_size
            if smallest:
                index = at_least(tube, smallest)
                if (
                    from_manifold
                    and run.length <= MANIFOLD_EXCEPTION_LENGTH
                    and available >= code_limit("manifold-exception-pressure").value
                ):
                    index = max(index - 1, 0)
                asked.append((index, "fixture minimum"))
    return max(asked)


def at_least(tube: Tube, nominal: str) -> int:
    """Index of an inch family's first size of at least this nominal [in]; its last if none is."""
    wanted = nominal_inches(nominal)
    for i, size in enumerate(tube.sizes):
        if nominal_inches(size.nominal) >= wanted - 1e-9:
            return i
    return len(tube.sizes) - 1
