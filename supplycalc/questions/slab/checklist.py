"""What to check before pipe is covered, and what water lines are tested with; all from the data."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, ClassVar

from msgspec import Struct

from supplycalc.demand import Book
from supplycalc.findings.burial import covers
from supplycalc.records import Form, fields_to_data
from supplycalc.records.sentences import CITED, citation_data, sentence
from supplycalc.tables import Citation, citation_of, load_table, to_si
from supplycalc.units import UnitSystem
from supplycalc.units.quantities import Cover, Pressure


class CitedText(Struct, frozen=True, kw_only=True):
    """What lists of published rules share: a title and its source."""

    form: ClassVar[Form] = Form(omit=("source",))
    more_schema: ClassVar[dict[str, Any]] = CITED

    title: str
    source: Citation

    def to_data(self, system: UnitSystem) -> dict[str, Any]:
        """As JSON has it, with the two keys of its source."""
        data = {**fields_to_data(self, system), **citation_data(self.source)}
        return {
            key: sentence(value, (), system) if key in ("title", "text", "air") and value else value
            for key, value in data.items()
        }


class PressureTest(CitedText, frozen=True, kw_only=True):
    """One published rule for testing the lines, with its figure for this house."""

    form: ClassVar[Form] = Form(omit=("source", "times"))

    pressure: Pressure
    times: float = 1.0
    """That the highest pressure is taken; pipe is rated for so much more for the test."""
    minutes: float | None
    """[min]; None where the text gives none."""
    air: str | None
    """What it says of testing with air; None where nothing."""


class CheckItem(CitedText, frozen=True, kw_only=True):
    """One line of the checklist."""

    form: ClassVar[Form] = Form(omit=("source", "brief"), rename={"least_cover": "here"})

    text: str
    brief: str
    """The same in a few words."""
    least_cover: Cover | None = None
    """For this house, where it follows from its file and the item is about depth."""


def rows_of_book(
    table: dict[str, dict[str, Any]], book: Book, tubes: Collection[str] = ("",)
) -> list[tuple[str, dict[str, Any]]]:
    """The rows that are common to all books or stand in one's own, about tubes that are there."""
    own = {None, book} if book == "european" else {None, book, "american"}
    return [
        (name, row)
        for name, row in table.items()
        if row.get("book") in own and any(tube.startswith(row.get("tubes", "")) for tube in tubes)
    ]


def pressure_tests(
    working: float, tubes: Collection[str], *, book: Book = "international"
) -> tuple[PressureTest, ...]:
    """The published test pressures of a house's water lines, by its highest working pressure.

    Args:
        working: [Pa gauge]
        tubes: names of the tube families that are tested.

    Source: named by each row of data/slab.toml.
    """
    tests, pex = [], any(tube.startswith("pex") for tube in tubes)
    for _, row in rows_of_book(load_table("slab")["test"], book, tubes):
        above, least = (to_si(row[key], row["unit"]) for key in ("above", "least"))
        tests.append(
            PressureTest(
                title=row["title"],
                source=citation_of(row),
                pressure=max(working * row.get("times", 1.0) + above, least),
                times=row.get("times", 1.0),
                minutes=float(row["minutes"]) or None,
                air="; ".join(filter(None, (row["air"], row.get("air_on_pex", "") if pex else "")))
                or None,
            )
        )
    return tuple(tests)


def checklist(
    tubes: Collection[str],
    *,
    buried: bool,
    embedded: bool,
    frost_depth: float | None = None,
    book: Book = "international",
) -> tuple[CheckItem, ...]:
    """The items that fit what lies in the ground and in a slab, in the order of the work.

    Source: named by each row of data/slab.toml.
    """
    fits = {"buried": buried, "embedded": embedded, "both": buried or embedded}
    depth = None
    if frost_depth is not None:
        depth = frost_depth
        if book != "european":
            _, least, below = covers(book)
            depth = max(least, frost_depth + below)
    return tuple(
        CheckItem(
            title=row["title"],
            text=row["text"],
            brief=row["brief"],
            source=citation_of(row),
            least_cover=depth if row["title"] == "Depth" else None,
        )
        for _, row in rows_of_book(load_table("slab")["item"], book, tubes)
        if fits[row["applies"]]
    )
