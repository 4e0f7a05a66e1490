"""The layouts of one house on equal terms, and where its manifold should stand."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Manifold, Position
from supplycalc.problems import InputError, Problem
from supplycalc.problems import Place as FilePlace
from supplycalc.questions.hot.outlets import HotOutlet, hot_outlets
from supplycalc.questions.layout.field import Field, Place
from supplycalc.questions.layout.frame import Frame, frame_of
from supplycalc.questions.layout.places import Ground, survey
from supplycalc.questions.layout.several import several
from supplycalc.questions.layout.trunk import Method, TrunkTree, trunk_house
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.size.study import size as size_house
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.design import Design
from supplycalc.sizing.size import size_tree

FLAT = (0.01, 0.02, 0.05, 0.10)
"""Extra cost for which the freedom of the manifold is told; our own."""


class PipeTotal(Struct, frozen=True, kw_only=True):
    """Pipe of one material and size laid anew, all runs together."""

    material: str
    size: str
    length: float
    """[m]"""


class Option(Struct, frozen=True, kw_only=True):
    """One layout of the house, really sized."""

    code: str
    title: str
    house: House
    """What `--write` writes, and what the figures are of."""
    design: Design
    pipes: tuple[PipeTotal, ...]
    fittings: tuple[tuple[str, int], ...]
    """(kind, count) within what is laid anew; bends of flexible tube are none."""
    ports: int
    """Ports of all manifolds, spare ones included."""
    slab_joints: int
    total: float | None
    """Price of everything to buy for the house, by the price list; None without one."""
    unpriced: int
    """Items of it that have no price in the list."""
    outlets: tuple[HotOutlet, ...]
    """Every hot outlet, the longest wait first."""
    hot_volume: float
    """Water in all hot pipes laid anew [m3]."""
    places: tuple[tuple[str, Position], ...]
    """(manifold, where it stands)."""
    method: str
    """How it was found, in words."""

    @property
    def works(self) -> bool:
        """Whether every fixture keeps its pressure."""
        return self.design.shortfall <= 0.0

    @property
    def pipe(self) -> float:
        """All pipe laid anew [m]."""
        return math.fsum(one.length for one in self.pipes)

    @property
    def longest_wait(self) -> HotOutlet | None:
        """The hot outlet that waits longest; None where there is none."""
        return self.outlets[0] if self.outlets else None


class Freedom(Struct, frozen=True, kw_only=True):
    """How far the manifold may move for a share of extra cost."""

    share: float
    """[-]"""
    places: int
    """How many of the candidates cost no more."""
    west: float
    east: float
    south: float
    north: float
    """Farthest moves from the best place among them [m]."""


class PlaceStudy(Struct, frozen=True, kw_only=True):
    """Every place where one manifold may stand, each sized."""

    places: tuple[Place, ...]
    best: int
    """Index of the cheapest place that works, or of the one that falls short least."""
    spacing: float
    """[m]"""
    unreachable: int
    """Candidates that no pipe reaches, left out."""
    freedom: tuple[Freedom, ...]


class LayoutStudy(Struct, frozen=True, kw_only=True):
    """The layouts side by side."""

    house: House
    frame: Frame
    options: tuple[Option, ...]
    chosen: int
    """Index of the one to build: the cheapest that works without joints in a slab."""
    places: PlaceStudy
    prices: PriceList | None

    @property
    def ok(self) -> bool:
        """True when the chosen layout passes."""
        return self.options[self.chosen].design.ok

    def option(self, code: str) -> Option:
        """A layout by its code; InputError with the nearest right one."""
        for one in self.options:
            if one.code == code:
                return one
        message = f"{code!r} is not one of the layouts that were compared"
        valid = tuple(one.code for one in self.options)
        raise InputError(
            [Problem(place=FilePlace("layout"), message=message, value=code, valid=valid)]
        )

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc layout --json` prints it."""
        from supplycalc.questions.layout.page import layout_to_dict

        return layout_to_dict(self, units)


def layout(house: House, method: str | None = None, prices: PriceList | None = None) -> LayoutStudy:
    """Compare home runs, submanifolds and trunk and branches, and place the manifold.

    Args:
        house: a checked house with positions.
        method: demand method; None takes the project's.
        prices: price list that decides what is cheapest; None: the mass of pipe.

    Returns:
        The layouts, each sized as `size` does, and every manifold place.

    Raises:
        InputError: positions are missing, or nothing can be reached.
        ComputationError: no trustworthy result can be computed.
    """
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    frame = frame_of(house)
    try:
        ground = survey(frame)
    except ValueError as error:
        raise InputError([Problem(place=house.place, message=str(error))]) from None
    field = Field(ground, prices)
    places = tuple(field.place(i) for i in range(len(ground.places)))
    best = min(range(len(places)), key=lambda i: (*rank(places[i]), i))
    options = [
        _option(
            frame, "home-run", "home runs from one manifold", ground.house(best),
            f"each of {len(places)} places sized", prices,
        ),
        *_several(ground, field, best, prices),
        *_trunks(ground, prices),
    ]  # fmt: skip
    return LayoutStudy(
        house=house,
        frame=frame,
        options=tuple(options),
        chosen=min(range(len(options)), key=lambda i: (*_worth(options[i]), i)),
        places=PlaceStudy(
            places=places,
            best=best,
            spacing=ground.spacing,
            unreachable=ground.unreachable,
            freedom=tuple(_freedom(places, best)),
        ),
        prices=prices,
    )


