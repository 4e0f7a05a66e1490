"""What to check before pipe is covered, and what water lines are tested with; all from the data."""

from __future__ import annotations

from msgspec import Struct

from supplycalc.tables import Citation, citation_of, code_limit, load_table, to_si


class PressureTest(Struct, frozen=True, kw_only=True):
    """One published rule for testing the lines, with its figure for this house."""

    title: str
    pressure: float
    """[Pa gauge]"""
    minutes: float
    """0 where the text gives none."""
    air: str
    """What it says of testing with air; empty where nothing."""
    source: Citation


class CheckItem(Struct, frozen=True, kw_only=True):
    """One line of the checklist."""

    title: str
    text: str
    source: Citation
    here: float | None = None
    """The figure for this house, where one follows from its file [m]."""


def pressure_tests(working: float) -> tuple[PressureTest, ...]:
    """The published test pressures of a house's water lines.

    Args:
        working: highest working pressure [Pa gauge].

    Returns:
        One entry per rule: so much above the working pressure, and at least so much.

    Source: named by each row of data/slab.toml.
    """
    found = []
    for row in load_table("slab")["test"].values():
        above, least = (to_si(row[key], row["unit"]) for key in ("above", "least"))
        found.append(
            PressureTest(
                title=row["title"],
                pressure=max(working + above, least),
                minutes=float(row["minutes"]),
                air=row["air"],
                source=citation_of(row),
            )
        )
    return tuple(found)


def checklist(
    *, buried: bool, embedded: bool, frost_depth: float | None = None
) -> tuple[CheckItem, ...]:
    """The items that fit what lies in the ground and what lies in a slab.

    Args:
        buried: whether a run lies in the ground.
        embedded: whether a run lies in or under a slab.
        frost_depth: that frost reaches, or None where the file does not say [m].

    Returns:
        The items in the order of the work.

    Source: named by each row of data/slab.toml.
    """
    fits = {"buried": buried, "embedded": embedded, "both": buried or embedded}
    depth = None
    if frost_depth is not None:
        least, below = code_limit("cover").value, code_limit("cover-below-frost").value
        depth = max(least, frost_depth + below)
    return tuple(
        CheckItem(
            title=row["title"],
            text=row["text"],
            source=citation_of(row),
            here=depth if name == "depth" else None,
        )
        for name, row in load_table("slab")["item"].items()
        if fits[row["applies"]]
    )
