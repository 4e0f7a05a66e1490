"""What of the water that comes out at first lasts: the pump alone, and the well's own yield."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from msgspec import Struct

from supplycalc.delivery.household import Outflow
from supplycalc.model import House
from supplycalc.records import Form
from supplycalc.records.sentences import Finding
from supplycalc.supply.pump import level_known
from supplycalc.supply.pump_check import SAME_FLOW, flow_range
from supplycalc.supply.station import pump_station
from supplycalc.supply.tank import time_until_empty
from supplycalc.supply.well_shares import stored_in_all, sustained_by_all
from supplycalc.units.quantities import Flow, Minutes, Pressure

NEAR = 100.0
"""[Pa] A pressure that is less than its set one by no more is held."""


class Lasting(Struct, frozen=True, kw_only=True):
    """How long a well's supply keeps up what is open, and what it comes to."""

    form: ClassVar[Form] = Form(add=("pump_keeps_up", "well_keeps_up"))

    drawn: Flow
    """By all that is open, at cut-in or at the pressure that the pump holds."""
    pressure: Pressure
    """There."""
    source_pressure: Pressure
    """At the tank while it is drawn: less where a pump that holds its pressure cannot."""
    pump_flow: tuple[Flow, Flow] | None
    """Least and most that the pump gives at that pressure; None: nothing tells."""
    full_tank_time: Minutes | None
    """From a full tank, pump off, until the tank is empty; None: no tank is told, or the pump keeps
    up."""
    low_tank_time: Minutes | None
    """The same from a tank just above cut-in."""
    by_pump_alone: Flow | None
    """What comes out when the tank is empty; None: as drawn, or not known."""
    sustained: Flow | None
    """What the well gives for good; None: not known."""
    well_time: Minutes | None
    """Until what stands in the bore is used up; None: it lasts, or the bore is not known."""

    @property
    def pump_keeps_up(self) -> bool | None:
        """Whether the pump gives all that is drawn; None: not known."""
        if self.pump_flow is None:
            return None
        least, most = self.pump_flow
        if least * SAME_FLOW >= self.drawn:
            return True
        return False if most * SAME_FLOW < self.drawn else None

    @property
    def kept(self) -> Flow:
        """What runs on when the tank is empty, as far as the pump is known."""
        return self.drawn if self.by_pump_alone is None else self.by_pump_alone

    @property
    def well_keeps_up(self) -> bool | None:
        """Whether the well gives for good what runs on; None: not known."""
        return None if self.sustained is None else self.sustained * SAME_FLOW >= self.kept


def lasting(
    house: House,
    drawn: float,
    source_pressure: float,
    *,
    most_drawn: float,
    pump_alone: float | None,
) -> Lasting | None:
    """Compare what is drawn with what pump and well keep up.

    Args:
        drawn: by all that is open, at cut-in or the pressure that the pump holds [m3/s].
        source_pressure: at the tank then [Pa gauge].
        most_drawn: the same at cut-out [m3/s].
        pump_alone: what comes out by the pump alone [m3/s]; None: its curve is not known.

    Returns:
        Times and flows; None on a main.

    Source: water balance of the tank, the mean of both draws between cut-out and cut-in; of the
        bore, what it stores over what is drawn beyond the yield.
    """
    source = house.source
    if source.kind != "well":
        return None
    held, pressure = source.set_pressure, source.kept_pressure
    ends = flow_range(house, pressure)
    short = ends is not None and ends[1] * SAME_FLOW < drawn
    station = pump_station(house)
    vessel = None if station is None else station.vessel
    full = low = None
    if station is not None and vessel is not None and short and held is None:
        low = time_until_empty(vessel, station.supply_curve, drawn, vessel.cut_in)
        full = low + vessel.drawdown / (0.5 * (drawn + most_drawn))
    told = level_known(house) or (source.pump is not None and not source.pump.curve)
    kept = pump_alone if short and told and pump_alone is not None else drawn
    sustained, well_time = sustained_by_all(house), None
    if sustained is not None and sustained * SAME_FLOW < kept:
        stored = stored_in_all(house)
        well_time = stored / (kept - sustained) if stored > 0.0 else None
    return Lasting(
        drawn=drawn,
        pressure=pressure,
        source_pressure=source_pressure,
        pump_flow=ends,
        full_tank_time=full,
        low_tank_time=low,
        by_pump_alone=kept if kept != drawn else None,
        sustained=sustained,
        well_time=well_time,
    )


