"""The well itself: levels, what its bore stores, whether it keeps up with a house."""

from __future__ import annotations

import math

from msgspec import Struct

from supplycalc.hydraulics.friction import flow_area
from supplycalc.model import Well
from supplycalc.units import DAY
from supplycalc.units.quantities import Diameter, Hours, Length, Volume


class Balance(Struct, frozen=True, kw_only=True):
    """What a well can give against what a house needs."""

    daily_need: Volume
    daily_yield: Volume
    """In 24 hours; inf where no yield is known."""
    period: Hours
    """In which the day's need must be available."""
    period_yield: Volume
    bore_storage: Volume
    """Usable water standing in the bore."""
    lifted: Volume
    """What the pump lifts in the period; inf where that is not known."""
    storage: Volume
    """What a storage tank must hold beside."""

    @property
    def available(self) -> Volume:
        """What reaches the house in the period without storage."""
        return min(self.period_yield + self.bore_storage, self.lifted)

    @property
    def keeps_up(self) -> bool:
        """Whether a day's yield covers a day's need."""
        return self.daily_yield >= self.daily_need


def bore_storage(
    diameter: Diameter, depth: float, static_level: Length, allowance: Length
) -> float:
    """Water in the bore that can be used before the pump is in danger [m3]; 0 where the water
    stands no higher.

    Args:
        depth: of the pump, or of the well [m].

    Source: The Groundwater Project, Domestic Wells, box 1.
    """
    return flow_area(diameter) * max(depth - static_level - allowance, 0.0)


def available_drawdown(well: Well, allowance: Length) -> float | None:
    """How far the level may fall before the pump is in danger.

    Returns:
        [m]; None where the pump's depth or the static level is not known.
    """
    if well.pump_depth is None or well.static_level is None:
        return None
    return max(well.pump_depth - well.static_level - allowance, 0.0)


def sustained_yield(well: Well, allowance: Length) -> float | None:
    """Flow that a well gives for good: the driller's figure, or what its drawdown allows.

    Returns:
        Flow [m3/s], the lower of both where both are known; None where neither is.

    Source: specific capacity times available drawdown.
    """
    yields = [] if well.recovery is None else [well.recovery]
    available = available_drawdown(well, allowance)
    if well.specific_capacity and available is not None:
        yields.append(well.specific_capacity * available)
    return min(yields, default=None)


def usable_storage(well: Well, allowance: Length) -> float:
    """Water standing in a well's bore above what the pump needs [m3]; 0 where the bore or the
    levels are not known.
    """
    if well.diameter is None or well.pump_depth is None or well.static_level is None:
        return 0.0
    return bore_storage(well.diameter, well.pump_depth, well.static_level, allowance)


def balance(
    daily_need: Volume,
    sustained: float | None,
    stored: Volume,
    period: float,
    pump_flow: float = math.inf,
) -> Balance:
    """Whether yield, pump and storage cover a day's need within the peak period.

    Args:
        sustained: yield [m3/s]; None: not known, taken to be enough.
        period: in which the day's need must be available [s].
        pump_flow: what the pump gives; inf where that is not known [m3/s].

    Source: The Groundwater Project, Domestic Wells, box 1 (after Nova Scotia, 2004).
    """
    flow = math.inf if sustained is None else sustained
    in_period, lifted = flow * period, pump_flow * period
    return Balance(
        daily_need=daily_need,
        daily_yield=flow * DAY,
        period=period,
        period_yield=in_period,
        bore_storage=stored,
        lifted=lifted,
        storage=max(daily_need - min(in_period + stored, lifted), 0.0),
    )