def rank(place: Place) -> tuple[bool, float, float]:
    """Order of places: those that work first, by cost; the others by how far they fall short.

    Args:
        place: a sized candidate.

    Returns:
        A key that sorts the best first.
    """
    if place.feasible:
        return False, place.cost, -place.worst_margin
    return True, -place.worst_margin, place.cost


def _worth(option: Option) -> tuple[bool, bool, float]:
    price = option.design.cost if option.total is None else option.total
    return not option.works, option.slab_joints > 0, price


def _several(ground: Ground, field: Field, best: int, prices: PriceList | None) -> Iterator[Option]:
    home = field.sized(best)
    words = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
    for count in range(2, ground.frame.house.layout.submanifolds + 1):
        found = several(ground, home, count, prices)
        if found is None:
            return
        yield _option(
            ground.frame,
            f"sub-{count}",
            f"home runs from {words[count]} submanifolds",
            found.house,
            f"places exchanged, then moved; {found.tried} houses sized, not proven best",
            prices,
        )


def _trunks(ground: Ground, prices: PriceList | None) -> Iterator[Option]:
    """The cheapest trunk of each method, over the levels that it may use."""
    frame, routes = ground.frame, ground.routes
    every = list(range(len(routes.levels)))
    sets: list[list[int]] = [every]
    if len(every) > 1:
        sets += [[one] for one in every]
    methods: tuple[tuple[Method, str, str], ...] = (
        ("steiner", "trunk", "trunk and branches, least pipe"),
        ("shortest-ways", "short-trunk", "trunk and branches, shortest ways"),
    )
    for method, code, title in methods:
        tried: list[tuple[tuple[bool, bool, float], TrunkTree]] = []
        for levels in sets:
            try:
                tree = trunk_house(frame, routes, method, levels)
            except ValueError:
                continue
            sized = size_tree(tree.house, prices)
            figure = sized.cost if sized.feasible else -sized.worst_margin
            tried.append(((not sized.feasible, tree.slab_tees > 0, figure), tree))
        if tried:
            tree = min(tried, key=lambda item: item[0])[1]
            text = "each fixture by its shortest way, ways that meet shared"
            if method == "steiner":
                text = (
                    "Steiner tree on the grid of lines through all ends (Mehlhorn's method: at "
                    f"most {tree.bound:.2f} times the shortest)"
                )
            yield _option(frame, code, title, tree.house, text, prices)


def _option(
    frame: Frame, code: str, title: str, house: House, method: str, prices: PriceList | None
) -> Option:
    design = size_house(house, mend=False, prices=prices)
    buy = None if prices is None else parts_of(design, prices=prices)
    new = [one for one in design.runs if one.run.name not in _kept_names(frame)]
    lengths: dict[tuple[str, str], float] = {}
    kinds: Counter[str] = Counter()
    slab_joints, volume = 0, 0.0
    for one in new:
        run = one.run
        key = (run.material, one.size.nominal)
        lengths[key] = lengths.get(key, 0.0) + run.length
        for kind, count in run.fittings or ():
            if kind != "bend" and not kind.startswith("tee"):
                kinds[kind] += count
        slab_joints += run.joints
        if one.side == "hot":
            volume += flow_area(one.size.inside_diameter) * run.length
    manifolds = [one for one in house.manifolds if one not in frame.house.manifolds]
    tees = _tees(design, {one.index for one in new})
    if tees:
        kinds["tee"] = tees
    return Option(
        code=code,
        title=title,
        house=house,
        design=design,
        pipes=tuple(
            PipeTotal(material=material, size=size, length=length)
            for (material, size), length in sorted(
                lengths.items(), key=lambda item: _order(design, item[0])
            )
        ),
        fittings=tuple(sorted(kinds.items())),
        ports=sum(one.ports or 0 for one in manifolds),
        slab_joints=slab_joints,
        total=None if buy is None else buy.total,
        unpriced=0 if buy is None else len(buy.unpriced),
        outlets=hot_outlets(design) if any(side == "hot" for side in design.tree.side) else (),
        hot_volume=volume,
        places=tuple(_stands(manifolds)),
        method=method,
    )


def _tees(design: Design, new: set[int]) -> int:
    """Tees where pipe laid anew parts: one less than what leaves each point that is no manifold."""
    tree = design.tree
    fed_anew = {tree.parent[i] for i in new}
    return sum(
        len(tree.children[point]) - 1
        for point in fed_anew
        if not isinstance(tree.links[point], Manifold)
    )


def _kept_names(frame: Frame) -> frozenset[str]:
    kept = [run.name for run in frame.house.runs]
    for one in frame.house.fixtures:
        kept += [run.name for run in (one.cold, one.hot) if run is not None]
    return frozenset(kept)


def _order(design: Design, key: tuple[str, str]) -> tuple[str, float]:
    tube = design.tree.catalogue.tubes[key[0]]
    return key[0], tube.size(key[1]).inside_diameter


def _stands(manifolds: Sequence[Manifold]) -> Iterator[tuple[str, Position]]:
    for one in manifolds:
        if one.at is not None:
            yield one.name, one.at


def _freedom(places: Sequence[Place], best: int) -> Iterator[Freedom]:
    first = places[best]
    if not first.feasible:
        return
    for share in FLAT:
        near = [
            one
            for one in places
            if one.feasible and one.storey == first.storey and one.cost <= first.cost * (1 + share)
        ]
        east = [one.at[0] - first.at[0] for one in near]
        north = [one.at[1] - first.at[1] for one in near]
        yield Freedom(
            share=share,
            places=len(near),
            west=-min(east),
            east=max(east),
            south=-min(north),
            north=max(north),
        )
