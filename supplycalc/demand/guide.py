"""A second opinion for homes on a well: the allowances of a guide to private water systems.

Not a method for pipes: the guide asks what the pump should give. The allowances of all indoor uses
are added; of the largest use its full flow takes the place of its allowance.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data
from supplycalc.tables import Citation, citation_of, load_table, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Flow


class GuideFlow(Struct, frozen=True, kw_only=True):
    """What the guide asks of a home's pump."""

    form: ClassVar[Form] = Form(omit=("citation",))
    more_schema: ClassVar[dict[str, Any]] = CITED

    allowances: Flow
    """Sum of the allowances."""
    pump: Flow
    """The same with the largest use at its full flow."""
    largest: str
    """Kind of the largest use."""
    left_out: tuple[str, ...]
    """Kinds that the guide's table does not have."""
    citation: Citation

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it, with its source."""
        return {**fields_to_data(self, system), **citation_data(self.citation)}


def guide_flow(kinds: Iterable[str]) -> GuideFlow | None:
    """Add up the guide's allowances for a home's fixtures; None where the guide lists none of the
    fixtures.

    Source: Private Water Systems (Midwest Plan Service / U.S. Department of Agriculture figures),
        pages on household uses and pump capacity.
    """
    table = load_table("guide")["allowances"]
    rows = {row[0]: (row[1], row[2]) for row in table["rows"]}
    every = tuple(kinds)
    listed = [kind for kind in every if kind in rows]
    if not listed:
        return None
    largest = max(listed, key=lambda kind: rows[kind][1])
    total = sum(rows[kind][0] for kind in listed)
    allowance, full = rows[largest]
    return GuideFlow(
        allowances=to_si(total, "gpm"),
        pump=to_si(total - allowance + full, "gpm"),
        largest=largest,
        left_out=tuple(dict.fromkeys(kind for kind in every if kind not in rows)),
        citation=citation_of(table),
    )
