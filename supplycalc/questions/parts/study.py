"""What to buy: pipe, fittings, valves, manifolds, supports, sleeves, insulation; with prices."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.model import House
from supplycalc.questions.parts.around import Sleeve, around, sleeves
from supplycalc.questions.parts.fitting_count import (
    Need,
    fitting_needs,
    rings_of,
    with_fixture_ends,
)
from supplycalc.questions.parts.items import GROUPS, Item, priced
from supplycalc.questions.parts.pipe_lots import Lot, Strand, form_of, lots, strands, usual_waste
from supplycalc.questions.parts.ports import ManifoldUse, manifold_needs, manifolds
from supplycalc.questions.size.study import size
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.design import Assumption, Design, Finding

_VALVES = ("stop", "washer-valve", "port-valve", "drain-valve")


class PartsList(Struct, frozen=True, kw_only=True):
    """Everything to buy for a design."""

    design: Design
    prices: PriceList | None
    waste: float
    """Share added to every run."""
    lots: tuple[Lot, ...]
    strands: tuple[Strand, ...]
    manifolds: tuple[ManifoldUse, ...]
    sleeves: tuple[Sleeve, ...]
    items: tuple[Item, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when the design passes and nothing here fails."""
        return self.design.ok and not any(one.level == "fail" for one in self.findings)

    @property
    def total(self) -> float:
        """Of all items that have a price."""
        return math.fsum(one.amount for one in self.items if one.amount is not None)

    @property
    def unpriced(self) -> tuple[Item, ...]:
        """Items that the price list has no price for."""
        return tuple(one for one in self.items if one.price is None)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc parts --json` prints it."""
        from supplycalc.questions.parts.page import parts_to_dict

        return parts_to_dict(self, units)


def parts(
    house: House,
    *,
    prices: PriceList | None = None,
    waste: float | None = None,
    method: str | None = None,
    by_price: bool = False,
) -> PartsList:
    """Size what is open in a house and list what to buy for it.

    Args:
        house: a checked house.
        prices: price list; None: no prices, and pipe by the least length.
        waste: share added to every run; None takes the usual one.
        method: demand method for sizing; None takes the file's.
        by_price: whether the price list chooses the open sizes too.

    Returns:
        The list.

    Raises:
        InputError: sizes by price, but the list lacks what a run needs.
        ComputationError: no trustworthy sizes can be computed.
    """
    design = size(house, method, mend=False, prices=prices if by_price else None)
    return parts_of(design, prices=prices, waste=waste)


def parts_of(
    design: Design, *, prices: PriceList | None = None, waste: float | None = None
) -> PartsList:
    """The same for a design that is sized already; see `parts`.

    Args:
        design: with a size for every run.
        prices: price list.
        waste: share added to every run; None takes the usual one.

    Returns:
        The list.
    """
    from supplycalc.questions.parts.findings import parts_assumptions, parts_findings

    share = usual_waste() if waste is None else waste
    pieces = strands(design, prices, share)
    bought = lots(pieces, prices, share)
    uses = manifolds(design)
    passages = tuple(sleeves(design))
    needs = list(with_fixture_ends(design, fitting_needs(design, pieces, bought)))
    own = [need for use in uses for need in manifold_needs(use)]
    items = [*_pipe(bought)]
    items += _counted([*needs, *own, *rings_of(own)], prices)
    items += _bodies(uses, prices)
    items += around(design, passages, prices)
    items += _equipment(design, prices)
    items.sort(key=lambda one: GROUPS.index(one.group))
    listed = PartsList(
        design=design,
        prices=prices,
        waste=share,
        lots=bought,
        strands=pieces,
        manifolds=uses,
        sleeves=passages,
        items=tuple(items),
        findings=(),
        assumptions=(),
    )
    return replace(
        listed,
        findings=tuple(parts_findings(listed)),
        assumptions=tuple(parts_assumptions(listed)),
    )


def _pipe(bought: Sequence[Lot]) -> Iterator[Item]:
    for lot in bought:
        for one in lot.bought:
            note = "special order: longer than usual coils" if one.special else ""
            yield Item(
                group="pipe",
                kind=form_of(lot, one.length),
                size=lot.size.nominal,
                material=lot.material,
                count=one.count,
                length=one.length,
                places=tuple(strand.name for strand in lot.strands),
                note=note,
                price=one.price,
            )


def _counted(needs: Iterable[Need], prices: PriceList | None) -> Iterator[Item]:
    """Needs of one kind, size and joining as one line each, in the order of first need."""
    found: dict[tuple[str, str, str], list[Need]] = {}
    for one in needs:
        found.setdefault((one.kind, one.size, one.joining), []).append(one)
    for (kind, nominal, joining), several in found.items():
        group = "valves and stops" if kind.endswith("-valve") or kind in _VALVES else "fittings"
        if kind == "port-cap":
            group = "manifolds"
        item = Item(
            group=group,
            kind=kind,
            size=nominal,
            material=joining,
            count=sum(one.count for one in several),
            length=None,
            places=tuple(dict.fromkeys(one.place for one in several)),
        )
        yield priced(item, prices, joining)


def _bodies(uses: Sequence[ManifoldUse], prices: PriceList | None) -> Iterator[Item]:
    found: dict[tuple[str, int], list[ManifoldUse]] = {}
    for use in uses:
        found.setdefault((use.body, use.total), []).append(use)
    for (body, total), several in found.items():
        item = Item(
            group="manifolds",
            kind="manifold",
            size=body,
            material="",
            count=len(several),
            length=None,
            places=tuple(use.manifold.name for use in several),
            note=f"{total} ports",
        )
        yield priced(item, prices, None, ports=total)


def _equipment(design: Design, prices: PriceList | None) -> Iterator[Item]:
    found: dict[str, list[str]] = {}
    for one in design.devices:
        found.setdefault(one.device.kind, []).append(one.device.name)
    for kind, names in found.items():
        item = Item(
            group="equipment",
            kind=kind,
            size="",
            material="",
            count=len(names),
            length=None,
            places=tuple(names),
        )
        yield priced(item, prices, None)
