"""Valves that shut fast, and a pump that stops: what they bring over the rating of pipe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from supplycalc.findings.rule import (
    PRESSURE_SLACK,
    Remark,
    by_american_code,
    limit_by_book,
    rule,
)
from supplycalc.findings.words import is_are, listed
from supplycalc.sizing.design import Design
from supplycalc.sizing.water_hammer import (
    PeakInRun,
    QuickValve,
    pump_stops,
    valves_and_peaks,
)


def needs_arrestor(design: Design, valve: QuickValve) -> bool:
    """Whether a code asks for an arrestor that the file has not, or the shock is over its limit."""
    if valve.arrestor or valve.closing.slow:
        return False
    most = limit_by_book(design, "surge-peak").value
    return by_american_code(design) or valve.peak > most + PRESSURE_SLACK


@rule("water-hammer", "note")
def water_hammer(design: Design) -> Iterator[Remark]:
    """Machines' valves and flush valves, where the codes ask for an arrestor."""
    valves, peaks = valves_and_peaks(design, by_hand=False)
    bare = [valve for valve in valves if needs_arrestor(design, valve)]
    if not bare:
        return
    american = by_american_code(design)
    worst = max(bare, key=lambda valve: valve.peak)
    over = [peak for peak in peaks if peak.over]
    names = list(dict.fromkeys(valve.fixture for valve in bare))
    shut = is_are(names, "it shuts", "they shut")
    message, values = f"up to {{0}} as {shut}, at {worst.name}", [(worst.peak, "pressure")]
    if over:
        pipe = _worst(over)
        message = f"as {shut}, up to {{0}} in {pipe.run.name}, which is rated for {{1}}"
        values = [(pipe.peak, "pressure"), (pipe.rating or 0.0, "pressure")]
    yield Remark(
        where=listed(names),
        message=message,
        values=tuple(values),
        remedy="fit a water hammer arrestor at each connection (supplycalc surge)"
        if american
        else "fit an arrestor or slower valves (supplycalc surge)",
        source=limit_by_book(design, "water-hammer").citation,
    )


@rule("pump-stop", "warn")
def pump_stop(design: Design) -> Iterator[Remark]:
    """Pipe before the tank that a pump's sudden stop may bring over what it bears."""
    over = [stop for stop in pump_stops(design) if stop.over]
    if over:
        worst = _worst(over)
        yield Remark(
            where=listed(stop.run.name for stop in over),
            message="as the pump stops the wave may reach {0}; rated for {1}",
            values=((worst.peak, "pressure"), (worst.rating or 0.0, "pressure")),
            remedy="larger pipe, or one of a higher rating; a spring-loaded check valve at "
            "the pump",
        )


def _worst(over: Sequence[PeakInRun]) -> PeakInRun:
    return max(over, key=lambda peak: peak.peak - (peak.borne or 0.0))
