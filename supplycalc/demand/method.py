"""A demand method's record: all that the package knows of a method stands in it once.

What a file may ask for, what `demand` says of a method, which of its figures nobody verified, where
its sources are listed: all follow from the record. A new method is a data file,
`data/demand_<name>.toml`, and a module of the method's name that holds its `METHOD`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import asdict

from supplycalc.demand.loads import Below, Demand, LinkFlows, continuous_flows, largest_flows
from supplycalc.demand.prescriptive import IRC_SIZES, SizeTable
from supplycalc.model import House
from supplycalc.network import Tree
from supplycalc.problems import InputError, Place, Problem
from supplycalc.tables import DEMAND_METHODS, Citation, CodeLimit, citation_of, limit, load_table
from supplycalc.units.quantities import Flow

Book = Literal["international", "uniform", "european"]
"""A family of codes or standards, by which clauses are told."""


class Formula(Struct, frozen=True, kw_only=True):
    """A formula of a method, for the list of sources."""

    name: str
    words: str
    source: str
    check: str
    """How it was verified, such as "tested" or "derived"."""


class Reading(Struct, frozen=True, kw_only=True):
    """One row from which a method reads flows, straight between two of them."""

    load: float
    """In the method's own units."""
    flow: Flow
    why: str
    """What gives that flow, in words."""


class Method(Struct, frozen=True, kw_only=True):
    """One demand method."""

    name: str
    """As files and calls write it; a key of `tables.DEMAND_METHODS`."""
    flows: Callable[[Tree], LinkFlows]
    """Loads and flows of every link, before what holds for every method."""
    counts: str
    """What it counts and on what that rests, a sentence without its stop."""
    verb: str
    """The same in a few words that go on after "it"."""
    heading: str = ""
    """Its name over a narrow column, where the name is too long."""
    load_name: str = ""
    """What its loads count, e.g. "fixture units"; empty where it has none."""
    fixture_table: str = ""
    """Table of its data file with a row for each kind of fixture, named by `row_of` of that file;
    empty: it takes the flows of the outlets themselves."""
    conversion: tuple[str, str] | None = None
    """(data file, table) of what turns its loads into flows."""
    readings: Callable[[], tuple[Reading, ...]] | None = None
    """The rows that turn its loads into flows, where no printed table has them."""
    below: Callable[[Tree], Below] | None = None
    """What may run below each link, with its chances, by methods of probability."""
    source_table: str = ""
    """Table of its data file that names its source best, where that is not `fixture_table`."""
    own_fixture_units: bool = False
    """Whether its fixture units are its own, not those of another code."""
    group_values: bool = False
    """Whether its table has values for a bathroom, a kitchen or a laundry as a whole."""
    own_draw_offs: bool = False
    """Whether its standard has draw-off flows, other than those that outlets are judged by."""
    unknown_outdoors: str = ""
    """What it does not know of a hose bibb, so that the largest flow of one is added."""
    whole_distribution: bool = False
    """Whether its flows are the project's percentile of the flow at any moment, quiet ones too."""
    size_table: SizeTable | None = IRC_SIZES
    """The code's table of sizes that a design by this method is held against; None: its book has
    none of inch sizes."""
    formulas: tuple[Formula, ...] = ()

    @property
    def tables(self) -> dict[str, Any]:
        """Its data file in published units; empty where it has none."""
        file = DEMAND_METHODS[self.name]
        return load_table(file) if file else {}

    @property
    def row_of(self) -> dict[str, str]:
        """Kind of fixture -> its row in `fixture_table`; without the kinds that the table lacks."""
        rows: dict[str, str] = self.tables.get("row_of", {})
        return rows

    @property
    def source(self) -> Citation | None:
        """Where its figures come from; None for a method without a table."""
        table = self.source_table or self.fixture_table
        return citation_of(self.tables[table]) if table else None

    @property
    def told(self) -> str:
        """Its name, and the source of its figures in one line."""
        source = self.source
        return f"'{self.name}'" + (f" ({source.short or source.text})" if source else "")

    @property
    def max_static(self) -> CodeLimit:
        """Highest pressure at rest, by its own book where that has one."""
        return self.limit("max-static")

    def limit(self, name: str) -> CodeLimit:
        """A limit by its own book, or by the American codes where it has none."""
        own = name in self.tables.get("limit", {})
        return limit(DEMAND_METHODS[self.name] if own else "code_limits", name)

    def demand(self, tree: Tree) -> Demand:
        """The design flows by this method, whatever the project asks for.

        No pipe carries less than its largest single fixture; continuous loads come on top.

        Source: named by each method; continuous loads by International Plumbing Code 2018, Appendix
            E, E102.2 (lawn sprinklers, air conditioners and the like are estimated by themselves
            and added).
        """
        flows, largest = self.flows(tree), largest_flows(tree)
        continuous = continuous_flows(tree)
        design_flow = list(map(max, flows.design_flow, largest))
        if continuous:
            design_flow = [a + b for a, b in zip(design_flow, continuous, strict=True)]
        return Demand(
            **{
                **asdict(flows),
                "design_flow": tuple(design_flow),
                "method": self.name,
                "load_name": self.load_name,
                "largest": tuple(largest),
                "continuous": continuous,
            }
        )


@cache
def method_record(name: str) -> Method:
    """A method's record, from the module of its name: only the method in use is loaded."""
    if name not in DEMAND_METHODS:
        raise KeyError(name)
    record: Method = import_module(f"supplycalc.demand.{name.replace('-', '_')}").METHOD
    return record


def design_flows(tree: Tree) -> Demand:
    """The design flows by the project's demand method."""
    return method_record(tree.house.project.demand).demand(tree)


def book_of(house: House) -> Book:
    """Whose clauses hold beside the demand: by the method, else by the units.

    Returns:
        Of the American codes the International ones or the Uniform one; else the European ones.
    """
    if not by_the_american_codes(house):
        return "european"
    return "uniform" if house.project.demand == "upc" else "international"


def highest_at_rest(house: House) -> CodeLimit:
    """The highest pressure at rest by the book that holds for a house.

    Returns:
        The method's own limit; where that has none and units are metric, the European one.
    """
    if by_the_american_codes(house):
        return method_record(house.project.demand).max_static
    return limit("demand_en806", "max-static")


def by_the_american_codes(house: House) -> bool:
    """Whether the rules of the American codes apply: by the demand method, else by the units.

    Returns:
        True for the codes' own methods; for a method that has no book where units are the US's.
    """
    method = house.project.demand
    if method_record(method).own_draw_offs:
        return False
    return method in ("irc", "ipc", "upc") or house.project.units == "us"


def known_method(name: str | None) -> str | None:
    """A demand method's name as it is, or InputError with the nearest right one.

    Args:
        name: of the method; None stands for the file's own.

    Raises:
        InputError: there is no such method.
    """
    if name is not None and name not in DEMAND_METHODS:
        raise InputError([unknown_method("method", name)])
    return name


def unknown_method(where: str, name: str) -> Problem:
    """What to tell of a name that no demand method has."""
    message = f"{name!r} is not a demand method"
    return Problem(place=Place(where), message=message, value=name, valid=tuple(DEMAND_METHODS))
