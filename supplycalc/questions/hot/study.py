"""Hot water: what stands between heater and outlet, how long it takes, what runs away meanwhile."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse, figure, full_use
from supplycalc.delivery.heat import hot_runs
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law
from supplycalc.delivery.source_cases import source_cases
from supplycalc.hydraulics.friction import flow_area
from supplycalc.hydraulics.water import density
from supplycalc.model import House
from supplycalc.network import Outlet
from supplycalc.problems import InputError, Place, Problem
from supplycalc.questions.hot.heat import (
    HEAT_CAPACITY,
    arriving,
    draws_per_day,
    runs_off,
    still_cold,
    warm_time,
)
from supplycalc.questions.hot.pipe import (
    cold_stretch,
    usual_factor,
    wait_class,
    waiting_time,
)
from supplycalc.questions.size.study import size
from supplycalc.sizing.design import Assumption, Design, Finding, RunResult

if TYPE_CHECKING:
    from supplycalc.questions.hot.gains import Gains

DAYS = 365.0


class HotOutlet(Struct, frozen=True, kw_only=True):
    """One hot connection with what stands before it."""

    outlet: Outlet
    runs: tuple[RunResult, ...]
    """From the source of hot water on; the source is the heater or pipe that is kept hot."""
    from_circulation: bool
    length: float
    """[m] of those runs"""
    volume: float
    """[m3] in those runs and in manifold bodies"""
    flow: float
    """Hot flow with the valve as it is used, everything else shut [m3/s]; 0: nothing comes."""
    total_flow: float
    """All that comes out then, cold included [m3/s]."""
    open_flow: float
    """Hot flow with the valve on hot alone [m3/s]."""
    arrives: float
    """Temperature of the hot water at the connection once it runs steadily [K]; nan: never."""
    heat_loss: float
    """Heat given off along the runs then [W]."""
    wanted: float
    """Temperature wanted at this outlet [K]."""
    factor: float
    """Water drawn over the volume in the pipe."""
    draws: float
    """A day."""
    runs_off: bool
    """Whether people let it run until it is hot."""
    warm_time: float
    """How long water left in its last run stays warm enough to use [s]."""
    energy: float
    """Lost with one draw after a long rest [J]."""
    yearly_volume: float
    """Run off in a year [m3]."""
    yearly_energy: float
    """Lost in a year [J]."""

    @property
    def name(self) -> str:
        """Of the fixture."""
        return self.outlet.fixture.name

    @property
    def drawn(self) -> float:
        """Water drawn before it is hot, after a long rest [m3]."""
        return self.factor * self.volume

    @property
    def wait(self) -> float:
        """Until it is hot with the valve as it is used [s]; inf: never."""
        return waiting_time(self.volume, self.flow, self.factor)

    @property
    def open_wait(self) -> float:
        """The same with the valve on hot alone [s]."""
        return waiting_time(self.volume, self.open_flow, self.factor)

    @property
    def plain_wait(self) -> float:
        """As `wait`, if the pipe's own volume were all that is drawn [s]."""
        return waiting_time(self.volume, self.flow, 1.0)

    @property
    def wait_class(self) -> str:
        """good, fair or long, by the published classes."""
        return wait_class(self.wait)

    @property
    def largest(self) -> RunResult | None:
        """The widest run; None where the outlet stands right at the source."""
        return max(self.runs, key=lambda one: one.size.inside_diameter, default=None)


class HotStudy(Struct, frozen=True, kw_only=True):
    """Every hot outlet, the longest wait first."""

    design: Design
    source_name: str
    """State of the source in which the flows were settled."""
    outlets: tuple[HotOutlet, ...]
    gains: Gains
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def ok(self) -> bool:
        """True when no finding fails."""
        return not any(finding.level == "fail" for finding in self.findings)

    @property
    def yearly_volume(self) -> float:
        """Run off in a year at all outlets [m3]."""
        return math.fsum(one.yearly_volume for one in self.outlets)

    @property
    def yearly_energy(self) -> float:
        """Lost in a year at all outlets [J]."""
        return math.fsum(one.yearly_energy for one in self.outlets)

    def to_dict(self, units: str | None = None) -> dict[str, Any]:
        """The machine-readable form, as `supplycalc hot --json` prints it."""
        from supplycalc.questions.hot.page import hot_to_dict

        return hot_to_dict(self, units)


