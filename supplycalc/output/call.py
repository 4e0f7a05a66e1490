"""A call of a command: the options that all share, declared once, and where its answer goes."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec import Struct

from supplycalc.output.destination import Destination

if TYPE_CHECKING:
    from supplycalc.model import House
    from supplycalc.output.blocks import Block
    from supplycalc.records import Result, Table
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
        help="Write the result to a file (.txt, .csv, .json, or what the examples show) "
        "instead of the screen.",
    ),
]
Method = Annotated[
    str | None, typer.Option(metavar="METHOD", help="Demand method, instead of the file's.")
]
Full = Annotated[bool, typer.Option("--full", help="Show everything, not only the first screen.")]
Force = Annotated[bool, typer.Option("--force", help="Let -o overwrite a file that exists.")]


class Call(Struct, frozen=True, kw_only=True):
    """What every command that reads a file is given."""

    file: Path
    as_json: bool = False
    units: Units | None = None
    output: Path | None = None
    force: bool = False
    full: bool = False

    @property
    def destination(self) -> Destination:
        """Where the answer goes."""
        return self.destination_beside(())

    def destination_beside(
        self, others: Iterable[Path | None], forms: Iterable[str] = ()
    ) -> Destination:
        """Where the answer goes: never over the supply file, nor over others of the call."""
        return Destination(
            as_json=self.as_json,
            path=self.output,
            force=self.force,
            spared=(self.file, *(path for path in others if path is not None)),
            forms=tuple(forms),
        )

    def house(self, *others: Path | None, forms: Iterable[str] = ()) -> House:
        """Read the supply file, after a look whether its answer can be written at all.

        Args:
            forms: endings that the command writes besides those of all commands.

        Raises:
            InputError: everything that is wrong with the file or with where the answer goes.
        """
        self.destination_beside(others, forms).check()

        from supplycalc.reading import load, loads

        if str(self.file) != "-":
            return load(self.file)
        from supplycalc.reading.files import MOST_BYTES, decode

        content = sys.stdin.buffer.read(MOST_BYTES + 1)  # no more, as of a file
        return loads(decode(content, "<stdin>"), "<stdin>")

    def system(self, house: House) -> UnitSystem:
        """The unit system asked for, or the file's own with the units that it wishes."""
        if self.units is None:
            return house.project.shown_in
        return "metric" if self.units is Units.metric else "us"

    def answer(
        self,
        result: Result,
        page: Callable[[UnitSystem], Iterable[Block]],
        table: Callable[[], Table] | None = None,
        files: Mapping[str, Callable[[UnitSystem], str | bytes]] | None = None,
        first: Callable[[UnitSystem], Iterable[Block]] | None = None,
        whole: bool = False,
    ) -> int:
        """Send a result to where it was asked to go.

        Args:
            page: gives all that a reader may see, in a unit system.
            table: gives what a file named *.csv gets; None where there is nothing to.
            files: give what a file of some other ending gets, in a unit system.
            first: gives the first screen, shown unless everything is asked for; None: the page cut
                to one screen.
        """
        system = self.system(result.house)
        whole = self.full or whole or self.destination.file is not None

        def shown() -> Iterable[Block]:
            if whole:
                return page(system)
            if first is not None:
                return first(system)
            from supplycalc.output.one_screen import one_screen

            return one_screen(page(system), system)

        self.destination.send(
            page=shown,
            data=lambda: result.to_dict(system),
            system=system,
            table=table,
            files={form: partial(write, system) for form, write in (files or {}).items()},
            long=self.full,
        )
        return 0 if result.ok else 1


SHARED: tuple[tuple[str, Any, Any], ...] = (
    ("as_json", Json, False),
    ("units", UnitsOption, None),
    ("output", Output, None),
    ("force", Force, False),
    ("full", Full, False),
)
"""Parameters that follow a command's own: name, what typer reads, default."""


def with_shared_options(command: Callable[..., int]) -> Callable[..., int]:
    """A command as typer takes it: FILE, its own options, then those that all commands share.

    One that takes no `Call` stays as it is.
    """
    own = dict(inspect.signature(command, eval_str=True).parameters)
    if own.pop("call", None) is None:
        return command

    def run(**given: Any) -> int:
        call = Call(**{name: given.pop(name) for name in Call.__struct_fields__})
        return command(call, **given)

    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    first = inspect.Parameter("file", kind, annotation=File)
    between = [parameter.replace(kind=kind) for parameter in own.values()]
    last = [
        inspect.Parameter(name, kind, annotation=annotation, default=default)
        for name, annotation, default in SHARED
    ]
    parameters = (first, *between, *last)
    run.__doc__ = command.__doc__
    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return run


def comma_separated(text: str | None) -> tuple[str, ...]:
    """The parts of a comma-separated list, blanks around them and empty parts dropped."""
    return tuple(part.strip() for part in (text or "").split(",") if part.strip())
