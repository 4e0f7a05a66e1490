"""The layouts of one house on equal terms, and where its manifold should stand."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Any, ClassVar

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import House, Manifold, Position
from supplycalc.problems import InputError, Problem
from supplycalc.problems import Place as FilePlace
from supplycalc.questions.hot.outlets import HotOutlet, hot_outlets
from supplycalc.questions.layout.kept_house import KeptHouse, kept_of
from supplycalc.questions.layout.manifold_place import ManifoldPlace, manifold_places
from supplycalc.questions.layout.places import Site, survey
from supplycalc.questions.layout.several import several
from supplycalc.questions.layout.trunk import Method, TrunkTree, trunk_house
from supplycalc.questions.parts.study import parts_of
from supplycalc.questions.size.study import size as size_house
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form, Result, fields_to_data, quantity
from supplycalc.records.sentences import amount
from supplycalc.sizing.design import THIN_MARGIN, Design, cost_data
from supplycalc.sizing.size import SizedTree, size_tree
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Length, Volume

SOONER = 2.0
"""[s] A gain of less is not worth a sentence."""
FLAT = (0.01, 0.02, 0.05, 0.10)
"""Extra cost for which the freedom of the manifold is told."""


class PipeTotal(Struct, frozen=True, kw_only=True):
    """Pipe of one material and size laid anew, all runs together."""

    material: str
    size: str
    length: Length


class LayoutOption(Struct, frozen=True, kw_only=True):
    """One layout of the house, really sized."""

    form: ClassVar[Form] = Form(
        omit=("house", "design", "total", "unpriced", "outlets", "places"),
        rename={"works": "ok"},
        add=("works", "pipe"),
    )
    more_schema: ClassVar[dict[str, Any]] = {
        **{key: {"type": "object"} for key in ("cost", "worst", "fittings")},
        **{key: {"type": "array"} for key in ("waits", "manifolds", "runs")},
        "all_parts": {"type": ["object", "null"]},
    }

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
    hot_volume: Volume
    """Water in all hot pipes laid anew."""
    places: tuple[tuple[str, Position], ...]
    """(manifold, where it stands)."""
    method: str
    """How it was found, in words."""

    @property
    def works(self) -> bool:
        """Whether every fixture keeps its pressure."""
        return self.design.shortfall <= 0.0

    @property
    def pipe(self) -> Length:
        """All pipe laid anew."""
        return math.fsum(total.length for total in self.pipes)

    @property
    def longest_wait(self) -> HotOutlet | None:
        """The hot outlet that waits longest; None where there is none."""
        return self.outlets[0] if self.outlets else None

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: of its design what tells the layouts apart."""
        design = self.design.to_data(system)
        worst = ("name", "side", "residual", "margin")
        run = ("name", "from", "to", "size", "length")
        return fields_to_data(self, system) | {
            "cost": design["cost"],
            "all_parts": None
            if self.total is None
            else {"total": self.total, "unpriced": self.unpriced},
            "worst": {key: design["worst"][key] for key in worst},
            "fittings": dict(self.fittings),
            "waits": [
                {
                    "name": outlet.name,
                    "wait": quantity(outlet.wait, "time", system),
                    "volume": quantity(outlet.volume, "volume", system),
                    "flow": quantity(outlet.hot_flow, "flow", system),
                }
                for outlet in self.outlets
            ],
            "manifolds": [{"name": name, "at": _at(at, system)} for name, at in self.places],
            "runs": [{key: shown[key] for key in run} for shown in design["runs"]],
        }


class Freedom(Struct, frozen=True, kw_only=True):
    """How far the manifold may move for a share of extra cost."""

    form: ClassVar[Form] = Form(rename={"share": "extra_cost"})

    share: float
    places: int
    """How many of the candidates cost no more."""
    west: Length
    """Farthest moves from the best place among them."""
    east: Length
    south: Length
    north: Length


