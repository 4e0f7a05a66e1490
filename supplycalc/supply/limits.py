"""Limits of wells, pumps and tanks from the data file, in SI with their sources."""

from __future__ import annotations

import functools

from msgspec import Struct

from supplycalc.tables import Citation, CodeLimit, citation_of, limit, load_table, to_si
from supplycalc.units.quantities import Power

SAME_SIZE = 1.01
"""Motors are sold by rounded powers: 0.56 kW is the 3/4 hp (0.559 kW) of the tables."""


class Spread(Struct, frozen=True, kw_only=True):
    """A figure of which only a range is known."""

    low: float
    high: float
    citation: Citation

    @property
    def middle(self) -> float:
        """The middle of the range."""
        return 0.5 * (self.low + self.high)


def well_limit(name: str) -> CodeLimit:
    """A limit of well.toml by its name, in SI."""
    return limit("well", name)


@functools.cache
def efficiency(name: str) -> Spread:
    """Usual range of an efficiency.

    Args:
        name: a kind of pump, wire to water; "motor" or "pump-end".

    Source: common practice, no source.
    """
    row = load_table("well")["efficiency"][name]
    return Spread(low=row["low"], high=row["high"], citation=citation_of(row))


def _row(table: str, value: float) -> tuple[float, Citation]:
    """The second column of the first row whose first column reaches a value, or nearly so."""
    data = load_table("well")[table]
    return next(
        second for first, second in data["rows"] if value <= first * SAME_SIZE
    ), citation_of(data)


def least_run_time(flow: float, motor_power: Power) -> tuple[float, Citation]:
    """Least time that a pump should run, by its motor or its flow, whichever is longer [s].

    Args:
        flow: mean flow while it fills the tank [m3/s].

    Source: trade articles on cycling; tank sizing practice (from memory).
    """
    by_motor = _row("min_run_by_motor", motor_power / to_si(1.0, "hp"))
    by_flow = _row("min_run_by_flow", flow / to_si(1.0, "gpm"))
    minutes, citation = by_motor if by_motor[0] >= by_flow[0] else by_flow
    return to_si(minutes, "min"), citation


def most_starts_per_hour(motor_power: Power) -> tuple[float, Citation]:
    """Most starts of a motor in an hour [1/h].

    Source: Water Systems Council tank standard, as quoted.
    """
    return _row("starts_per_hour", motor_power / to_si(1.0, "hp"))


def most_starts_per_day(motor_power: Power) -> tuple[float, Citation]:
    """Most starts of a motor in 24 hours [1/d].

    Source: an application table of submersible motors, as reprinted.
    """
    return _row("starts_per_day", motor_power / to_si(1.0, "hp"))


@functools.cache
def tank_volumes(metric: bool) -> tuple[float, ...]:
    """Common volumes of diaphragm tanks, ascending [m3].

    Source: common practice, no source.
    """
    row = load_table("well")["tank_volumes"]
    unit = 1e-3 if metric else to_si(1.0, "gal")
    return tuple(volume * unit for volume in row["metric" if metric else "us"])


@functools.cache
def switch_settings(metric: bool) -> tuple[tuple[float, float], ...]:
    """Usual settings of the pressure switch [Pa gauge], low to high.

    Returns:
        (cut-in, cut-out) pairs.

    Source: Water Systems Council, as reprinted; 50/70 psi from memory. In bar common practice.
    """
    rows = load_table("well")["switch_metric" if metric else "switch"]["rows"]
    unit = "bar" if metric else "psi"
    return tuple((to_si(low, unit), to_si(high, unit)) for low, high, _ in rows)


def seven_minute_peak(bathrooms: float) -> tuple[float, Citation] | None:
    """Water of the seven minutes of peak use in a home.

    Args:
        bathrooms: a closet without a bath, or a bath without one, counts half.

    Returns:
        (water [m3], where it comes from); None beyond the table.

    Source: trade articles on pump sizing; all but the row of two bathrooms from memory.
    """
    table = load_table("well")["seven_minute"]
    for most, gallons, check in table["rows"]:
        if bathrooms <= most:
            return to_si(gallons, "gal"), citation_of(table, check)
    return None


@functools.cache
def one_point_ratios() -> tuple[float, float, float]:
    """Head without flow over the head at a pump's one known point: lowest, usual, highest.

    Source: common practice, no source.
    """
    row = load_table("well")["one_point"]
    return row["low"], row["usual"], row["high"]
