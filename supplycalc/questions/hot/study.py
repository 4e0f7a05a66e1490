"""Hot water: how long it takes at every outlet, and what would bring it sooner."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import ClassVar

from msgspec import Struct

from supplycalc.delivery.source_cases import source_cases
from supplycalc.demand import by_the_american_codes
from supplycalc.model import House
from supplycalc.output.cautions import LIMITS
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.hot.findings import hot_assumptions, hot_findings
from supplycalc.questions.hot.gains import (
    Insulated,
    KeptHot,
    Shorter,
    Thinner,
    insulated_runs,
    kept_hot_runs,
    shorter_runs,
    thinner_runs,
)
from supplycalc.questions.hot.limits import best_wait
from supplycalc.questions.hot.outlets import HotOutlet, hot_outlets
from supplycalc.questions.size.study import size
from supplycalc.records import Form
from supplycalc.records.sentences import Assumption, Finding
from supplycalc.sizing.design import Design, DesignAnswer
from supplycalc.units import UnitSystem, show
from supplycalc.units.quantities import Energy, Volume

CAUTIONS = (
    "Scalding: water at 140 degF (60 degC) burns in seconds. Faster hot water leaves less "
    "time to notice: fit pressure-balanced or thermostatic valves, and test by hand.",
    "Bacteria: lukewarm water that stands in long or idle pipe breeds them. Avoid dead legs, "
    "flush what is seldom used, store hot enough and mix down at use.",
    LIMITS,
)
"""What belongs beside hot water (common practice, no source)."""
FELT = 0.5
"""[s] A change that saves less is none."""


class Year(Struct, frozen=True, kw_only=True):
    """What runs away in a year at all outlets."""

    volume: Volume
    energy: Energy


class HotStudy(DesignAnswer, frozen=True, kw_only=True):
    """Every hot outlet, the longest wait first, and what would bring hot water sooner."""

    schema: ClassVar[str] = "supplycalc-hot/1"
    form: ClassVar[Form] = Form(
        omit=("design",),
        rename={"source_name": "source"},
        add=("answer", "factor", "year", "cautions"),
    )

    source_name: str
    """State of the source in which the flows were settled."""
    outlets: tuple[HotOutlet, ...]
    thinner: tuple[Thinner, ...]
    """What works first, then the greatest gain."""
    shorter: tuple[Shorter, ...]
    insulated: tuple[Insulated, ...]
    """The greatest saving of heat first."""
    kept_hot: tuple[KeptHot, ...]
    """The greatest gain first."""
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def factor(self) -> float:
        """Water drawn over the volume in the pipe."""
        return self.outlets[0].factor

    @property
    def year(self) -> Year:
        """What runs away in a year."""
        return Year(
            volume=math.fsum(outlet.yearly_volume for outlet in self.outlets),
            energy=math.fsum(outlet.yearly_energy for outlet in self.outlets),
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """What belongs beside hot water."""
        if by_the_american_codes(self.house):
            return CAUTIONS
        return tuple(text.replace("140 degF (60 degC)", "60 degC") for text in CAUTIONS)

    def answer(self, system: UnitSystem) -> str:
        """The answer in two or three sentences."""
        slowest = self.outlets[0]
        quick = sum(outlet.wait_class == "good" for outlet in self.outlets)
        count = len(self.outlets)
        if math.isinf(slowest.wait):
            first = f"No hot water comes out of {slowest.name}."
        else:
            first = (
                f"The longest wait for hot water is {show(slowest.wait, 'time', system)}, at "
                f"{slowest.name}, with {show(slowest.run_off, 'pipe-volume', system)} run off "
                f"meanwhile{_of_hot(slowest, system)}."
            )
        if quick == count:
            second = f"All {count} hot outlets are hot" if count > 1 else "It is hot"
        else:
            second = f"{quick} of {count} hot outlets {'is' if quick == 1 else 'are'} hot"
        second += f" within {show(best_wait(), 'time', system)}."
        return " ".join(filter(None, (first, second, self.best_change(system))))

    def best_change(self, system: UnitSystem) -> str:
        """The change that shortens the longest wait most; empty where none is needed."""
        slowest = self.outlets[0]
        if slowest.wait_class == "good" or math.isinf(slowest.wait):
            return ""
        changes = [
            (
                change.wait_after,
                f"{', '.join(change.runs)} in {change.after} instead of {change.before}",
            )
            for change in self.thinner
            if change.works and change.outlet == slowest.name and not change.too_fast
        ]
        changes += [
            (change.wait_after, f"pipe kept hot to the end of {change.run}")
            for change in self.kept_hot
            if change.outlet == slowest.name
        ]
        felt = [change for change in changes if change[0] < slowest.wait - FELT]
        if not felt:
            return "Nothing that was tried shortens it but a shorter way to the heater."
        wait, what = min(felt)
        return f"What helps it most: {what} ({show(wait, 'time', system)} then)."


def _of_hot(outlet: HotOutlet, system: UnitSystem) -> str:
    """How much of what runs off is from the hot pipe, where that is not all."""
    from_hot, in_all = (
        show(volume, "pipe-volume", system) for volume in (outlet.drawn, outlet.run_off)
    )
    return "" if from_hot == in_all else f", {from_hot} of it from the hot pipe"


def hot_water(
    house: House,
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
    method: str | None = None,
) -> HotStudy:
    """Size what is open in a house and find how long its hot water takes.

    Raises:
        InputError: there is no hot outlet, or draws name one that is not there.
        ComputationError: no sizes, or flows that do not settle.
    """
    hot = tuple(fixture.name for fixture in house.fixtures if fixture.hot is not None)
    problems = [
        Problem(place=Place("--draws"), message=f"{name!r} has no hot water", value=name, valid=hot)
        for name in draws or {}
        if name not in hot
    ]
    if not hot:
        problems.append(Problem(place=house.place, message="no fixture of this file has hot water"))
    if problems:
        raise InputError(problems)
    return hot_of(size(house, method), factor=factor, draws=draws)


def hot_of(
    design: Design, *, factor: float | None = None, draws: Mapping[str, float] | None = None
) -> HotStudy:
    """The same for a design that is sized already; see `hot_water`."""
    outlets = hot_outlets(design, factor=factor, draws=draws)
    return HotStudy(
        design=design,
        source_name=source_cases(design.house)[0].name,
        outlets=outlets,
        thinner=thinner_runs(design, outlets, factor=factor, draws=draws),
        shorter=shorter_runs(outlets),
        insulated=insulated_runs(design, outlets, draws=draws),
        kept_hot=kept_hot_runs(design, outlets),
        findings=tuple(hot_findings(design, outlets)),
        assumptions=tuple(hot_assumptions(design, outlets)),
    )
