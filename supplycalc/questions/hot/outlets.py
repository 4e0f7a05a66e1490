"""Hot outlets: what stands before each, how long it waits, what runs away meanwhile."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from typing import ClassVar

from msgspec import Struct

from supplycalc.delivery.fixture_use import FixtureUse, figure, full_use
from supplycalc.delivery.heat import HEAT_CAPACITY, hot_runs
from supplycalc.delivery.household import Household
from supplycalc.delivery.open_supply import Law
from supplycalc.delivery.source_cases import source_cases
from supplycalc.demand import by_the_american_codes
from supplycalc.hydraulics.water import density
from supplycalc.network import Outlet
from supplycalc.questions.hot.cold_pipe import (
    code_volume,
    cold_stretch,
    pipe_volume,
    usual_factor,
    waiting_time,
)
from supplycalc.questions.hot.cooling import arriving, still_cold, warm_time
from supplycalc.questions.hot.limits import LimitCheck, hot_limit, length_by_size, wait_class
from supplycalc.records import Form
from supplycalc.sizing.design import Design, RunResult
from supplycalc.tables import load_table
from supplycalc.units.quantities import (
    Energy,
    Flow,
    HeatFlow,
    Length,
    PipeVolume,
    Temperature,
    Time,
    Volume,
)

DAYS = 365.0
"""Of a year."""


class ColdRun(Struct, frozen=True, kw_only=True):
    """A run that stands cold before an outlet."""

    name: str
    size: str
    length: Length


class HotOutlet(Struct, frozen=True, kw_only=True):
    """One hot connection with what stands before it."""

    form: ClassVar[Form] = Form(
        omit=("outlet", "runs", "factor", "american"),
        rename={"cold_runs": "runs", "wait_class": "class"},
        add=(
            "name",
            "kind",
            "planned",
            "cold_runs",
            "drawn",
            "run_off",
            "wait",
            "wait_hot_only",
            "wait_by_pipe_volume",
            "wait_class",
            "limits",
        ),
    )

    american: bool
    """Whether the American codes' limits are held against it; else the European ones."""
    outlet: Outlet
    runs: tuple[RunResult, ...]
    """From the source of hot water on; the source is the heater or pipe that is kept hot."""
    from_circulation: bool
    length: Length
    """Of those runs."""
    volume: PipeVolume
    """In those runs and in manifold bodies."""
    hot_flow: Flow
    """With the valve as it is used, everything else shut; 0: nothing comes."""
    total_flow: Flow
    """All that comes out then, cold included."""
    hot_only_flow: Flow
    """With the valve on hot alone."""
    arrives: Temperature
    """Of the hot water at the connection once it runs steadily; nan: never."""
    heat_loss: HeatFlow
    """Along the runs then."""
    wanted: Temperature
    """At this outlet."""
    factor: float
    """Water drawn over the volume in the pipe."""
    draws_per_day: float
    runs_off: bool
    """Whether people let it run until it is hot."""
    stays_warm: Time
    """How long water left in its last run stays warm enough to use."""
    energy_per_draw: Energy
    """Lost with one draw after a long rest."""
    yearly_volume: Volume
    """Run off in a year."""
    yearly_energy: Energy
    """Lost in a year."""

    @property
    def name(self) -> str:
        """Of the fixture."""
        return self.outlet.fixture.name

    @property
    def kind(self) -> str:
        """Of the fixture."""
        return self.outlet.fixture.kind

    @property
    def planned(self) -> bool:
        """Whether the fixture is not there yet."""
        return self.outlet.fixture.planned

    @property
    def cold_runs(self) -> tuple[ColdRun, ...]:
        """The runs, as JSON lists them."""
        return tuple(
            ColdRun(name=run.name, size=run.nominal, length=run.length) for run in self.runs
        )

    @property
    def drawn(self) -> PipeVolume:
        """Water drawn from the hot pipe before it is hot, after a long rest."""
        return self.factor * self.volume

    @property
    def counted_volume(self) -> float:
        """What limits of volume count [m3]: by the American codes' table of tube, else as it is."""
        if not self.american:
            return self.volume
        return self.volume + math.fsum(code_volume(run) - pipe_volume(run) for run in self.runs)

    @property
    def run_off(self) -> PipeVolume:
        """All that comes out during `wait`, with the cold that the valve mixes in; inf: never."""
        return self.total_flow * self.wait if self.total_flow > 0.0 else math.inf

    @property
    def wait(self) -> Time:
        """Until it is hot with the valve as it is used; inf: never."""
        return waiting_time(self.volume, self.hot_flow, self.factor)

    @property
    def wait_hot_only(self) -> Time:
        """The same with the valve on hot alone."""
        return waiting_time(self.volume, self.hot_only_flow, self.factor)

    @property
    def wait_by_pipe_volume(self) -> Time:
        """As `wait`, if the pipe's own volume were all that is drawn."""
        return waiting_time(self.volume, self.hot_flow, 1.0)

    @property
    def wait_class(self) -> str:
        """good, fair or long, by the published classes."""
        return wait_class(self.wait)

    @property
    def limits(self) -> tuple[LimitCheck, ...]:
        """Every published limit held against it, lengths before volumes."""
        if not self.american:
            limit = hot_limit("three-litres")
            return (LimitCheck(limit=limit, dimension="volume", value=self.volume),)
        largest = max(self.runs, key=lambda run: run.inside_diameter, default=None)
        lengths = [hot_limit("length-residential"), hot_limit("length-plumbing")]
        if largest is not None:
            lengths.append(length_by_size(largest, self.from_circulation))
        stands = "volume-circulated" if self.from_circulation else "volume-heater"
        return (
            *(LimitCheck(limit=each, dimension="length", value=self.length) for each in lengths),
            LimitCheck(limit=hot_limit(stands), dimension="volume", value=self.counted_volume),
            LimitCheck(limit=hot_limit("stored"), dimension="volume", value=self.counted_volume),
            LimitCheck(limit=hot_limit("drawn"), dimension="volume", value=self.drawn),
        )


