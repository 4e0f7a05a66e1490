"""The codes' tables of sizes by fixture units, pressure and length, as an inspector reads them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from supplycalc.tables import Citation, citation_of, load_table, to_si

ABOVE = (45.0, 60.0)
"""[psi] Blocks that are headed "46 to …" and "over 60" begin just above these."""


class SizeTable(Struct, frozen=True, kw_only=True):
    """A code's table of sizes and the rules by which it is read."""

    code: str
    """Key of its rows, and the demand method in whose fixture units it counts loads."""
    title: str
    counts_fittings: bool
    """Whether a share for fittings is added to the developed length."""
    meter_apart: bool
    """Whether its first column is the meter and the street's pipe, so that the building supply
    stands in its second, with the branches."""
    flushometers: bool
    """Whether it is meant for supplies with flushometer valves, too."""
    regulated_share: float
    """Share of a reducing valve's setting that counts."""
    supply_share: float
    """Share of the pressure before a reducing valve that counts, where that is less."""


IRC_SIZES = SizeTable(
    code="irc",
    title="IRC Table AP201.1",
    counts_fittings=True,
    meter_apart=False,
    flushometers=True,
    regulated_share=1.0,
    supply_share=0.8,
)
"""A reducing valve's setting counts, or 80 % of what stands before it where that is less (IRC
AP201.1, from memory)."""
UPC_SIZES = SizeTable(
    code="upc",
    title="UPC Table 610.4",
    counts_fittings=False,
    meter_apart=True,
    flushometers=False,
    regulated_share=0.8,
    supply_share=1.0,
)
"""80 % of a reducing valve's setting (UPC 608.2); no allowance for fittings, and flushometer valves
by a table of their own (UPC 610, from memory)."""


class TableRow(Struct, frozen=True, kw_only=True):
    """One row of a table in one column of length: what this pair of sizes may carry."""

    service: str
    """Nominal size of the meter and the service, or of the meter and the street's pipe, inches."""
    distribution: str
    """Nominal size of the distribution pipe, inches."""
    capacity: float
    """Largest load, in fixture units of the table's own code."""
    citation: Citation


def carrying(code: str, pressure: float, length: float) -> Iterator[TableRow]:
    """The pairs of sizes that a code's table lists for a pressure and a length.

    Args:
        code: "irc" or "upc".
        pressure: static pressure left after height and special losses [Pa gauge].
        length: developed length from the source to the farthest outlet [m].

    Returns:
        One row per pair, in the table's order; none outside the table's pressures and lengths.

    Source: International Residential Code 2018, Table AP201.1; Uniform Plumbing Code 2018, Table
        610.4.
    """
    table = load_table("prescriptive")[code]
    seen_to = table.get("seen_to", math.inf)
    column = next(
        (i for i, feet in enumerate(table["lengths"]) if to_si(feet, "ft") >= length - 1e-6), None
    )
    reached = [row[0] for row in table["rows"] if _reaches(pressure, row[0])]
    if column is None or not reached:
        return
    for psi, service, distribution, units, check in table["rows"]:
        if psi == max(reached):
            yield TableRow(
                service=service,
                distribution=distribution,
                capacity=units[column],
                citation=citation_of(
                    table, "memory" if table["lengths"][column] > seen_to else check
                ),
            )


def longest(code: str) -> float:
    """Greatest developed length of a code's table [m]; source as `carrying`."""
    return to_si(load_table("prescriptive")[code]["lengths"][-1], "ft")


def lowest_pressure(code: str) -> float:
    """Lowest pressure of a code's table [Pa gauge]; source as `carrying`."""
    rows = load_table("prescriptive")[code]["rows"]
    return min(to_si(row[0], "psi") for row in rows)


def block_title(code: str, pressure: float) -> str:
    """The pressure range that a pressure falls in, in words of the table (psi)."""
    starts = sorted({row[0] for row in load_table("prescriptive")[code]["rows"]})
    reached = [psi for psi in starts if _reaches(pressure, psi)]
    if not reached:
        return f"below {starts[0]:.0f} psi"
    if reached[-1] == starts[-1]:
        return f"over {starts[-1]:.0f} psi"
    low, high = reached[-1], starts[len(reached)]
    first = low + 1 if low in ABOVE else low
    last = high if high in ABOVE else high - 1
    return f"{first:.0f} to {last:.0f} psi"


def _reaches(pressure: float, psi: float) -> bool:
    start = to_si(psi, "psi")
    return pressure > start * (1 + 1e-9) if psi in ABOVE else pressure >= start * (1 - 1e-9)
