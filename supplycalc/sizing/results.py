"""The records of a sized tree: runs with what decided their size, devices, outlets."""

from __future__ import annotations

import math
from collections.abc import Sequence

from supplycalc.model import Device, Manifold, Run
from supplycalc.sizing.choices import (
    RunChoice,
    members_of_groups,
)
from supplycalc.sizing.design import DeviceResult, NextSmaller, OutletResult, RunResult
from supplycalc.sizing.pressures import (
    TreePressures,
    chosen_option,
    highest_pressures,
    with_one_size,
)
from supplycalc.sizing.size import SizedTree


def outlet_results(sized: SizedTree) -> tuple[OutletResult, ...]:
    """The outlets with their accounts, worst margin first."""
    situation, pressures = sized.situation, sized.pressures
    tree, at_rest = situation.tree, highest_pressures(situation)
    results = []
    for outlet in tree.outlets:
        path = tree.path(outlet.link)
        pressure = pressures.pressure[outlet.link]
        results.append(
            OutletResult(
                fixture=outlet.fixture,
                index=outlet.link,
                side=outlet.side,
                name=outlet.name,
                elevation=tree.elevation[outlet.link],
                path=tuple(tree.names[i] for i in path if not isinstance(tree.links[i], Manifold)),
                design_flow=situation.demand.design_flow[outlet.link],
                static_change=math.fsum(situation.static_gain[i] for i in path),
                loss=math.fsum(pressures.loss[i] for i in path),
                residual=max(pressure, 0.0),
                required=outlet.required_pressure,
                static_pressure=max(at_rest[outlet.link], 0.0),
                used_up_in=_used_up_in(sized, path) if pressure < 0.0 else None,
            )
        )
    account = {outlet.link: pressures.pressure[outlet.link] for outlet in tree.outlets}
    return tuple(
        sorted(results, key=lambda result: (account[result.index] - result.required, result.name))
    )


def _used_up_in(sized: SizedTree, path: Sequence[int]) -> str:
    """The run or device in which the pressure falls to nothing for good."""
    tree, pressure = sized.situation.tree, sized.pressures.pressure
    carried = [i for i in path if not isinstance(tree.links[i], Manifold)]
    below = carried[-1]
    for i in reversed(carried):
        if pressure[i] >= 0.0:
            break
        below = i
    return tree.names[below]


def device_results(
    sized: SizedTree, at_rest: Sequence[float] | None = None
) -> tuple[DeviceResult, ...]:
    """The devices with their losses, from the source down.

    Args:
        at_rest: pressure at each link's end with nothing running [Pa gauge]; None: by its source.
    """
    situation, pressures = sized.situation, sized.pressures
    at_rest = highest_pressures(situation) if at_rest is None else at_rest
    return tuple(
        DeviceResult(
            device=link,
            index=i,
            side=situation.tree.side[i],
            load=situation.demand.load[i],
            design_flow=situation.demand.design_flow[i],
            static_gain=situation.static_gain[i],
            loss=pressures.loss[i],
            end_pressure=pressures.pressure[i],
            static_end_pressure=at_rest[i],
            assumed=link.loss is None,
        )
        for i, link in enumerate(situation.tree.links)
        if isinstance(link, Device)
    )


def run_results(
    sized: SizedTree,
    at_rest: Sequence[float] | None = None,
    decided: Sequence[tuple[str, NextSmaller | None]] | None = None,
) -> tuple[RunResult, ...]:
    """The runs with their sizes, losses and reasons, from the source down.

    Args:
        at_rest: pressure at each link's end with nothing running [Pa gauge]; None: by its source.
        decided: what decided each link's size; None: by `what_decided`.
    """
    situation, pressures = sized.situation, sized.pressures
    tree = situation.tree
    at_rest = highest_pressures(situation) if at_rest is None else at_rest
    decided = what_decided(sized) if decided is None else decided
    results = []
    for i, (link, (reason, smaller)) in enumerate(zip(tree.links, decided, strict=True)):
        choice = situation.choices[i]
        if choice is None or not isinstance(link, Run):
            continue
        chosen = chosen_option(situation, pressures.sizes, i)
        results.append(
            RunResult(
                run=link,
                index=i,
                side=tree.side[i],
                tube=choice.tube,
                size=chosen.size,
                start=link.start,
                end=tree.points[i],
                temperature=tree.temperature[i],
                load=situation.demand.load[i],
                design_flow=situation.demand.design_flow[i],
                velocity=chosen.velocity,
                velocity_limit=choice.velocity_limit,
                static_gain=situation.static_gain[i],
                friction_loss=chosen.friction_loss,
                fitting_loss=chosen.fitting_loss,
                k=chosen.k,
                counted_length=choice.counted_length,
                end_pressure=pressures.pressure[i],
                static_end_pressure=at_rest[i],
                decided_by=reason,
                next_smaller=smaller,
                allowed=tuple(choice.options[j].size.nominal for j in choice.allowed),
            )
        )
    return tuple(results)


def what_decided(sized: SizedTree) -> list[tuple[str, NextSmaller | None]]:
    """For each run what decided its size, and what the next smaller size would have done.

    Returns:
        One (reason, next smaller size or None) per link; ("", None) for links that are not runs.

    How: by trying.
    """
    situation = sized.situation
    groups = members_of_groups(situation.choices)
    fed: dict[int, list[int]] = {}
    for i, choice in enumerate(situation.choices):
        if choice is not None:
            fed.setdefault(situation.tree.feeding_run[i], []).append(i)
    result: list[tuple[str, NextSmaller | None]] = []
    for i, choice in enumerate(situation.choices):
        if choice is None:
            result.append(("", None))
            continue
        members = groups.get(choice.group or "", [i])
        result.append(_reason(sized, i, choice, members, fed.get(i, [])))
    return result