def hot_outlets(
    design: Design,
    *,
    factor: float | None = None,
    draws: Mapping[str, float] | None = None,
    only: str | None = None,
) -> tuple[HotOutlet, ...]:
    """Every hot outlet of a sized house, the longest wait first.

    Those at which nobody waits for hot water, as machines and baths, come after the others.

    Args:
        factor: water drawn over the volume in the pipe; None takes the usual one.
        draws: fixture -> draws of hot water a day [1/d].
    """
    law = source_cases(design.house)[0].law
    household = Household(design)
    daily = daily_draws(design, draws)
    share = usual_factor() if factor is None else factor
    outlets = (
        _hot_outlet(design, household, law, outlet, share, daily)
        for outlet in design.tree.outlets
        if outlet.side == "hot" and only in (None, outlet.fixture.name)
    )

    def order(outlet: HotOutlet) -> tuple[bool, bool, float, str]:
        dry = math.isinf(outlet.wait)
        return not dry, not outlet.runs_off, -outlet.wait, outlet.name

    return tuple(sorted(outlets, key=order))


@functools.cache
def _habits() -> dict[str, tuple[float, bool]]:
    """Kind of fixture -> (draws of hot water a day, whether people let it run until it is hot).

    Source: hot_water.toml (common practice, no source).
    """
    rows = load_table("hot_water")["habit"]["rows"]
    return {kind: (float(draws), bool(off)) for kind, draws, off in rows}


def _habit(kind: str) -> tuple[float, bool]:
    return _habits().get(kind, _habits()["other"])


def daily_draws(design: Design, draws: Mapping[str, float] | None) -> dict[int, float]:
    """Draws a day through every hot link, by its index; given ones go before the usual ones.

    Source: habits of hot_water.toml (common practice, no source).
    """
    through: dict[int, float] = {}
    for outlet in design.tree.outlets:
        if outlet.side != "hot":
            continue
        asked = (draws or {}).get(outlet.fixture.name)
        number = _habit(outlet.fixture.kind)[0] if asked is None else asked
        for i in hot_runs(design, outlet.link):
            through[i] = through.get(i, 0.0) + number
    return through


def _hot_outlet(
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
    hot_only = running if use == alone else household.settle((alone,), law)
    outflow = running.outflows[0]
    runs, volume, kept = cold_stretch(design, outlet.link)
    wanted = household.use_temperature(use)
    arrives, lost = arriving(design, outlet.link, running.delivered.flow)
    off = _habit(fixture.kind)[1]
    cold = math.fsum(
        pipe_volume(run) * still_cold(run, water.hot, wanted, daily[run.index]) for run in runs
    )
    pipes = math.fsum(pipe_volume(run) for run in runs)
    draws = daily.get(outlet.link, 0.0)
    energy = density(water.hot) * HEAT_CAPACITY * factor * _heat_worth(design, off) * volume
    # a manifold's body cools with the pipes around it
    share = cold / pipes if pipes > 0.0 else 0.0
    return HotOutlet(
        american=by_the_american_codes(design.house),
        outlet=outlet,
        runs=runs,
        from_circulation=kept,
        length=math.fsum(run.length for run in runs),
        volume=volume,
        hot_flow=outflow.hot,
        total_flow=outflow.flow,
        hot_only_flow=hot_only.outflows[0].hot,
        arrives=arrives if outflow.hot > 0.0 else math.nan,
        heat_loss=lost if outflow.hot > 0.0 else 0.0,
        wanted=wanted,
        factor=factor,
        draws_per_day=draws,
        runs_off=off,
        stays_warm=warm_time(runs[-1], water.hot, wanted) if runs else math.inf,
        energy_per_draw=energy,
        yearly_volume=factor * volume * share * draws * DAYS if off else 0.0,
        yearly_energy=energy * share * draws * DAYS,
    )


def _heat_worth(design: Design, off: bool) -> float:
    """Warmth of hot water that is lost with a draw [K]: down to cold where it is run to waste.

    Where it is used as it comes, only what it has lost to the room counts.
    """
    water = design.house.water
    return water.hot - (water.cold if off else max(figure("heat", "surroundings")[0], water.cold))