def hot_water(
    house: House,
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
    method: str | None = None,
) -> HotStudy:
    """Size what is open in a house and find how long its hot water takes.

    Args:
        house: a checked house.
        factor: water drawn over the volume in the pipe; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d]; the others take the usual ones.
        method: demand method for sizing; None takes the file's.

    Returns:
        Every hot outlet with its wait, what would shorten it, and the findings.

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
    return hot_of(size(house, method, mend=False), factor=factor, draws=draws)


def hot_of(
    design: Design, *, factor: float | None = None, draws: Mapping[str, float] | None = None
) -> HotStudy:
    """The same for a design that is sized already; see `hot_water`.

    Args:
        design: with a size for every run.
        factor: water drawn over the volume in the pipe; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d].

    Returns:
        Every hot outlet with its wait, what would shorten it, and the findings.
    """
    from supplycalc.questions.hot.findings import hot_assumptions, hot_findings
    from supplycalc.questions.hot.gains import gains

    source = source_cases(design.house)[0]
    outlets = hot_outlets(design, factor=factor, draws=draws)
    found = gains(design, outlets, factor=factor, draws=draws)
    return HotStudy(
        design=design,
        source_name=source.name,
        outlets=outlets,
        gains=found,
        findings=tuple(hot_findings(design, outlets)),
        assumptions=tuple(hot_assumptions(design, outlets)),
    )


def hot_outlets(
    design: Design,
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
    only: str | None = None,
) -> tuple[HotOutlet, ...]:
    """Every hot outlet of a sized house, the longest wait first.

    Args:
        design: with a size for every run.
        factor: water drawn over the volume in the pipe; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d].
        only: the one fixture to look at; None: all of them.

    Returns:
        The outlets.
    """
    law = source_cases(design.house)[0].law
    household = Household(design)
    daily = daily_draws(design, draws)
    found = [
        _outlet(design, household, law, one, usual_factor() if factor is None else factor, daily)
        for one in design.tree.outlets
        if one.side == "hot" and only in (None, one.fixture.name)
    ]
    return tuple(sorted(found, key=lambda one: (-one.wait, one.name)))


def daily_draws(design: Design, draws: Mapping[str, float] | None) -> dict[int, float]:
    """Draws of hot water through every hot link a day, by its index.

    Args:
        design: the sized house.
        draws: fixture -> draws a day [1/d], where they are not the usual ones.

    Returns:
        Index of the link -> draws a day [1/d].

    Source: habits of hot_water.toml (common practice, no source).
    """
    found: dict[int, float] = {}
    for one in design.tree.outlets:
        if one.side != "hot":
            continue
        own = (draws or {}).get(one.fixture.name)
        number = draws_per_day(one.fixture.kind) if own is None else own
        for i in hot_runs(design, one.link):
            found[i] = found.get(i, 0.0) + number
    return found


def _outlet(
    design: Design,
    household: Household,
    law: Law,
    outlet: Outlet,
    factor: float,
    daily: Mapping[int, float],
) -> HotOutlet:
    fixture, water = outlet.fixture, design.house.water
    alone = FixtureUse(fixture=fixture, through="hot")
    use = full_use(fixture) if design.tree.kind_of(fixture).mixed else alone
    running = household.settle((use,), law)
    only = running if use == alone else household.settle((alone,), law)
    outflow = running.outflows[0]
    runs, volume, kept = cold_stretch(design, outlet.link)
    wanted = household.use_temperature(use)
    arrives, lost = arriving(design, outlet.link, running.delivered.flow)
    off = runs_off(fixture.kind)
    cold = math.fsum(
        flow_area(one.size.inside_diameter)
        * one.run.length
        * still_cold(one, water.hot, wanted, daily[one.index])
        for one in runs
    )
    pipes = math.fsum(flow_area(one.size.inside_diameter) * one.run.length for one in runs)
    own = daily.get(outlet.link, 0.0)
    heat = density(water.hot) * HEAT_CAPACITY * factor
    worth = heat * heat_worth(design, off)
    # a manifold's body cools with the pipes around it
    share = cold / pipes if pipes > 0.0 else 0.0
    return HotOutlet(
        outlet=outlet,
        runs=runs,
        from_circulation=kept,
        length=math.fsum(one.run.length for one in runs),
        volume=volume,
        flow=outflow.hot,
        total_flow=outflow.flow,
        open_flow=only.outflows[0].hot,
        arrives=arrives if outflow.hot > 0.0 else math.nan,
        heat_loss=lost if outflow.hot > 0.0 else 0.0,
        wanted=wanted,
        factor=factor,
        draws=own,
        runs_off=off,
        warm_time=warm_time(runs[-1], water.hot, wanted) if runs else math.inf,
        energy=worth * volume,
        yearly_volume=factor * volume * share * own * DAYS if off else 0.0,
        yearly_energy=worth * volume * share * own * DAYS,
    )


def heat_worth(design: Design, off: bool) -> float:
    """Warmth of hot water that is lost with a draw: down to cold, or to room temperature if used.

    Args:
        design: for its water temperatures.
        off: whether people let it run to waste until it is hot.

    Returns:
        Temperature difference [K].
    """
    water = design.house.water
    return water.hot - (water.cold if off else max(figure("heat", "surroundings")[0], water.cold))
