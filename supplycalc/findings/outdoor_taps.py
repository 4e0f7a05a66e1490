"""Outdoor taps: backflow, frost, and softened water that nobody needs outdoors."""

from __future__ import annotations

from collections.abc import Iterator

from supplycalc.findings.rule import Remark, by_american_code, finding_limit, rule
from supplycalc.findings.words import is_are, listed
from supplycalc.sizing.design import Design

HYDRANT = "yard-hydrant"
OUTDOOR_KINDS = ("hose-bibb", HYDRANT)
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
        if outlet.fixture.kind in OUTDOOR_KINDS
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
        source=finding_limit(
            "hose-connection" if by_american_code(design) else "hose-connection-europe"
        ).citation,
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
