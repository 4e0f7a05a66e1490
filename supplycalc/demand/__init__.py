"""Design flow of every link: one record per method, and what all methods share."""

from __future__ import annotations

from supplycalc.demand.loads import Demand
from supplycalc.demand.method import (
    Book,
    Method,
    book_of,
    by_the_american_codes,
    design_flows,
    highest_at_rest,
    known_method,
    method_record,
)
from supplycalc.tables import DEMAND_METHODS

__all__ = [
    "DEMAND_METHODS",
    "Book",
    "Demand",
    "Method",
    "book_of",
    "by_the_american_codes",
    "design_flows",
    "highest_at_rest",
    "known_method",
    "method_record",
]
