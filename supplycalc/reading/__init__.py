"""TOML -> `House`, or `InputError` with everything that is wrong."""

from __future__ import annotations

from pathlib import Path

from supplycalc.model import House
from supplycalc.reading.build import read
from supplycalc.reading.fields import SECTIONS
from supplycalc.reading.file_schema import schema
from supplycalc.reading.files import read_text

__all__ = ["SECTIONS", "load", "loads", "schema"]


def load(path: str | Path) -> House:
    """Read a house from a TOML file.

    Args:
        path: of the file.

    Returns:
        The house, checked.

    Raises:
        InputError: everything that is wrong with the file, in file order.
    """
    return read(read_text(path), str(path))


def loads(text: str, name: str = "(text)") -> House:
    """Read a house from TOML text.

    Args:
        text: as in a file.
        name: what messages call it.

    Returns:
        The house, checked.

    Raises:
        InputError: everything that is wrong with the text, in file order.
    """
    return read(text.removeprefix("\ufeff"), name)
