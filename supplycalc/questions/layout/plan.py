"""A small plan of the house as text: where the manifold may stand, and at what price."""

from __future__ import annotations

from supplycalc.model import Position
from supplycalc.questions.layout.study import LayoutStudy

STEPS = ((0.01, "1"), (0.02, "2"), (0.05, "5"), (0.10, "t"))
"""Extra cost up to which a place gets a sign."""
LEGEND = (
    "* best place",
    "1, 2, 5, t: up to 1, 2, 5, 10 % more",
    ". dearer",
    "x falls short",
    "f fixture",
    "H heater",
    "E entry",
    "# no pipe here; north is up",
)
WIDEST = 76
NARROWEST = 36
"""[characters] Of a telephone."""


def plan(study: LayoutStudy, widest: int = WIDEST) -> list[str]:
    """The lines of the plan, north up, none wider than so many characters, the legend last."""
    places = study.places
    best = places.places[places.best]
    shown = [place for place in places.places if place.storey == best.storey]
    kept = study.kept
    things: list[tuple[Position, str]] = [
        (fixture.at, "f") for fixture in kept.fixtures if fixture.at is not None
    ]
    things.append((kept.origin_at, "E"))
    if kept.heater is not None:
        things.append((kept.heater_at, "H"))
    known = [place.at for place in shown] + [at for at, _ in things]
    west, east = min(at[0] for at in known), max(at[0] for at in known)
    south, north = min(at[1] for at in known), max(at[1] for at in known)
    step = max(places.spacing, 2.0 * (east - west) / (widest - 2), (north - south) / 40)
    wide = int((east - west) / step + 0.5) + 1
    high = int((north - south) / step + 0.5) + 1
    signs = [[" "] * wide for _ in range(high)]

    def cell(at: Position) -> tuple[int, int]:
        return int((north - at[1]) / step + 0.5), int((at[0] - west) / step + 0.5)

    for zone in study.house.zones:
        for row in range(high):
            for column in range(wide):
                x, y = west + column * step, north - row * step
                inside = all(
                    min(a, b) <= value <= max(a, b)
                    for value, a, b in zip((x, y), zone.corner, zone.opposite, strict=False)
                )
                if inside:
                    signs[row][column] = "#"
    for place in sorted(shown, key=lambda place: (not place.feasible, place.cost), reverse=True):
        row, column = cell(place.at)
        signs[row][column] = "x" if not place.feasible else _sign(place.cost / best.cost - 1.0)
    for at, sign in things:
        row, column = cell(at)
        signs[row][column] = sign
    row, column = cell(best.at)
    signs[row][column] = "*"
    return [" ".join(line).rstrip() for line in signs] + _legend(widest)


def _legend(widest: int) -> list[str]:
    """The signs in as few lines as they fit."""
    lines = [LEGEND[0]]
    for sign in LEGEND[1:]:
        longer = f"{lines[-1]}   {sign}"
        if len(longer) <= max(widest, NARROWEST):
            lines[-1] = longer
        else:
            lines.append(sign)
    return lines


def _sign(extra: float) -> str:
    return next((sign for most, sign in STEPS if extra <= most), ".")