def lasting_findings(
    lasts: Lasting, after: Sequence[Outflow], *, several: bool = False
) -> Iterator[Finding]:
    """Where pump or well do not keep what is promised; `several`: there are more wells."""
    if lasts.pump_keeps_up is False:
        yield _pump_short(lasts, after)
    elif lasts.pump_keeps_up is None:
        yield _pump_not_known(lasts)
    if lasts.well_keeps_up is False and lasts.sustained is not None:
        when = "as soon as the bore is drawn down"
        values = [(lasts.kept, "flow"), (lasts.sustained, "flow")]
        if lasts.well_time is not None:
            when = "after about {2} of it"
            values.append((lasts.well_time, "minutes"))
        yield Finding(
            level="warn",
            code="well-short",
            where="wells" if several else "well",
            message=f"{{0}} are drawn and the {'wells sustain' if several else 'well sustains'} "
            f"{{1}}: {when} no more than that comes, and "
            f"{'a pump' if several else 'the pump'} may run dry",
            values=tuple(values),
            remedy="draw less at a time, or store water that "
            f"{'they fill' if several else 'the well fills'} slowly; dry-run protection in any "
            "case",
        )


def _pump_not_known(lasts: Lasting) -> Finding:
    text = "whether the pump keeps up the {0} that are drawn is not known"
    values = [(lasts.drawn, "flow")]
    if lasts.pump_flow is not None:
        text += ": at {1} it gives {2} to {3}"
        values += [(lasts.pressure, "pressure"), *((flow, "flow") for flow in lasts.pump_flow)]
    return Finding(
        level="note",
        code="pump-not-known",
        where="pump",
        message=text,
        values=tuple(values),
        remedy="give the pump's curve and how deep the water stands (static_level)",
    )


def _pump_short(lasts: Lasting, after: Sequence[Outflow]) -> Finding:
    if lasts.source_pressure < lasts.pressure - NEAR:
        return Finding(
            level="warn",
            code="pump-short",
            where="pump",
            message="at full speed it holds {0} of its set {1} while {2} are drawn",
            values=(
                (max(lasts.source_pressure, 0.0), "pressure"),
                (lasts.pressure, "pressure"),
                (lasts.drawn, "flow"),
            ),
            remedy="run fewer at once; 'supplycalc size' says which pump would do",
        )
    most = 0.0 if lasts.pump_flow is None else lasts.pump_flow[1]
    values = [(lasts.drawn, "flow"), (lasts.pressure, "pressure"), (most, "flow")]
    text = "{0} are drawn at {1}, and the pump gives {2} there"
    if most <= 0.0:
        text = "{0} are drawn at {1}, which the pump never reaches"
    elif lasts.full_tank_time is not None and lasts.low_tank_time is not None:
        if math.isfinite(lasts.low_tank_time):
            values += [(lasts.full_tank_time, "minutes"), (lasts.low_tank_time, "minutes")]
            text += (
                ": it lasts {3} from a full tank and {4} from a nearly empty one, pump off at first"
            )
        else:
            text += ": the pressure sinks below that"
    if lasts.by_pump_alone is not None and after:
        weakest = min(after, key=lambda outflow: outflow.share_of_rated / outflow.use.share)
        count = len(values)
        text += f"; by the pump alone {{{count}}} come out, {{{count + 1}}} at {weakest.name}"
        values += [(lasts.by_pump_alone, "flow"), (weakest.flow, "flow")]
    dry = any(outflow.dry for outflow in after) or most <= 0.0
    return Finding(
        level="fail" if dry else "warn",
        code="pump-short",
        where="pump",
        message=text,
        values=tuple(values),
        remedy="run fewer at once; 'supplycalc size' says which pump would do",
    )
