"""Changes of what is drawn and where: outlets that take turns, are throttled, or are fed before
treatment. Each is a trial; whether it works is told by sizing the changed house."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.model import Device, Fixture, House
from supplycalc.network import Tree
from supplycalc.sizing.design import Design
from supplycalc.sizing.trials import Trial, few

OUTDOORS = ("hose-bibb", "yard-hydrant", "stock-waterer", "irrigation")
BY_CODE = ("irc", "ipc", "upc")
"""Methods whose books ask for a flow at each outlet: nothing is throttled below it."""
THROTTLED = (0.75, 0.5)
"""Shares of its flow to which an outdoor tap is held; common practice, no source."""
MOST_PAIRS = 12
"""Pairs of outlets that are tried, those that draw most first."""
MOST_THROTTLED = 4
NOTHING_DRAWN = 1e-9
"""[m3/s] Stands for an outlet whose turn it is not, a drop in a minute."""


def before_treatment(design: Design) -> Iterator[list[Trial]]:
    """Outdoor taps led off before the first treatment that their water goes through."""
    tree, house = design.tree, design.house
    first: dict[str, Device] = {}
    for outlet in tree.outlets:
        if outlet.fixture.kind not in OUTDOORS or outlet.side != "cold":
            continue
        treating = [
            link
            for link in (tree.links[i] for i in tree.feeding(outlet.link))
            if isinstance(link, Device) and treats(tree, link)
        ]
        if treating:
            first[outlet.fixture.name] = treating[-1]
    if not first:
        return

    def moved(fixture: Fixture) -> Fixture:
        device = first.get(fixture.name)
        if device is None or fixture.cold is None:
            return fixture
        return replace(fixture, cold=replace(fixture.cold, start=device.start))

    devices = list(dict.fromkeys(device.name for device in first.values()))
    yield [
        Trial(
            house=replace(house, fixtures=tuple(moved(fixture) for fixture in house.fixtures)),
            text=f"lead {few(list(first))} off before {few(devices)}",
        )
    ]


def treats(tree: Tree, device: Device) -> bool:
    """Whether a device treats water that outdoor taps can do without."""
    kind = tree.catalogue.devices[device.kind]
    return "in-house" in kind.roles and not kind.hot and "mixes" not in kind.roles


def throttled(design: Design) -> Iterator[list[Trial]]:
    """Each outlet that draws more than its kind has to, held down: an outdoor tap, a big tub."""
    tree, house = design.tree, design.house
    flows = {outlet.fixture.name: outlet.flow for outlet in tree.outlets}
    able = [(name, least) for name, flow in flows.items() if (least := _least(tree, name)) < flow]
    able.sort(key=lambda item: (-flows[item[0]], item[0]))
    for name, least in able[:MOST_THROTTLED]:
        flow = flows[name]
        steps = sorted({max(share * flow, least) for share in THROTTLED} | {least}, reverse=True)
        yield [
            Trial(
                house=_with_flow(house, name, held, held / flow),
                text=f"hold {name} down to {{0}} with a flow limiter, instead of {{1}}",
                values=((held, "flow"), (flow, "flow")),
            )
            for held in steps
        ]


def _least(tree: Tree, name: str) -> float:
    """The least flow to which an outlet may be held [m3/s]; its own where it may not at all."""
    fixture = tree.fixtures[name]
    usual = tree.kind_of(fixture).flow(fixture.valve)
    own = usual if fixture.flow is None else fixture.flow
    if fixture.kind in OUTDOORS and tree.house.project.demand not in BY_CODE:
        return own * THROTTLED[-1]
    return min(own, usual)


def _with_flow(house: House, name: str, flow: float, share: float) -> House:
    def held(fixture: Fixture) -> Fixture:
        if fixture.name != name:
            return fixture
        steady = None if fixture.continuous is None else fixture.continuous * share
        return replace(fixture, flow=flow, continuous=steady)

    return replace(house, fixtures=tuple(held(fixture) for fixture in house.fixtures))


def in_turns(design: Design) -> Iterator[Trial]:
    """Outlets that never run at once: two of the listed ones, or those that run for hours.

    A code's count of units does not know which outlets run, so nothing is tried there.
    """
    house, flows = design.house, {out.fixture.name: out.flow for out in design.tree.outlets}
    listed = [name for name in house.project.listed if name in flows]
    if design.demand.method == "listed":
        pairs = sorted(
            itertools.combinations(dict.fromkeys(listed), 2),
            key=lambda pair: -sum(flows[name] for name in pair),
        )
        for pair in pairs[:MOST_PAIRS]:
            yield Trial(
                house=_not_listed(house, pair[1]),
                also=(_not_listed(house, pair[0]),),
                text=f"let {' and '.join(pair)} never run at once",
            )
        return
    steady = [fixture.name for fixture in house.fixtures if fixture.continuous is not None]
    if len(steady) > 1:
        first, *others = (_alone(house, steady, name) for name in steady)
        yield Trial(house=first, also=tuple(others), text=f"let {few(steady)} take turns")


def _not_listed(house: House, name: str) -> House:
    listed = tuple(other for other in house.project.listed if other != name)
    return replace(house, project=replace(house.project, listed=listed))


def _alone(house: House, steady: list[str], name: str) -> House:
    """The house with one of the outlets that run for hours; the others draw next to nothing."""

    def turn(fixture: Fixture) -> Fixture:
        rests = fixture.name in steady and fixture.name != name
        return replace(fixture, continuous=NOTHING_DRAWN) if rests else fixture

    return replace(house, fixtures=tuple(turn(fixture) for fixture in house.fixtures))
