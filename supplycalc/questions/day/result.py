"""What `day` found, in SI units."""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from supplycalc.network import Outlet as Connection
from supplycalc.questions.day.plant import Plant
from supplycalc.questions.day.tally import Tally
from supplycalc.sizing.design import Assumption, Design, Finding


class Outlet(Struct, frozen=True, kw_only=True):
    """What happened at one connection of a fixture."""

    outlet: Connection
    lowest: float
    """While it ran, by the solver [Pa gauge]."""
    interpolated: float
    """The same between two rungs of the ladder [Pa gauge]."""
    lowest_at: float
    """[s]"""
    source_pressure: float
    """At the source then [Pa gauge]."""
    beside: tuple[str, ...]
    """What else ran then."""
    running: float
    """[s]"""
    below: float
    """With less than it requires [s]."""


class Day(Struct, frozen=True, kw_only=True):
    """One or many days."""

    design: Design
    plant: Plant | None
    """None on a main."""
    days: int
    seed: int | None
    """None: the file's schedule."""
    people: int
    tally: Tally
    outlets: tuple[Outlet, ...]
    solves: int
    """How often the delivery solver was asked."""
    tank_change: float
    """Water in the tank at the end less that at the beginning [m3]."""
    imbalance: float
    """Pumped less drawn less change of the tank [m3]; rounding."""
    most_in_an_hour: int
    """Starts within any 60 minutes."""
    most_in_a_day: int
    """Starts within a calendar day."""
    waterlogged: bool
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def energy(self) -> float:
        """Electricity for pumping [J]."""
        if self.plant is None:
            return 0.0
        return self.tally.work * self.plant.weight / self.plant.efficiency

    @property
    def energy_range(self) -> tuple[float, float] | None:
        """The same by the ends of the usual efficiency [J]; None where the file gives one."""
        if self.plant is None or self.plant.efficiency_range is None:
            return None
        work = self.tally.work * self.plant.weight
        return work / self.plant.efficiency_range.high, work / self.plant.efficiency_range.low

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    def judged(self, findings: tuple[Finding, ...]) -> Day:
        """The same with its findings."""
        return replace(self, findings=findings)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc day --json` prints it."""
        from supplycalc.questions.day.json import day_to_dict

        return day_to_dict(self, units)