class PlaceStudy(Struct, frozen=True, kw_only=True):
    """Every place where one manifold may stand, each sized."""

    form: ClassVar[Form] = Form(omit=("places",))
    more_schema: ClassVar[dict[str, Any]] = {"places": {"type": "array"}}

    places: tuple[ManifoldPlace, ...]
    best: int
    """Index of the cheapest place that works, or of the one that falls short least."""
    spacing: Length
    unreachable: int
    """Candidates that no pipe reaches, left out."""
    freedom: tuple[Freedom, ...]


class LayoutStudy(Result, frozen=True, kw_only=True):
    """The layouts side by side."""

    schema: ClassVar[str] = "supplycalc-layout/1"
    form: ClassVar[Form] = Form(
        omit=("house", "kept", "chosen", "prices"),
        rename={"options": "layouts", "places": "place", "chosen_code": "chosen", "origin": "from"},
        add=("answer", "chosen_code", "origin", "length_allowance"),
    )
    more_schema: ClassVar[dict[str, Any]] = {"prices": {"type": ["object", "null"]}}

    house: House
    kept: KeptHouse
    options: tuple[LayoutOption, ...]
    chosen: int
    """Index of the one to build: the cheapest that works without joints in a slab."""
    places: PlaceStudy
    prices: PriceList | None

    @property
    def ok(self) -> bool:
        """True when the chosen layout passes."""
        return self.options[self.chosen].design.ok

    @property
    def chosen_code(self) -> str:
        """Code of the layout to build."""
        return self.options[self.chosen].code

    @property
    def origin(self) -> str:
        """The point where distribution begins."""
        return self.kept.origin

    @property
    def length_allowance(self) -> float:
        """Share added to every length."""
        return self.house.project.length_allowance

    def option(self, code: str) -> LayoutOption:
        """A layout by its code; InputError with the nearest right one."""
        for option in self.options:
            if option.code == code:
                return option
        message = f"{code!r} is not one of the layouts that were compared"
        valid = tuple(option.code for option in self.options)
        raise InputError(
            [Problem(place=FilePlace("layout"), message=message, value=code, valid=valid)]
        )

    def answer(self, system: UnitSystem) -> str:
        """Which layout to build, in a sentence or two."""
        chosen = self.options[self.chosen]
        worst = chosen.design.worst
        if not chosen.works:
            short = amount(-worst.margin, system)
            return (
                f"No layout keeps the pressure; {chosen.title} falls short least, by {short} at "
                f"{worst.name}. 'supplycalc size' on a written layout tells what mends it."
            )
        # without prices only pipe is compared: manifolds, valves and joints count nothing
        least = "takes least pipe by mass"
        if chosen.total is not None:
            unpriced = any(option.unpriced for option in self.options if option.works)
            least = "costs least of what has a price" if unpriced else "costs least"
        barred = _passed_over(self, chosen)
        of_those = "work without joints in the slab" if barred else "work"
        text = f"Of the layouts that {of_those} this {least}: {chosen.title}, "
        text += cost_text(self, chosen, system)
        text += f", {amount(worst.margin, system)} to spare at {worst.name}"
        if worst.margin < THIN_MARGIN:
            text += " (thin)"
        if chosen.longest_wait is not None:
            slowest = chosen.longest_wait
            when = f"after {show(slowest.wait, 'time', system)}"
            text += (
                f", hot water at {slowest.name} {when if math.isfinite(slowest.wait) else 'never'}"
            )
        if chosen.slab_joints:
            text += f"; but {chosen.slab_joints} joints would lie in the slab"
        text += "."
        if barred:
            cheapest = min(barred, key=_price)
            noun = "joint" if cheapest.slab_joints == 1 else "joints"
            text += (
                f" Passed over: {cheapest.title} ({cost_text(self, cheapest, system)}), for "
                f"{cheapest.slab_joints} {noun} in the slab, out of reach once it is poured."
            )
        return f"{text}{_sooner(self, chosen, system)}"

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it: places with their cost on the basis of the designs."""
        data = fields_to_data(self, system)
        design = self.options[0].design
        data["place"]["places"] = [
            {
                "at": _at(place.at, system),
                "on": place.storey or None,
                "ok": place.feasible,
                "cost": cost_data(place.cost, design, system),
                "margin": quantity(place.worst_margin, "pressure", system),
                "worst": place.worst_name,
                "pipe": quantity(place.pipe, "length", system),
                "hot_volume": quantity(place.hot_volume, "volume", system),
            }
            for place in self.places.places
        ]
        data["prices"] = self.prices and {
            "name": self.prices.name,
            "date": self.prices.date.isoformat(),
            "currency": self.prices.currency,
        }
        return data


def _at(at: Position, system: UnitSystem) -> list[dict[str, Any] | None]:
    return [quantity(value, "elevation", system) for value in at]


def cost_text(study: LayoutStudy, option: LayoutOption, system: UnitSystem) -> str:
    """The cost of a layout with its unit: everything to buy, or pipe where there is no price."""
    if option.total is not None and study.prices is not None:
        missing = f" ({option.unpriced} items without a price)" if option.unpriced else ""
        return f"{option.total:.2f} {study.prices.currency} for all parts{missing}"
    return f"{show(option.design.cost, 'mass', system)} of pipe"


def _price(option: LayoutOption) -> float:
    """What layouts are compared by: all parts by a price list, else pipe."""
    return option.design.cost if option.total is None else option.total


def _passed_over(study: LayoutStudy, chosen: LayoutOption) -> list[LayoutOption]:
    """Layouts that work for less than the chosen one, and are not chosen for joints in a slab."""
    return [
        option
        for option in study.options
        if option.works
        and option.slab_joints > chosen.slab_joints
        and _price(option) < _price(chosen)
    ]


def _sooner(study: LayoutStudy, chosen: LayoutOption, system: UnitSystem) -> str:
    """A further sentence on the layout that brings hot water soonest, where that is another."""
    working = [
        option
        for option in study.options
        if option.works
        and option.longest_wait is not None
        and option.slab_joints <= chosen.slab_joints
    ]
    if not working or chosen.longest_wait is None:
        return ""
    best = min(working, key=lambda option: option.longest_wait.wait if option.longest_wait else 0.0)
    assert best.longest_wait is not None
    gain = chosen.longest_wait.wait - best.longest_wait.wait
    if best is chosen or math.isinf(best.longest_wait.wait) or gain < SOONER:
        return ""
    wait = show(best.longest_wait.wait, "time", system)
    return (
        f" Hot water comes soonest from {best.title}, after {wait} at most, for "
        f"{cost_text(study, best, system)}."
    )


def layout(house: House, method: str | None = None, prices: PriceList | None = None) -> LayoutStudy:
    """Compare home runs, submanifolds and trunk and branches, and place the manifold.

    Raises:
        InputError: positions are missing, or nothing can be reached.
        ComputationError: no trustworthy result can be computed.
    """
    if method is not None:
        house = replace(house, project=replace(house.project, demand=method))
    kept = kept_of(house)
    try:
        site = survey(kept)
    except ValueError as error:
        raise InputError([Problem(place=house.place, message=str(error))]) from None
    places = tuple(manifold_places(site, prices))
    best = min(range(len(places)), key=lambda i: (*rank(places[i]), i))
    options = [
        _option(
            kept, "home-run", "home runs from one manifold", site.house(best),
            f"each of {len(places)} places sized", prices,
        ),
        *_several(site, size_tree(site.house(best), prices), prices),
        *_trunks(site, prices),
    ]  # fmt: skip
    return LayoutStudy(
        house=house,
        kept=kept,
        options=tuple(options),
        chosen=min(range(len(options)), key=lambda i: (*_worth(options[i]), i)),
        places=PlaceStudy(
            places=places,
            best=best,
            spacing=site.spacing,
            unreachable=site.unreachable,
            freedom=tuple(_freedom(places, best)),
        ),
        prices=prices,
    )


def rank(place: ManifoldPlace) -> tuple[bool, float, float]:
    """Order of places: those that work first, by cost; the others by how far they fall short."""
    if place.feasible:
        return False, place.cost, -place.worst_margin
    return True, -place.worst_margin, place.cost


def _worth(option: LayoutOption) -> tuple[bool, bool, float]:
    return not option.works, option.slab_joints > 0, _price(option)


def _several(site: Site, home: SizedTree, prices: PriceList | None) -> Iterator[LayoutOption]:
    words = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
    for count in range(2, site.kept.house.layout.submanifolds + 1):
        best_several = several(site, home, count, prices)
        if best_several is None:
            return
        yield _option(
            site.kept,
            f"sub-{count}",
            f"home runs from {words[count]} submanifolds",
            best_several.house,
            f"places exchanged, then moved; {best_several.tried} houses sized, not proven best",
            prices,
        )


def _trunks(site: Site, prices: PriceList | None) -> Iterator[LayoutOption]:
    """The cheapest trunk of each method, over the levels that it may use."""
    kept, routes = site.kept, site.routes
    every = list(range(len(routes.levels)))
    sets: list[list[int]] = [every]
    if len(every) > 1:
        sets += [[level] for level in every]
    methods: tuple[tuple[Method, str, str], ...] = (
        ("steiner", "trunk", "trunk and branches, least length"),
        ("shortest-ways", "short-trunk", "trunk and branches, shortest ways"),
    )
    for method, code, title in methods:
        tried: list[tuple[tuple[bool, bool, float], TrunkTree]] = []
        for levels in sets:
            try:
                tree = trunk_house(kept, routes, method, levels)
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
                    "along the lines through all ends, pipe shared where it may be; at most "
                    f"{tree.bound:.2f} times the shortest there is"
                )
            yield _option(kept, code, title, tree.house, text, prices)


def _option(
    kept: KeptHouse, code: str, title: str, house: House, method: str, prices: PriceList | None
) -> LayoutOption:
    design = size_house(house, mend=False, prices=prices)
    buy = None if prices is None else parts_of(design, prices=prices)
    kept_names = {run.name for run in kept.house.all_runs}
    new = [run for run in design.runs if run.run.name not in kept_names]
    lengths: defaultdict[tuple[str, str], float] = defaultdict(float)
    kinds: Counter[str] = Counter()
    slab_joints, volume = 0, 0.0
    for result in new:
        run = result.run
        lengths[run.material, result.size.nominal] += run.length
        for kind, count in run.fittings or ():
            if kind != "bend" and not kind.startswith("tee"):
                kinds[kind] += count
        slab_joints += run.joints
        if result.side == "hot":
            volume += flow_area(result.size.inside_diameter) * run.length
    manifolds = [manifold for manifold in house.manifolds if manifold not in kept.house.manifolds]
    tees = _tees(design, {result.index for result in new})
    if tees:
        kinds["tee"] = tees
    return LayoutOption(
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
        ports=sum(manifold.ports or 0 for manifold in manifolds),
        slab_joints=slab_joints,
        total=None if buy is None else buy.total,
        unpriced=0 if buy is None else len(buy.unpriced),
        outlets=hot_outlets(design) if any(side == "hot" for side in design.tree.side) else (),
        hot_volume=volume,
        places=tuple(
            (manifold.name, manifold.at) for manifold in manifolds if manifold.at is not None
        ),
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


def _order(design: Design, key: tuple[str, str]) -> tuple[str, float]:
    tube = design.tree.catalogue.tubes[key[0]]
    return key[0], tube.size(key[1]).inside_diameter


def _freedom(places: Sequence[ManifoldPlace], best: int) -> Iterator[Freedom]:
    first = places[best]
    if not first.feasible:
        return
    for share in FLAT:
        near = [
            place
            for place in places
            if place.feasible
            and place.storey == first.storey
            and place.cost <= first.cost * (1 + share)
        ]
        east = [place.at[0] - first.at[0] for place in near]
        north = [place.at[1] - first.at[1] for place in near]
        yield Freedom(
            share=share,
            places=len(near),
            west=-min(east),
            east=max(east),
            south=-min(north),
            north=max(north),
        )
