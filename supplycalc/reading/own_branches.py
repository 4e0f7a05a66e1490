"""Fixtures of which only the position is given: each gets a pipe of its own."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from supplycalc.catalogue import Catalogue
from supplycalc.reading.links import Entries
from supplycalc.reading.reporter import Entry, Reporter

ONE_HOSE = {"us": {"dishwasher": "hot"}, "metric": {"dishwasher": "cold", "clothes-washer": "cold"}}
"""Appliances that are connected to one side alone; common practice, no source."""


def with_own_branches(reporter: Reporter, entries: Entries, catalogue: Catalogue) -> Entries:
    """Let fixtures that name no pipe hang from where distribution begins, and from the heater.

    So positions alone are enough for a layout. Without a position such a fixture stays unfed."""
    starts = _starts(entries, catalogue)
    metric = any(project.get("units") == "metric" for project in entries["project"])
    one_hose = ONE_HOSE["metric" if metric else "us"]
    fixtures: list[Entry] = []
    given: list[str] = []
    for fixture in entries["fixture"]:
        kind = catalogue.fixtures.get(fixture.get("kind") or "")
        alone = fixture.has("at", "name") and {"cold", "hot"}.isdisjoint(fixture.given)
        taken = () if kind is None else kind.sides
        if kind is not None and one_hose.get(kind.name) in starts:
            taken = tuple(side for side in taken if side == one_hose[kind.name])
        sides = [side for side in taken if side in starts]
        if not alone or not sides:
            fixtures.append(fixture)
            continue
        branches: dict[str, Entry] = {
            side: Entry(
                label=f"{fixture.label}, {side}",
                path=(*fixture.path, side),
                place=fixture.place,
                values={"from": starts[side]},
                given=frozenset({"from"}),
            )
            for side in sides
        }
        values: dict[str, Any] = {**fixture.values, **branches}
        fixtures.append(replace(fixture, values=values, given=fixture.given | frozenset(branches)))
        given.append(fixture.get("name"))
    if given:
        of = " and ".join(f"{side} from {start!r}" for side, start in starts.items())
        names = given[0] if len(given) == 1 else f"{given[0]} and {len(given) - 1} more"
        reporter.notes.append(
            f"{names}: by position alone, so a pipe of its own to each fixture, {of}"
        )
    return {**entries, "fixture": fixtures}


def _starts(entries: Entries, catalogue: Catalogue) -> dict[str, str]:
    """The points from which cold and hot pipe to fixtures begins, as far as they can be told."""
    heaters = [
        entry
        for entry in entries["device"]
        if (kind := catalogue.devices.get(entry.get("kind") or "")) is not None and kind.hot
    ]
    starts: dict[str, str] = {}
    layout = entries["layout"][0].get("from") if entries["layout"] else None
    if layout is not None:
        starts["cold"] = layout
    elif len(heaters) == 1 and heaters[0].has("from"):
        starts["cold"] = heaters[0].get("from")
    if len(heaters) == 1 and heaters[0].has("to"):
        starts["hot"] = heaters[0].get("to")
    return starts
