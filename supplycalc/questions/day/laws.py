"""What a house draws over the pressure at its tank, for every set of open outlets.

The pressure-driven solver is asked at a ladder of pressures; between two rungs everything goes
straight, which is within a few thousandths of the solver and what keeps the tank's motion exact.
Rungs are computed when they are first needed and kept.
"""

from __future__ import annotations

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law, constant_source
from supplycalc.delivery.solver import deliver
from supplycalc.network import Outlet
from supplycalc.sizing.design import Design
from supplycalc.units import PSI

RUNG = 5.0 * PSI
"""Distance of two rungs [Pa]."""


class Rung(Struct, frozen=True):
    """The settled house at one pressure of the source."""

    total: float
    """[m3/s]"""
    flow: tuple[float, ...]
    """Of each use [m3/s]."""
    pressure: tuple[float, ...]
    """At each watched connection [Pa gauge]."""
    source_pressure: float
    """[Pa gauge]"""


class Cell(Struct, frozen=True):
    """Straight lines between two rungs: value = first + second * pressure."""

    total: tuple[float, float]
    flow: tuple[tuple[float, float], ...]
    pressure: tuple[tuple[float, float], ...]


class Connection(Struct, frozen=True):
    """A connection of an open outlet whose pressure is followed."""

    use: int
    """Its place among the open uses."""
    outlet: Outlet


class OpenSet:
    """One set of open outlets."""

    def __init__(self, laws: Laws, uses: tuple[FixtureUse, ...]) -> None:
        self.uses = uses
        self.connections = tuple(
            Connection(number, outlet)
            for number, use in enumerate(uses)
            for outlet in use.outlets(laws.household.design.tree)
        )
        self._laws = laws
        self._rungs: dict[int, Rung] = {}
        self._cells: dict[int, Cell] = {}

    def rung(self, number: int) -> Rung:
        """The settled state at number * RUNG."""
        found = self._rungs.get(number)
        if found is None:
            found = self._laws.settle(self, constant_source(number * RUNG))
            self._rungs[number] = found
        return found

    def cell(self, number: int) -> Cell:
        """The lines between rungs `number` and the next."""
        found = self._cells.get(number)
        if found is None:
            low, high = self.rung(number), self.rung(number + 1)
            found = Cell(
                total=_line(number, low.total, high.total),
                flow=tuple(_line(number, *ends) for ends in zip(low.flow, high.flow, strict=True)),
                pressure=tuple(
                    _line(number, *ends) for ends in zip(low.pressure, high.pressure, strict=True)
                ),
            )
            self._cells[number] = found
        return found


def _line(number: int, low: float, high: float) -> tuple[float, float]:
    rise = (high - low) / RUNG
    return low - rise * number * RUNG, rise


class Laws:
    """Every set of open outlets of a house, each made once.

    A mixing valve is set once, as when its outlet runs alone at the reference pressure, and stays.
    """

    def __init__(self, design: Design, reference: Law) -> None:
        self.household = Household(design)
        self._reference = reference
        self._sets: dict[tuple[int, ...], OpenSet] = {}
        self._numbers: dict[tuple[str, str, float], int] = {}
        self._shares: dict[tuple[str, float], float] = {}
        self.uses: list[FixtureUse] = []
        """Every use that was numbered."""
        self.solves = 0
        """How often the solver was asked."""

    def number(self, use: FixtureUse) -> int:
        """The number of a use, the same for equal uses."""
        key = (use.fixture.name, use.through, use.share)
        found = self._numbers.get(key)
        if found is None:
            found = self._numbers[key] = len(self.uses)
            self.uses.append(use)
        return found

    def of(self, numbers: tuple[int, ...]) -> OpenSet:
        """The set of the uses of these numbers, in this order."""
        found = self._sets.get(numbers)
        if found is None:
            found = OpenSet(self, tuple(self.uses[number] for number in numbers))
            self._sets[numbers] = found
        return found

    def settle(self, opened: OpenSet, law: Law) -> Rung:
        """Ask the solver: what runs and which pressures stand with a source's law."""
        if not opened.uses:
            return Rung(0.0, (), (), law(0.0)[0])
        self.solves += 1
        shares = {use.name: self._share(use) for use in opened.uses if use.through == "both"}
        delivered = deliver(self.household.open_supply(opened.uses, law, shares))
        openings, mixers = iter(delivered.opening_flow), iter(delivered.mixer_flow)
        flow = tuple(
            sum(next(mixers)) if use.through == "both" else next(openings) for use in opened.uses
        )
        return Rung(
            total=sum(flow),
            flow=flow,
            pressure=tuple(delivered.pressure[one.outlet.link] for one in opened.connections),
            source_pressure=law(delivered.flow[0])[0],
        )

    def _share(self, use: FixtureUse) -> float:
        key = (use.name, use.share)
        found = self._shares.get(key)
        if found is None:
            found = self._shares[key] = self.household.setting(use, self._reference)
        return found
