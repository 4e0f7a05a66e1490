"""A supply with several heads in which a check valve shuts: two supplies, each settled alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.delivery.open_supply import Delivered, OpenSupply
from supplycalc.problems import ComputationError

_BY_LINK = (
    "names",
    "length",
    "inside_diameter",
    "roughness",
    "k",
    "density",
    "viscosity",
    "device",
    "limit",
)


class Part(Struct, frozen=True, kw_only=True):
    """A supply that is part of another one."""

    supply: OpenSupply
    points: tuple[int, ...]
    """Of the whole, in the part's order."""
    links: tuple[int, ...]
    """The whole's link to each point."""
    turned: tuple[bool, ...]
    """Whether that link is written the other way round, its flow negative in the whole."""
    root_head: int | None
    """The head of the whole that is the part's source; None: the source itself."""


def parted(
    supply: OpenSupply, backward: list[int], deliver: Callable[[OpenSupply], Delivered]
) -> Delivered:
    """Settle a supply in which one of some valves is shut.

    The settled state is one alone (see `deliver`), so that the first valve that is rightly shut,
    with more pressure behind it than before it, is the right one; what is left is settled likewise.
    `backward` are the links through which water would run back if they let it, the source as 0.

    Raises:
        ComputationError: none of them is rightly shut, or a mixer draws from both sides of it.
    """
    for link in backward:
        parts = _parts(supply, link)
        if parts is None:
            continue
        settled = [(part, deliver(part.supply)) for part in parts]
        whole = _joined(supply, settled)
        if link == 0:
            before = supply.source(0.0)[0]
        else:
            before = whole.pressure[supply.parent[link]] + supply.static_gain[link]
            limit = supply.limit[link]
            before = before if limit is None else min(before, limit(0.0)[0])
        if before <= whole.pressure[link] + whole.residual:
            return whole
    raise ComputationError(
        f"no state was found in which the valve at {supply.names[backward[0]]} lets no water back"
    )


def _parts(supply: OpenSupply, link: int) -> list[Part] | None:
    """What stands before and behind a shut link; None where that cannot be settled apart."""
    behind = {link}
    for i in range(link + 1, len(supply.parent)):
        if supply.parent[i] in behind:
            behind.add(i)
    if any((m.cold_link in behind) != (m.hot_link in behind) for m in supply.mixers):
        return None
    root = next((j for j in range(len(supply.heads)) if _reaches(supply, j, link)), None)
    if root is None:
        return None
    parts = [_part(supply, behind, link, root)]
    if link:
        before = set(range(len(supply.parent))) - behind
        parts.append(_part(supply, before, 0, None))
    return parts


def _reaches(supply: OpenSupply, head: int, link: int) -> bool:
    """Whether a head stands behind a link with no valve on the way back to it."""
    way = supply.heads[head].link
    while way > link and way not in supply.one_way and supply.limit[way] is None:
        way = supply.parent[way]
    return way == link


def _part(supply: OpenSupply, points: set[int], top: int, root_head: int | None) -> Part:
    """Some points of a supply, the highest of them `top`, as a supply that begins at a head."""
    joined: dict[int, list[tuple[int, int, bool]]] = {point: [] for point in points}
    for i in points - {top}:
        joined[supply.parent[i]].append((i, i, False))
        joined[i].append((supply.parent[i], i, True))
    first = top if root_head is None else supply.heads[root_head].link
    order, links, turned, parent = [first], [first], [False], [-1]
    seen = {first}
    for place, point in enumerate(order):
        for other, link, back in joined[point]:
            if other not in seen:
                seen.add(other)
                order.append(other)
                links.append(link)
                turned.append(back)
                parent.append(place)
            if len(order) == len(points):
                break
    number = {point: i for i, point in enumerate(order)}

    def moved(items: Any) -> tuple[Any, ...]:
        kept = [item for item in items if getattr(item, "link", top) in points]
        return tuple(replace(item, link=number[item.link]) for item in kept)

    heads = [head for j, head in enumerate(supply.heads) if j != root_head]
    c = supply.hazen_williams_c
    return Part(
        supply=replace(
            supply,
            **{name: tuple(getattr(supply, name)[i] for i in links) for name in _BY_LINK},
            parent=tuple(parent),
            static_gain=tuple(
                -supply.static_gain[i] if back else supply.static_gain[i]
                for i, back in zip(links, turned, strict=True)
            ),
            source=supply.source if root_head is None else supply.heads[root_head].law,
            openings=moved(supply.openings),
            mixers=tuple(
                replace(m, cold_link=number[m.cold_link], hot_link=number[m.hot_link])
                for m in supply.mixers
                if m.cold_link in points
            ),
            heads=moved(heads),
            one_way=frozenset(
                number[i] for i in supply.one_way if i in points and (i != top or root_head is None)
            ),
            hazen_williams_c=None if c is None else tuple(c[i] for i in links),
        ),
        points=tuple(order),
        links=tuple(links),
        turned=tuple(turned),
        root_head=root_head,
    )


def _joined(supply: OpenSupply, settled: list[tuple[Part, Delivered]]) -> Delivered:
    """The whole state from those of its parts; nothing runs between them."""
    count = len(supply.parent)
    flow, pressure = [0.0] * count, [0.0] * count
    openings: dict[str, float] = {}
    mixers: dict[str, tuple[float, float]] = {}
    heads: dict[str, float] = {}
    for part, state in settled:
        for i, (point, link) in enumerate(zip(part.points, part.links, strict=True)):
            pressure[point] = state.pressure[i]
            if i:
                flow[link] = -state.flow[i] if part.turned[i] else state.flow[i]
            elif part.root_head is None:
                flow[0] = state.flow[0]
            else:
                heads[supply.heads[part.root_head].name] = state.flow[0]
        inner = part.supply
        names = [opening.name for opening in inner.openings]
        openings |= dict(zip(names, state.opening_flow, strict=True))
        mixers |= dict(zip([m.name for m in inner.mixers], state.mixer_flow, strict=True))
        heads |= dict(zip([h.name for h in inner.heads], state.head_flow, strict=True))
    return Delivered(
        flow=tuple(flow),
        pressure=tuple(pressure),
        opening_flow=tuple(openings[opening.name] for opening in supply.openings),
        mixer_flow=tuple(mixers[mixer.name] for mixer in supply.mixers),
        head_flow=tuple(heads[head.name] for head in supply.heads),
        iterations=max(state.iterations for _, state in settled),
        residual=max(state.residual for _, state in settled),
    )
