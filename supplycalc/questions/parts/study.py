"""What to buy: pipe, fittings, valves, manifolds, supports, sleeves, insulation; with prices."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.questions.parts.connections import Need, rings
from supplycalc.questions.parts.findings import parts_assumptions, parts_findings
from supplycalc.questions.parts.fitting_count import fitting_needs
from supplycalc.questions.parts.house_parts import (
    bend_supports,
    nail_plates,
    safety_needs,
    well_needs,
)
from supplycalc.questions.parts.items import GROUPS, Item, group_of, priced, size_rank
from supplycalc.questions.parts.manifolds import manifold_body, manifold_needs, manifolds
from supplycalc.questions.parts.parts_list import PartsList
from supplycalc.questions.parts.pipe_lots import Lot, lots, strands, usual_waste
from supplycalc.questions.parts.supports import sleeves, sleeves_and_insulation, supports
from supplycalc.questions.size.study import size
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.design import Design


def parts(
    house: House,
    *,
    prices: PriceList | None = None,
    waste: float | None = None,
    method: str | None = None,
    by_price: bool = False,
) -> PartsList:
    """Size what is open in a house and list what to buy for it.

    Raises:
        InputError: sizes by price, but the list lacks what a run needs.
        ComputationError: no trustworthy sizes can be computed.
    """
    design = size(house, method, prices=prices if by_price else None)
    return parts_of(design, prices=prices, waste=waste)


def parts_of(
    design: Design, *, prices: PriceList | None = None, waste: float | None = None
) -> PartsList:
    """The same for a design that is sized already; see `parts`."""
    share = usual_waste() if waste is None else waste
    pieces = strands(design, prices, share)
    bought = _largest_first(lots(pieces, prices, share))
    uses = manifolds(design)
    passages = tuple(sleeves(design))
    at_manifolds = [need for use in uses for need in manifold_needs(use)]
    at_well = list(well_needs(design))
    needs = [
        *fitting_needs(design, pieces, bought),
        *at_manifolds,
        *rings(at_manifolds),
        *safety_needs(design),
        *at_well,
        *rings(at_well),
        *(manifold_body(use) for use in uses),
        *(
            Need(kind=result.device.kind, place=result.device.name, group="equipment")
            for result in design.devices
        ),
        *supports(design),
        *bend_supports(design),
        *nail_plates(design),
    ]
    items = [
        *_pipe(bought),
        *_counted(needs, prices),
        *(priced(item, prices) for item in sleeves_and_insulation(design, passages)),
    ]
    kinds = list(dict.fromkeys(item.kind for item in items))
    items.sort(key=lambda item: _order(item, kinds))
    listed = PartsList(
        design=design,
        prices=prices,
        waste=share,
        lots=bought,
        strands=pieces,
        manifolds=uses,
        sleeves=passages,
        items=tuple(items),
    )
    return replace(
        listed,
        findings=tuple(parts_findings(listed)),
        assumptions=tuple(parts_assumptions(listed)),
    )


def _order(item: Item, kinds: Sequence[str]) -> tuple[int, int, float]:
    """By group; fittings and valves by size, supports and the like by kind and size."""
    sized = item.group in ("fittings", "valves and stops")
    by_kind = item.group in ("supports", "insulation")
    kind = kinds.index(item.kind) if by_kind else 0
    return GROUPS.index(item.group), kind, -size_rank(item.size) if sized or by_kind else 0.0


def _largest_first(pipe: Sequence[Lot]) -> tuple[Lot, ...]:
    """The tubes as the house takes them, the sizes of each from the largest down."""
    tubes = list(dict.fromkeys(lot.tube_words for lot in pipe))
    return tuple(
        sorted(pipe, key=lambda lot: (tubes.index(lot.tube_words), -lot.size.inside_diameter))
    )


def _pipe(pipe: Sequence[Lot]) -> Iterator[Item]:
    for lot in pipe:
        for bought in lot.bought:
            special = "special order: longer than usual coils" if bought.special else ""
            note = ", ".join(filter(None, (lot.colour, special)))
            yield Item(
                group="pipe",
                kind=lot.called(bought.length),
                size=lot.size.nominal,
                material=lot.material,
                count=bought.count,
                length=bought.length,
                places=tuple(strand.name for strand in lot.strands),
                note=note,
                price=bought.price,
            )


def _counted(needs: Iterable[Need], prices: PriceList | None) -> Iterator[Item]:
    """Needs of one kind, size and joining as one line each, in the order of first need."""
    alike: dict[tuple[str, str, str, str, int | None], list[Need]] = {}
    for need in needs:
        group = need.group or group_of(need.kind)
        alike.setdefault((group, need.kind, need.size, need.joining, need.ports), []).append(need)
    for (group, kind, nominal, joining, ports), several in alike.items():
        item = Item(
            group=group,
            kind=kind,
            size=nominal,
            material=joining,
            count=sum(need.count for need in several),
            places=tuple(dict.fromkeys(need.place for need in several)),
            note="; ".join(dict.fromkeys(need.note for need in several if need.note)),
        )
        yield priced(item, prices, ports)
