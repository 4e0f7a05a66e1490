"""The options that every command shares, declared once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from supplycalc.model import House
    from supplycalc.units import UnitSystem


class Units(StrEnum):
    """Unit systems of the output."""

    us = "us"
    metric = "metric"


File = Annotated[
    Path, typer.Argument(metavar="FILE", help="The supply file (TOML); - reads it from stdin.")
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON on stdout and nothing else there.")]
UnitsOption = Annotated[
    Units | None,
    typer.Option("--units", help="Units to show; without it, the file's own."),
]
UnitsPublished = Annotated[
    Units | None,
    typer.Option("--units", help="Taken as by every command; figures stay in their own units."),
]
Output = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="PATH",
        help="Write the result to a file (.txt, .csv or .json) instead of the screen.",
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Let -o overwrite a file that exists.")]


def read_house(file: Path) -> House:
    """Read the supply file of a command; "-" stands for stdin."""
    import sys

    from supplycalc.reading import load, loads

    if str(file) != "-":
        return load(file)

    from supplycalc.reading.files import MOST_BYTES, decode

    content = sys.stdin.buffer.read(MOST_BYTES + 1)  # no more, as of a file
    return loads(decode(content, "<stdin>"), "<stdin>")


def system_of(house: House, units: Units | None) -> UnitSystem:
    """The unit system asked for, or the file's own."""
    if units is None:
        return house.project.units
    return "metric" if units is Units.metric else "us"


def listed(text: str | None) -> tuple[str, ...]:
    """The parts of a comma-separated list, blanks around them and empty parts dropped."""
    return tuple(part.strip() for part in (text or "").split(",") if part.strip())
