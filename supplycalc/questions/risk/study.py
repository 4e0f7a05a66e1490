"""A house under everything that its file knows within a range alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from supplycalc.chance.certainty import (
    DRAWS,
    PUMP_DRAWS,
    SEED,
    Progress,
    bears_on_pump,
    certainty,
    drawn_peaks,
    first_of_sets,
    share_error,
    unit_draws,
    values_of,
)
from supplycalc.chance.influence import influence
from supplycalc.chance.sure_sizes import sure_sizes
from supplycalc.chance.variants import Peak, draws_by
from supplycalc.demand import design_flows
from supplycalc.model import FieldPath, House, Side
from supplycalc.model.field_paths import with_value
from supplycalc.network import build_tree
from supplycalc.questions.size.study import size
from supplycalc.reading.prices import PriceList
from supplycalc.records import Form
from supplycalc.records.known_ranges import KnownRange, name_of
from supplycalc.records.sentences import Finding
from supplycalc.sizing.certainty import Certainty, SureSizes
from supplycalc.sizing.design import Design, DesignAnswer
from supplycalc.sizing.problem import TOLERANCE
from supplycalc.supply.limits import least_run_time
from supplycalc.supply.pump_check import pump_check
from supplycalc.supply.station import pump_station
from supplycalc.supply.well_shares import sustained_by_all
from supplycalc.units import UnitSystem, base_of
from supplycalc.units.quantities import Flow, Pressure, Share, Time, Volume

CHEAP, DEAR = 2048, 256
"""Base draws for what matters most; fewer where the demand method is asked for each by itself."""
QUANTILES = (0.05, 0.5, 0.95)


class OutletRisk(Struct, frozen=True, kw_only=True):
    """One connection of a fixture at the code's peak, over all draws."""

    name: str
    """Of the connection, such as "bath (hot)"."""
    side: Side
    required: Pressure
    short: Share
    """Part of the draws in which it has less than it requires."""
    short_error: Share
    """Standard error of that."""
    residual_5: Pressure
    """It has less in 5 of 100 draws; never below 0."""
    residual_50: Pressure
    residual_95: Pressure


class Weight(Struct, frozen=True, kw_only=True):
    """How much of what is unsure at the tightest fixture goes with one figure."""

    form: ClassVar[Form] = Form(add=("name",))

    known: KnownRange
    alone: Share
    """Of the variance of the least margin, by itself."""
    alone_error: Share
    in_all: Share
    """Together with what it does along with others."""
    in_all_error: Share

    @property
    def name(self) -> str:
        """Such as "length of service"."""
        return name_of(self.known.known.path)


class WellRisk(Struct, frozen=True, kw_only=True):
    """Pump, tank and well over the draws that bear on them; three values are of 5, 50, 95 %."""

    draws: int
    pump_flow: tuple[Flow, ...] | None
    """That it gives at cut-in or set pressure; None: nothing tells."""
    pump_too_small: Share | None
    """Less than it is judged by."""
    below_peak: Share | None
    """Less than the code's peak, which the tank must cover."""
    drawdown: tuple[Volume, ...] | None
    """Of the tank."""
    run_time: tuple[Time, ...] | None
    """That the pump takes to fill it, nothing drawn."""
    run_too_short: Share | None
    """Less than its motor should run."""
    sustained: tuple[Flow, ...] | None
    """That the well gives for good."""
    well_too_small: Share | None
    """Less than the pump is judged by."""


class Risk(DesignAnswer, frozen=True, kw_only=True):
    """How sure a house is within what its file knows."""

    schema: ClassVar[str] = "supplycalc-risk/1"
    form: ClassVar[Form] = Form(omit=("design",), add=("verdict", "worst_5", "findings"))

    certainty: Certainty | None
    """None where the file gives every figure as sure."""
    draws: int
    seed: int
    fixtures: tuple[OutletRisk, ...]
    """The one that is short most often first."""
    weights: tuple[Weight, ...]
    """The one that moves the tightest fixture most first."""
    well: WellRisk | None
    """None on a main."""
    price_of_certainty: tuple[SureSizes, ...] = ()
    """Sizes for each chance, pressure alone."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of the design for the middle of each range."""
        return self.design.findings

    @property
    def worst_5(self) -> Pressure | None:
        """What the first fixture keeps in 95 of 100 draws."""
        return self.fixtures[0].residual_5 if self.fixtures else None

    def verdict(self, system: UnitSystem) -> str:
        """In how many cases it works, and what to measure first."""
        if self.certainty is None:
            american = base_of(system) == "us"
            length = "85 ± 10 ft" if american else "26 ± 3 m"
            key = "cut_in" if self.design.house.source.kind == "well" else "residual"
            pressure = "about 40 psi" if american else "about 3 bar"
            return (
                "The file gives every figure as sure, so nothing is left to chance: write what is "
                f'not, such as length = "{length}", {key} = "{pressure}" or size = "?" '
                "for old pipe."
            )
        return self.certainty.verdict(system)


