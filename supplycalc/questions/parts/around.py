"""What goes around pipe: supports, sleeves, insulation."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from supplycalc.questions.hot.findings import wants_insulation
from supplycalc.questions.parts.items import Item, priced
from supplycalc.reading.prices import PriceList
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table, to_si


class Sleeve(Struct, frozen=True, kw_only=True):
    """A sleeve around a pipe that passes through a wall or a slab."""

    run: RunResult
    nominal: str
    inside_diameter: float
    """[m]"""
    count: int


def supports(design: Design) -> Iterator[tuple[str, str, int, str]]:
    """One support for each started distance of the published spacing.

    So set that the first and last stand half a distance from the ends, no gap is wider.

    Args:
        design: with a size for every run.

    Returns:
        (tube, size, count, run) of every run that needs supports.

    Source: as `support_distance`.
    """
    for one in design.runs:
        spacing = support_distance(one)
        if spacing is not None:
            count = math.ceil(one.run.length / spacing - 1e-9)
            yield one.run.material, one.size.nominal, max(count, 1), one.run.name


def support_distance(one: RunResult) -> float | None:
    """Largest distance between a run's supports, as if it were level.

    Args:
        one: the run with its size.

    Returns:
        [m]; None in the ground or a slab, which carry it, and where nothing is published.

    Source: International Residential Code, Table P2605.1, by the catalogue.
    """
    if one.run.embedded or one.run.buried is not None:
        return None
    return one.tube.support_distance(one.size)


def sleeves(design: Design) -> Iterator[Sleeve]:
    """Sleeves where a buried or embedded run comes out of the ground or the slab.

    Args:
        design: with a size for every run.

    Returns:
        The sleeves; none at the source's own end.

    Source: as `sleeve_size`.
    """
    tree = design.tree
    results = design.run_at
    for one in design.runs:
        if not hidden(one):
            continue
        above = tree.parent[one.index]
        count = 0
        if above > 0 and not hidden(results.get(above)):
            count += 1
        if not any(hidden(results.get(i)) for i in tree.children[one.index]):
            count += 1
        if count:
            nominal, inside_diameter = sleeve_size(design, one)
            yield Sleeve(run=one, nominal=nominal, inside_diameter=inside_diameter, count=count)


def hidden(one: RunResult | None) -> bool:
    """Whether a run lies in the ground or in a slab.

    Args:
        one: the run; None stands for none.

    Returns:
        True or False.
    """
    return one is not None and (one.run.embedded or one.run.buried is not None)


def sleeve_size(design: Design, one: RunResult) -> tuple[str, float]:
    """The sleeve for a pipe: nominal size and inside diameter.

    Args:
        design: for the catalogue.
        one: the run in it.

    Returns:
        (nominal, inside diameter [m]); the largest made where none is two sizes larger.

    Source: International Residential Code P2603.4 and International Plumbing Code 305.3.
    """
    rule = load_table("parts")["sleeve"]
    family = design.tree.catalogue.tubes[rule["tube"]].sizes
    size = one.size
    inches = one.tube.inch_size(size)
    base = next((i for i, s in enumerate(family) if s.rank >= inches - 1e-6), len(family) - 1)
    for chosen in family[min(base + int(rule["value"]), len(family) - 1) :]:
        if chosen.inside_diameter > size.outside_diameter:
            return chosen.nominal, chosen.inside_diameter
    return family[-1].nominal, family[-1].inside_diameter


def insulation(design: Design) -> Iterator[tuple[RunResult, bool]]:
    """Hot runs to insulate.

    Args:
        design: with a size for every run.

    Returns:
        (run, whether the file says so; else the energy code asks for it).

    Source: International Energy Conservation Code R403.5.3 (from memory).
    """
    for one in design.runs:
        if one.side == "hot" and (one.run.insulated or wants_insulation(design, one)):
            yield one, one.run.insulated


def around(design: Design, passages: Sequence[Sleeve], prices: PriceList | None) -> Iterator[Item]:
    """Supports, sleeves and insulation as items.

    Args:
        design: with a size for every run.
        passages: of `sleeves`.
        prices: price list; None for none.

    Returns:
        Items.

    Source: named with each.
    """
    held: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for material, nominal, count, name in supports(design):
        held.setdefault((material, nominal), []).append((count, name))
    for (material, nominal), several in held.items():
        item = Item(
            group="supports",
            kind="support",
            size=nominal,
            material=material,
            count=sum(count for count, _ in several),
            length=None,
            places=tuple(name for _, name in several),
        )
        yield priced(item, prices, None)
    for sleeve in passages:
        item = Item(
            group="sleeves",
            kind="sleeve",
            size=sleeve.nominal,
            material=load_table("parts")["sleeve"]["tube"],
            count=sleeve.count,
            length=None,
            places=(sleeve.run.run.name,),
        )
        yield priced(item, prices, None)
    piece = load_table("parts")["insulation-length"]
    each = to_si(piece["value"], piece["unit"])
    wrapped: dict[tuple[str, bool], list[RunResult]] = {}
    for one, given in insulation(design):
        wrapped.setdefault((one.size.nominal, given), []).append(one)
    for (nominal, given), runs in wrapped.items():
        length = math.fsum(one.run.length for one in runs)
        item = Item(
            group="insulation",
            kind="insulation",
            size=nominal,
            material="",
            count=math.ceil(length / each - 1e-9),
            length=each,
            places=tuple(one.run.name for one in runs),
            note="" if given else "asked for by the energy code",
        )
        yield priced(item, prices, None)
