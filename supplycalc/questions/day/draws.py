"""What is drawn and when: from the file's schedule, one draw after the other."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse, Through, full_use
from supplycalc.model import Draw, Fixture, House
from supplycalc.units import DAY


class PlannedDraw(Struct, frozen=True, kw_only=True):
    """One opening of one fixture."""

    start: float
    """After the first midnight [s]; later where the fixture is still in use."""
    use: FixtureUse
    duration: float | None
    """[s]; None: until `volume` has run."""
    volume: float | None
    """[m3]"""


def scheduled(house: House, days: int) -> tuple[PlannedDraw, ...]:
    """The file's draws, the same on every day.

    Args:
        house: with draws.
        days: how many.

    Returns:
        The draws in order of time.
    """
    fixtures = {fixture.name: fixture for fixture in house.fixtures}
    found = [
        PlannedDraw(
            start=day * DAY + at,
            use=use_of(fixtures[draw.fixture], draw),
            duration=draw.duration,
            volume=draw.volume,
        )
        for day in range(days)
        for draw in house.draws
        for at in draw.at
    ]
    return tuple(sorted(found, key=lambda one: one.start))


def use_of(fixture: Fixture, draw: Draw) -> FixtureUse:
    """How a draw opens its fixture.

    Args:
        fixture: that is opened.
        draw: with side and share.

    Returns:
        The use.
    """
    whole = full_use(fixture)
    through: Through = whole.through if draw.side is None else draw.side
    return FixtureUse(fixture=fixture, through=through, share=draw.share)
