"""What can hardly be meant: pipe shorter than its rise, a source in a wrong unit."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.catalogue import BATHING
from supplycalc.demand.loads import is_public
from supplycalc.findings.rule import YOUR_FILE, Remark, rule
from supplycalc.findings.words import listed
from supplycalc.model import Device, Manifold, Run
from supplycalc.network import well_side
from supplycalc.sizing.design import Design, OutletResult
from supplycalc.tables import citation_of, load_table
from supplycalc.units import PSI

HEIGHT_SLACK = 0.9
"""[m] 3 ft: an outlet may hang so far from the end of its measured pipe."""
SHALLOW = 3.0
"""[m] Wells with the water nearer to the surface are few; common practice, no source."""
DEEP_SET = 10.0
"""Pumps are seldom set so many times deeper than the water stands; common practice, no source."""
HANDFUL = 5
"""Baths and showers that one household may have; common practice, no source."""
LOWEST, HIGHEST = 15 * PSI, 150 * PSI
"""[Pa gauge] Houses are supplied with pressures between; common practice, no source."""


@rule("private-rows", "note")
def private_rows(design: Design) -> Iterator[Remark]:
    """Many baths counted by the rows for a household, which a camp or an inn must not use."""
    if design.demand.method not in ("irc", "ipc"):
        return
    baths = [
        fixture
        for fixture in design.house.fixtures
        if fixture.kind in BATHING and not is_public(design.tree, fixture)
    ]
    if len(baths) > HANDFUL:
        yield Remark(
            where="demand",
            message=f"{len(baths)} baths and showers count by the rows for private use",
            remedy='where guests or the public use them, say use = "public" in [project] or at the '
            "fixtures: a shower then counts 4 fixture units, not 1.4",
            source=citation_of(load_table("demand_ipc")["public"]),
        )


@rule("length-below-rise", "warn")
def shorter_than_rise(design: Design) -> Iterator[Remark]:
    """Less pipe than the height between two points of known height: not a developed length."""
    short: dict[str, tuple[list[str], float, float]] = {}
    for outlet in design.outlets:
        for start, length, height in _spans(design, outlet):
            if length < height - HEIGHT_SLACK:
                names, least, most = short.setdefault(start, ([], length, height))
                names.append(outlet.name)
                short[start] = names, least, most
                break
    for start, (names, length, height) in short.items():
        first = "" if len(names) == 1 else f"{names[0]}: "
        yield Remark(
            where=listed(names),
            message=f"{first}{{0}} of pipe from {start} cannot span the {{1}} of height between",
            values=((length, "length"), (height, "length")),
            remedy=(
                "give lengths as they run, along the pipe with every rise and drop, and check the "
                "heights and their units"
            ),
            source=YOUR_FILE,
        )


def _spans(design: Design, outlet: OutletResult) -> Iterator[tuple[str, float, float]]:
    """(point of stated height, pipe from there [m], difference in height [m]), nearest first."""
    tree = design.tree
    stated = {point.name for point in design.house.points}
    length = 0.0
    for index in (outlet.index, *tree.feeding(outlet.index)):
        link, above = tree.links[index], tree.parent[index]
        feed = tree.links[above]
        if isinstance(link, Run):
            length += link.length
        if above == 0:
            start = f"the {tree.points[0]}"
        elif _has_height(feed) or tree.points[above] in stated:
            start = feed.name if isinstance(feed, Manifold) else tree.points[above]
        else:
            continue
        yield start, length, abs(outlet.elevation - tree.elevation[above])


def _has_height(link: object) -> bool:
    return isinstance(link, Device | Manifold) and (
        link.elevation is not None or link.at is not None
    )


@rule("source-unusual", "warn")
def source_unusual(design: Design) -> Iterator[Remark]:
    """A source far outside what houses are supplied with: most likely a wrong unit."""
    source = design.house.source
    if source.by_gravity:
        return  # a low tank gives little, and is no slip
    low = source.cut_in if source.kind == "well" else source.residual
    high = design.source.static_pressure
    if low is not None and low < LOWEST:
        seen, words = low, "is less than any pressure switch or main is set to"
    elif high > HIGHEST:
        seen, words = high, "is more than any house is supplied with"
    else:
        return
    yield Remark(
        where="source",
        message=f"{{0}} {words}; usual are {{1}} to {{2}}",
        values=((seen, "pressure"), (LOWEST, "pressure"), (HIGHEST, "pressure")),
        remedy="check the number and its unit in the file: psi, bar and kPa are easily mixed up",
    )


@rule("level-unusual", "warn", well=True)
def level_unusual(design: Design) -> Iterator[Remark]:
    """A water level next to the surface over a pump set deep: feet or metres written as inches."""
    well = well_side(design.house).source.well
    if well is None or well.static_level is None:
        return
    hangs = next((link.length for link in design.house.line[:1] if isinstance(link, Run)), 0.0)
    depth = hangs if well.pump_depth is None else well.pump_depth
    if well.static_level < SHALLOW and depth > DEEP_SET * max(well.static_level, HEIGHT_SLACK):
        yield Remark(
            where="well",
            message="the water is said to stand {0} below the wellhead, and the pump hangs at {1}",
            values=((well.static_level, "length"), (depth, "length")),
            remedy=(
                "check static_level and its unit: a level written in inches instead of feet makes "
                "the pump look far stronger than it is"
            ),
        )


@rule("readings", "note")
def readings_to_compare(design: Design) -> Iterator[Remark]:
    """What was read in the house that is there, which another command compares."""
    count = len(design.house.readings)
    if count:
        yield Remark(
            where="readings",
            message=f"{count} stand{'s' if count == 1 else ''} in the file, and no size goes by "
            f"{'it' if count == 1 else 'them'}",
            remedy="'supplycalc gauge' tells whether the house does what the file says",
        )


@rule("constant-loss", "note")
def constant_loss(design: Design) -> Iterator[Remark]:
    """Equipment that the file gives one loss at every flow, which only a spring would have."""
    fixed = [
        result
        for result in design.devices
        if result.device.loss is not None
        and result.device.loss.constant > 0.0
        and result.device.loss.linear == result.device.loss.quadratic == 0.0
        and not result.device.loss.curve
    ]
    if fixed:
        yield Remark(
            where=listed(result.device.name for result in fixed),
            message=(
                "loses {0} at every flow, as the file gives it; real equipment loses about four "
                "times as much at twice the flow"
                if len(fixed) == 1
                else "lose as much at every flow, as the file gives it; real equipment loses about "
                "four times as much at twice the flow"
            ),
            values=((fixed[0].loss, "pressure"),),
            remedy="write the loss with the flow it belongs to, as its sheet gives it",
        )