def _reason(
    sized: SizedTree,
    link: int,
    choice: RunChoice,
    members: Sequence[int],
    fed: Sequence[int],
) -> tuple[str, NextSmaller | None]:
    situation, pressures = sized.situation, sized.pressures
    chosen = pressures.sizes[link]
    smaller = next_smaller_size(choice, chosen)
    settled = settled_reason(choice, smaller)
    if settled is not None or smaller is None:
        return settled or "", None
    name = choice.options[smaller].size.nominal
    tried = pressures
    for member in members:
        other = situation.choices[member]
        assert other is not None
        position = [offered.size.nominal for offered in other.options]
        if name in position:
            tried = with_one_size(situation, tried, member, position.index(name))
    outlet = situation.tree.outlets[tried.worst_outlet]
    velocity = choice.options[smaller].velocity
    decided, reason = _decided(sized, tried, link, choice, smaller, members, fed)
    return decided, NextSmaller(
        nominal=name,
        velocity=velocity,
        loss=choice.options[smaller].loss,
        worst_margin=max(tried.worst_margin, -outlet.required_pressure),
        worst_name=outlet.name,
        reason=reason,
    )


def settled_reason(choice: RunChoice, smaller: int | None) -> str | None:
    """What decided a size that no smaller one is held against: it is there, or the smallest.

    Args:
        smaller: index of its next smaller size; None: there is none.
    """
    if choice.run.existing:
        return "is there" if choice.run.size else "not known"
    if smaller is None:
        return "fixed by you" if choice.run.size else "smallest made"
    return None


def next_smaller_size(choice: RunChoice, chosen: int) -> int | None:
    """Index of the next smaller size: of those the user offers, else of the whole family."""
    smaller = [j for j in choice.offered if j < chosen]
    if not smaller:
        smaller = [j for j in range(chosen) if choice.options[j].size.common]
    return smaller[-1] if smaller else None


def _decided(
    sized: SizedTree,
    tried: TreePressures,
    link: int,
    choice: RunChoice,
    smaller: int,
    members: Sequence[int],
    fed: Sequence[int],
) -> tuple[str, str]:
    """(what decided the size in a word or two, why the next smaller one was not taken)."""
    situation, pressures = sized.situation, sized.pressures
    if choice.run.size is not None:
        return "fixed by you", "you fixed the size"
    if smaller not in choice.offered:
        return "smallest you allow", "not among the sizes you allow"
    if smaller < choice.minimum:
        return choice.minimum_source, f"below the {choice.minimum_source}"
    over = [
        member
        for member in members
        if (other := situation.choices[member]) is not None
        and chosen_option(situation, tried.sizes, member).velocity
        > other.velocity_limit * (1 + 1e-9)
    ]
    if over:
        if link in over:
            return "velocity", "water would run faster than the limit"
        other = situation.choices[over[0]]
        assert other is not None
        return "its group", f"too fast in {other.run.name}, of the same group"
    if tried.worst_margin < -1e-6 and tried.worst_margin < pressures.worst_margin:
        outlet = situation.tree.outlets[tried.worst_outlet]
        return "pressure", f"{outlet.name} would fall short"
    outlets = {outlet.link for outlet in situation.tree.outlets}
    for i, asked in enumerate(situation.required):
        if i not in outlets and tried.pressure[i] < asked <= pressures.pressure[i]:
            return "a height", f"water would not get over the height at {situation.tree.points[i]}"
    larger = _larger_below(sized, choice.options[smaller].ceiling, fed)
    if pressures.worst_margin < -1e-6:
        if larger is not None:
            return larger
        if shorter := _shorter(sized, tried):
            return "pressure", shorter
    if tried.worst_margin < sized.reserve - 1e-6 <= pressures.worst_margin:
        own = situation.tree.house.limits.reserve is not None
        whose = "you ask for" if own else "of pressure"
        return "reserve", f"the reserve {whose} would not be kept"
    if larger is not None:
        return larger
    if len(members) > 1:
        return "its group", "another run of the group decided"
    return "least cost", "dearer for the house as a whole"


def _larger_below(sized: SizedTree, ceiling: float, fed: Sequence[int]) -> tuple[str, str] | None:
    """What is said of a run that feeds a larger one than a smaller size may feed [in]."""
    for below in fed:
        choice = sized.situation.choices[below]
        if choice is not None and choice.options[sized.pressures.sizes[below]].rank > ceiling:
            name = sized.situation.tree.names[below]
            return "the pipe below it", f"{name}, which it feeds, is larger"
    return None


def _shorter(sized: SizedTree, tried: TreePressures) -> str:
    """Where some outlet is short anyway: which one a change would leave shorter, if any."""
    shorter, most = "", 1e-6
    for outlet in sized.situation.tree.outlets:
        before = sized.pressures.pressure[outlet.link] - outlet.required_pressure
        after = tried.pressure[outlet.link] - outlet.required_pressure
        if after < -1e-6 and before - after > most:
            most = before - after
            verb = "shorter still" if before < -1e-6 else "short"
            shorter = f"{outlet.name} would fall {verb}"
    return shorter
