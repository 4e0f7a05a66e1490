"""What really comes out while as much stands open as makes the design flow."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from supplycalc.delivery.fixture_use import FixtureUse, full_use, rating
from supplycalc.delivery.household import Household
from supplycalc.delivery.source_cases import SourceCase, source_cases
from supplycalc.problems import ComputationError, InputError
from supplycalc.sizing.design import Design
from supplycalc.supply.pump_check import ComesOut

LEAST_SHARE = 0.05
"""An outlet that would have to open less than this is left shut."""


def peak_at_source(design: Design) -> ComesOut | None:
    """What comes out at the peak while the source keeps the pressure that pipe is sized at."""
    return _comes_out(design, source_cases(design.house)[0])


def peak_by_pump_alone(design: Design) -> ComesOut | None:
    """What comes out at the peak when the tank is empty; None where no pump's curve is known."""
    cases = [case for case in source_cases(design.house) if case.name in LASTING]
    return _comes_out(design, cases[0]) if cases else None


LASTING = ("pump alone", "set pressure")
"""Cases in which the pump's own curve decides."""


def _comes_out(design: Design, case: SourceCase) -> ComesOut | None:
    """The outlets opened worst first until their rated flows make the design flow, and settled.

    Source: orifice law and energy balance (`delivery.solver`); the choice of outlets is common
        practice, no source.
    """
    try:
        uses = tuple(_open_at_peak(design))
        settled = Household(design).settle(uses, case.law) if uses else None
    except (ComputationError, InputError):
        return None
    if settled is None:
        return None
    weakest = min(settled.outflows, key=lambda flow: flow.share_of_rated / flow.use.share)
    return ComesOut(
        opened=tuple(_as_opened(use) for use in uses),
        pressure=max(settled.delivered.pressure[0], 0.0),
        total=settled.delivered.flow[0],
        weakest=weakest.name,
        weakest_flow=weakest.flow,
        rated_flow=weakest.rated.flow * weakest.use.share,
    )


def _open_at_peak(design: Design) -> Iterator[FixtureUse]:
    """Fixtures by their margin, the worst first; the last one only as far as still fits."""
    left = design.demand.design_flow[0]
    seen: set[str] = set()
    for outlet in design.outlets:
        if outlet.planned or outlet.fixture_name in seen:
            continue
        seen.add(outlet.fixture_name)
        use = full_use(outlet.fixture)
        share = min(left / rating(use, design.tree).flow, 1.0)
        if share >= LEAST_SHARE:
            share = share if share == 1.0 else round(share, 2)
            yield replace(use, share=share)
        left -= rating(use, design.tree).flow
        if left <= 0.0:
            return


def _as_opened(use: FixtureUse) -> str:
    return use.name if use.share == 1.0 else f"{use.name}@{use.share:.0%}"
