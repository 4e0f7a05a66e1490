"""Outdoor taps: backflow, frost, and softened water that nobody needs outdoors."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, by_american_code, limit_by_book, rule
from supplycalc.findings.words import is_are, listed
from supplycalc.sizing.design import Design

HYDRANT = "yard-hydrant"
HOSE_KINDS = ("hose-bibb", HYDRANT)
ZONE, WATERER = "irrigation", "stock-waterer"
OUTDOOR_KINDS = (*HOSE_KINDS, ZONE, WATERER)
HOSES_IN_EUROPE = (
    "fit taps with aerator and check valve (type HD), which guard a free garden hose up to "
    "category 3; sprinklers in the ground and additives in a cleaner want a pipe separator (type "
    "BA, category 4), drip lines in soil and troughs a free outlet (category 5)"
)


@rule("hose-connection", "note")
def hose_connection(design: Design) -> Iterator[Remark]:
    """Every hose bibb needs a vacuum breaker, and one that survives frost where it freezes."""
    kinds = {
        outlet.fixture.name: outlet.fixture.kind
        for outlet in design.outlets
        if outlet.fixture.kind in HOSE_KINDS
    }
    if not kinds:
        return
    taps = sorted(kinds)
    remedy = "fit a vacuum breaker at each hose connection"
    if not by_american_code(design):
        remedy = HOSES_IN_EUROPE
    if design.house.limits.frost_depth and set(kinds.values()) != {HYDRANT}:
        remedy += ", and taps of the frost-proof kind or with a stop inside that drains them"
    yield Remark(
        where=listed(taps),
        message="a hose left in dirty water can be sucked back into the house",
        remedy=remedy,
        source=limit_by_book(design, "hose-connection").citation,
    )


def _named(design: Design, kind: str) -> list[str]:
    return sorted(o.fixture.name for o in design.outlets if o.fixture.kind == kind)


@rule("irrigation-backflow", "note")
def irrigation_backflow(design: Design) -> Iterator[Remark]:
    """Soil, manure and what is fed to a lawn stand against an irrigation's heads."""
    zones = _named(design, ZONE)
    if not zones:
        return
    american = by_american_code(design)
    yield Remark(
        where=listed(zones),
        message="soil and what is fed to it can be sucked back into the house"
        + ("" if american else " (category 5)"),
        remedy=(
            "fit a pressure vacuum breaker above the highest head, or a reduced-pressure assembly, "
            "which is needed where fertilizer is fed in; have it tested; drain or blow out the "
            "lines before frost"
            if american
            else "feed it over a free outlet with a pump of its own; for sunk sprinklers without "
            "feeding some accept a pipe separator (type BA); drain the lines before frost"
        ),
        source=limit_by_book(design, "irrigation").citation,
    )


@rule("stock-waterer", "note")
def stock_waterer(design: Design) -> Iterator[Remark]:
    """What animals drink from is foul, and freezes where it stands outdoors."""
    waterers = _named(design, WATERER)
    if not waterers:
        return
    american = by_american_code(design)
    gap = "an air gap above the rim" if american else "a free outlet above the rim"
    yield Remark(
        where=listed(waterers),
        message="water that animals foul can be sucked back into the house",
        remedy=f"let it fill over {gap}, or guard the line with a device that your inspector "
        "accepts; against frost bring it up in a wide insulated shaft from below the frost, with "
        "a stop that drains into gravel there, or heat it",
        source=limit_by_book(design, "stock-waterer").citation,
    )


@rule("yard-hydrant", "note")
def yard_hydrant(design: Design) -> Iterator[Remark]:
    """A yard hydrant empties its standpipe into the ground at its foot each time it is shut."""
    hydrants = [outlet.fixture.name for outlet in design.outlets if outlet.fixture.kind == HYDRANT]
    if hydrants:
        yield Remark(
            where=listed(sorted(hydrants)),
            message="when it is shut it drains at its foot, below the ground",
            remedy="set the foot below the frost line in gravel that takes the water, away from "
            "wells and soiled ground; never shut it with a hose full of water on it; ask whether "
            "your code wants one that does not drain into the ground",
        )


@rule("softened-outdoors", "note")
def softened_outdoors(design: Design) -> Iterator[Remark]:
    """A hose bibb behind a softener."""
    softened = {
        outlet.fixture.name: device.name
        for outlet in design.outlets
        if outlet.fixture.kind in OUTDOOR_KINDS
        and (device := design.tree.device_before(outlet.index, "softens")) is not None
    }
    if softened:
        taps = sorted(softened)
        yield Remark(
            where=listed(taps),
            message=(
                f"{is_are(taps, 'hangs', 'hang')} behind {listed(softened.values())}, which then "
                "treats garden water too and takes its pressure"
            ),
            remedy="take outdoor taps off before it",
        )
