"""What a design had to assume because the file leaves it out, and how much each one weighs."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.catalogue import load_catalogue
from supplycalc.demand.sources import method_source
from supplycalc.design import Assumption, Design
from supplycalc.hydraulics.fittings import default_allowance
from supplycalc.model import House
from supplycalc.supply.limits import one_point_ratios
from supplycalc.supply.pump import one_point
from supplycalc.tree import Tree


def assumptions(design: Design) -> tuple[Assumption, ...]:
    """List what was assumed, with its weight on the worst fixture where that is plain arithmetic.

    Args:
        design: a design with its accounts [-].

    Returns:
        The assumptions, those of reading first.

    Source: our own.
    """
    return (*assumed_in(design.tree), *_groups(design), *_fittings(design), *_devices(design))


def assumed_in(tree: Tree) -> tuple[Assumption, ...]:
    """List what a file leaves out that can be told before anything is sized.

    Args:
        tree: the supply [-].

    Returns:
        The assumptions, those of reading first.

    Source: our own.
    """
    return (
        *(Assumption(text=text) for text, _ in tree.house.assumptions),
        *_water(tree),
        *_heights(tree),
        *_source(tree.house),
    )


def _water(tree: Tree) -> Iterator[Assumption]:
    water = tree.house.water
    if "cold" not in water.given:
        yield Assumption(text="cold water at {0}", values=((water.cold, "temperature"),))
    if "hot" not in water.given and "hot" in tree.side:
        yield Assumption(text="hot water at {0}", values=((water.hot, "temperature"),))


def _groups(design: Design) -> Iterator[Assumption]:
    """Group values of the demand method's table that were used, by run."""
    for use in design.demand.groups_used:
        times = f"{use.count} x " if use.count > 1 else ""
        part = "" if use.complete else ", as a cap for a part of that group"
        yield Assumption(
            text=f"demand: the fixtures that {use.run} feeds are one kind of room and count as "
            f"{times}{use.title} ({use.value:.4g}){part}",
            source=method_source(design.demand.method),
        )


def _fittings(design: Design) -> Iterator[Assumption]:
    own = design.house.defaults.fitting_allowance
    if own is not None:
        return
    share, source = default_allowance()
    path = set(design.worst.path)
    counted, weight = 0, 0.0
    for result in design.runs:
        if result.run.fittings is None and result.run.fitting_allowance is None:
            counted += 1
            if result.run.name in path:
                weight += result.friction_loss * share / (1.0 + share)
    if counted:
        yield Assumption(
            text=f"fittings of the {counted} runs that list none: {share:.0%} added to their "
            "length; to the worst fixture this costs {0}",
            values=((weight, "pressure"),),
            source=source,
            weight=weight,
        )


def _devices(design: Design) -> Iterator[Assumption]:
    path = set(design.worst.path)
    for result in design.devices:
        kind = design.tree.catalogue.devices[result.device.kind]
        if result.assumed and kind.loss is not None:
            on_path = result.device.name in path
            yield Assumption(
                text=f"{result.device.name}: the usual loss of its kind ({kind.title}), here {{0}} "
                "at {1}; its data sheet decides"
                + ("" if on_path else " (not on the way to the worst fixture)"),
                values=((result.loss, "pressure"), (result.design_flow, "flow")),
                source=kind.citation,
                weight=result.loss if on_path else 0.0,
            )


def _heights(tree: Tree) -> Iterator[Assumption]:
    for name in tree.assumed_elevations:
        yield Assumption(text=f"{name} stands at the height of the datum")


def _source(house: House) -> Iterator[Assumption]:
    source = house.source
    if source.kind == "main" and source.static is None:
        yield Assumption(
            text="the main's highest pressure is not given; its residual is taken for it"
        )
    if source.kind == "main" and source.residual is not None and source.residual_flow is None:
        yield Assumption(
            text="the main keeps its residual pressure at this design's flow: "
            "the flow at which it was read is not given"
        )
    well = source.well
    point = one_point(house, load_catalogue(house)) if source.kind == "well" else None
    if point is not None:
        yield Assumption(
            text="the pump's curve is guessed from its one known point, {0} at {1}: a parabola "
            f"whose head without flow is {one_point_ratios()[1]:.2f} times that head, or what "
            "cut-out needs if that is more",
            values=((point.flow, "flow"), (point.head, "head")),
        )
    if source.pump is not None and source.pump.curve and well is not None:
        if well.static_level is None:
            yield Assumption(text="the well's water stands at the wellhead (no static level given)")
        if well.specific_capacity is None:
            yield Assumption(text="the well's level does not fall while pumping")