def risk(
    house: House,
    method: str | None = None,
    *,
    draws: int = 4 * DRAWS,
    seed: int = SEED,
    prices: PriceList | None = None,
    progress: Progress | None = None,
) -> Risk:
    """Draw all that the file knows within ranges, and judge every draw.

    Raises:
        ComputationError: no trustworthy result can be computed.

    Source: quasi-Monte-Carlo by Sobol's sequence; indices as `influence` cites.
    """
    told = progress or (lambda share: None)
    design = size(house, method, mend=False, prices=prices)
    house = design.house
    if not house.ranges:
        return Risk(design=design, certainty=None, draws=0, seed=seed, fixtures=(), weights=(),
                    well=None)  # fmt: skip
    drawn = unit_draws(len(house.ranges), draws, seed)
    values = values_of(house, house.ranges, drawn)
    peak = drawn_peaks(design, values)
    told(0.3)
    sure = certainty(design, seed, draws)
    told(0.5)
    weights = _weights(design, seed)
    told(0.6)
    sure_at = sure_sizes(
        design, seed=seed, prices=prices, progress=lambda share: told(0.6 + 0.2 * share)
    )
    well = _well(design, values, lambda share: told(0.8 + 0.2 * share))
    return Risk(
        design=design,
        certainty=sure,
        draws=drawn.shape[1],
        seed=seed,
        fixtures=_fixtures(design, peak),
        weights=weights,
        well=well,
        price_of_certainty=sure_at,
    )


def _fixtures(design: Design, peak: Peak) -> tuple[OutletRisk, ...]:
    short = peak.residual - peak.required < -TOLERANCE
    marks = np.quantile(np.maximum(peak.residual, 0.0), QUANTILES, axis=1).T
    rows = [
        OutletRisk(
            name=outlet.name,
            side=outlet.side,
            required=outlet.required_pressure,
            short=float(missed.mean()),
            short_error=share_error(missed),
            residual_5=float(low),
            residual_50=float(middle),
            residual_95=float(high),
        )
        for outlet, missed, (low, middle, high) in zip(
            design.tree.outlets, short, marks, strict=True
        )
    ]
    return tuple(sorted(rows, key=lambda row: (-row.short, row.residual_5 - row.required)))


def _weights(design: Design, seed: int) -> tuple[Weight, ...]:
    """The indices of each range; none where nothing bears on pressure."""
    house = design.house
    dear = any(draws_by(house, known.path) for known in house.ranges)

    def least_margin(unit: Any) -> Any:
        return drawn_peaks(design, values_of(house, house.ranges, unit)).worst

    found = influence(least_margin, len(house.ranges), DEAR if dear else CHEAP, seed)
    if np.isnan(found.total).any():
        return ()
    rows = [
        Weight(
            known=KnownRange(known=known),
            alone=max(float(found.first[i]), 0.0),
            alone_error=float(found.first_error[i]),
            in_all=float(found.total[i]),
            in_all_error=float(found.total_error[i]),
        )
        for i, known in enumerate(house.ranges)
    ]
    return tuple(sorted(rows, key=lambda row: -row.in_all))


def _well(design: Design, values: Mapping[FieldPath, Any], progress: Progress) -> WellRisk | None:
    """Pump, tank and well, each draw by itself, of those that bear on them."""
    house = design.house
    if house.source.kind != "well":
        return None
    own = {path: each for path, each in values.items() if bears_on_pump(house, path)}
    count = len(next(iter(values.values())))
    numbers = first_of_sets(count, PUMP_DRAWS) if own else np.zeros(1, dtype=int)
    rows = []
    for place, number in enumerate(numbers.tolist()):
        changed = house
        for path, each in own.items():
            changed = with_value(changed, path, float(each[number]))
        rows.append(_of_well(design, changed, anew=any(draws_by(house, path) for path in own)))
        progress((place + 1) / len(numbers))
    table = np.array(rows, dtype=float)

    def marks(column: int) -> tuple[float, ...] | None:
        known = table[:, column]
        return None if np.isnan(known).any() else tuple(np.quantile(known, QUANTILES).tolist())

    def share(column: int) -> float | None:
        known = table[:, column]
        return None if np.isnan(known).any() else float(known.mean())

    return WellRisk(
        draws=len(numbers) if own else 0,
        pump_flow=marks(0),
        pump_too_small=share(1),
        below_peak=share(2),
        drawdown=marks(3),
        run_time=marks(4),
        run_too_short=share(5),
        sustained=marks(6),
        well_too_small=share(7),
    )


def _of_well(design: Design, house: House, *, anew: bool) -> list[float]:
    """The figures of one draw, in the order of `WellRisk`; not a number where not known."""
    none = float("nan")
    tree = build_tree(house) if anew else replace(design.tree, house=house)
    check = pump_check(tree, design_flows(tree) if anew else design.demand)
    assert check is not None
    row = [none] * 8
    if check.pump_flow is not None:
        row[0] = check.pump_flow[1]
        row[1] = check.state == "too-small"
        row[2] = check.pump_flow[1] < check.design_flow
    station = pump_station(house)
    vessel = None if station is None else station.vessel
    if station is not None and vessel is not None and row[0] > 0.0:
        row[3] = vessel.drawdown
        row[4] = vessel.drawdown / row[0]
        power = None if house.source.pump is None else house.source.pump.motor_power
        if power is not None:
            row[5] = row[4] < least_run_time(row[0], power)[0]
    sustained = sustained_by_all(house)
    if sustained is not None:
        row[6] = sustained
        row[7] = sustained < check.needed_flow
    return row
